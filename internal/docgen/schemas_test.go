package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/schema"
)

// compiled gives a published schema, ready to judge documents. An independent implementation judges, not the one that
// wrote the schema.
func compiled(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	text, ok := schema.Get(name)
	if !ok {
		t.Fatalf("there is no schema %s", name)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(name+".json", parse(t, text)); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parse(t *testing.T, text []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// takesCase reports whether the program takes a case, the names of the library included.
func takesCase(text []byte) error {
	cs, err := thwart.ReadCase(bytes.NewReader(text))
	if err != nil {
		return err
	}
	_, err = advice.Judge(cs)
	return err
}

func takesProtocol(text []byte) error {
	_, err := advice.ReadProtocol(bytes.NewReader(text))
	return err
}

func caseFiles(t *testing.T) []string {
	t.Helper()
	var all []string
	for _, dir := range []string{"examples/cases", "cmd/thwart/testdata/files", "internal/docgen/testdata"} {
		list, err := filepath.Glob(filepath.Join(root, dir, "*.json"))
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range list {
			if bytes.Contains(read(t, path), []byte(`"inspection"`)) {
				all = append(all, path)
			}
		}
	}
	if len(all) < 4 {
		t.Fatalf("only %d cases found", len(all))
	}
	return all
}

func TestCasesFitTheirSchema(t *testing.T) {
	s := compiled(t, "case")
	for _, path := range caseFiles(t) {
		text := read(t, path)
		if err := takesCase(text); err != nil {
			t.Errorf("%s: the program refuses it: %v", path, err)
		}
		if err := s.Validate(parse(t, text)); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
}

func TestProtocolsFitTheirSchema(t *testing.T) {
	s := compiled(t, "protocol")
	files := refdata.ProtocolFiles()
	files["full"] = read(t, "testdata/full-protocol.json")
	for name, text := range files {
		if err := takesProtocol(text); err != nil {
			t.Errorf("%s: the program refuses it: %v", name, err)
		}
		if err := s.Validate(parse(t, text)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, p := range advice.Protocols() {
		text, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		// A protocol as the program holds it may have empty lists, which Go writes as null.
		if err := s.Validate(parse(t, bytes.ReplaceAll(text, []byte("null"), []byte("[]")))); err != nil {
			t.Errorf("%s with its tables filled in: %v", p.ID, err)
		}
	}
}

func TestBrokenDocumentsAreRefused(t *testing.T) {
	base := map[string][]byte{
		"case": read(t, "testdata/full-case.json"), "protocol": read(t, "testdata/full-protocol.json"),
	}
	for _, c := range []struct {
		schema, path string
		value        any // nil takes the field away
	}{
		{"case", "colour", "red"},
		{"case", "inspection", nil},
		{"case", "inspection.setup", nil},
		{"case", "inspection.setup.drives", nil},
		{"case", "inspection.setup.class", "submarine"},
		{"case", "inspection.setup.trailer", "sledge"},
		{"case", "inspection.plugsOut", true},
		{"case", "inspection.startedAt", "yesterday"},
		{"case", "inspection.findings.0.organism", "kraken"},
		{"case", "inspection.findings.0.matter", "fish"},
		{"case", "inspection.findings.0.color", "green"},
		{"case", "waters.0.status.kraken", "infested"},
		{"case", "waters.0.status.zebra_mussel", "bad"},
		{"case", "unit.outletC", "60 °C"},
		{"case", "inspection.setup.spaces.0.count", -2},
		{"protocol", "safetyFactor", nil},
		{"protocol", "requires.0", "shiny"},
		{"protocol", "afterRisk", "prayer"},
		{"protocol", "wash.0.method", "sandblast"},
		{"protocol", "dry.0.months.0", 13},
		{"protocol", "powers.0.act", "arrest"},
		{"protocol", "always.0.when", "full moon"},
	} {
		t.Run(c.schema+" "+c.path, func(t *testing.T) {
			var doc any
			if err := json.Unmarshal(base[c.schema], &doc); err != nil {
				t.Fatal(err)
			}
			set(doc, strings.Split(c.path, "."), c.value)
			text, err := json.Marshal(doc)
			if err != nil {
				t.Fatal(err)
			}
			if compiled(t, c.schema).Validate(parse(t, text)) == nil {
				t.Errorf("%s = %v passes the schema", c.path, c.value)
			}
			takes := map[string]func([]byte) error{"case": takesCase, "protocol": takesProtocol}[c.schema]
			if takes(text) == nil {
				t.Errorf("%s = %v is taken by the program", c.path, c.value)
			}
		})
	}
}

// The schemas are never stricter than the program: whatever the program takes, with any field left out or any word or
// number changed, passes them too. So a file that an editor marks is a file that the program would refuse.
func TestSchemasAreNeverStricterThanTheProgram(t *testing.T) {
	for _, c := range []struct {
		schema, file string
		takes        func([]byte) error
	}{
		{"case", "testdata/full-case.json", takesCase},
		{"protocol", "testdata/full-protocol.json", takesProtocol},
	} {
		s := compiled(t, c.schema)
		var doc any
		if err := json.Unmarshal(read(t, c.file), &doc); err != nil {
			t.Fatal(err)
		}
		tried, taken := 0, 0
		for _, path := range paths(doc, nil) {
			for _, value := range []any{nil, "", "unknown", "zzz", 0.0, 1.0, true} {
				var changed any
				if err := json.Unmarshal(read(t, c.file), &changed); err != nil {
					t.Fatal(err)
				}
				set(changed, path, value)
				text, err := json.Marshal(changed)
				if err != nil {
					t.Fatal(err)
				}
				tried++
				if c.takes(text) != nil {
					continue
				}
				taken++
				if err := s.Validate(parse(t, text)); err != nil {
					t.Errorf("%s: %s = %v is taken by the program and refused by the schema: %v", c.schema, strings.Join(path, "."), value, err)
				}
			}
		}
		if tried < 300 || taken < 100 {
			t.Fatalf("%s: only %d documents tried, %d taken", c.schema, tried, taken)
		}
	}
}

// The full documents use every field of their types, so that the tests above reach all of them.
func TestFullDocumentsAreFull(t *testing.T) {
	for _, c := range []struct {
		file string
		of   reflect.Type
	}{
		{"testdata/full-case.json", reflect.TypeFor[thwart.Case]()},
		{"testdata/full-protocol.json", reflect.TypeFor[thwart.Protocol]()},
	} {
		var doc any
		if err := json.Unmarshal(read(t, c.file), &doc); err != nil {
			t.Fatal(err)
		}
		for _, name := range missing(doc, c.of, "") {
			if name != "protocol" && name != "inspection.others.place" && name != "inspection.others.reason" {
				t.Errorf("%s does not use %s", c.file, name)
			}
		}
	}
}

// missing lists the fields of a struct that no document of the kind uses.
func missing(doc any, t reflect.Type, at string) []string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if list, ok := doc.([]any); ok && t.Kind() == reflect.Slice {
		if len(list) == 0 {
			return nil
		}
		return missing(list[0], t.Elem(), at)
	}
	object, ok := doc.(map[string]any)
	if !ok || t.Kind() != reflect.Struct {
		return nil
	}
	var out []string
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		v, there := object[name]
		if !there {
			out = append(out, at+name)
			continue
		}
		out = append(out, missing(v, t.Field(i).Type, at+name+".")...)
	}
	return out
}

func TestAnswersFitTheirSchemas(t *testing.T) {
	assessment, proof := compiled(t, "assessment"), compiled(t, "proof")
	for _, path := range caseFiles(t) {
		cs, err := thwart.ReadCase(bytes.NewReader(read(t, path)))
		if err != nil {
			t.Fatal(err)
		}
		a, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		check(t, assessment, path, a)
	}
	pr, err := advice.Prove(advice.Protocols()[0], thwart.WashClaim{Part: thwart.PartHull, Method: thwart.MethodHighSpray, Measured: thwart.AtContact},
		[]thwart.Probe{{AtS: 0, TempC: 70}, {AtS: 10, TempC: 70}, {AtS: 20, TempC: 70}})
	if err != nil {
		t.Fatal(err)
	}
	check(t, proof, "proof", pr)
}

func check(t *testing.T, s *jsonschema.Schema, name string, answer any) {
	t.Helper()
	text, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	// The command line writes lists without members as []; Go alone writes null.
	if err := s.Validate(parse(t, bytes.ReplaceAll(text, []byte("null"), []byte("[]")))); err != nil {
		t.Errorf("%s: %v", name, err)
	}
}

// Every entry of the tables that are kept by hand names a field that exists.
func TestTablesNameRealFields(t *testing.T) {
	text := map[string]string{}
	for _, name := range schema.Names() {
		b, _ := schema.Get(name)
		text[name] = string(b)
	}
	known := map[string]map[string]bool{}
	for _, d := range described {
		var s struct {
			Properties map[string]any `json:"properties"`
			Defs       map[string]struct {
				Properties map[string]any `json:"properties"`
			} `json:"$defs"`
		}
		if err := json.Unmarshal([]byte(text[d.name]), &s); err != nil {
			t.Fatal(err)
		}
		known[reflect.TypeOf(d.of).Name()] = keys(s.Properties)
		for name, def := range s.Defs {
			known[name] = keys(def.Properties)
		}
	}
	for field := range fieldWords {
		name, key, _ := strings.Cut(field, ".")
		if !known[name][key] {
			t.Errorf("the table of words names %s, which no schema has", field)
		}
	}
	for name, list := range needed {
		for _, key := range list {
			if !known[name][key] {
				t.Errorf("the table of needed fields names %s.%s, which no schema has", name, key)
			}
		}
	}
}

func keys(m map[string]any) map[string]bool {
	out := map[string]bool{}
	for k := range m {
		out[k] = true
	}
	return out
}

// paths lists the way to every value of a document.
func paths(doc any, at []string) [][]string {
	var out [][]string
	add := func(key string, v any) {
		path := append(slices.Clone(at), key)
		out = append(append(out, path), paths(v, path)...)
	}
	switch node := doc.(type) {
	case map[string]any:
		for _, key := range slices.Sorted(maps.Keys(node)) {
			add(key, node[key])
		}
	case []any:
		for i, v := range node {
			add(fmt.Sprint(i), v)
		}
	}
	return out
}

// set changes a value of a document, or takes it away.
func set(doc any, path []string, value any) {
	for _, step := range path[:len(path)-1] {
		doc = child(doc, step)
	}
	last := path[len(path)-1]
	switch node := doc.(type) {
	case map[string]any:
		if value == nil {
			delete(node, last)
		} else {
			node[last] = value
		}
	case []any:
		for i := range node {
			if fmt.Sprint(i) == last && value != nil {
				node[i] = value
			}
		}
	}
}

func child(doc any, step string) any {
	switch node := doc.(type) {
	case map[string]any:
		return node[step]
	case []any:
		for i := range node {
			if fmt.Sprint(i) == step {
				return node[i]
			}
		}
	}
	return nil
}
