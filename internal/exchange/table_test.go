package exchange_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"thwart/internal/exchange"
)

func allRows(t testing.TB, table exchange.Table) []exchange.Row {
	t.Helper()
	var rows []exchange.Row
	for {
		row, err := table.Next()
		if errors.Is(err, io.EOF) {
			return rows
		}
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, row)
	}
}

func TestCSVAsPeopleWriteIt(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       [][]string
		faults     int
	}{
		{"plain", "a,b\n1,2\n", [][]string{{"a", "b"}, {"1", "2"}}, 0},
		{"no line end at the end", "a,b\n1,2", [][]string{{"a", "b"}, {"1", "2"}}, 0},
		{"byte order mark", "\ufeffa,b\n", [][]string{{"a", "b"}}, 0},
		{"mixed line ends", "a,b\r\n1,2\r3,4\n", [][]string{{"a", "b"}, {"1", "2"}, {"3", "4"}}, 0},
		{"semicolons", "a;b\n1,5;2\n", [][]string{{"a", "b"}, {"1,5", "2"}}, 0},
		{"tabs", "a\tb\n1\t2\n", [][]string{{"a", "b"}, {"1", "2"}}, 0},
		{"a comma and a line break in quotes", "a,b\n\"1,\n2\",3\n", [][]string{{"a", "b"}, {"1,\n2", "3"}}, 0},
		{"doubled quotes", "a\n\"say \"\"no\"\"\"\n", [][]string{{"a"}, {`say "no"`}}, 0},
		{"a quote in the middle", "a,b\n18' 6\",x\n", [][]string{{"a", "b"}, {`18' 6"`, "x"}}, 0},
		{"text after a quote", "a,b\n\"x\"y,z\n", [][]string{{"a", "b"}, {"xy", "z"}}, 0},
		{"blanks before a quote", "a,b\n  \"x,y\",z\n", [][]string{{"a", "b"}, {"x,y", "z"}}, 0},
		{"an open quote", "a,b\n\"x,y\nz", [][]string{{"a", "b"}, {"x,y\nz"}}, 1},
		{"zero bytes", "a,b\n\x001\x00,2\n", [][]string{{"a", "b"}, {"1", "2"}}, 0},
		{"Latin-1", "a\ncaf\xe9\n", [][]string{{"a"}, {"café"}}, 0},
		{"hidden changes of direction", "a\nx\u202ey\n", [][]string{{"a"}, {"xy"}}, 0},
		{"rows of unequal length", "a,b\n1\n1,2,3\n", [][]string{{"a", "b"}, {"1"}, {"1", "2", "3"}}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got [][]string
			faults := 0
			for _, r := range allRows(t, openCSV(t, c.text)) {
				got = append(got, r.Cells)
				faults += len(r.Faults)
			}
			if d := cmp.Diff(c.want, got); d != "" || faults != c.faults {
				t.Errorf("%d faults, want %d\n%s", faults, c.faults, d)
			}
		})
	}
}

// A cell of 10 MB costs no more memory than a cell may have, and its row is refused, not the file.
func TestEndlessCell(t *testing.T) {
	table, err := exchange.OpenCSV(io.MultiReader(strings.NewReader("d,n\n2026-07-04,ok\n2026-07-04,\""),
		strings.NewReader(strings.Repeat("x", 10<<20)), strings.NewReader("\"\n2026-07-05,ok\n")))
	if err != nil {
		t.Fatal(err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	rows := allRows(t, table)
	runtime.ReadMemStats(&after)
	if len(rows) != 4 || len(rows[2].Faults) != 1 || len(rows[3].Faults) != 0 || rows[3].Cells[1] != "ok" {
		t.Fatalf("%d rows", len(rows))
	}
	if used := after.TotalAlloc - before.TotalAlloc; used > 1<<20 {
		t.Errorf("%d bytes were allocated for it", used)
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ",\n"[i%2]
	}
	return len(p), nil
}

func TestTablesThatAreTooMuch(t *testing.T) {
	rows := func(r io.Reader) error {
		table, err := exchange.OpenCSV(r)
		for err == nil {
			_, err = table.Next()
		}
		return err
	}
	var table *exchange.TableError
	if err := rows(endless{}); !errors.As(err, &table) {
		t.Errorf("a file without end: %v", err)
	}
	if err := rows(io.MultiReader(strings.NewReader("\""), endlessQuoted{})); !errors.As(err, &table) {
		t.Errorf("a quote without end: %v", err)
	}
	if err := rows(strings.NewReader("PK\x03\x04 and so on")); !errors.As(err, &table) {
		t.Errorf("a workbook: %v", err)
	}
	if err := rows(strings.NewReader("\xff\xfea\x00")); !errors.As(err, &table) {
		t.Errorf("UTF-16: %v", err)
	}
	wide := openCSV(t, strings.Repeat("x,", 1000)+"x\n")
	if r := allRows(t, wide); len(r) != 1 || len(r[0].Cells) != exchange.MaxColumns || len(r[0].Faults) != 1 {
		t.Errorf("%d cells", len(r[0].Cells))
	}
}

type endlessQuoted struct{}

func (endlessQuoted) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'x'
	}
	return len(p), nil
}

