package opendata

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"thwart"
	"thwart/internal/exchange"
)

// The tests of this file open what was published with programs that share no code with this one. Where such a program is not
// installed the test says so and is passed over.

const pythonReader = `
import csv, io, json, sys, zipfile
z = zipfile.ZipFile(sys.argv[1])
out = {}
names = z.namelist()
if 'datapackage.json' in names:
    d = json.loads(z.read('datapackage.json'))
    for r in d['resources']:
        rows = list(csv.DictReader(io.TextIOWrapper(z.open(r['path']), encoding=r['encoding'], newline='')))
        assert len(rows) == r['rows'], r['path']
        assert list(rows[0].keys()) == [f['name'] for f in r['schema']['fields']], r['path']
        out[r['name']] = len(rows)
    ins = list(csv.DictReader(io.TextIOWrapper(z.open('inspections.csv'), encoding='utf-8', newline='')))
    out['refusals'] = sum(r['refused'] == 'true' for r in ins)
if 'waters.geojson' in names:
    for n in ('waters', 'launches'):
        fc = json.loads(z.read(n + '.geojson'))
        assert fc['type'] == 'FeatureCollection'
        out[n] = len(fc['features'])
        for f in fc['features']:
            c = f['geometry']['coordinates']
            while isinstance(c[0], list): c = c[0]
            assert -180 <= c[0] <= 180 and -90 <= c[1] <= 90
    fc = json.loads(z.read('flows.geojson'))
    out['flows'], out['flow_craft'], out['fewest'] = len(fc['features']), 0, 10**9
    for f in fc['features']:
        p = f['properties']
        assert f['geometry']['type'] == 'LineString' and len(f['geometry']['coordinates']) == 2
        assert p['craft_met_lo'] < p['craft_met'] < p['craft_met_hi'] and p['last_water'] != p['water']
        out['flow_craft'] += p['craft_met']
        out['fewest'] = min(out['fewest'], p['craft_met'])
if 'meta.xml' in names:
    import xml.etree.ElementTree as ET
    ns = {'a': 'http://rs.tdwg.org/dwc/text/'}
    root = ET.fromstring(z.read('meta.xml'))
    core = root.find('a:core', ns)
    for f in [core] + root.findall('a:extension', ns):
        name = f.find('a:files/a:location', ns).text
        rows = csv.reader(io.TextIOWrapper(z.open(name), encoding=f.get('encoding'), newline=''))
        head = next(rows)
        for x in f.findall('a:field', ns):
            if x.get('index'): assert x.get('term').endswith('/' + head[int(x.get('index'))]), x.get('term')
        out[name] = sum(1 for _ in rows)
    ET.fromstring(z.read(root.get('metadata')))
print(json.dumps(out))
`

func python(t *testing.T, file string) map[string]int {
	t.Helper()
	exe, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("NOT CHECKED by an outside reader: python3 is not installed")
	}
	out, err := exec.CommandContext(t.Context(), exe, "-c", pythonReader, file).CombinedOutput()
	if err != nil {
		t.Fatalf("python3 cannot read it: %v\n%s", err, out)
	}
	var got map[string]int
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err, string(out))
	}
	return got
}

func TestPythonReadsCSV(t *testing.T) {
	s := theSeason(t)
	_, _, file := publish(t, Of(s), options(CSV, Agency))
	got, want := python(t, file), total(t, s, "")[0]
	if got["inspections"] != want.Encounters || got["refusals"] != want.Refused {
		t.Errorf("Python counts %v, the store %d inspections and %d refusals", got, want.Encounters, want.Refused)
	}
}

func TestPythonReadsMaps(t *testing.T) {
	s := theSeason(t)
	r, _, file := publish(t, Of(s), options(GeoJSON, Public))
	if got := python(t, file); got["waters"] != r.Counts.Waters || got["launches"] != r.Counts.Launches || got["waters"] == 0 {
		t.Errorf("Python counts %v, the receipt %+v", got, r.Counts)
	} else if got["flows"] == 0 || got["fewest"] < exchange.SmallCell {
		t.Errorf("%d streams, the smallest of %d craft", got["flows"], got["fewest"])
	}
}

