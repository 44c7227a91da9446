package exchange_test

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
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"thwart"
	"thwart/internal/exchange"
	"thwart/internal/store"
	"thwart/unit"
)

var madeAt = time.Date(2026, 7, 4, 9, 0, 0, 0, time.FixedZone("", -5*3600))

func kept(t testing.TB, n int, kind thwart.Kind, body any) thwart.Kept {
	t.Helper()
	b, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	return thwart.Kept{ReceivedAt: madeAt.UTC(), Entry: thwart.Entry{
		ID: id(n), Subject: id(n), Kind: kind, MadeAt: madeAt, Origin: thwart.OriginOffice, App: "1.0", Body: b,
	}}
}

func put(t testing.TB, s thwart.Store, batch ...thwart.Kept) {
	t.Helper()
	answers, err := s.Put(t.Context(), batch)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range answers {
		if a.Result == thwart.Refused {
			t.Fatalf("%+v", a)
		}
	}
}

// smallSeason is a few records of every kind of trouble.
func smallSeason(t testing.TB) *store.Store {
	t.Helper()
	s := openStore(t)
	clockwise := []thwart.Point{{-93, 45}, {-93, 46}, {-92, 46}, {-92, 45}, {-93, 45}}
	island := []thwart.Point{{-92.6, 45.4}, {-92.4, 45.4}, {-92.4, 45.6}, {-92.6, 45.6}, {-92.6, 45.4}} // counter-clockwise
	shiftEnd := madeAt.Add(4 * time.Hour)
	put(t, s,
		kept(t, 1, thwart.KindWater, thwart.WaterBody{Name: "Fenwillow Lake", Outline: [][]thwart.Point{clockwise, island}, Centre: thwart.Point{-92.5, 45.5},
			Statuses: []thwart.DatedStatus{{Organism: "zebra_mussel", Status: thwart.StatusInfested, From: madeAt}}}),
		kept(t, 2, thwart.KindWater, thwart.WaterBody{Name: "=SUM(A1) & <b>Pond</b>", Centre: thwart.Point{-91.5, 45.25}}),
		kept(t, 11, thwart.KindLaunch, thwart.Ramp{Name: "Alder Point", Water: id(1), At: thwart.Point{-92.9, 45.1}, Lanes: 2}),
		kept(t, 21, thwart.KindPerson, thwart.Person{Name: "W. Marsh", Roles: []thwart.Role{thwart.RoleSteward}}),
		kept(t, 31, thwart.KindShift, thwart.Shift{Launch: id(11), People: []string{id(21)}, From: madeAt, To: &shiftEnd, Note: "-1+1", Weather: &thwart.Weather{AirC: new(unit.Celsius(0)), RHPct: new(80.0), Wet: new(true)}}),
		kept(t, 41, thwart.KindInspection, thwart.Encounter{Shift: id(31), Protocol: "demo@1", Mark: &thwart.Mark{Hash: strings.Repeat("ab", 16), Prefix: "MN"},
			Inspection: thwart.Inspection{Launch: id(11), Steward: id(21), StartedAt: madeAt, LastWaters: []thwart.Visit{{Water: id(2)}},
				Setup:    thwart.Setup{Class: "bass_boat", LengthM: 5.4, Drives: []thwart.Drive{thwart.DriveOutboard}, Spaces: []thwart.Space{}, Gear: []string{}},
				Findings: []thwart.Finding{{Place: "bunk", Matter: thwart.MatterPlant, Note: "@weeds"}, {Place: "anchor"}},
				Note:     "=cmd|' /C calc'!A0, \"quoted\"\nsecond line"}}),
	)
	// A body with blanks, line breaks and signs that JSON writers like to spell out; its sum is over these very bytes.
	loose := kept(t, 32, thwart.KindTally, nil)
	loose.Body = json.RawMessage("{ \"shift\": \"" + id(31) + "\",\n\t\"at\": \"2026-07-04T10:00:00-05:00\", \"passedBy\": 3, \"newer\": \"<&>\\u2028\" }")
	put(t, s, loose)
	fix := kept(t, 3, thwart.KindWater, thwart.WaterBody{Name: "=SUM(A1) & <b>Pond</b>", Centre: thwart.Point{-91.5, 45.5}})
	fix.Subject, fix.Supersedes, fix.Why = id(2), id(2), "the pin was off"
	gone := kept(t, 12, thwart.KindLaunch, thwart.Ramp{Name: "Old Ramp", Water: id(1), At: thwart.Point{-92.8, 45.1}, Lanes: 1})
	goner := kept(t, 13, thwart.KindLaunch, nil)
	goner.Subject, goner.Supersedes, goner.Why, goner.Removed, goner.Body = id(12), id(12), "closed", true, nil
	put(t, s, fix, gone, goner)
	return s
}

