package api

import (
	"reflect"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

// vocabularies are the closed vocabularies of the API, by the Go type that holds a word.
var vocabularies = map[reflect.Type][]any{
	reflect.TypeFor[thwart.Kind]():       words(thwart.Kinds),
	reflect.TypeFor[thwart.AccessRole](): words(thwart.AccessRoles),
	reflect.TypeFor[thwart.Role]():       words(thwart.Roles),
	reflect.TypeFor[thwart.Outcome]():    words(thwart.Outcomes),
	reflect.TypeFor[thwart.JobState]():   words(thwart.JobStates),
	reflect.TypeFor[thwart.PutResult]():  words([]thwart.PutResult{thwart.Stored, thwart.Had, thwart.Refused}),
	reflect.TypeFor[thwart.Origin](): words([]thwart.Origin{thwart.OriginPhone, thwart.OriginOffice, thwart.OriginPaper,
		thwart.OriginImport, thwart.OriginDemo}),
}

func words[T ~string](list []T) []any {
	out := make([]any, len(list))
	for i, w := range list {
		out[i] = string(w)
	}
	return out
}

// speak writes the vocabularies into the schemas of the description, field by field.
func speak(registry huma.Registry) {
	for name, s := range registry.Map() {
		if t := registry.TypeFromRef("#/components/schemas/" + name); t != nil {
			speakOf(s, t)
		}
	}
}

func enum(s *huma.Schema, words []any) {
	s.Enum = words
	s.PrecomputeMessages() // what a refusal says
}

func speakOf(s *huma.Schema, t reflect.Type) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if words, ok := vocabularies[t]; ok && s.Type == "string" && len(s.Enum) == 0 {
		enum(s, words)
		return
	}
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		if s.Items != nil {
			speakOf(s.Items, t.Elem())
		}
	case reflect.Struct:
		for _, f := range reflect.VisibleFields(t) {
			if p := s.Properties[jsonName(f)]; p != nil && p.Ref == "" {
				speakOf(p, f.Type)
			}
		}
	}
}

func jsonName(f reflect.StructField) string {
	tag := f.Tag.Get("json")
	for i := range tag {
		if tag[i] == ',' {
			return tag[:i]
		}
	}
	if tag == "" {
		return f.Name
	}
	return tag
}
