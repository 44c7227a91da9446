package opendata

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"thwart/internal/exchange"
)

// checker reads a finished zip.
type checker struct {
	zip     map[string]*zip.File
	receipt Receipt
	done    []string
}

// Check reads a zip that [Publish] wrote, from the outside: sizes, sums and numbers of rows against its manifest, and that
// everything its description promises holds. It gives the list of what was found to hold, or an error naming file, row,
// column and value.
func Check(ctx context.Context, at io.ReaderAt, size int64) ([]string, error) {
	z, err := zip.NewReader(at, size)
	if err != nil {
		return nil, err
	}
	c := &checker{zip: map[string]*zip.File{}}
	for _, f := range z.File {
		if c.zip[f.Name] != nil {
			return nil, fmt.Errorf("%s is in the zip twice", f.Name)
		}
		c.zip[f.Name] = f
	}
	manifest, err := c.small("manifest.json")
	if err != nil {
		return nil, err
	}
	if err := json.Unmarshal(manifest, &c.receipt); err != nil {
		return nil, fmt.Errorf("manifest.json: %w", err)
	}
	if err := c.sums(); err != nil {
		return nil, err
	}
	c.held("every file has the size and SHA-256 of the manifest")
	switch c.receipt.Form {
	case DarwinCore:
		err = c.archive(ctx)
	case GeoJSON:
		err = c.maps()
	case Parquet:
		err = c.parquet()
	default:
		err = c.tables(ctx)
	}
	return c.done, err
}

func (c *checker) held(what string) { c.done = append(c.done, what) }

func (c *checker) open(name string) (io.ReadCloser, error) {
	f := c.zip[name]
	if f == nil {
		return nil, fmt.Errorf("%s is not in the zip", name)
	}
	return f.Open()
}

// maxSmall bounds a file that is read whole.
const maxSmall = 16 << 20

func (c *checker) small(name string) ([]byte, error) {
	r, err := c.open(name)
	if err != nil {
		return nil, err
	}
	defer r.Close() //nolint:errcheck // it was only read
	b, err := io.ReadAll(io.LimitReader(r, maxSmall+1))
	if err == nil && len(b) > maxSmall {
		err = fmt.Errorf("%s is too large", name)
	}
	return b, err
}

func (c *checker) sums() error {
	for _, f := range c.receipt.Files {
		r, err := c.open(f.Name)
		if err != nil {
			return err
		}
		h := sha256.New()
		n, err := io.Copy(h, r)
		if err := errors.Join(err, r.Close()); err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
		if n != f.Bytes || hex.EncodeToString(h.Sum(nil)) != f.SHA256 {
			return fmt.Errorf("%s is not what the manifest says", f.Name)
		}
	}
	return nil
}

// rows counts what the manifest says of a file.
func (c *checker) rows(name string) int64 {
	for _, f := range c.receipt.Files {
		if f.Name == name {
			return f.Rows
		}
	}
	return -1
}

// eachRow reads a CSV file row by row after its heading.
func (c *checker) eachRow(ctx context.Context, name string, head []string, do func(cells []string) error) error {
	r, err := c.open(name)
	if err != nil {
		return err
	}
	defer r.Close() //nolint:errcheck // it was only read
	in := csv.NewReader(r)
	in.ReuseRecord = true
	got, err := in.Read()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if !slices.Equal(got, head) {
		return fmt.Errorf("%s: the columns are %q and not %q as described", name, got, head)
	}
	in.FieldsPerRecord = len(head)
	var n int64
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		n++
		if n%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if err := do(cells); err != nil {
			return fmt.Errorf("%s row %d: %w", name, n, err)
		}
	}
	if want := c.rows(name); n != want {
		return fmt.Errorf("%s has %d rows, the manifest says %d", name, n, want)
	}
	return nil
}

// idSet holds ids as hashes of 64 bits, sorted: eight bytes each. Two different ids of one hash would be taken for one, which
// for a million happens once in thirty million files, and then stops a good file.
type idSet []uint64

// idsOf is an empty set with room for the ids of a file's rows, so that it does not grow by doubling.
func (c *checker) idsOf(name string) idSet { return make(idSet, 0, max(0, c.rows(name))) }

func (s *idSet) add(id string) { *s = append(*s, hashOf(id)) }

// settle sorts the set and reports whether an id was added twice.
func (s idSet) settle() (twice bool) {
	slices.Sort(s)
	for i := 1; i < len(s); i++ {
		if s[i] == s[i-1] {
			return true
		}
	}
	return false
}

func (s idSet) has(id string) bool {
	_, ok := slices.BinarySearch(s, hashOf(id))
	return ok
}

// tables checks CSV files against the description that goes with them.
func (c *checker) tables(ctx context.Context) error {
	b, err := c.small("datapackage.json")
	if err != nil {
		return err
	}
	var d dataPackage
	if err := json.Unmarshal(b, &d); err != nil {
		return fmt.Errorf("datapackage.json: %w", err)
	}
	ids := map[string]*idSet{}
	for _, r := range d.Resources {
		if ids[r.Name], err = c.tableKeys(ctx, r); err != nil {
			return err
		}
	}
	c.held("every cell is of the type and vocabulary that datapackage.json gives its column")
	c.held("every row has a key of its own")
	for _, r := range d.Resources {
		if err := c.tableRefs(ctx, r, ids); err != nil {
			return err
		}
	}
	c.held("every reference points at a row that is there")
	if b, err = c.small("csv-metadata.json"); err != nil {
		return err
	}
	if !json.Valid(b) {
		return errors.New("csv-metadata.json is no JSON")
	}
	return nil
}

