// Package storetest holds every implementation of [thwart.Store] and [thwart.Accounts] to the same promises. Call [Run] from
// a test with a function that opens an empty store.
//
// What a store answers is compared with a model ([World], model.go) that knows no tables: it keeps all entries in a slice and
// reads every answer off it anew, decoding whole bodies.
package storetest

import (
	"context"
	"testing"

	"thwart"
)

// Keeper is what is tested.
type Keeper interface {
	thwart.Store
	thwart.Accounts
	thwart.Jobs
	thwart.Pictures
}

// Run runs the suite. open gives an empty store for one test and closes and removes it when that test ends.
func Run(t *testing.T, open func(t *testing.T) Keeper) {
	for _, c := range []struct {
		name string
		run  func(t *testing.T, open func(t *testing.T) Keeper)
	}{
		{"AnswersOfPut", answersOfPut},
		{"WhatComesBack", whatComesBack},
		{"RefusedByItself", refusedByItself},
		{"RefusedLeavesNoTrace", refusedLeavesNoTrace},
		{"AnySchedule", anySchedule},
		{"Conflict", conflict},
		{"CorrectionFirst", correctionFirst},
		{"Removal", removal},
		{"LaunchOfShift", launchOfShift},
		{"Subjects", subjects},
		{"Changes", changes},
		{"ChangesUnderWriters", changesUnderWriters},
		{"SameBatchAtOnce", sameBatchAtOnce},
		{"PagesOverTies", pagesOverTies},
		{"PagesUnderInserts", pagesUnderInserts},
		{"Filters", filters},
		{"Totals", totals},
		{"BadQuestions", badQuestions},
		{"Refusals", refusals},
		{"Purge", purge},
		{"CheckFindsMissing", checkFindsMissing},
		{"FirstAccountOnce", firstAccountOnce},
		{"Accounts", accounts},
		{"InviteOnce", inviteOnce},
		{"Devices", devices},
		{"Audit", audit},
		{"Cancelled", cancelled},
		{"Jobs", jobs},
		{"Pictures", pictures},
		{"PurgedPictures", purgedPictures},
		{"PurgedTrials", purgedTrials},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			c.run(t, open)
		})
	}
}

var ctx = context.Background()

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// MustPut keeps a batch and fails the test unless every entry is Stored or Had.
func MustPut(t testing.TB, s thwart.Store, batch ...thwart.Kept) []thwart.PutAnswer {
	t.Helper()
	answers, err := s.Put(ctx, batch)
	if err != nil {
		t.Fatal(err)
	}
	if len(answers) != len(batch) {
		t.Fatalf("%d answers for %d entries", len(answers), len(batch))
	}
	for i, a := range answers {
		if a.ID != batch[i].ID || a.Result == thwart.Refused {
			t.Fatalf("entry %d (%s): answer %+v", i, batch[i].ID, a)
		}
	}
	return answers
}

// MustBeWhole fails the test where a check finds a fault.
func MustBeWhole(t testing.TB, s thwart.Store) thwart.CheckReport {
	t.Helper()
	rep, err := s.Check(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range rep.Faults {
		if i == 5 {
			t.Fatalf("%d faults in all", len(rep.Faults))
		}
		t.Errorf("fault: %s", f)
	}
	if t.Failed() {
		t.FailNow()
	}
	return rep
}
