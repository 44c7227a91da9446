package api

import (
	"encoding/json"
	"errors"
	"maps"
	"reflect"
	"regexp"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

const schemaPrefix = "#/components/schemas/"

// described is what the description of the API says beyond what requests are checked by: an entry says what its body holds, kind
// by kind. Requests are checked by the Go types themselves, which know more than a schema can say.
type described struct {
	huma.Registry
	records map[string]*huma.Schema // bodies and what they hold
	unions  map[string]*huma.Schema // in the place of schemas of the registry, and their parts
}

// describe writes the bodies of entries into schemas: everything that has a kind beside its body becomes one of as many schemas
// as there are kinds.
func describe(registry huma.Registry) *described {
	d := &described{Registry: registry, unions: map[string]*huma.Schema{}}
	records := huma.NewMapRegistry(schemaPrefix, func(t reflect.Type, hint string) string {
		return huma.DefaultSchemaNamer(t, hint) + "Record"
	})
	bodies := map[thwart.Kind]*huma.Schema{}
	for _, k := range thwart.Kinds {
		bodies[k] = records.Schema(reflect.TypeOf(thwart.NewBody(k)).Elem(), true, "")
	}
	speak(records)
	needed := insistedOn()
	for name, s := range records.Map() {
		asSent(s, records.TypeFromRef(schemaPrefix+name), needed)
	}
	d.records = records.Map()
	for name, s := range registry.Map() {
		body := s.Properties["body"]
		if body == nil || body.Ref != "" || body.Type != "" {
			continue
		}
		if s.Properties["kind"] == nil {
			any := *body
			for _, k := range thwart.Kinds {
				any.AnyOf = append(any.AnyOf, bodies[k])
			}
			whole := *s
			whole.Properties = maps.Clone(s.Properties)
			whole.Properties["body"] = &any
			d.unions[name] = &whole
			continue
		}
		union := &huma.Schema{Description: s.Description, Discriminator: &huma.Discriminator{PropertyName: "kind", Mapping: map[string]string{}}}
		for _, k := range thwart.Kinds {
			part := *s
			part.Properties = maps.Clone(s.Properties)
			part.Properties["kind"] = &huma.Schema{Type: huma.TypeString, Enum: []any{string(k)}}
			part.Properties["body"] = bodies[k]
			partName := name + "Of" + camel(string(k))
			d.unions[partName] = &part
			union.OneOf = append(union.OneOf, &huma.Schema{Ref: schemaPrefix + partName})
			union.Discriminator.Mapping[string(k)] = schemaPrefix + partName
		}
		d.unions[name] = union
		body.Description = "what the record says: of the kind inspection an EncounterRecord, and so on for each kind"
	}
	return d
}

// MarshalJSON writes the schemas with what is said in their place.
func (d *described) MarshalJSON() ([]byte, error) {
	all := maps.Clone(d.Registry.Map())
	maps.Copy(all, d.records)
	maps.Copy(all, d.unions)
	return json.Marshal(all)
}

func camel(word string) string {
	var b strings.Builder
	for part := range strings.SplitSeq(word, "_") {
		b.WriteString(strings.ToUpper(part[:1]) + part[1:])
	}
	return b.String()
}

// fieldOf is a field of a struct by its name in JSON.
type fieldOf struct {
	of   reflect.Type
	name string
}

// insistedOn finds the fields without which a body is refused wherever their struct stands: bodies with nothing in them are
// validated, and every field that is complained of is one.
func insistedOn() map[fieldOf]bool {
	out := map[fieldOf]bool{}
	for _, k := range thwart.Kinds {
		empty, filled, numbers := thwart.NewBody(k), thwart.NewBody(k), thwart.NewBody(k)
		hollow(reflect.ValueOf(filled).Elem())
		count(reflect.ValueOf(numbers).Elem())
		missed := complaints(empty, filled)
		stillMissed := complaints(numbers) // a list may be empty where something is counted instead
		var walk func(t reflect.Type, path string)
		walk = func(t reflect.Type, path string) {
			for _, f := range reflect.VisibleFields(t) {
				name := jsonName(f)
				at := fieldOf{t, name}
				is := missed[path+name] && (!isList(f.Type) || stillMissed[path+name])
				if before, known := out[at]; known {
					is = is && before
				}
				out[at] = is
				if under := underlying(f.Type); under.Kind() == reflect.Struct && under.PkgPath() == t.PkgPath() {
					walk(under, path+name+".")
				}
			}
		}
		walk(reflect.TypeOf(empty).Elem(), "")
	}
	return out
}

func isList(t reflect.Type) bool {
	return t.Kind() == reflect.Slice && t.Elem().Kind() != reflect.Uint8
}

func underlying(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Array {
		t = t.Elem()
	}
	return t
}

var element = regexp.MustCompile(`\[\d+\]`)

// complaints are the fields that validation complains of, such as claims.part, and the structs that hold them.
func complaints(bodies ...thwart.Body) map[string]bool {
	out := map[string]bool{}
	for _, body := range bodies {
		var fields thwart.FieldErrors
		errors.As(body.Validate(), &fields)
		for _, f := range fields {
			if strings.HasSuffix(f.Field, "]") {
				continue // an element is at fault, not the list
			}
			out[element.ReplaceAllString(f.Field, "")] = true
			for path := f.Field; ; {
				at := strings.LastIndexByte(path, '.')
				if at < 0 || strings.HasSuffix(path[:at], "]") {
					break
				}
				path = path[:at]
				out[element.ReplaceAllString(path, "")] = true
			}
		}
	}
	return out
}

// hollow gives every list one empty element and every pointer something empty to point to.
func hollow(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		hollow(v.Elem())
	case reflect.Slice:
		if v.Type().Elem().Kind() != reflect.Uint8 {
			v.Set(reflect.MakeSlice(v.Type(), 1, 1))
			hollow(v.Index(0))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				hollow(v.Field(i))
			}
		}
	}
}

// count sets every number to one.
func count(v reflect.Value) {
	switch v.Kind() {
	case reflect.Int, reflect.Int64:
		v.SetInt(1)
	case reflect.Float64:
		v.SetFloat(1)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				count(v.Field(i))
			}
		}
	}
}

// asSent loosens the schema of a struct to what the server takes and hands on: a body is kept as it was sent, with fields of newer
// programs and without what older ones did not know. A list that Go writes even when it is empty may be null.
func asSent(s *huma.Schema, t reflect.Type, needed map[fieldOf]bool) {
	var required []string
	for _, name := range s.Required {
		p := s.Properties[name]
		list := p.Type == huma.TypeArray && p.MaxItems == nil
		switch {
		case needed[fieldOf{t, name}]:
			required = append(required, name)
		case list:
			p.Nullable = true
		}
	}
	s.Required, s.AdditionalProperties = required, nil
}