func headOf(r resource) []string {
	head := make([]string, len(r.Schema.Fields))
	for i, f := range r.Schema.Fields {
		head[i] = f.Name
	}
	return head
}

func (c *checker) tableKeys(ctx context.Context, r resource) (*idSet, error) {
	head := headOf(r)
	var key []int
	for _, k := range r.Schema.PrimaryKey {
		key = append(key, slices.Index(head, k))
	}
	enums := make([][]string, len(head))
	for i, f := range r.Schema.Fields {
		if list, ok := f.Constraints["enum"].([]any); ok {
			for _, w := range list {
				enums[i] = append(enums[i], fmt.Sprint(w))
			}
		}
	}
	set := c.idsOf(r.Path)
	ids := &set
	err := c.eachRow(ctx, r.Path, head, func(cells []string) error {
		for i, cell := range cells {
			if cell == "" {
				continue
			}
			if err := isOf(r.Schema.Fields[i].Type, cell); err != nil {
				return fmt.Errorf("%s: %w", head[i], err)
			}
			if enums[i] != nil && !slices.Contains(enums[i], cell) {
				return fmt.Errorf("%s: %q is none of %v", head[i], cell, enums[i])
			}
		}
		var k strings.Builder
		for _, i := range key {
			if cells[i] == "" {
				return fmt.Errorf("%s: empty, but names the row", head[i])
			}
			k.WriteString(cells[i])
			if len(key) > 1 {
				k.WriteByte(0)
			}
		}
		ids.add(k.String())
		return nil
	})
	if err == nil && ids.settle() {
		err = fmt.Errorf("%s: two rows have one key", r.Path)
	}
	return ids, err
}

func isOf(kind, cell string) (err error) {
	switch kind {
	case "integer":
		_, err = strconv.ParseInt(cell, 10, 64)
	case "number":
		_, err = strconv.ParseFloat(cell, 64)
	case "boolean":
		if cell != "true" && cell != "false" {
			err = fmt.Errorf("%q is neither true nor false", cell)
		}
	case "datetime":
		_, err = time.Parse(time.RFC3339, cell)
	}
	return err
}

func (c *checker) tableRefs(ctx context.Context, r resource, ids map[string]*idSet) error {
	if len(r.Schema.ForeignKeys) == 0 {
		return nil
	}
	head := headOf(r)
	return c.eachRow(ctx, r.Path, head, func(cells []string) error {
		for _, k := range r.Schema.ForeignKeys {
			i := slices.Index(head, k.Fields)
			to := ids[k.Reference["resource"]]
			if i < 0 || to == nil {
				return fmt.Errorf("the reference of %s is not described", k.Fields)
			}
			if cells[i] != "" && !to.has(cells[i]) {
				return fmt.Errorf("%s: there is no %s %s", head[i], k.Reference["resource"], cells[i])
			}
		}
		return nil
	})
}

// maps checks that the files are GeoJSON as RFC 7946 has it.
func (c *checker) maps() error {
	for _, name := range []string{"waters.geojson", "launches.geojson", "flows.geojson"} {
		b, err := c.small(name)
		if err != nil {
			return err
		}
		var doc struct {
			Type     string             `json:"type"`
			CRS      any                `json:"crs"`
			Features []exchange.Feature `json:"features"`
		}
		d := json.NewDecoder(bytes.NewReader(b))
		if err := d.Decode(&doc); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if doc.Type != "FeatureCollection" || doc.CRS != nil || int64(len(doc.Features)) != c.rows(name) {
			return fmt.Errorf("%s is no collection of %d features without a crs", name, c.rows(name))
		}
		for i, f := range doc.Features {
			if f.Type != "Feature" {
				return fmt.Errorf("%s feature %d: type %q", name, i+1, f.Type)
			}
			if err := goodGeometry(f.Geometry.Type, f.Geometry.Coordinates); err != nil {
				return fmt.Errorf("%s feature %d: %w", name, i+1, err)
			}
		}
	}
	c.held("the maps are GeoJSON feature collections with closed rings, longitude first")
	return nil
}

func goodGeometry(kind string, at any) error {
	point := func(v any) ([2]float64, error) {
		p, ok := v.([]any)
		if !ok || len(p) != 2 {
			return [2]float64{}, fmt.Errorf("%v is no position", v)
		}
		lon, _ := p[0].(float64)
		lat, _ := p[1].(float64)
		if lon < -180 || lon > 180 || lat < -90 || lat > 90 {
			return [2]float64{}, fmt.Errorf("%v is not on the Earth", v)
		}
		return [2]float64{lon, lat}, nil
	}
	switch kind {
	case "Point":
		_, err := point(at)
		return err
	case "LineString":
		ends, _ := at.([]any)
		if len(ends) < 2 {
			return errors.New("a line of fewer than 2 positions")
		}
		for _, p := range ends {
			if _, err := point(p); err != nil {
				return err
			}
		}
		return nil
	case "Polygon":
		rings, _ := at.([]any)
		if len(rings) == 0 {
			return errors.New("a polygon without rings")
		}
		for _, r := range rings {
			ps, _ := r.([]any)
			if len(ps) < 4 {
				return errors.New("a ring of fewer than 4 positions")
			}
			first, err := point(ps[0])
			last, err2 := point(ps[len(ps)-1])
			if err := errors.Join(err, err2); err != nil {
				return err
			}
			if first != last {
				return errors.New("a ring that is not closed")
			}
		}
		return nil
	}
	return fmt.Errorf("geometry %q is not accepted", kind)
}
