package advice

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"thwart"
	"thwart/form"
	"thwart/lean"
	"thwart/refdata"
)

// MaxProtocolBytes is the largest protocol file that is read.
const MaxProtocolBytes = 1 << 20

// library holds the published protocols, tables filled in, in order of id. They are compiled in, so a broken one is a
// mistake of the build and panics; a test reads all of them.
var library = lean.Once(func() []thwart.Protocol {
	files := refdata.ProtocolFiles()
	list := make([]thwart.Protocol, 0, len(files))
	for _, name := range slices.Sorted(maps.Keys(files)) {
		p, err := ReadProtocol(bytes.NewReader(files[name]))
		switch {
		case err != nil:
			panic(fmt.Sprintf("advice: protocol %s: %v", name, err))
		case p.ID != name:
			panic(fmt.Sprintf("advice: protocol %s calls itself %q", name, p.ID))
		}
		list = append(list, p)
	}
	return list
})

// Protocols gives every published protocol of the library with its tables filled in, in order of id. The caller owns them.
//
// Each is a snapshot of what could be read, with its date and sources, and none is confirmed: it stays an example until a
// person of the programme has checked it against the law in force.
func Protocols() []thwart.Protocol {
	list := make([]thwart.Protocol, len(library()))
	for i, p := range library() {
		list[i] = cloneProtocol(p)
	}
	return list
}

// ProtocolByID gives one published protocol with its tables filled in; the caller owns it. For an id that does not exist
// the error is [thwart.FieldErrors] that names the nearest ids and all there are.
func ProtocolByID(id string) (thwart.Protocol, error) {
	i, ok := slices.BinarySearchFunc(library(), id, func(p thwart.Protocol, id string) int { return cmp.Compare(p.ID, id) })
	if ok {
		return cloneProtocol(library()[i]), nil
	}
	ids := make([]string, len(library()))
	for i, p := range library() {
		ids[i] = p.ID
	}
	return thwart.Protocol{}, thwart.FieldErrors{fieldError("protocolId", id, suggest(id, ids))}
}

// ReadProtocol reads a programme's own protocol from JSON, fills in the tables it names and checks all of it. Unknown
// fields, oversize files and anything that cannot be taken are errors that name the field, the value and what is accepted.
func ReadProtocol(r io.Reader) (thwart.Protocol, error) {
	var p thwart.Protocol
	if err := thwart.ReadJSON(r, MaxProtocolBytes, &p); err != nil {
		return thwart.Protocol{}, err
	}
	return Expand(p)
}

// Expand fills in the lines of the tables that a protocol names and checks the whole of it, the names of tables and
// organisms included. The protocol given is left as it is. A protocol that has been expanded before comes back unchanged.
//
// WashTable may name several tables, separated by commas: a later one gives only the parts that the ones before it leave
// out. The protocol's own lines stand first, and a line for a part (and risk) takes the place of the table's line for it.
// Of a drying table, only lines are filled in that may bind: in force as far as read, and without a condition that no
// record can show. An own line of the same profile, for the same craft and months, takes the place of the table's.
func Expand(p thwart.Protocol) (thwart.Protocol, error) {
	p = cloneProtocol(p)
	var errs thwart.FieldErrors
	if err := p.Validate(); err != nil {
		if !errors.As(err, &errs) {
			return thwart.Protocol{}, err
		}
	}
	errs = append(errs, expandWash(&p)...)
	errs = append(errs, expandDry(&p)...)
	errs = append(errs, checkTested(p.TestedDrying)...)
	if len(errs) > 0 {
		return thwart.Protocol{}, errs
	}
	return p, nil
}

func expandWash(p *thwart.Protocol) (errs thwart.FieldErrors) {
	if p.WashTable == "" {
		return nil
	}
	for _, name := range strings.Split(p.WashTable, ",") {
		name = strings.TrimSpace(name)
		rows, why := washLines(name)
		if why != "" {
			errs = append(errs, fieldError("washTable", name, why))
			continue
		}
		own := len(p.Wash)
		for _, row := range rows {
			if !coversPart(p.Wash[:own], row) {
				p.Wash = append(p.Wash, row)
			}
		}
	}
	return errs
}

// coversPart reports whether lines already say what a part needs under the risk of the row.
func coversPart(lines []thwart.WashRow, row thwart.WashRow) bool {
	return slices.ContainsFunc(lines, func(l thwart.WashRow) bool {
		return l.Part == row.Part && (l.Risk == "" || l.Risk == row.Risk)
	})
}

func expandDry(p *thwart.Protocol) (errs thwart.FieldErrors) {
	for i, profile := range p.DryTables {
		rules, why := dryLines(profile)
		if why != "" {
			errs = append(errs, fieldError(fmt.Sprintf("dryTables[%d]", i), profile, why))
			continue
		}
		own := len(p.Dry)
		for _, rule := range rules {
			if !slices.ContainsFunc(p.Dry[:own], func(d thwart.DryRule) bool { return sameLine(d, rule) }) {
				p.Dry = append(p.Dry, rule)
			}
		}
	}
	return errs
}