func table(t testing.TB, s thwart.Store, name string, edition exchange.Edition) [][]string {
	t.Helper()
	var b bytes.Buffer
	n, err := exchange.WriteTable(t.Context(), &b, s, name, edition)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != n+1 {
		t.Errorf("%s: %d rows, said to be %d", name, len(rows)-1, n)
	}
	return rows
}

func cellOf(t testing.TB, rows [][]string, row int, column string) string {
	t.Helper()
	i := slices.Index(rows[0], column)
	if i < 0 || row >= len(rows) {
		t.Fatalf("no column %s or row %d", column, row)
	}
	return rows[row][i]
}

func TestWriteTables(t *testing.T) {
	s := smallSeason(t)
	counts := map[string]int{"inspections": 1, "findings": 2, "shifts": 1, "tallies": 1, "washes": 0, "waters": 2, "launches": 1, "units": 0}
	for _, name := range exchange.Tables {
		for _, edition := range []exchange.Edition{exchange.EditionExchange, exchange.EditionSpreadsheet} {
			if rows := table(t, s, name, edition); len(rows)-1 != counts[name] {
				t.Errorf("%s: %d rows, want %d", name, len(rows)-1, counts[name])
			}
		}
	}
	const formula = "=cmd|' /C calc'!A0, \"quoted\"\nsecond line"
	plain, safe := table(t, s, "inspections", exchange.EditionExchange), table(t, s, "inspections", exchange.EditionSpreadsheet)
	if a, b := cellOf(t, plain, 1, "note"), cellOf(t, safe, 1, "note"); a != formula || b != "'"+formula {
		t.Errorf("%q, %q", a, b)
	}
	if got := cellOf(t, plain, 1, "started_at"); got != "2026-07-04T09:00:00-05:00" {
		t.Errorf("%s", got)
	}
	if strings.Contains(fmt.Sprint(plain), strings.Repeat("ab", 16)) {
		t.Error("the hash of a registration went out")
	}
	// Numbers are no text: a longitude keeps its minus in both editions.
	if got := cellOf(t, table(t, s, "waters", exchange.EditionSpreadsheet), 1, "lon"); got != "-92.5" {
		t.Errorf("%s", got)
	}
	waters := table(t, s, "waters", exchange.EditionExchange)
	if a, b := cellOf(t, waters, 2, "lat"), cellOf(t, waters, 2, "versions"); a != "45.5" || b != "2" {
		t.Errorf("latitude %s, %s versions: want the corrected one of two", a, b)
	}
	// An air of 0 °C is an answer, not an empty cell.
	shifts := table(t, s, "shifts", exchange.EditionExchange)
	if air, rh, wet := cellOf(t, shifts, 1, "air_c"), cellOf(t, shifts, 1, "rh_pct"), cellOf(t, shifts, 1, "wet"); air != "0" || rh != "80" || wet != "true" {
		t.Errorf("weather %q °C, %q %%, wet %q", air, rh, wet)
	}
	if got := cellOf(t, table(t, s, "findings", exchange.EditionExchange), 2, "matter"); got != "unknown" {
		t.Errorf("%q", got)
	}
	var fields thwart.FieldErrors
	if _, err := exchange.WriteTable(t.Context(), io.Discard, s, "accounts", exchange.EditionExchange); !errors.As(err, &fields) {
		t.Errorf("%v", err)
	}
}

