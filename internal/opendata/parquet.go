package opendata

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress/snappy"
)

// parquetRows writes a table as Apache Parquet: every column optional, times as milliseconds since 1970 in UTC.
type parquetRows struct {
	table table
	out   *parquet.GenericWriter[any]
	block []parquet.Row
}

// parquetBlock is how many rows are handed over at once, and parquetGroup how many make a row group.
const (
	parquetBlock = 512
	parquetGroup = 100_000
)

func parquetSchema(t table) *parquet.Schema {
	var fields []reflect.StructField
	for _, c := range t.columns {
		f := reflect.StructField{Name: "F_" + c.Name, Tag: reflect.StructTag(`parquet:"` + c.Name + `,optional"`)}
		switch c.Type {
		case "integer":
			f.Type = reflect.TypeFor[int64]()
		case "number":
			f.Type = reflect.TypeFor[float64]()
		case "boolean":
			f.Type = reflect.TypeFor[bool]()
		case "datetime":
			f.Type = reflect.TypeFor[int64]()
			f.Tag = reflect.StructTag(`parquet:"` + c.Name + `,optional,timestamp(millisecond)"`)
		default:
			f.Type = reflect.TypeFor[string]()
			f.Tag = reflect.StructTag(`parquet:"` + c.Name + `,optional,dict"`)
		}
		fields = append(fields, f)
	}
	return parquet.NewSchema(t.name, parquet.SchemaOf(reflect.New(reflect.StructOf(fields)).Interface()))
}

func openParquet(t table, w io.Writer) (rowWriter, error) {
	out := parquet.NewGenericWriter[any](w, parquetSchema(t), parquet.Compression(&snappy.Codec{}), parquet.MaxRowsPerRowGroup(parquetGroup), parquet.CreatedBy("thwart", "1", ""))
	return &parquetRows{table: t, out: out}, nil
}

func (x *parquetRows) write(cells []string) error {
	row := make(parquet.Row, len(cells))
	for i, c := range cells {
		v, err := x.value(i, c)
		if err != nil {
			return err
		}
		level := 1
		if v.IsNull() {
			level = 0
		}
		row[i] = v.Level(0, level, i)
	}
	if x.block = append(x.block, row); len(x.block) == parquetBlock {
		return x.flush()
	}
	return nil
}

func (x *parquetRows) value(i int, cell string) (parquet.Value, error) {
	c := &x.table.columns[i]
	if cell == "" {
		return parquet.NullValue(), nil
	}
	switch c.Type {
	case "integer":
		n, err := strconv.ParseInt(cell, 10, 64)
		if err != nil {
			return parquet.Value{}, cellError(x.table.name, c.Name, cell, c.Type)
		}
		return parquet.Int64Value(n), nil
	case "number":
		n, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			return parquet.Value{}, cellError(x.table.name, c.Name, cell, c.Type)
		}
		return parquet.DoubleValue(n), nil
	case "boolean":
		return parquet.BooleanValue(cell == "true"), nil
	case "datetime":
		t, err := time.Parse(time.RFC3339, cell)
		if err != nil {
			return parquet.Value{}, cellError(x.table.name, c.Name, cell, c.Type)
		}
		return parquet.Int64Value(t.UnixMilli()), nil
	}
	return parquet.ByteArrayValue([]byte(strings.ToValidUTF8(cell, "\uFFFD"))), nil
}

func (x *parquetRows) flush() error {
	_, err := x.out.WriteRows(x.block)
	x.block = x.block[:0]
	return err
}

func (x *parquetRows) close() error {
	if err := x.flush(); err != nil {
		return err
	}
	return x.out.Close()
}

// parquet checks that every file opens, has the columns that are described and as many rows as the manifest says.
func (c *checker) parquet() error {
	for _, t := range tablesOf(c.receipt.Copy) {
		name := t.name + ".parquet"
		f := c.zip[name]
		if f == nil {
			return fmt.Errorf("%s is not in the zip", name)
		}
		if err := c.parquetFile(f, t); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	c.held("every Parquet file opens with its columns and rows")
	return nil
}

// parquetFile unpacks a file to disk, because its description stands at its end, and reads it through.
func (c *checker) parquetFile(f *zip.File, t table) error {
	tmp, err := os.CreateTemp("", "thwart-parquet-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) //nolint:errcheck // the system clears its temporary files
	defer tmp.Close()           //nolint:errcheck // it was only read
	in, err := f.Open()
	if err != nil {
		return err
	}
	size, err := io.Copy(tmp, in)
	if err := errors.Join(err, in.Close()); err != nil {
		return err
	}
	file, err := parquet.OpenFile(tmp, size)
	if err != nil {
		return err
	}
	var got []string
	for _, c := range file.Schema().Columns() {
		got = append(got, strings.Join(c, "."))
	}
	var want []string
	for _, c := range t.columns {
		want = append(want, c.Name)
	}
	if !slices.Equal(got, want) {
		return fmt.Errorf("the columns are %v and not %v", got, want)
	}
	var n int64
	rows := make([]parquet.Row, parquetBlock)
	for _, g := range file.RowGroups() {
		r := g.Rows()
		for {
			k, err := r.ReadRows(rows)
			n += int64(k)
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return errors.Join(err, r.Close())
			}
		}
		if err := r.Close(); err != nil {
			return err
		}
	}
	if want := c.rows(f.Name); n != want {
		return fmt.Errorf("%d rows, the manifest says %d", n, want)
	}
	return nil
}