// sameLine reports whether two drying lines speak of the same craft at the same time, so that one stands for the other.
func sameLine(a, b thwart.DryRule) bool {
	return a.Profile == b.Profile && a.Applies == b.Applies && a.UsedIn == b.UsedIn && slices.Equal(a.Months, b.Months) &&
		(a.FreezingH > 0) == (b.FreezingH > 0)
}

// WashTable gives the lines of one published wash table that may stand in a protocol. A table without any, such as a piece
// of research, is an error, as is one that does not exist.
func WashTable(name string) ([]thwart.WashRow, error) {
	lines, why := washLines(name)
	if why != "" {
		return nil, thwart.FieldErrors{fieldError("washTable", name, why)}
	}
	return lines, nil
}

// washLines gives the usable lines of a table, or what is accepted instead of its name.
func washLines(name string) (lines []thwart.WashRow, why string) {
	rows := refdata.WashTable(name)
	for _, w := range rows {
		if w.Usable() {
			lines = append(lines, washLine(w))
		}
	}
	switch {
	case rows == nil:
		return nil, suggest(name, usableWashTables())
	case lines == nil && rows[0].Adopts != "":
		return nil, rows[0].Adopts + ", which that one adopts without lines of its own"
	case lines == nil:
		return nil, "one of " + strings.Join(usableWashTables(), ", ") + "; that one is research or gives no full line"
	}
	return lines, ""
}

func usableWashTables() []string {
	return slices.DeleteFunc(refdata.WashTables(), func(name string) bool {
		return !slices.ContainsFunc(refdata.WashTable(name), refdata.WashRow.Usable)
	})
}

func washLine(w refdata.WashRow) thwart.WashRow {
	l := thwart.WashRow{
		Part: thwart.Part(w.Part), Risk: w.Risk, TempC: *w.TempC, Printed: w.Printed, Measured: thwart.MeasuredAt(w.Measured),
		UntilExit: w.UntilExit, Method: thwart.Method(w.Method),
		Source: sourceCell(w.Provenance), Known: string(w.Known), Note: w.Note,
	}
	if w.ContactS != nil {
		l.ContactS = *w.ContactS
	}
	if w.PressureMaxBar != nil {
		l.PressureMaxBar = *w.PressureMaxBar
	}
	if w.MaxInletC != nil {
		l.MaxInletC = *w.MaxInletC
	}
	return l
}

// DryRules gives the lines of one published drying table that may bind. A table without any, such as a bill or a notice
// that was replaced, is an error, as is one that does not exist.
func DryRules(profile string) ([]thwart.DryRule, error) {
	lines, why := dryLines(profile)
	if why != "" {
		return nil, thwart.FieldErrors{fieldError("dryTables", profile, why)}
	}
	return lines, nil
}

// dryLines gives the usable lines of a drying table, or what is accepted instead of its name.
func dryLines(profile string) (lines []thwart.DryRule, why string) {
	rows := refdata.DryRules(profile)
	for _, d := range rows {
		if d.Usable() {
			lines = append(lines, dryLine(d))
		}
	}
	switch {
	case rows == nil:
		return nil, suggest(profile, usableDryProfiles())
	case lines == nil && rows[0].Condition != "":
		return nil, fmt.Sprintf("a table that holds in all weather: that one asks for %q, which no record can show; write a line of your own under dry instead", rows[0].Condition)
	case lines == nil:
		return nil, fmt.Sprintf("a table in force: that one is marked %q; write a line of your own under dry if it is", rows[0].Kind)
	}
	return lines, ""
}

func usableDryProfiles() []string {
	return slices.DeleteFunc(refdata.DryProfiles(), func(name string) bool {
		return !slices.ContainsFunc(refdata.DryRules(name), refdata.DryRule.Usable)
	})
}

func dryLine(d refdata.DryRule) thwart.DryRule {
	l := thwart.DryRule{
		Profile: d.Profile, Applies: d.Applies, Months: slices.Clone(d.Months), Never: d.Never, NotAccepted: d.NotAccepted,
		UsedIn: d.UsedIn, From: thwart.ClockStart(d.From), Kind: string(d.Kind),
		Source: sourceCell(d.Provenance), Known: string(d.Known), Note: d.Note,
	}
	if d.Days != nil {
		l.Days = *d.Days
	}
	if d.FreezingH != nil {
		l.FreezingH = *d.FreezingH
	}
	return l
}

// sourceCell writes a provenance as the one text that records carry: ids of the list of sources, joined by semicolons.
func sourceCell(p refdata.Provenance) string {
	if len(p.SourceIDs) == 0 {
		return p.Cite()
	}
	return strings.Join(p.SourceIDs, ";")
}

// isSourceID is S or P and two or three digits.
func isSourceID(s string) bool {
	return s != "" && (s[0] == 'S' || s[0] == 'P') && form.Chars("0-9").All(s[1:], 2, 3)
}

