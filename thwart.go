// Package thwart holds the words of the trade as types: the craft, its setup, an inspection and its findings, a protocol,
// a verdict, a treatment, the trace of a wash.
//
// These are records. They know how to check themselves and how to be written as JSON; they know no database, no network,
// no clock and no equation. The science lives in engine/..., the numbers in refdata, and package advice joins the three
// into answers. Start with [Case], the input of one assessment, and [Verdict], the answer.
//
// # Unknown is an answer
//
// Every question has "unknown" among its answers, and the zero value of every answer is unknown. Package advice treats
// an unknown as the worst that the missing answer could have been, so leaving a field out never helps a craft through.
package thwart

import (
	"encoding/json"
	"fmt"
	"strconv"
)

// Answer to a question that a person was asked or a place was looked at for. The zero value is unknown.
type Answer string

// The three answers.
const (
	Unknown Answer = ""
	Yes     Answer = "yes"
	No      Answer = "no"
)

// Known reports whether the question was answered.
func (a Answer) Known() bool { return a == Yes || a == No }

// UnmarshalJSON also accepts the written-out "unknown".
func (a *Answer) UnmarshalJSON(b []byte) error {
	return unmarshalWord(b, (*string)(a))
}

// Count is a number of things, or unknown. The zero value means none; unknown is [CountUnknown].
type Count int

// CountUnknown says that nobody could tell how many there are.
const CountUnknown Count = -1

// MarshalJSON writes the number, or "unknown".
func (c Count) MarshalJSON() ([]byte, error) {
	if c < 0 {
		return []byte(`"unknown"`), nil
	}
	return []byte(strconv.Itoa(int(c))), nil
}

// UnmarshalJSON reads the number, or "unknown".
func (c *Count) UnmarshalJSON(b []byte) error {
	if string(b) == `"unknown"` || string(b) == "null" {
		*c = CountUnknown
		return nil
	}
	var n int
	if err := json.Unmarshal(b, &n); err != nil || n < 0 {
		return fmt.Errorf("%s is not a count; accepted: a whole number from 0, or \"unknown\"", b)
	}
	*c = Count(n)
	return nil
}

// unmarshalWord reads a JSON string; "unknown" and null become the empty word, which is how unknown is held.
func unmarshalWord(b []byte, into *string) error {
	if string(b) == "null" {
		*into = ""
		return nil
	}
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("%s is not a word in quotes", b)
	}
	if s == "unknown" {
		s = ""
	}
	*into = s
	return nil
}
