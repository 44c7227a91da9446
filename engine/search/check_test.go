package search

import (
	"errors"
	"testing"

	"thwart/engine/num"
)

// refusesField fails unless err is a RangeError that names the field.
func refusesField(t *testing.T, err error, field string) {
	t.Helper()
	var out *num.RangeError
	if !errors.As(err, &out) || out.Field != field {
		t.Errorf("error %v, want one that names %s", err, field)
	}
}
