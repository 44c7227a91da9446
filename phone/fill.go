package phone

import (
	"encoding/json"
	"reflect"
)

// filled gives an answer whose lists are lists: Go writes one that is not there as null, and a screen would have to ask each
// time. Answers only; in a record that goes in, a list left out and an empty one may mean different things.
func filled(out any) any {
	v := reflect.New(reflect.TypeOf(out)).Elem()
	v.Set(reflect.ValueOf(out))
	fill(v)
	return v.Interface()
}

var rawMessage = reflect.TypeFor[json.RawMessage]()

func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			fill(v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() {
				fill(f)
			}
		}
	case reflect.Slice:
		switch {
		case v.Type() == rawMessage || v.Type().Elem().Kind() == reflect.Uint8:
		case v.IsNil():
			v.Set(reflect.MakeSlice(v.Type(), 0, 0))
		case holdsLists(v.Type().Elem()):
			for i := range v.Len() {
				fill(v.Index(i))
			}
		}
	case reflect.Map:
		if v.IsNil() {
			v.Set(reflect.MakeMap(v.Type()))
		}
	}
}

// holdsLists tells kinds that may hold a list from plain values, so that ten thousand readings are not walked for nothing.
func holdsLists(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Map:
		return true
	case reflect.Struct:
		for i := range t.NumField() {
			if holdsLists(t.Field(i).Type) {
				return true
			}
		}
	}
	return false
}
