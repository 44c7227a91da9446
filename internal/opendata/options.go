package opendata

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"thwart"
)

// Copy says who a copy is for.
type Copy string

// Copies.
const (
	// Agency is exact in time and place, for an authority that works with the programme.
	Agency Copy = "agency"
	// Public is for everybody: no single craft can be told from fewer than four others by launch, week, class and last water.
	Public Copy = "public"
)

// Copies lists them.
var Copies = []Copy{Public, Agency}

// Form is what a copy is written as.
type Form string

// Forms.
const (
	DarwinCore  Form = "darwin-core" // a Darwin Core Archive (TDWG text guide)
	CSV         Form = "csv"         // RFC 4180, exact
	Spreadsheet Form = "spreadsheet" // the same, safe to open in a spreadsheet
	Parquet     Form = "parquet"
	GeoJSON     Form = "geojson" // RFC 7946
)

// Forms lists them.
var Forms = []Form{DarwinCore, CSV, Spreadsheet, Parquet, GeoJSON}

// Vocabulary is an edition of the Darwin Core term occurrenceStatus, by the date of the edition that recommends its values.
type Vocabulary string

// Vocabularies. The older pair is what many readers still expect.
const (
	Detected Vocabulary = "2026-05-26" // detected, notDetected
	Present  Vocabulary = "2023-06-28" // present, absent
)

// Vocabularies lists them, newest first.
var Vocabularies = []Vocabulary{Detected, Present}

// words gives what is written for found and for looked for and not found.
func (v Vocabulary) words() (found, not string) {
	if v == Present {
		return "present", "absent"
	}
	return "detected", "notDetected"
}

// Licence is a licence that data can be given under.
type Licence struct{ ID, Name, URL string }

// Licences lists those that can be chosen, by their SPDX names.
var Licences = []Licence{
	{"CC0-1.0", "Creative Commons Zero 1.0", "https://creativecommons.org/publicdomain/zero/1.0/legalcode"},
	{"CC-BY-4.0", "Creative Commons Attribution 4.0", "https://creativecommons.org/licenses/by/4.0/legalcode"},
	{"CC-BY-NC-4.0", "Creative Commons Attribution Non Commercial 4.0", "https://creativecommons.org/licenses/by-nc/4.0/legalcode"},
	{"CC-BY-SA-4.0", "Creative Commons Attribution Share Alike 4.0", "https://creativecommons.org/licenses/by-sa/4.0/legalcode"},
	{"ODC-By-1.0", "Open Data Commons Attribution 1.0", "https://opendatacommons.org/licenses/by/1-0/"},
	{"ODbL-1.0", "Open Data Commons Open Database 1.0", "https://opendatacommons.org/licenses/odbl/1-0/"},
}

// LicenceIDs lists the names of the licences.
func LicenceIDs() []string {
	var out []string
	for _, l := range Licences {
		out = append(out, l.ID)
	}
	return out
}

// Options say what is published and how.
type Options struct {
	Form       Form
	Copy       Copy
	Vocabulary Vocabulary // of the archive; empty = the newest
	// Title, Publisher and Contact name the data set, the programme and where to write to.
	Title, Publisher, Contact string
	Licence                   string // one of [Licences]; the manager chooses, there is no default
	// Citation is how users are to cite the data; empty: made from publisher, year and title.
	Citation string
	From, To time.Time // of the inspection's start: from included, to not; zero = all
	MadeAt   time.Time
	App      string // version of the program
	Demo     bool   // the records are invented
	// Key makes the ids of the public copy: the same key gives the same ids, and nobody without it can tell which record of
	// the programme one belongs to. At least 16 secret bytes.
	Key []byte
}

const minKeyBytes = 16

func oneOf[T ~string](errs *thwart.FieldErrors, field string, got T, accepted []T) {
	if !slices.Contains(accepted, got) {
		words := make([]string, len(accepted))
		for i, a := range accepted {
			words[i] = string(a)
		}
		*errs = append(*errs, thwart.FieldError{Field: field, Value: string(got), Accepted: strings.Join(words, ", ")})
	}
}

// Validate reports what is missing or not known.
func (o Options) Validate() error {
	var errs thwart.FieldErrors
	oneOf(&errs, "form", o.Form, Forms)
	oneOf(&errs, "copy", o.Copy, Copies)
	oneOf(&errs, "vocabulary", cmp.Or(o.Vocabulary, Detected), Vocabularies)
	oneOf(&errs, "licence", o.Licence, LicenceIDs())
	for _, f := range []struct{ name, value, accepted string }{
		{"title", o.Title, "a title of the data set"},
		{"publisher", o.Publisher, "the name of the programme"},
		{"contact", o.Contact, "an address that users of the data can write to"},
	} {
		if strings.TrimSpace(f.value) == "" {
			errs = append(errs, thwart.FieldError{Field: f.name, Accepted: f.accepted})
		}
	}
	if o.Copy == Public && len(o.Key) < minKeyBytes {
		errs = append(errs, thwart.FieldError{Field: "key", Value: "too short", Accepted: "at least 16 secret bytes"})
	}
	if o.MadeAt.IsZero() {
		errs = append(errs, thwart.FieldError{Field: "madeAt", Accepted: "a time"})
	}
	if !o.From.IsZero() && !o.To.IsZero() && !o.To.After(o.From) {
		errs = append(errs, thwart.FieldError{Field: "to", Value: o.To.Format(time.RFC3339), Accepted: "a time after from"})
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

func (o Options) licence() Licence {
	i := slices.IndexFunc(Licences, func(l Licence) bool { return l.ID == o.Licence })
	return Licences[i]
}

func (o Options) citation() string {
	if o.Citation != "" {
		return o.Citation
	}
	return o.Publisher + " (" + o.MadeAt.Format("2006") + "). " + o.Title + ". Data set, made " + o.MadeAt.UTC().Format(time.DateOnly) + "."
}
