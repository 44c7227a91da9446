package cli

import (
	"reflect"
	"strings"
	"unicode"
)

// records turns rows of the library into the form that JSON answers have: names begin in lower case, as in every record of
// thwart, and what is not known is absent. The library itself has no wire format, because nothing is stored in it.
func records(v any) any { return record(reflect.ValueOf(v)) }

func record(v reflect.Value) any {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return nil
		}
		return record(v.Elem())
	case reflect.Slice:
		out := make([]any, v.Len())
		for i := range v.Len() {
			out[i] = record(v.Index(i))
		}
		return out
	case reflect.Struct:
		out := map[string]any{}
		for i := range v.NumField() {
			f := v.Type().Field(i)
			if f.Anonymous {
				for k, x := range record(v.Field(i)).(map[string]any) {
					out[k] = x
				}
				continue
			}
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if name == "" {
				name = fieldName(f.Name)
			}
			if x := record(v.Field(i)); x != nil && !(v.Field(i).Kind() == reflect.String && v.Field(i).Len() == 0) {
				out[name] = x
			}
		}
		return out
	}
	return v.Interface()
}

// fieldName writes a Go name as our files write names: RefTempC is refTempC, ID is id, SourceIDs is sourceIds.
func fieldName(name string) string {
	runes := []rune(name)
	n := 0
	for n < len(runes) && unicode.IsUpper(runes[n]) {
		n++
	}
	if n > 1 && n < len(runes) && unicode.IsLower(runes[n]) {
		n-- // the last capital begins the next word
	}
	for i := range max(n, 1) {
		runes[i] = unicode.ToLower(runes[i])
	}
	return strings.ReplaceAll(string(runes), "IDs", "Ids")
}