// The description names every column of every table in the order of the files.
func TestDictionary(t *testing.T) {
	s := openStore(t)
	var b bytes.Buffer
	if err := exchange.WriteDictionary(&b); err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Resources []struct {
			Name, Path string
			Schema     struct {
				Fields []struct{ Name, Type, Description string }
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, r := range doc.Resources {
		names = append(names, r.Name)
		var columns []string
		for _, f := range r.Schema.Fields {
			columns = append(columns, f.Name)
			if f.Description == "" || !slices.Contains([]string{"string", "number", "integer", "boolean", "datetime", "date"}, f.Type) {
				t.Errorf("%s.%s: %+v", r.Name, f.Name, f)
			}
		}
		if d := cmp.Diff(table(t, s, r.Name, exchange.EditionExchange)[0], columns); d != "" {
			t.Errorf("%s\n%s", r.Name, d)
		}
	}
	if d := cmp.Diff(exchange.Tables, names); d != "" {
		t.Error(d)
	}
}

func TestGuard(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "weeds": "weeds", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'\t=1", "  =1": "'  =1", "a=1": "a=1", "＝1": "'＝1", "'=1": "'=1",
	} {
		if got := exchange.Guard(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestGeoJSON(t *testing.T) {
	s := smallSeason(t)
	var b bytes.Buffer
	n, err := exchange.WriteWaters(t.Context(), &b, s)
	if err != nil || n != 2 {
		t.Fatalf("%d, %v", n, err)
	}
	var doc struct {
		Type     string
		Features []struct {
			ID       string
			Geometry struct {
				Type        string
				Coordinates json.RawMessage
			}
			Properties map[string]any
		}
	}
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatalf("%v\n%s", err, &b)
	}
	if doc.Type != "FeatureCollection" || doc.Features[0].Geometry.Type != "Polygon" || doc.Features[1].Geometry.Type != "Point" {
		t.Fatalf("%s", &b)
	}
	var rings [][][2]float64
	if err := json.Unmarshal(doc.Features[0].Geometry.Coordinates, &rings); err != nil {
		t.Fatal(err)
	}
	// RFC 7946, section 3.1.6: exterior rings are counterclockwise, and interior rings are clockwise.
	if rings[0][1] != [2]float64{-92, 45} || rings[1][1] != [2]float64{-92.6, 45.6} {
		t.Errorf("%v", rings)
	}
	if string(doc.Features[1].Geometry.Coordinates) != "[-91.5,45.5]" || doc.Features[1].Properties["others"] != "unknown" {
		t.Errorf("%s", &b)
	}
	b.Reset()
	if n, err := exchange.WriteLaunches(t.Context(), &b, s); err != nil || n != 1 || !json.Valid(b.Bytes()) {
		t.Errorf("%d, %v: %s", n, err, &b)
	}
	b.Reset()
	if n, err := exchange.WriteLaunches(t.Context(), &b, openStore(t)); err != nil || n != 0 || !json.Valid(b.Bytes()) {
		t.Errorf("%d, %v: %s", n, err, &b)
	}
}

func TestPublicTotals(t *testing.T) {
	totals := []thwart.Total{
		{Key: id(11), Encounters: 34, ByOutcome: map[thwart.Outcome]int{thwart.Launch: 20, thwart.FixHere: 7, thwart.Wash: 3}, Refused: 4, Findings: 10, TallyRefused: 6, TurnedAway: 3, PassedBy: 12, Hours: 20.25},
		{Key: id(12), Encounters: 41, ByOutcome: map[thwart.Outcome]int{thwart.Launch: 10, thwart.FixHere: 9, thwart.Wash: 8, thwart.DryOut: 6, thwart.Hold: 5}, Hours: -1},
		{Key: id(13), Encounters: 53, ByOutcome: map[thwart.Outcome]int{thwart.Launch: 10, thwart.FixHere: 9, thwart.Wash: 8, thwart.DryOut: 7, thwart.Hold: 6}, Refused: 3, Hours: -1},
		{Key: "=x", Encounters: 2, ByOutcome: map[thwart.Outcome]int{thwart.Launch: 2}},
	}
	var b bytes.Buffer
	if err := exchange.WritePublicTotals(&b, totals, "launch", map[string]string{id(11): "Alder Point"}); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"launch", "encounters", "outcome_launch", "outcome_fix_here", "outcome_wash", "outcome_dry", "outcome_hold", "not_judged", "refused", "with_findings", "refused_tallied", "turned_away", "passed_by", "steward_hours"},
		{"Alder Point", "34", "20", "7", "<5", "<5", "<5", "<5", "<5", "10", "6", "<5", "12", "20.2"},
		// 41 - 10 - 9 - 8 - 6 - 5 = 3 not judged or refused: they could be had from the sum, so the next smallest goes too.
		{id(12), "41", "10", "9", "8", "6", "withheld", "<5", "<5", "<5", "<5", "<5", "<5", ""},
		{id(13), "53", "10", "9", "8", "7", "withheld", "10", "<5", "<5", "<5", "<5", "<5", ""},
		{"'=x", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "<5", "0.0"},
	}
	if d := cmp.Diff(want, rows); d != "" {
		t.Error(d)
	}
	for _, by := range []string{"steward", "day", "hour"} {
		if err := exchange.WritePublicTotals(io.Discard, totals, by, nil); err == nil {
			t.Errorf("%s went out", by)
		}
	}
}

func sums(t testing.TB, s thwart.Store) map[string]string {
	t.Helper()
	out := map[string]string{}
	var after int64
	for {
		entries, next, err := s.Changes(t.Context(), nil, after, 100)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			out[e.ID] = e.Sum()
		}
		if len(entries) == 0 {
			return out
		}
		after = next
	}
}

