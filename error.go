package thwart

import (
	"fmt"
	"strconv"
	"strings"

	"thwart/form"
	"thwart/tongue"
)

// FieldError says which field of a record cannot be taken, what was in it, and what is accepted.
type FieldError struct {
	Field    string `json:"field"`    // path in the record, such as findings[2].place
	Value    string `json:"value"`    // what was given, as text
	Accepted string `json:"accepted"` // what may stand there
}

// Error gives the message a person acts on.
func (e FieldError) Error() string {
	if e.Value == "" {
		return tongue.Say("{field} is missing; accepted: {accepted}", e.Field, tongue.Data(e.Accepted))
	}
	return tongue.Say("{field}: {given} is not accepted; accepted: {accepted}", e.Field, strconv.Quote(e.Value), tongue.Data(e.Accepted))
}

// FieldErrors is every field of a record that cannot be taken; a record with any is refused whole.
type FieldErrors []FieldError

// Error lists all of them, one a line, so that one correction round is enough.
func (es FieldErrors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Add notes a field that cannot be taken. A long value is cut.
func (es *FieldErrors) Add(field string, value any, accepted string) {
	text := fmt.Sprint(value)
	if len(text) > 80 {
		text = form.Cut(text, 80) + "…"
	}
	*es = append(*es, FieldError{Field: field, Value: text, Accepted: accepted})
}

// Within notes a number outside its limits, NaN included.
func (es *FieldErrors) Within(field string, value, lo, hi float64) {
	if !(value >= lo && value <= hi) {
		es.Add(field, value, tongue.Say("{from} to {to}", tongue.Short(lo), tongue.Short(hi)))
	}
}

// Err gives the errors; nil where there are none.
func (es FieldErrors) Err() error {
	if len(es) == 0 {
		return nil
	}
	return es
}

// check gathers the field errors of one record.
type check struct{ errs FieldErrors }

func (c *check) fail(field string, value any, accepted string) { c.errs.Add(field, value, accepted) }

func (c *check) required(field, value, accepted string) {
	if value == "" {
		c.fail(field, "", accepted)
	}
}

// word refuses a value that is not in its vocabulary; the empty word passes, it means unknown.
func word[T ~string](c *check, field string, value T, vocabulary []T) {
	if value == "" {
		return
	}
	for _, v := range vocabulary {
		if v == value {
			return
		}
	}
	names := make([]string, 0, len(vocabulary)+1)
	for _, v := range vocabulary {
		names = append(names, string(v))
	}
	c.fail(field, value, strings.Join(append(names, "unknown"), ", "))
}

// within refuses a number outside its hard limits, NaN included.
func (c *check) within(field string, value, lo, hi float64, unit string) {
	if !(value >= lo && value <= hi) {
		c.fail(field, value, tongue.Say("a number from {from} to {to} {unit}", tongue.Short(lo), tongue.Short(hi), unit))
	}
}

func (c *check) err() error { return c.errs.Err() }
