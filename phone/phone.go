// Package phone is the engine as a phone calls it: one function, JSON bytes in and JSON bytes out.
//
// A call is {"op": name, "in": {…}}. Its answer is {"out": {…}}, or {"errors": [{field, value, accepted}]} where the input
// cannot be taken, or {"failed": text} where something else went wrong. Operations are registered with the types of their
// input and output, from which the TypeScript description is generated, so screen and engine cannot drift apart.
//
// The package holds no rule of its own: it reads, asks the packages that know, and writes. It has no clock and no luck; times
// and random bytes are part of the input. The same operations run in the server's tests and compiled to WebAssembly.
package phone

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"thwart"
	"thwart/intake"
	"thwart/receipt"
	"thwart/tongue"
)

// MaxCallBytes is the largest call that is read: a logger's file of a season fits.
const MaxCallBytes = 64 << 20

// Op is one thing that may be asked. The comment before its registration describes it, for the description of all operations; it is no
// part of the program, which a phone has to load.
type Op struct {
	Name string
	In   reflect.Type // of the input
	Out  reflect.Type // of the output
	run  func(e *Engine, in []byte) (any, error)
}

// Engine answers calls. It remembers nothing but the names and keys it was told, so one per page is enough.
// It is not safe for concurrent use; a worker of a browser calls it one at a time.
type Engine struct {
	waters *waterIndex
	ring   *receipt.Ring
}

// New gives an engine that has been told nothing yet.
func New() *Engine { return &Engine{} }

var registry = map[string]Op{}

// pure registers an operation that depends on its input alone.
func pure[I, O any](name string, f func(I) (O, error)) {
	add(name, func(_ *Engine, in I) (O, error) { return f(in) })
}

// add registers an operation that may use what the engine was told.
func add[I, O any](name string, f func(*Engine, I) (O, error)) {
	register(name, (*I)(nil), (*O)(nil), func(e *Engine, raw []byte) (any, error) {
		in := new(I)
		if err := read(raw, in); err != nil {
			return nil, err
		}
		return f(e, *in)
	})
}

// register is what is the same for all types; it is in the engine that every phone loads once instead of once for each operation.
func register(name string, in, out any, run func(e *Engine, raw []byte) (any, error)) {
	if _, twice := registry[name]; twice {
		panic("phone: two operations are called " + name)
	}
	registry[name] = Op{Name: name, In: reflect.TypeOf(in).Elem(), Out: reflect.TypeOf(out).Elem(), run: run}
}

func read(raw []byte, in any) error { return thwart.ReadJSON(bytes.NewReader(raw), MaxCallBytes, in) }

// Ops lists every operation by name.
func Ops() []Op {
	list := make([]Op, 0, len(registry))
	for _, name := range slices.Sorted(maps.Keys(registry)) {
		list = append(list, registry[name])
	}
	return list
}

// None is the input or output of an operation that has none.
type None struct{}

type call struct {
	Op string          `json:"op"`
	In json.RawMessage `json:"in"`
}

type answer struct {
	Out    any                `json:"out,omitempty"`
	Errors thwart.FieldErrors `json:"errors,omitempty"`
	Failed string             `json:"failed,omitempty"`
}

// Call answers one call. Whatever is sent, the answer is JSON of one of the three forms; a defect of the engine is an answer
// too, so that a phone can show it and go on.
func (e *Engine) Call(request []byte) (reply []byte) {
	defer func() {
		if p := recover(); p != nil {
			reply = write(answer{Failed: tongue.Say("the engine met a defect of its own: {fault}", fmt.Sprint(p))})
		}
	}()
	var c call
	if err := thwart.ReadJSON(bytes.NewReader(request), MaxCallBytes, &c); err != nil {
		return write(refusal(err))
	}
	op, ok := registry[c.Op]
	if !ok {
		return write(answer{Errors: thwart.FieldErrors{{
			Field: "op", Value: c.Op, Accepted: strings.Join(slices.Sorted(maps.Keys(registry)), ", "),
		}}})
	}
	if len(c.In) == 0 {
		c.In = []byte("{}")
	}
	out, err := op.run(e, c.In)
	if err != nil {
		return write(refusal(err))
	}
	return write(answer{Out: filled(out)})
}

func write(a answer) []byte {
	b, err := json.Marshal(a)
	if err != nil {
		b, _ = json.Marshal(answer{Failed: tongue.Say("the answer cannot be written: {fault}", err.Error())})
	}
	return b
}

// refusal sorts an error: fields at fault are named one by one, anything else is said as it is.
func refusal(err error) answer {
	var fields thwart.FieldErrors
	if errors.As(err, &fields) {
		for i := range fields { // one with values in it was said when they were put in
			fields[i].Accepted = tongue.Data(fields[i].Accepted)
		}
		return answer{Errors: fields}
	}
	var row *intake.RowError
	if errors.As(err, &row) {
		field := "file." + row.Column
		if row.Line > 0 {
			field = tongue.Say("file, line {n}, {column}", tongue.Int(row.Line), row.Column)
		}
		accepted := tongue.Data(row.Accepted)
		if row.Hint != "" {
			accepted += "; " + tongue.Data(row.Hint)
		}
		return answer{Errors: thwart.FieldErrors{{Field: field, Value: row.Value, Accepted: accepted}}}
	}
	return answer{Failed: err.Error()}
}

// bad is one field that cannot be taken.
func bad(field, value, accepted string) error {
	return thwart.FieldErrors{{Field: field, Value: value, Accepted: accepted}}
}