// TestArchiveWithStrangeOrganisms: a water that stands with an organism the library does not know is refused by line, field, value and
// what is accepted, and nothing is kept; where it was corrected since, the mistake is history.
func TestArchiveWithStrangeOrganisms(t *testing.T) {
	water := func(organisms ...string) thwart.WaterBody {
		w := thwart.WaterBody{Name: "Sedge Mere", Centre: thwart.Point{-92.5, 45.5}}
		for _, o := range organisms {
			w.Statuses = append(w.Statuses, thwart.DatedStatus{Organism: o, Status: thwart.StatusInfested, From: madeAt})
		}
		return w
	}
	from := openStore(t)
	put(t, from, kept(t, 1, thwart.KindWater, water("zebra_mussel", "Zebra mussel", "xylophone")))
	load := func() (thwart.FieldErrors, int) {
		t.Helper()
		var b bytes.Buffer
		if _, err := exchange.WriteArchive(t.Context(), &b, from, madeAt, "1.0"); err != nil {
			t.Fatal(err)
		}
		to := openStore(t)
		_, _, err := exchange.LoadArchive(t.Context(), bytes.NewReader(b.Bytes()), int64(b.Len()), to)
		var fields thwart.FieldErrors
		if err != nil && !errors.As(err, &fields) {
			t.Fatal(err)
		}
		return fields, len(sums(t, to))
	}
	const accepted = "the id of an organism of the library, as thwart organisms lists them"
	want := thwart.FieldErrors{
		{Field: "entries.jsonl, line 1: body.statuses[1].organism", Value: "Zebra mussel", Accepted: accepted + ": zebra_mussel"},
		{Field: "entries.jsonl, line 1: body.statuses[2].organism", Value: "xylophone", Accepted: accepted},
	}
	if got, n := load(); n != 0 || cmp.Diff(want, got) != "" {
		t.Errorf("%d kept; %s", n, cmp.Diff(want, got))
	}
	fix := kept(t, 3, thwart.KindWater, water("zebra_mussel"))
	fix.Subject, fix.Supersedes, fix.Why = id(1), id(1), "named as the library does"
	put(t, from, fix)
	if got, n := load(); len(got) > 0 || n != 2 {
		t.Errorf("after the correction: %d kept; %v", n, got)
	}
}