// What encoding/csv writes, of any cells that survive cleaning, is read as it was.
func TestCSVAgreesWithTheStandardLibrary(t *testing.T) {
	cell := rapid.Custom(func(t *rapid.T) string {
		parts := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "é", "\"", ",", ";", "\n", " ", "'", "=", "0"}), 0, 8).Draw(t, "parts")
		return strings.TrimSpace(strings.Join(parts, ""))
	})
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "columns")
		want := [][]string{slices.Repeat([]string{"head"}, n)}
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			want = append(want, rapid.SliceOfN(cell, n, n).Draw(t, "row"))
		}
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		if err := w.WriteAll(want); err != nil {
			t.Fatal(err)
		}
		table, err := exchange.OpenCSV(&b)
		if err != nil {
			t.Fatal(err)
		}
		for i := range want {
			row, err := table.Next()
			if err != nil || !slices.Equal(row.Cells, want[i]) || len(row.Faults) > 0 {
				t.Fatalf("row %d: %q, %v; want %q", i+1, row.Cells, err, want[i])
			}
		}
		if _, err := table.Next(); !errors.Is(err, io.EOF) {
			t.Fatalf("%v after the last row", err)
		}
	})
}

// Whatever the bytes: no panic, no control characters, rows in order, and every row within its limits.
func FuzzCSV(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "\ufeffa;b\r\"x\"\"y\";z", "\"", "a\x00\n\xff,\u202e", "=cmd|' /C calc'!A0,@x\n", "\"a\"b,\" c\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := exchange.OpenCSV(bytes.NewReader(data))
		if err != nil {
			return
		}
		var got [][]string
		for last := 0; ; {
			row, err := table.Next()
			if err != nil {
				break
			}
			if row.Number != last+1 || len(row.Cells) == 0 || len(row.Cells) > exchange.MaxColumns {
				t.Fatalf("row %d after %d with %d cells", row.Number, last, len(row.Cells))
			}
			last = row.Number
			for _, c := range row.Cells {
				if len(c) > 2*exchange.MaxCellBytes || strings.ContainsAny(c, "\x00\r\u202e") || strings.TrimSpace(c) != c {
					t.Fatalf("%q", c)
				}
			}
			got = append(got, row.Cells)
		}
		m := exchange.Mapping{Zone: "UTC", Launch: id(11), Steward: id(21), Columns: map[exchange.Field]string{}}
		if len(got) > 0 {
			guess := exchange.Guess(got[0], nil)
			m.Columns = guess.Columns
		}
		again, err := exchange.OpenCSV(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		p, err := exchange.Read(t.Context(), again, m, names)
		if r := p.Report; err == nil && r.Taken+r.Refused+r.Duplicates != r.Rows {
			t.Fatalf("%+v", r)
		}
		for _, e := range p.Entries {
			if err := e.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func FuzzRows(f *testing.F) {
	f.Add("7/4/2026", "9:30", "18'6\"", "weeds; mussels", "555-123-4567", "140F")
	f.Add("46207.5", "0.4", "1,200", "=1+1", "\x00", "１２")
	f.Fuzz(func(t *testing.T, date, clock, length, found, note, temp string) {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		if err := w.WriteAll([][]string{{"date", "time", "length", "found", "note", "temp", "out", "days"}, {date, clock, length, found, note, temp, date, length}}); err != nil {
			t.Skip()
		}
		m := exchange.Mapping{Zone: zone, Launch: id(11), Steward: id(21), Dates: exchange.DateStyles, Columns: map[exchange.Field]string{
			exchange.FieldDate: "date", exchange.FieldTime: "time", exchange.FieldLength: "length", exchange.FieldFound: "found", exchange.FieldNote: "note",
			exchange.FieldWashTemp: "temp", exchange.FieldLastOut: "out", exchange.FieldDaysOut: "days",
		}}
		table, err := exchange.OpenCSV(&b)
		if err != nil {
			t.Skip()
		}
		p, err := exchange.Read(t.Context(), table, m, names)
		if err != nil {
			return // a heading that got lost in what came before it
		}
		for _, e := range p.Entries {
			if _, err := e.Decode(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func zipOf(t testing.TB, files map[string][]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range files {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestHostileWorkbooks(t *testing.T) {
	m := makeMessy(3)
	good := m.xlsx(t)
	flipped := bytes.Clone(good)
	for i := 200; i < len(flipped)-200; i += 97 {
		flipped[i] ^= 0x55
	}
	for name, b := range map[string][]byte{
		"a bomb":             zipOf(t, map[string][]byte{"xl/workbook.xml": make([]byte, 64<<20)}),
		"a zip inside":       zipOf(t, map[string][]byte{"xl/media/more.zip": []byte("PK")}),
		"a path out":         zipOf(t, map[string][]byte{"../../etc/x.xml": []byte("<x/>")}),
		"a path out, slants": zipOf(t, map[string][]byte{`..\..\x.xml`: []byte("<x/>")}),
		"no workbook":        zipOf(t, map[string][]byte{"hello.txt": []byte("hello")}),
		"text":               []byte("a,b\n"),
		"nothing":            {},
		"cut off":            good[:len(good)/2],
		"damaged":            flipped,
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			table, err := exchange.OpenXLSX(bytes.NewReader(b), int64(len(b)), "")
			for err == nil {
				_, err = table.Next()
			}
			runtime.ReadMemStats(&after)
			var what *exchange.TableError
			if !errors.As(err, &what) {
				t.Errorf("%v", err)
			}
			if used := after.TotalAlloc - before.TotalAlloc; used > 32<<20 {
				t.Errorf("%d bytes were allocated", used)
			}
		})
	}
	table, err := exchange.OpenXLSX(bytes.NewReader(good), int64(len(good)), "Season")
	if err == nil || !strings.Contains(err.Error(), "Sheet1") {
		t.Errorf("%v, %v: the sheets that are there should be named", table, err)
	}
}

// The same day is 46207 counted from 1900 and 44745 counted from 1904: the two counts are 1462 days apart (ECMA-376 part 1,
// section 18.17.4.1).
func TestWorkbookThatCountsFrom1904(t *testing.T) {
	f := excelize.NewFile()
	yes := true
	if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}); err != nil {
		t.Fatal(err)
	}
	for cell, v := range map[string]any{"A1": "date", "A2": 46207 - 1462 + 0.375, "B1": "n", "B2": "x"} {
		if err := f.SetCellValue("Sheet1", cell, v); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetCellFormula("Sheet1", "B2", "=1+1"); err != nil {
		t.Fatal(err)
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	table, err := exchange.OpenXLSX(bytes.NewReader(b.Bytes()), int64(b.Len()), "Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	m := exchange.Mapping{Zone: "UTC", Launch: id(11), Steward: id(21), Columns: map[exchange.Field]string{exchange.FieldDate: "date"}}
	p, err := exchange.Read(t.Context(), table, m, exchange.Options{})
	if err != nil || p.Report.Taken != 1 {
		t.Fatalf("%+v, %v", p.Report, err)
	}
	if at := p.Entries[1].MadeAt; !at.Equal(time.Date(2026, 7, 4, 9, 0, 0, 0, time.UTC)) {
		t.Errorf("%s", at)
	}
}
