package api_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/exchange"
)

// entries gives everything that the store holds.
func (w *world) entries(t testing.TB) []thwart.Kept {
	t.Helper()
	all, _, err := w.store.Changes(t.Context(), nil, 0, 1000)
	if err != nil || len(all) == 1000 {
		t.Fatal(len(all), err)
	}
	return all
}

// form sends files: the name of each part, of its file, and what stands in it.
func (b *browser) form(status int, path string, parts ...[3]string) answer {
	b.w.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for _, p := range parts {
		w, err := form.CreateFormFile(p[0], p[1])
		if err == nil {
			_, err = w.Write([]byte(p[2]))
		}
		if err != nil {
			b.w.t.Fatal(err)
		}
	}
	if err := form.Close(); err != nil {
		b.w.t.Fatal(err)
	}
	b.header.Set("Content-Type", form.FormDataContentType())
	defer b.header.Del("Content-Type")
	return b.want(status, "POST", path, body.String())
}

const oldTable = `Date,Time,Ramp,Inspector,Boat,Reg,Result
2026-05-02,09:10,Alder Point,Wren,canoe,MN 1234 AB,passed
2026-05-02,9:40 am,Alder Point,Wren,canoe,,cleaned
2026-05-02,9:40 am,Alder Point,Wren,canoe,,cleaned
2026-05-03,10:05,Bitter Landing,Wren,canoe,,passed
2026-05-04,late,Alder Point,Wren,hovercraft,,passed
`

// A table is read twice without keeping anything, then kept, then kept again: the answers of the dry run come true, and the second
// time adds nothing.
func TestImportOverHTTP(t *testing.T) {
	w := newWorld(t, func(c *api.Config) {
		c.MarkKey = func(season string) ([]byte, error) { return []byte("a secret key of season " + season), nil }
	})
	m := w.setup()
	s := m.season()
	wren := m.addPerson("Wren", thwart.RoleSteward)

	var guess exchange.Mapping
	m.form(http.StatusOK, "/api/import/mapping", [3]string{"table", "old.csv", oldTable}).into(t, &guess)
	if guess.Columns[exchange.FieldDate] != "Date" || guess.Zone != "" {
		t.Errorf("guessed %+v", guess)
	}
	mapping := fmt.Sprintf(`{"columns":{"date":"Date","time":"Time","launch":"Ramp","steward":"Inspector","class":"Boat","registration":"Reg","outcome":"Result"},
		"zone":"America/Chicago","units":{},"launches":{"Alder Point":%q}}`, s.launch)
	parts := [][3]string{{"table", "old.csv", oldTable}, {"mapping", "m.json", mapping}}
	count := func() int { return len(w.entries(t)) }

	before := count()
	var dry api.ImportResult
	m.form(http.StatusOK, "/api/import/preview", parts...).into(t, &dry)
	if r := dry.Report; r.Rows != 5 || r.Taken != 3 || r.Refused != 1 || r.Duplicates != 1 || dry.Kept != nil || len(r.Names) != 1 || r.Names[0].Name != "Bitter Landing" {
		t.Fatalf("%+v", dry)
	}
	if strings.Contains(fmt.Sprint(dry.Report.Lines), "1234") {
		t.Error("the report says a registration back")
	}
	if now := count(); now != before {
		t.Fatalf("a preview kept %d entries", now-before)
	}
	var done api.ImportResult
	m.form(http.StatusOK, "/api/import", parts...).into(t, &done)
	if done.Kept == nil || done.Kept.Stored != 5 || done.Kept.Refused != 0 { // three craft on two days
		t.Fatalf("%+v", done.Kept)
	}
	var again api.ImportResult
	m.form(http.StatusOK, "/api/import", parts...).into(t, &again)
	if again.Kept == nil || again.Kept.Stored != 0 || again.Kept.Had != 5 {
		t.Errorf("a second time: %+v", again.Kept)
	}
	want := thwart.MarkOf("MN 1234 AB", []byte("a secret key of season 2026"))
	marked := 0
	for _, e := range w.entries(t) {
		if e.Kind != thwart.KindInspection {
			continue
		}
		if e.Origin != thwart.OriginImport || e.Person != wren {
			t.Errorf("an inspection by %s from %s", e.Person, e.Origin)
		}
		if strings.Contains(string(e.Body), want.Hash) {
			marked++
		}
		if strings.Contains(string(e.Body), "1234") {
			t.Errorf("the registration is kept: %s", e.Body)
		}
	}
	if marked != 1 {
		t.Errorf("%d marks by the season's key", marked)
	}
	var trail thwart.Page[thwart.Audit]
	m.want(http.StatusOK, "GET", "/api/audit?limit=1000", nil).into(t, &trail)
	noted := 0
	for _, l := range trail.Items {
		if l.What == "import" && l.Detail == "5 rows: 3 taken, 1 refused, 1 duplicates" {
			noted++
		}
	}
	if noted != 2 {
		t.Errorf("the trail tells of %d imports", noted)
	}

	f := excelize.NewFile()
	for i, line := range strings.Split(strings.TrimSpace(oldTable), "\n") {
		cells := strings.Split(line, ",")
		if err := f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &cells); err != nil {
			t.Fatal(err)
		}
	}
	book, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	m.form(http.StatusOK, "/api/import", [3]string{"table", "old.XLSX", book.String()}, parts[1]).into(t, &again)
	if again.Report.Taken != 3 || again.Kept.Stored != 0 || again.Kept.Had != 5 {
		t.Errorf("the same rows from a workbook: %+v", again)
	}
}