func TestArchiveRoundTrip(t *testing.T) {
	from, to := smallSeason(t), openStore(t)
	var b bytes.Buffer
	m, err := exchange.WriteArchive(t.Context(), &b, from, madeAt, "1.0")
	if err != nil {
		t.Fatal(err)
	}
	if m.Entries != 10 || m.Kinds[thwart.KindWater] != 3 {
		t.Errorf("%+v", m)
	}
	r := bytes.NewReader(b.Bytes())
	_, first, err := exchange.LoadArchive(t.Context(), r, r.Size(), to)
	if err != nil || first.Stored != m.Entries || first.Refused != 0 {
		t.Fatalf("%+v, %v", first, err)
	}
	want := sums(t, from)
	if d := cmp.Diff(want, sums(t, to)); d != "" {
		t.Error(d)
	}
	for _, s := range []exchange.Keeper{to, from} { // loading again, also where it came from, changes nothing
		_, again, err := exchange.LoadArchive(t.Context(), r, r.Size(), s)
		if err != nil || again.Stored != 0 || again.Refused != 0 || again.Had != m.Entries {
			t.Errorf("%+v, %v", again, err)
		}
		if d := cmp.Diff(want, sums(t, s)); d != "" {
			t.Error(d)
		}
	}
	var second bytes.Buffer
	m2, err := exchange.WriteArchive(t.Context(), &second, to, madeAt, "1.0")
	if err != nil || m2.Entries != m.Entries {
		t.Errorf("%+v, %v", m2, err)
	}
	for _, name := range exchange.Tables {
		if d := cmp.Diff(table(t, from, name, exchange.EditionExchange), table(t, to, name, exchange.EditionExchange)); d != "" {
			t.Errorf("%s\n%s", name, d)
		}
	}
	var lines bytes.Buffer
	n, err := exchange.WriteLines(t.Context(), &lines, from)
	if err != nil || n != 10 || bytes.Count(lines.Bytes(), []byte("\n")) != 10 {
		t.Errorf("%d lines, %v", n, err)
	}
	for l := range bytes.SplitSeq(bytes.TrimSpace(lines.Bytes()), []byte("\n")) {
		if !json.Valid(l) {
			t.Errorf("%s", l)
		}
	}
}

func unzip(t testing.TB, b []byte) map[string][]byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// Every kind of record goes through an archive byte by byte, whatever its body says.
func TestArchiveCarriesEveryKind(t *testing.T) {
	from, to := openStore(t), openStore(t)
	pic := picture(t, 16, 8)
	h := sha256.Sum256(pic)
	hash := hex.EncodeToString(h[:])
	if _, err := from.PutPicture(t.Context(), thwart.Picture{SHA256: hash, Type: "image/jpeg", Data: pic}); err != nil {
		t.Fatal(err)
	}
	for i, kind := range thwart.Kinds {
		put(t, from, kept(t, 100+i, kind, map[string]any{"name": "A", "note": "<&>", "newer": i}))
	}
	var b bytes.Buffer
	m, err := exchange.WriteArchive(t.Context(), &b, from, madeAt, "1.0")
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range thwart.Kinds {
		if m.Kinds[kind] != 1 {
			t.Errorf("%d entries of %s in the archive", m.Kinds[kind], kind)
		}
	}
	if _, r, err := exchange.LoadArchive(t.Context(), bytes.NewReader(b.Bytes()), int64(b.Len()), to); err != nil || r.Stored != m.Entries || r.Pictures != 1 {
		t.Fatalf("%+v, %v", r, err)
	}
	if p, err := to.PictureByHash(t.Context(), hash); err != nil || !bytes.Equal(p.Data, pic) || p.Type != "image/jpeg" {
		t.Errorf("%+v, %v", p, err)
	}
	// The picture is stored as it is, so a bit of it can be turned over; the zip's own checksum or the name finds it.
	bent := bytes.Clone(b.Bytes())
	bent[bytes.Index(bent, pic)+len(pic)/2] ^= 1
	if _, _, err := exchange.LoadArchive(t.Context(), bytes.NewReader(bent), int64(len(bent)), openStore(t)); err == nil {
		t.Error("an archive with a changed picture was loaded")
	}
	if d := cmp.Diff(sums(t, from), sums(t, to)); d != "" {
		t.Error(d)
	}
}