// Cite writes the source text of a record out for a reader: ids of the library's list of sources become their citations,
// anything else is a programme's own text and stays as it is.
func Cite(source string) string {
	parts := strings.Split(source, ";")
	for i, part := range parts {
		if !isSourceID(part) {
			return source
		}
		s, ok := refdata.SourceByID(part)
		if !ok {
			return source
		}
		parts[i] = s.Citation
	}
	return strings.Join(parts, "; ")
}

// faults gathers what cannot be taken.
type faults thwart.FieldErrors

func (f *faults) need(ok bool, field string, value any, accepted string) {
	if !ok {
		*f = append(*f, fieldError(field, fmt.Sprint(value), accepted))
	}
}

// checkTested makes sure that a tested drying time names an organism and a stage of the library, and that the test it
// rests on had a temperature and a humidity.
func checkTested(list []thwart.TestedDrying) thwart.FieldErrors {
	var f faults
	for i, d := range list {
		at := fmt.Sprintf("testedDrying[%d].", i)
		_, known := refdata.OrganismByID(d.Organism)
		if !known {
			var ids []string
			for _, o := range refdata.Organisms() {
				ids = append(ids, o.ID)
			}
			f.need(false, at+"organism", d.Organism, suggest(d.Organism, ids))
		} else {
			var stages []string
			for _, s := range refdata.Stages(d.Organism) {
				stages = append(stages, string(s.Name))
			}
			f.need(slices.Contains(stages, d.Stage), at+"stage", d.Stage, "a stage of "+d.Organism+": "+strings.Join(stages, ", "))
		}
		f.need(d.MinTempC >= 0 && d.MinTempC <= 50, at+"minTempC", d.MinTempC, "the temperature of the test, from 0 to 50 °C")
		f.need(d.MaxRHPct >= 1 && d.MaxRHPct <= 100, at+"maxRhPct", d.MaxRHPct, "the humidity of the test, from 1 to 100 %")
	}
	return thwart.FieldErrors(f)
}

// fieldError is one field's error as the checks of records give it.
func fieldError(field, value, accepted string) thwart.FieldError {
	return thwart.FieldError{Field: field, Value: shorten(value), Accepted: accepted}
}

// shorten keeps what was given readable in a message.
func shorten(s string) string {
	const most = 80
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// suggest lists what is accepted, with the nearest first when something near exists.
func suggest(given string, accepted []string) string {
	all := strings.Join(accepted, ", ")
	near := nearNames(given, accepted)
	if len(near) == 0 {
		return "one of " + all
	}
	return "did you mean " + strings.Join(near, " or ") + "? All there are: " + all
}

// nearNames picks at most three names that are close to what was given: one contains the other, or a slip or two of the
// pen apart. Case, spaces and underscores do not count.
func nearNames(given string, names []string) []string {
	g := plainName(given)
	if len(g) < 2 || len(g) > 60 {
		return nil
	}
	type match struct {
		name string
		far  int
	}
	var found []match
	for _, n := range names {
		p := plainName(n)
		d := editDistance(g, p)
		if min(len(g), len(p)) >= 3 && (strings.Contains(p, g) || strings.Contains(g, p)) {
			d = min(d, 1)
		}
		if d <= max(1, min(len(g), len(p))/4) {
			found = append(found, match{n, d})
		}
	}
	lean.SortStable(found, func(a, b match) int { return a.far - b.far })
	var out []string
	for _, m := range found[:min(3, len(found))] {
		out = append(out, m.name)
	}
	return out
}

func plainName(s string) string {
	return strings.NewReplacer("_", "-", " ", "-").Replace(strings.ToLower(strings.TrimSpace(s)))
}

// editDistance is the number of single-byte insertions, deletions and replacements between two names (Levenshtein 1966).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// cloneProtocol copies a protocol with everything it points at, so that neither owner sees the other's changes. Lists that
// JSON leaves out when empty become nil, so that what is written reads back equal.
func cloneProtocol(p thwart.Protocol) thwart.Protocol {
	p.Words = maps.Clone(p.Words)
	if len(p.Words) == 0 {
		p.Words = nil
	}
	p.Requires = slices.Clone(p.Requires)
	p.Always = cloneList(p.Always)
	p.Wash = cloneList(p.Wash)
	p.DryTables = cloneList(p.DryTables)
	p.Dry = cloneList(p.Dry)
	for i := range p.Dry {
		p.Dry[i].Months = cloneList(p.Dry[i].Months)
	}
	p.TestedDrying = cloneList(p.TestedDrying)
	p.SealTrust = cloneList(p.SealTrust)
	p.Chemicals = cloneList(p.Chemicals)
	for i := range p.Chemicals {
		p.Chemicals[i].For = slices.Clone(p.Chemicals[i].For)
	}
	p.Powers = slices.Clone(p.Powers)
	for i := range p.Powers {
		p.Powers[i].Who = slices.Clone(p.Powers[i].Who)
	}
	p.Sources = slices.Clone(p.Sources)
	p.Notes = cloneList(p.Notes)
	return p
}

// cloneList copies a list; an empty one becomes nil.
func cloneList[T any](list []T) []T {
	if len(list) == 0 {
		return nil
	}
	return slices.Clone(list)
}