// What the lines of the agency's map add up to is what the store has of craft that came from another water.
func TestLinesAddUpToTheStore(t *testing.T) {
	s := theSeason(t)
	_, _, file := publish(t, Of(s), options(GeoJSON, Agency))
	r, err := readRegion(t.Context(), Of(s))
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	err = each(t.Context(), Of(s), thwart.KindInspection, func(_ string, e *thwart.Encounter) error {
		in := &e.Inspection
		l := r.launches[in.Launch]
		if !e.Test && l != nil && r.waters[l.Water] != nil && len(in.LastWaters) > 0 && r.waters[in.LastWaters[0].Water] != nil && in.LastWaters[0].Water != l.Water && in.Direction != "leaving" {
			want++
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := python(t, file); got["flow_craft"] != want || want == 0 {
		t.Errorf("the lines carry %d craft, the store has %d", got["flow_craft"], want)
	}
}

// metaSchemas gives the options by which xmllint holds meta.xml against the text guide's rules: the grammar that is carried here,
// and the standard's own schema file where THWART_DWC_XSD gives its path. The file imports two others by address, of which it uses
// nothing; xmllint goes without them.
func metaSchemas() map[string][2]string {
	out := map[string][2]string{"guide": {"--relaxng", filepath.Join("testdata", "meta.rng")}}
	if file := os.Getenv("THWART_DWC_XSD"); file != "" {
		out["schema file"] = [2]string{"--schema", file}
	}
	return out
}

// xmllint gives what the validator says of a document, and whether it took it. A document that it could not judge fails the test.
func xmllint(t *testing.T, schema [2]string, doc []byte) (string, bool) {
	t.Helper()
	exe, err := exec.LookPath("xmllint")
	switch {
	case err != nil && os.Getenv("CI") == "true":
		t.Fatal("xmllint is not installed (Debian: apt-get install libxml2-utils)")
	case err != nil:
		t.Skip("NOT CHECKED BY ANOTHER VALIDATOR: xmllint is not installed (Debian: apt-get install libxml2-utils)")
	}
	cmd := exec.CommandContext(t.Context(), exe, "--nonet", "--noout", schema[0], schema[1], "-")
	cmd.Stdin = bytes.NewReader(doc)
	out, err := cmd.CombinedOutput()
	var ended *exec.ExitError
	switch {
	case err == nil:
		return string(out), true
	case errors.As(err, &ended) && ended.ExitCode() == 3: // the document is well formed and breaks the schema
		return string(out), false
	}
	t.Fatalf("xmllint cannot judge: %v\n%s", err, out)
	return "", false
}

// The archive's description, held against the text guide's rules by a validator of others.
func TestMetaFollowsTheTextGuide(t *testing.T) {
	for _, c := range Copies {
		_, z, _ := publish(t, Of(theSeason(t)), options(DarwinCore, c))
		meta := content(t, z, "meta.xml")
		for name, schema := range metaSchemas() {
			if said, ok := xmllint(t, schema, meta); !ok {
				t.Errorf("%s, %s: %s", c, name, said)
			}
		}
	}
}

// A description with one thing wrong is refused by the validator, and by our own reader.
func TestABrokenMetaIsRefused(t *testing.T) {
	_, z, _ := publish(t, Of(theSeason(t)), options(DarwinCore, Public))
	good := string(content(t, z, "meta.xml"))
	cut := func(from, to string) func(string) string { // takes out the first stretch from one text to the end of another
		return func(s string) string { before, _, after := stretch(s, from, to); return before + after }
	}
	swap := func(old, with string) func(string) string {
		return func(s string) string { return strings.Replace(s, old, with, 1) }
	}
	for name, c := range map[string]struct {
		change    func(string) string
		guideOnly bool // the schema file has no way to say it
	}{
		"no core": {cut("<core ", "</core>"), false},
		"an extension before the core": {func(s string) string {
			before, extension, after := stretch(s, "<extension ", "</extension>")
			return strings.Replace(before, "<core ", extension+"<core ", 1) + after
		}, false},
		"an extension without coreid":     {cut("<coreid ", "</coreid>"), false},
		"no id where there are others":    {cut("<id ", "</id>"), true},
		"a field without a term":          {cut(` term="`, `"`), false},
		"a field with nothing in it":      {cut(` default="`, `"`), true},
		"a file without a row type":       {cut(` rowType="`, `"`), false},
		"no file":                         {cut("<location>", "</location>"), false},
		"a column that is no number":      {swap(` index="1"`, ` index="one"`), false},
		"header lines that are no number": {swap(` ignoreHeaderLines="1"`, ` ignoreHeaderLines="yes"`), false},
		"an attribute of no guide":        {swap(`<core encoding="`, `<core charset="`), false},
		"a field after the end":           {swap("</archive>", `<field index="0" term="http://rs.tdwg.org/dwc/terms/eventID"></field></archive>`), false},
		"another namespace":               {swap("http://rs.tdwg.org/dwc/text/", "http://rs.tdwg.org/dwc/texts/"), false},
	} {
		broken := c.change(good)
		if broken == good {
			t.Errorf("%s: nothing was changed", name)
			continue
		}
		for by, schema := range metaSchemas() {
			if c.guideOnly && by != "guide" {
				continue
			}
			if said, ok := xmllint(t, schema, []byte(broken)); ok {
				t.Errorf("%s: taken by xmllint, %s: %s", name, by, said)
			}
		}
		if _, err := readMeta([]byte(broken)); err == nil {
			t.Errorf("%s: taken by readMeta", name)
		}
	}
}

// stretch parts a text at the first stretch from one text to the end of another.
func stretch(s, from, to string) (before, of, after string) {
	a := strings.Index(s, from)
	if a < 0 {
		return s, "", ""
	}
	b := a + len(from)
	b += strings.Index(s[b:], to) + len(to)
	return s[:a], s[a:b], s[b:]
}

func TestPythonReadsTheArchive(t *testing.T) {
	s := theSeason(t)
	r, _, file := publish(t, Of(s), options(DarwinCore, Public))
	got := python(t, file)
	if want := r.Counts.Inspections + r.Counts.Sessions + 1; got["event.csv"] != want {
		t.Errorf("Python counts %d events, the receipt %d", got["event.csv"], want)
	}
	if got["humboldt.csv"] != got["event.csv"]-1 {
		t.Errorf("%d events with effort, want all but the season: %v", got["humboldt.csv"], got)
	}
}

const nodeReader = `
import { parquetReadObjects } from 'hyparquet';
import { readFileSync } from 'node:fs';
const b = readFileSync(process.argv[2]);
const rows = await parquetReadObjects({ file: b.buffer.slice(b.byteOffset, b.byteOffset + b.byteLength) });
const refused = rows.filter(r => r.refused === true).length;
const started = rows[0].started_at instanceof Date ? rows[0].started_at.toISOString() : '';
console.log(JSON.stringify({ rows: rows.length, refused, started, columns: Object.keys(rows[0]), findings: rows.reduce((n, r) => n + Number(r.findings), 0) }));
`

func TestNodeReadsParquet(t *testing.T) {
	modules, err := filepath.Abs(filepath.Join("..", "..", "web", "client"))
	if err != nil {
		t.Fatal(err)
	}
	node, err := exec.LookPath("node")
	if _, e := os.Stat(filepath.Join(modules, "node_modules", "hyparquet")); err != nil || e != nil {
		t.Skip("NOT CHECKED by an outside reader: node or hyparquet is not installed; run: cd web/client && npm ci")
	}
	s := theSeason(t)
	_, z, _ := publish(t, Of(s), options(Parquet, Agency))
	file := filepath.Join(t.TempDir(), "inspections.parquet")
	if err := os.WriteFile(file, content(t, z, "inspections.parquet"), 0o600); err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(modules, ".parquet-reader-"+strconv.Itoa(os.Getpid())+".mjs") // modules are found from where it lies
	if err := os.WriteFile(script, []byte(nodeReader), 0o600); err != nil {
		t.Fatal(err)
	}
	defer os.Remove(script) //nolint:errcheck // it is ignored by git
	out, err := exec.CommandContext(t.Context(), node, script, file).CombinedOutput()
	if err != nil {
		t.Fatalf("node cannot read it: %v\n%s", err, out)
	}
	var got struct {
		Rows, Refused, Findings int
		Started                 string
		Columns                 []string
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err, string(out))
	}
	want := total(t, s, "")[0]
	findings := 0
	err = each(t.Context(), Of(s), thwart.KindInspection, func(_ string, e *thwart.Encounter) error {
		if !e.Test {
			findings += len(e.Inspection.Findings)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got.Rows != want.Encounters || got.Refused != want.Refused || got.Findings != findings {
		t.Errorf("node reads %+v, the store has %d inspections, %d refusals, %d findings", got, want.Encounters, want.Refused, findings)
	}
	if !strings.HasPrefix(got.Started, "2026-") {
		t.Errorf("started_at is read as %q, want a time of 2026", got.Started)
	}
}