// Whatever is done to an archive, nothing of it is loaded.
func TestArchivesThatWereTouched(t *testing.T) {
	var b bytes.Buffer
	if _, err := exchange.WriteArchive(t.Context(), &b, smallSeason(t), madeAt, "1.0"); err != nil {
		t.Fatal(err)
	}
	whole := b.Bytes()
	manifest := func(files map[string][]byte, change func(m map[string]any)) {
		var m map[string]any
		if err := json.Unmarshal(files["manifest.json"], &m); err != nil {
			t.Fatal(err)
		}
		change(m)
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		files["manifest.json"] = text
	}
	// sealed makes the manifest agree with the entries again, so that only the entries themselves can give it away.
	sealed := func(files map[string][]byte) {
		manifest(files, func(m map[string]any) {
			sum := sha256.Sum256(files["entries.jsonl"])
			list, ok := m["files"].([]any)
			if !ok {
				t.Fatal("no files in the manifest")
			}
			for _, x := range list {
				if f, ok := x.(map[string]any); ok && f["name"] == "entries.jsonl" {
					f["bytes"], f["sha256"] = len(files["entries.jsonl"]), hex.EncodeToString(sum[:])
				}
			}
		})
	}
	for name, change := range map[string]func(map[string][]byte){
		"one letter": func(f map[string][]byte) {
			f["entries.jsonl"] = bytes.Replace(f["entries.jsonl"], []byte("Fenwillow"), []byte("Fenwallow"), 1)
		},
		"a line more": func(f map[string][]byte) { f["entries.jsonl"] = append(f["entries.jsonl"], "{}\n"...) },
		"a line less": func(f map[string][]byte) { _, f["entries.jsonl"], _ = bytes.Cut(f["entries.jsonl"], []byte("\n")) },
		"a line less, sealed": func(f map[string][]byte) {
			_, f["entries.jsonl"], _ = bytes.Cut(f["entries.jsonl"], []byte("\n"))
			sealed(f)
		},
		"an entry that is none, sealed": func(f map[string][]byte) {
			f["entries.jsonl"] = bytes.Replace(f["entries.jsonl"], []byte(`"kind":"water"`), []byte(`"kind":"river"`), 1)
			sealed(f)
		},
		"not JSON, sealed":     func(f map[string][]byte) { f["entries.jsonl"] = append([]byte("x"), f["entries.jsonl"]...); sealed(f) },
		"a path out":           func(f map[string][]byte) { f["../../etc/cron.d/x"] = []byte("x") },
		"an absolute path":     func(f map[string][]byte) { f["/etc/passwd"] = []byte("x") },
		"another file":         func(f map[string][]byte) { f["accounts.jsonl"] = []byte("x") },
		"no manifest":          func(f map[string][]byte) { delete(f, "manifest.json") },
		"no entries":           func(f map[string][]byte) { delete(f, "entries.jsonl") },
		"a read-me changed":    func(f map[string][]byte) { f["README.txt"] = bytes.ToUpper(f["README.txt"]) },
		"a manifest of others": func(f map[string][]byte) { manifest(f, func(m map[string]any) { m["format"] = "other" }) },
		"a later version": func(f map[string][]byte) {
			manifest(f, func(m map[string]any) { m["version"] = exchange.ArchiveVersion + 1 })
		},
		"a wrong count":      func(f map[string][]byte) { manifest(f, func(m map[string]any) { m["entries"] = 9 }) },
		"nothing listed":     func(f map[string][]byte) { manifest(f, func(m map[string]any) { m["files"] = nil }) },
		"a manifest of 2 MB": func(f map[string][]byte) { f["manifest.json"] = bytes.Repeat([]byte(" "), 2<<20) },
		"an endless line":    func(f map[string][]byte) { f["entries.jsonl"] = bytes.Repeat([]byte("x"), 32<<20); sealed(f) },
	} {
		t.Run(name, func(t *testing.T) {
			files := unzip(t, whole)
			change(files)
			checkRefused(t, zipOf(t, files))
		})
	}
	for _, n := range []int{0, 1, 30, len(whole) / 2, len(whole) - 1} {
		checkRefused(t, whole[:n])
	}
	for i := 0; i < len(whole); i += 41 {
		bent := bytes.Clone(whole)
		bent[i] ^= 0x20
		// Not every bit of a zip file says something (times, attributes): either it is refused, or it is the very same.
		s := openNothing{}
		if _, _, err := exchange.LoadArchive(t.Context(), bytes.NewReader(bent), int64(len(bent)), s); err == nil {
			if d := cmp.Diff(unzip(t, whole), unzip(t, bent)); d != "" {
				t.Fatalf("byte %d: %s", i, d)
			}
		}
	}
}