// Headings come with cells to know them by, but never with a boater's name or number.
func TestHeadingsOfATable(t *testing.T) {
	m := newWorld(t, nil).setup()
	table := "Date,Owner Name,Phone,Boat\n2026-05-02,Ann Example,555 0100,canoe\n2026-05-02,Bo Example,555 0101,\n2026-05-03,,,canoe\n"
	var head api.TableHead
	a := m.form(http.StatusOK, "/api/import/headings", [3]string{"table", "old.csv", table})
	a.into(t, &head)
	if len(head.Headings) != 4 || len(head.Fields) != len(exchange.Fields) || len(head.Dates) == 0 {
		t.Fatalf("%+v", head)
	}
	if got := fmt.Sprint(head.Headings[0].Samples, head.Headings[3].Samples); got != "[2026-05-02 2026-05-03] [canoe]" {
		t.Errorf("cells: %s", got)
	}
	if strings.Contains(string(a.body), "Example") || strings.Contains(string(a.body), "555") {
		t.Errorf("a boater is shown: %s", a.body)
	}
	if p := problemOf(t, m.form(http.StatusUnprocessableEntity, "/api/import/headings", [3]string{"table", "old.csv", ""})); !hasField(p, "table") {
		t.Errorf("%+v", p)
	}
}

func TestImportSaysWhatIsWrongWithTheForm(t *testing.T) {
	w := newWorld(t, func(c *api.Config) { c.MarkKey = nil })
	m := w.setup()
	good := `{"columns":{"date":"Date","launch":"Ramp","steward":"Inspector"},"zone":"America/Chicago","units":{}}`
	withReg := strings.Replace(good, `"date"`, `"registration":"Reg","date"`, 1)
	table := [3]string{"table", "old.csv", oldTable}
	for name, c := range map[string]struct {
		field string
		parts [][3]string
	}{
		"no table":                    {"table", [][3]string{{"mapping", "m.json", good}}},
		"no mapping":                  {"mapping", [][3]string{table}},
		"mapping cut short":           {"mapping", [][3]string{table, {"mapping", "m.json", good[:20]}}},
		"unknown zone":                {"mapping.zone", [][3]string{table, {"mapping", "m.json", strings.Replace(good, "Chicago", "Nowhere", 1)}}},
		"another ending":              {"table", [][3]string{{"table", "old.doc", oldTable}, {"mapping", "m.json", good}}},
		"a workbook that is none":     {"table", [][3]string{{"table", "old.xlsx", oldTable}, {"mapping", "m.json", good}}},
		"a heading that is not there": {"columns.date", [][3]string{table, {"mapping", "m.json", strings.Replace(good, `"Date"`, `"Day"`, 1)}}},
		"registrations without a key": {"columns.registration", [][3]string{table, {"mapping", "m.json", withReg}}},
		"two tables":                  {"body", [][3]string{table, table, {"mapping", "m.json", good}}},
		"a part of another name":      {"body", [][3]string{table, {"lunch", "l", "x"}, {"mapping", "m.json", good}}},
	} {
		t.Run(name, func(t *testing.T) {
			before := len(w.entries(t))
			if p := problemOf(t, m.form(http.StatusUnprocessableEntity, "/api/import", c.parts...)); !hasField(p, c.field) {
				t.Errorf("%+v", p)
			}
			if after := len(w.entries(t)); after != before {
				t.Errorf("%d entries were kept", after-before)
			}
		})
	}
	if p := problemOf(t, m.want(http.StatusUnprocessableEntity, "POST", "/api/import", obj{})); !hasField(p, "body") {
		t.Errorf("%+v", p)
	}
}
