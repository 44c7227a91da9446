package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/invopop/jsonschema"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/unit"
)

// described are the files and answers that have a schema.
var described = []struct {
	name, title string
	of          any
	input       bool // read by the program: what may be left out is what the reader lets be left out
}{
	{"case", "A case: one craft as it was inspected, and all that one assessment needs", thwart.Case{}, true},
	{"protocol", "A protocol: a jurisdiction's rules as data", thwart.Protocol{}, true},
	{"assessment", "An assessment: verdict, risk, treatment and round of one craft", advice.Assessment{}, false},
	{"proof", "The judgement of a logged wash", thwart.Proof{}, false},
}

// vocabulary gives a word type its accepted words. open marks those that a reader takes as "unknown" or empty too.
func vocabulary[T ~string](open bool, words ...T) (reflect.Type, *jsonschema.Schema) {
	s := &jsonschema.Schema{Type: "string"}
	for _, w := range words {
		s.Enum = append(s.Enum, string(w))
	}
	if open {
		s.Enum = append(s.Enum, "unknown", "")
	}
	return reflect.TypeFor[T](), s
}

// vocabularies are the closed vocabularies of the records. Those whose type reads "unknown" are open.
func vocabularies() map[reflect.Type]*jsonschema.Schema {
	all := map[reflect.Type]*jsonschema.Schema{}
	add := func(t reflect.Type, s *jsonschema.Schema) { all[t] = s }
	add(vocabulary(true, thwart.Yes, thwart.No))
	add(vocabulary(true, thwart.Drives...))
	add(vocabulary(true, thwart.Trailers...))
	add(vocabulary(true, thwart.PaintNone, thwart.PaintAntifouling))
	add(vocabulary(true, thwart.WaterStatuses...))
	add(vocabulary(true, thwart.StayDay, thwart.StayMoored))
	add(vocabulary(true, thwart.Wetnesses...))
	add(vocabulary(true, thwart.Matters...))
	add(vocabulary(true, thwart.Vitalities...))
	add(vocabulary(true, thwart.RemovedNone, thwart.RemovedPart, thwart.RemovedAll))
	add(vocabulary(true, thwart.AtContact, thwart.AtExit, thwart.AtContactOrExit, thwart.AtNozzle, thwart.AtInlet, thwart.AtSoak))
	add(vocabulary(false, thwart.SpaceKinds...))
	add(vocabulary(false, thwart.Standards...))
	add(vocabulary(false, thwart.Outcomes...))
	add(vocabulary(false, thwart.Parts...))
	add(vocabulary(false, thwart.Methods...))
	add(vocabulary(false, append(slices.Clone(thwart.ClockStarts), "")...)) // a line that has no time has no start
	add(vocabulary(false, thwart.Roles...))
	add(vocabulary(false, thwart.Zones...))
	add(vocabulary(false, thwart.Postures...))
	add(vocabulary(false, thwart.Tasks...))
	return all
}

// fieldWords are the vocabularies of fields that are plain text in Go. A test holds them against the reader.
var fieldWords = map[string][]string{
	"Inspection.direction":  {"launching", "leaving", "roadside", "other", ""},
	"Seal.kind":             {"cleared", "held", "severe_risk", "release", ""},
	"Seal.fittedBy":         {"inspector", "owner", ""},
	"Finding.confidence":    {"certain", "likely", "unsure", ""},
	"Finding.amount":        {"1", "2-10", "11-100", ">100", ""},
	"Criteria.water":        {"none", "film", "limit"},
	"Criteria.plug":         {"out", "may_refit", "not_asked"},
	"Protocol.afterRisk":    {"nothing", "wash_or_dry", "wash", "dry", "wash_and_dry"},
	"Protocol.washOrder":    {"inside_first", "outside_first"},
	"WashRow.risk":          {"low", "high", ""},
	"WashRow.known":         knownWords,
	"DryRule.known":         knownWords,
	"DryRule.applies":       thwart.DryApplies,
	"DryRule.usedIn":        {"near", "elsewhere", ""},
	"TestedDrying.known":    knownWords,
	"Always.known":          knownWords,
	"Always.when":           thwart.AlwaysWhens,
	"Power.known":           knownWords,
	"Power.act":             thwart.PowerActs,
	"Chemical.known":        knownWords,
	"WashUnit.fuel":         append(ids(refdata.Fuels(), func(f refdata.Fuel) string { return f.ID }), ""),
	"Setup.class":           ids(refdata.CraftClasses(), func(c refdata.CraftClass) string { return c.ID }),
	"Finding.organism":      append(organisms(), "other", ""),
	"TestedDrying.organism": organisms(),
	"Proof.protocol":        {"met", "not_met", "unknown"},
	"Lethality.answer":      {"lethal", "not_lethal", "not_known"},
	"DryLine.state":         {"met", "running", "not_started", "not_shown", "never", "not_accepted"},
	"Step.possible":         {"yes", "not_now", "unknown"},
	"SpeciesNeed.shown":     {"yes", "longer", "no", "not_known"},
	"RoundPlan.direction":   {"clockwise", "counterclockwise"},
	"RoundPlan.start":       {"bow_port", "bow_starboard", "stern_starboard", "stern_port"},
}

var knownWords = []string{"published", "common practice", "from memory", "programme"}

func ids[T any](list []T, id func(T) string) []string {
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = id(v)
	}
	return out
}