// openNothing is a store that takes everything and keeps nothing.
type openNothing struct{ exchange.Keeper }

func (openNothing) Put(_ context.Context, batch []thwart.Kept) ([]thwart.PutAnswer, error) {
	return make([]thwart.PutAnswer, len(batch)), nil
}

func checkRefused(t *testing.T, b []byte) {
	t.Helper()
	s := openStore(t)
	_, receipt, err := exchange.LoadArchive(t.Context(), bytes.NewReader(b), int64(len(b)), s)
	var what *exchange.ArchiveError
	if !errors.As(err, &what) || receipt.Stored != 0 || len(sums(t, s)) != 0 {
		t.Errorf("%+v, %v, %d entries kept", receipt, err, len(sums(t, s)))
	}
}

// Writing a season ten times as long takes no more memory at once.
func TestExportIsFlat(t *testing.T) {
	peak := func(n int) (most uint64) {
		s := openStore(t)
		note := strings.Repeat("note ", 200)
		for from := 0; from < n; from += 500 {
			var batch []thwart.Kept
			for i := from; i < from+500; i++ {
				batch = append(batch, kept(t, 1000+i, thwart.KindShift, thwart.Shift{Launch: id(11), People: []string{id(21)}, From: madeAt, Note: note}))
			}
			put(t, s, batch...)
		}
		w := writerFunc(func(p []byte) (int, error) {
			var now runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&now)
			most = max(most, now.HeapAlloc)
			return len(p), nil
		})
		sparse := &every{w: w, n: 1 << 20}
		if _, err := exchange.WriteArchive(t.Context(), sparse, s, madeAt, "1.0"); err != nil {
			t.Fatal(err)
		}
		if _, err := exchange.WriteTable(t.Context(), sparse, s, "shifts", exchange.EditionExchange); err != nil {
			t.Fatal(err)
		}
		return most
	}
	few, many := peak(1000), peak(10_000)
	t.Logf("heap in use: %d kB for 1,000, %d kB for 10,000", few>>10, many>>10)
	if many > few+8<<20 {
		t.Errorf("%d kB for 10,000 entries, %d kB for 1,000", many>>10, few>>10)
	}
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

// every passes one write in n bytes on.
type every struct {
	w       io.Writer
	n, seen int
}

func (e *every) Write(p []byte) (int, error) {
	if e.seen += len(p); e.seen >= e.n {
		e.seen = 0
		return e.w.Write(p)
	}
	return len(p), nil
}
