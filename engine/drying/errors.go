package drying

import (
	"fmt"

	"thwart/tongue"
)

// ErrNotStarted says that a drying clock has not begun to run: the craft is still wet, or nobody knows since when it has
// been dry. There is no clearing time then; the answer is to dry it, or to ask.
var ErrNotStarted error = tongue.Error("start of drying: not known; accepted: the instant at which the craft was dry to the touch, or the one the rule counts from")

// SpellError says which spell of a list was refused, counted from 0; -1 is the air assumed beyond the known weather.
type SpellError struct {
	Index int
	Err   error // as from [Spell.Validate]
}

func (e *SpellError) Error() string {
	if e.Index < 0 {
		return fmt.Sprintf("unknown weather: %v", e.Err)
	}
	return fmt.Sprintf("spell %d: %v", e.Index, e.Err)
}

func (e *SpellError) Unwrap() error { return e.Err }