func organisms() []string {
	return ids(refdata.Organisms(), func(o refdata.Organism) string { return o.ID })
}

// needed are the fields that a reader asks for. Everything else of a file may be left out: it is then unknown, none or no.
var needed = map[string][]string{
	"Case":         {"inspection"},
	"Inspection":   {"startedAt", "setup"},
	"Setup":        {"class", "drives", "spaces"},
	"Space":        {"kind"},
	"Water":        {"id"},
	"Finding":      {"place"},
	"Protocol":     {"id", "version", "title", "requires", "criteria", "afterRisk", "washOrder", "safetyFactor"},
	"Criteria":     {"water", "plug"},
	"WashRow":      {"tempC", "source", "known"},
	"DryRule":      {"applies", "source", "known"},
	"TestedDrying": {"organism", "stage", "hours", "margin", "maxRhPct", "source", "known"},
	"Always":       {"when", "outcome", "source", "known"},
	"Power":        {"act", "source", "known"},
	"Chemical":     {"agent", "strength", "contactS", "for", "source", "known"},
}

// schemas generates every schema by name.
func schemas(root string) (map[string][]byte, error) {
	comments, err := readComments(root, "thwart", "thwart/unit", "thwart/advice")
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{}
	for _, d := range described {
		g := generator{comments: comments, words: vocabularies(), used: map[string]*jsonschema.Schema{}}
		s := g.reflect(d.of)
		s.ID = jsonschema.ID("urn:thwart:schema:" + d.name)
		s.Title = d.title
		finish(s, reflect.TypeOf(d.of).Name(), d.input)
		text, err := encode(s)
		if err != nil {
			return nil, fmt.Errorf("schema %s: %w", d.name, err)
		}
		out[d.name] = text
	}
	return out, nil
}

func encode(s *jsonschema.Schema) ([]byte, error) {
	raw, err := s.MarshalJSON()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := json.Indent(&b, raw, "", "  "); err != nil {
		return nil, err
	}
	// The library escapes < and > for web pages; these files are read by people.
	text := strings.NewReplacer(`\u003c`, "<", `\u003e`, ">", `\u0026`, "&").Replace(b.String())
	return append([]byte(text), '\n'), nil
}

type generator struct {
	comments comments
	words    map[reflect.Type]*jsonschema.Schema
	used     map[string]*jsonschema.Schema // vocabularies that the schema refers to
}

func (g *generator) reflect(v any) *jsonschema.Schema {
	r := jsonschema.Reflector{Anonymous: true, ExpandedStruct: true, Mapper: g.mapped, LookupComment: g.comments.of}
	s := r.Reflect(v)
	if s.Definitions == nil {
		s.Definitions = jsonschema.Definitions{}
	}
	for name, def := range g.used {
		s.Definitions[name] = def
	}
	return s
}

// mapped gives the schemas of types whose JSON is not what reflection sees.
func (g *generator) mapped(t reflect.Type) *jsonschema.Schema {
	if words, ok := g.words[t]; ok {
		def := *words
		def.Description = g.comments.of(t, "")
		g.used[t.Name()] = &def
		return &jsonschema.Schema{Ref: "#/$defs/" + t.Name()}
	}
	switch t {
	case reflect.TypeFor[thwart.Count]():
		g.used["Count"] = &jsonschema.Schema{
			Description: g.comments.of(t, ""),
			OneOf: []*jsonschema.Schema{
				{Type: "integer", Minimum: "0"}, {Type: "string", Enum: []any{"unknown"}},
			},
		}
		return &jsonschema.Schema{Ref: "#/$defs/Count"}
	case reflect.TypeFor[unit.Celsius]():
		return &jsonschema.Schema{Type: "number"}
	case reflect.TypeFor[time.Month]():
		return &jsonschema.Schema{Type: "integer", Minimum: "1", Maximum: "12"}
	}
	return nil
}

// finish puts in what reflection cannot know: vocabularies of text fields, and what may be left out.
func finish(root *jsonschema.Schema, name string, input bool) {
	all := map[string]*jsonschema.Schema{name: root}
	for n, def := range root.Definitions {
		all[n] = def
	}
	for n, def := range all {
		if def.Properties == nil {
			continue
		}
		if input {
			def.Required = needed[n]
		}
		for p := def.Properties.Oldest(); p != nil; p = p.Next() {
			if words, ok := fieldWords[n+"."+p.Key]; ok {
				p.Value.Enum = nil
				for _, w := range words {
					p.Value.Enum = append(p.Value.Enum, w)
				}
			}
			restrict(n+"."+p.Key, p.Value)
		}
	}
}

// restrict adds the vocabularies that sit in lists and names of properties.
func restrict(field string, s *jsonschema.Schema) {
	switch field {
	case "Setup.gear":
		s.Items.Enum = anys(ids(refdata.GearKinds(), func(g refdata.GearKind) string { return g.ID }))
	case "Water.status":
		s.PropertyNames = &jsonschema.Schema{Enum: anys(organisms())}
	case "WashUnit.fuel":
		s.Enum = slices.DeleteFunc(s.Enum, func(x any) bool { return x == nil })
	}
}

func anys(words []string) []any {
	out := make([]any, len(words))
	for i, w := range words {
		out[i] = w
	}
	return out
}

// pkgDir is the folder of one of our packages.
func pkgDir(pkg string) string { return path.Clean("./" + strings.TrimPrefix(pkg, "thwart")) }
