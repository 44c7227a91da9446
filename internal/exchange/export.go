package exchange

import (
	"bufio"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"thwart"
)

// pageSize is how many records are in memory at once.
const pageSize = 500

// Edition is a way of writing CSV.
type Edition string

// Editions.
const (
	// EditionExchange is exact: every cell is the value, as RFC 4180 writes it.
	EditionExchange Edition = "exchange"
	// EditionSpreadsheet is for opening in a spreadsheet: a text that a spreadsheet would run as a formula has an apostrophe
	// put before it. Numbers, times and ids are as they are.
	EditionSpreadsheet Edition = "spreadsheet"
)

// Column describes a column of a table that goes out.
type Column struct {
	Name        string
	Type        string // string, number, integer, boolean, datetime, date: of Frictionless Table Schema
	Unit        string
	Description string
	Text        bool     // what people typed; guarded in the spreadsheet edition
	Accepted    []string // closed vocabulary
}

// Tables lists the tables that go out. People, trials and accounts are not among them: the first are personal, the second
// secret until they are over. Both people and trials are in the archive, which is for the programme alone.
var Tables = []string{"inspections", "findings", "shifts", "tallies", "washes", "waters", "launches", "units"}

type exportTable struct {
	kind    thwart.Kind
	about   string
	columns []Column
	rows    func(s *thwart.Subject, body thwart.Body) [][]string
}

// rowsOf gives rows from the body of the kind that a table is of.
func rowsOf[B thwart.Body](rows func(*thwart.Subject, B) [][]string) func(*thwart.Subject, thwart.Body) [][]string {
	return func(s *thwart.Subject, body thwart.Body) [][]string { return rows(s, body.(B)) }
}

func outcomeWords() []string { return strings.Split(join(thwart.Outcomes), ", ") }

var subjectColumns = []Column{
	{Name: "id", Type: "string", Description: "id of the record (UUID version 7, RFC 9562)"},
	{Name: "version", Type: "string", Description: "id of the entry that says what the record is now"},
	{Name: "versions", Type: "integer", Description: "how many entries the record has; more than 1 = corrected"},
	{Name: "in_conflict", Type: "boolean", Description: "true where two corrections compete and nobody has decided"},
	{Name: "origin", Type: "string", Description: "how the entry came to be", Accepted: []string{"phone", "office", "paper", "import", "demo"}},
}

func subjectCells(s *thwart.Subject) []string {
	return []string{s.Kept.Subject, s.ID, strconv.Itoa(s.Versions), strconv.FormatBool(s.Conflict), string(s.Origin)}
}

func num(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339Nano)
}

func whenIf(t *time.Time) string {
	if t == nil {
		return ""
	}
	return when(*t)
}

func answer(a thwart.Answer) string {
	if a == thwart.Unknown {
		return "unknown"
	}
	return string(a)
}

func orUnknown[T ~string](w T) string {
	if w == "" {
		return "unknown"
	}
	return string(w)
}

func exportTables() map[string]exportTable {
	return map[string]exportTable{
		"inspections": {thwart.KindInspection, "craft met, one row each", append(slices.Clone(subjectColumns),
			Column{Name: "shift", Type: "string", Description: "id of the shift it belongs to"},
			Column{Name: "launch", Type: "string", Description: "id of the launch"},
			Column{Name: "steward", Type: "string", Description: "id of the person who looked, never a name"},
			Column{Name: "started_at", Type: "datetime", Description: "start, ISO 8601 with offset"},
			Column{Name: "ended_at", Type: "datetime", Description: "end; empty = not known"},
			Column{Name: "direction", Type: "string", Description: "which way the craft was going", Accepted: []string{"launching", "leaving", "roadside", "other", "unknown"}},
			Column{Name: "class", Type: "string", Description: "craft class of the library"},
			Column{Name: "length_m", Type: "number", Unit: "m", Description: "length; empty = not noted"},
			Column{Name: "last_water", Type: "string", Description: "id of the water it was in last; empty = not known"},
			Column{Name: "last_out_at", Type: "datetime", Description: "when it came out of it; empty = not known"},
			Column{Name: "next_water", Type: "string", Description: "id of the water it goes to; empty = not known"},
			Column{Name: "plugs_out", Type: "string", Description: "drain plugs were out", Accepted: []string{"yes", "no", "unknown"}},
			Column{Name: "findings", Type: "integer", Description: "how many findings; they are in the table findings"},
			Column{Name: "outcome_computed", Type: "string", Description: "what the protocol asks for; empty = not judged", Accepted: outcomeWords()},
			Column{Name: "outcome_given", Type: "string", Description: "what the craft left with; empty = not judged", Accepted: outcomeWords()},
			Column{Name: "protocol", Type: "string", Description: "protocol in force, id@version"},
			Column{Name: "refused", Type: "boolean", Description: "the boater declined"},
			Column{Name: "test", Type: "boolean", Description: "a planted object was aboard: not a craft of the season"},
			Column{Name: "registration_prefix", Type: "string", Description: "letters of who issued the registration; the registration is not kept and its hash does not go out"},
			Column{Name: "note", Type: "string", Text: true, Description: "free text"},
		), rowsOf(func(s *thwart.Subject, e *thwart.Encounter) [][]string {
			in := &e.Inspection
			var last thwart.Visit
			if len(in.LastWaters) > 0 {
				last = in.LastWaters[0]
			}
			computed, prefix := "", ""
			if e.Verdict != nil {
				computed = string(e.Verdict.Outcome)
			}
			if e.Mark != nil {
				prefix = e.Mark.Prefix
			}
			return [][]string{append(subjectCells(s), e.Shift, in.Launch, in.Steward, when(in.StartedAt), whenIf(in.EndedAt),
				orUnknown(in.Direction), in.Setup.Class, num(in.Setup.LengthM), last.Water, whenIf(last.OutAt), in.NextWater,
				answer(in.PlugsOut), strconv.Itoa(len(in.Findings)), computed, string(e.Given()), e.Protocol,
				strconv.FormatBool(in.Refused), strconv.FormatBool(e.Test), prefix, in.Note)}
		})},
		"findings": {thwart.KindInspection, "what was found on craft, one row each; a finding on a trailer is no finding of the organism in the lake at the launch", []Column{
			{Name: "inspection", Type: "string", Description: "id of the inspection"},
			{Name: "number", Type: "integer", Description: "of the finding within the inspection, from 1"},
			{Name: "place", Type: "string", Description: "place on craft, trailer or gear; not_told = not written down"},
			{Name: "matter", Type: "string", Description: "what it is made of; unknown counts as an attached live animal", Accepted: append(strings.Split(join(thwart.Matters), ", "), "unknown")},
			{Name: "organism", Type: "string", Description: "organism of the library; empty = not told apart"},
			{Name: "stage", Type: "string", Description: "life stage"},
			{Name: "confidence", Type: "string", Description: "how sure the steward was", Accepted: []string{"certain", "likely", "unsure"}},
			{Name: "amount", Type: "string", Text: true, Description: "how many: 1, 2-10, 11-100, >100"},
			{Name: "vitality", Type: "string", Description: "Darwin Core vitality", Accepted: append(strings.Split(join(thwart.Vitalities), ", "), "unknown")},
			{Name: "removed", Type: "string", Description: "how much was taken off", Accepted: []string{"none", "part", "all", "unknown"}},
			{Name: "volume_l", Type: "number", Unit: "L", Description: "of water; empty = not noted"},
			{Name: "note", Type: "string", Text: true, Description: "free text"},
		}, rowsOf(func(s *thwart.Subject, e *thwart.Encounter) [][]string {
			var out [][]string
			for i, f := range e.Inspection.Findings {
				out = append(out, []string{s.Kept.Subject, strconv.Itoa(i + 1), f.Place, orUnknown(f.Matter), f.Organism, f.Stage, f.Confidence,
					f.Amount, orUnknown(f.Vitality), orUnknown(f.Removed), num(f.VolumeL), f.Note})
			}
			return out
		})},
		"shifts": {thwart.KindShift, "time on site", append(slices.Clone(subjectColumns),
			Column{Name: "launch", Type: "string", Description: "id of the launch"},
			Column{Name: "people", Type: "integer", Description: "how many people"},
			Column{Name: "from", Type: "datetime", Description: "start"},
			Column{Name: "to", Type: "datetime", Description: "end; empty = it runs. A shift of no length was made by an import and its hours are not known"},
			Column{Name: "clicker", Type: "integer", Description: "hand count of all craft that came by; empty = none kept"},
			Column{Name: "air_c", Type: "number", Unit: "°C", Description: "air when it began, as the steward said it; empty = not said"},
			Column{Name: "rh_pct", Type: "number", Unit: "%", Description: "relative humidity when it began, as the steward said it; empty = not said"},
			Column{Name: "wet", Type: "boolean", Description: "it was raining or wet when it began, as the steward said it; empty = not said"},
			Column{Name: "note", Type: "string", Text: true, Description: "free text"},
		), rowsOf(func(s *thwart.Subject, x *thwart.Shift) [][]string {
			air, rh, wet := "", "", ""
			if w := x.Weather; w != nil {
				if w.AirC != nil {
					air = exact(float64(*w.AirC))
				}
				if w.RHPct != nil {
					rh = exact(*w.RHPct)
				}
				if w.Wet != nil {
					wet = strconv.FormatBool(*w.Wet)
				}
			}
			return [][]string{append(subjectCells(s), x.Launch, strconv.Itoa(len(x.People)), when(x.From), whenIf(x.To), num(float64(x.Clicker)), air, rh, wet, x.Note)}
		})},
		"tallies": {thwart.KindTally, "craft met but not inspected", append(slices.Clone(subjectColumns),
			Column{Name: "shift", Type: "string", Description: "id of the shift"},
			Column{Name: "at", Type: "datetime", Description: "when counted"},
			Column{Name: "passed_by", Type: "integer", Description: "not stopped"},
			Column{Name: "refused", Type: "integer", Description: "declined, without a record of their own"},
			Column{Name: "turned_away", Type: "integer", Description: "left the queue"},
		), rowsOf(func(s *thwart.Subject, x *thwart.Tally) [][]string {
			return [][]string{append(subjectCells(s), x.Shift, when(x.At), strconv.Itoa(x.PassedBy), strconv.Itoa(x.Refused), strconv.Itoa(x.TurnedAway))}
		})},
		"washes": {thwart.KindWash, "washes as carried out", append(slices.Clone(subjectColumns),
			Column{Name: "inspection", Type: "string", Description: "id of the inspection"},
			Column{Name: "unit", Type: "string", Description: "id of the wash unit"},
			Column{Name: "started_at", Type: "datetime", Description: "start"},
			Column{Name: "ended_at", Type: "datetime", Description: "end"},
			Column{Name: "steps", Type: "integer", Description: "parts of the craft washed"},
			Column{Name: "steps_met", Type: "integer", Description: "of them, as the protocol asks"},
			Column{Name: "water_l", Type: "number", Unit: "L", Description: "water used; empty = not noted"},
			Column{Name: "fuel_l", Type: "number", Unit: "L", Description: "fuel used; empty = not noted"},
		), rowsOf(func(s *thwart.Subject, x *thwart.WashDone) [][]string {
			met := 0
			for _, step := range x.Steps {
				if step.Outcome == "met" {
					met++
				}
			}
			return [][]string{append(subjectCells(s), x.Encounter, x.Kit, when(x.StartedAt), when(x.EndedAt), strconv.Itoa(len(x.Steps)),
				strconv.Itoa(met), num(x.WaterL), num(x.FuelL))}
		})},
		"waters": {thwart.KindWater, "lakes, reservoirs and reaches", append(slices.Clone(subjectColumns),
			Column{Name: "name", Type: "string", Text: true, Description: "what people call it"},
			Column{Name: "lon", Type: "number", Unit: "°", Description: "longitude of the centre, WGS 84"},
			Column{Name: "lat", Type: "number", Unit: "°", Description: "latitude of the centre, WGS 84"},
			Column{Name: "area_ha", Type: "number", Unit: "ha", Description: "area; empty = not known"},
			Column{Name: "outside", Type: "boolean", Description: "outside the region: a source of craft only"},
			Column{Name: "statuses", Type: "string", Description: "organism=status since date, separated by semicolons; all that was ever declared"},
			Column{Name: "others", Type: "string", Description: "status of every organism not named", Accepted: append(strings.Split(join(thwart.WaterStatuses), ", "), "unknown")},
		), rowsOf(func(s *thwart.Subject, x *thwart.WaterBody) [][]string {
			var st []string
			for _, d := range x.Statuses {
				one := d.Organism + "=" + orUnknown(d.Status) + " " + d.From.Format(time.DateOnly)
				if d.To != nil {
					one += "/" + d.To.Format(time.DateOnly)
				}
				st = append(st, one)
			}
			return [][]string{append(subjectCells(s), x.Name, exact(x.Centre.Lon()), exact(x.Centre.Lat()), num(x.AreaHa), strconv.FormatBool(x.Outside),
				strings.Join(st, ";"), orUnknown(x.Others))}
		})},
		"launches": {thwart.KindLaunch, "where craft enter and leave the water", append(slices.Clone(subjectColumns),
			Column{Name: "name", Type: "string", Text: true, Description: "what people call it"},
			Column{Name: "water", Type: "string", Description: "id of the water"},
			Column{Name: "lon", Type: "number", Unit: "°", Description: "longitude, WGS 84"},
			Column{Name: "lat", Type: "number", Unit: "°", Description: "latitude, WGS 84"},
			Column{Name: "lanes", Type: "integer", Description: "how many craft at once"},
			Column{Name: "opens", Type: "string", Description: "local time"},
			Column{Name: "closes", Type: "string", Description: "local time"},
			Column{Name: "zone", Type: "string", Description: "IANA time zone"},
		), rowsOf(func(s *thwart.Subject, x *thwart.Ramp) [][]string {
			return [][]string{append(subjectCells(s), x.Name, x.Water, exact(x.At.Lon()), exact(x.At.Lat()), strconv.Itoa(x.Lanes), x.Opens, x.Closes, x.Zone)}
		})},
		"units": {thwart.KindUnit, "wash units", append(slices.Clone(subjectColumns),
			Column{Name: "name", Type: "string", Text: true, Description: "what people call it"},
			Column{Name: "launch", Type: "string", Description: "id of the launch it stands at; empty = mobile"},
			Column{Name: "out_of_service", Type: "boolean", Description: "cannot be used now"},
			Column{Name: "checks", Type: "integer", Description: "how often its thermometer or spray was checked"},
			Column{Name: "note", Type: "string", Text: true, Description: "free text"},
		), rowsOf(func(s *thwart.Subject, x *thwart.Kit) [][]string {
			return [][]string{append(subjectCells(s), x.Name, x.Launch, strconv.FormatBool(x.OutOfService), strconv.Itoa(len(x.Calibrations)), x.Note)}
		})},
	}
}

func exact(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// Each walks every subject of a kind that is not removed, a page at a time.
func Each(ctx context.Context, store thwart.Store, kind thwart.Kind, do func(*thwart.Subject, thwart.Body) error) error {
	q := thwart.SubjectQuery{Kind: kind, Limit: pageSize}
	for {
		page, err := store.Subjects(ctx, q)
		if err != nil {
			return err
		}
		for i := range page.Items {
			// What a store has taken is given out even where a newer check would refuse it: it is the record. Only what cannot
			// be read at all stops an export, because leaving it out would be a silent loss.
			body := thwart.NewBody(kind)
			if err := json.Unmarshal(page.Items[i].Body, body); err != nil {
				return fmt.Errorf("entry %s cannot be read: %w", page.Items[i].ID, err)
			}
			if err := do(&page.Items[i], body); err != nil {
				return err
			}
		}
		if page.Next == "" {
			return nil
		}
		q.After = page.Next
	}
}

// WriteTable writes one of [Tables] as CSV (RFC 4180, UTF-8, a row of headings) and gives the number of rows. An empty cell
// was not asked; "unknown" was asked and is not known.
func WriteTable(ctx context.Context, w io.Writer, store thwart.Store, name string, edition Edition) (rows int, err error) {
	t, ok := exportTables()[name]
	if !ok {
		return 0, thwart.FieldErrors{{Field: "table", Value: name, Accepted: strings.Join(Tables, ", ")}}
	}
	if edition != EditionExchange && edition != EditionSpreadsheet {
		return 0, thwart.FieldErrors{{Field: "edition", Value: string(edition), Accepted: "exchange, spreadsheet"}}
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.Name
	}
	if err := out.Write(names); err != nil {
		return 0, err
	}
	err = Each(ctx, store, t.kind, func(s *thwart.Subject, body thwart.Body) error {
		for _, cells := range t.rows(s, body) {
			if edition == EditionSpreadsheet {
				for i := range cells {
					if t.columns[i].Text {
						cells[i] = Guard(cells[i])
					}
				}
			}
			if err := out.Write(cells); err != nil {
				return err
			}
			rows++
		}
		return nil
	})
	if err != nil {
		return rows, err
	}
	out.Flush()
	return rows, out.Error()
}

// Guard puts an apostrophe before a text that a spreadsheet would take for a formula: one that begins, after blanks, with
// = + - @ or their wide forms, or with a tab or line break.
func Guard(s string) string {
	trimmed := strings.TrimLeft(s, " \u00a0")
	for _, p := range []string{"=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"} {
		if strings.HasPrefix(trimmed, p) {
			return "'" + s
		}
	}
	return s
}

// WriteDictionary describes every table and column as a Frictionless Data Package (datapackage.json, version 1), which
// programs can check the files against and people can read.
func WriteDictionary(w io.Writer) error {
	type field struct {
		Name        string              `json:"name"`
		Type        string              `json:"type"`
		Unit        string              `json:"unit,omitempty"`
		Description string              `json:"description"`
		Constraints map[string][]string `json:"constraints,omitempty"`
	}
	type schema struct {
		Fields        []field  `json:"fields"`
		MissingValues []string `json:"missingValues"`
		PrimaryKey    []string `json:"primaryKey"`
	}
	type resource struct {
		Name        string `json:"name"`
		Path        string `json:"path"`
		Profile     string `json:"profile"`
		Format      string `json:"format"`
		Encoding    string `json:"encoding"`
		Description string `json:"description"`
		Schema      schema `json:"schema"`
	}
	doc := struct {
		Profile     string     `json:"profile"`
		Name        string     `json:"name"`
		Description string     `json:"description"`
		Resources   []resource `json:"resources"`
	}{
		Profile: "tabular-data-package", Name: "thwart-season",
		Description: "Records of a programme that inspects and decontaminates trailered craft. Empty cell: not asked. unknown: asked and not known. " +
			"Metric units, the unit in the name of the column. A find on a craft or trailer says nothing of the water at the launch.",
	}
	tables := exportTables()
	for _, name := range Tables {
		t := tables[name]
		r := resource{Name: name, Path: name + ".csv", Profile: "tabular-data-resource", Format: "csv", Encoding: "utf-8", Description: t.about,
			Schema: schema{MissingValues: []string{""}, PrimaryKey: []string{t.columns[0].Name}}}
		if name == "findings" {
			r.Schema.PrimaryKey = []string{"inspection", "number"}
		}
		for _, c := range t.columns {
			f := field{Name: c.Name, Type: c.Type, Unit: c.Unit, Description: c.Description}
			if len(c.Accepted) > 0 {
				f.Constraints = map[string][]string{"enum": c.Accepted}
			}
			r.Schema.Fields = append(r.Schema.Fields, f)
		}
		doc.Resources = append(doc.Resources, r)
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}

// eachEntry walks every entry in the order of arrival.
func eachEntry(ctx context.Context, store thwart.Store, do func(*thwart.Kept) error) error {
	var after int64
	for {
		entries, next, err := store.Changes(ctx, nil, after, pageSize)
		if err != nil {
			return err
		}
		for i := range entries {
			if err := do(&entries[i]); err != nil {
				return err
			}
		}
		if len(entries) == 0 || next <= after {
			return nil
		}
		after = next
	}
}

// WriteLines writes every entry as JSON Lines: one object a line, in the order of arrival, corrections and what they
// correct alike. It gives the number of lines. A body is written byte by byte as it was sent, because the sum of an entry is
// over those bytes; where it cannot stand in a line so, it is there twice, the exact one as text in bodyText. Names of people of the
// programme and hashes of registrations are among it: it is for the programme alone.
func WriteLines(ctx context.Context, w io.Writer, store thwart.Store) (lines int64, err error) {
	return writeLines(ctx, w, store, func(thwart.Kind) {})
}

func writeLines(ctx context.Context, w io.Writer, store thwart.Store, count func(thwart.Kind)) (lines int64, err error) {
	out := bufio.NewWriterSize(w, 64<<10)
	err = eachEntry(ctx, store, func(k *thwart.Kept) error {
		b, err := line(*k)
		if err != nil {
			return fmt.Errorf("entry %s: %w", k.ID, err)
		}
		lines++
		count(k.Kind)
		_, err = out.Write(b)
		return err
	})
	if err != nil {
		return lines, err
	}
	return lines, out.Flush()
}

// keptLine is an entry as a line holds it.
type keptLine struct {
	thwart.Kept
	BodyText *string `json:"bodyText,omitempty"`
}

// line writes an entry as one line. encoding/json would rewrite the body: without blanks, and with <, > and & spelt out.
func line(k thwart.Kept) ([]byte, error) {
	body := k.Body
	k.Body = nil
	l := keptLine{Kept: k}
	plainly := len(body) > 0 && len(bytes.TrimSpace(body)) == len(body) && !bytes.ContainsAny(body, "\n\r") && json.Valid(body)
	if len(body) > 0 && !plainly {
		text := string(body)
		l.BodyText = &text
		var short bytes.Buffer
		if err := json.Compact(&short, body); err != nil {
			return nil, err
		}
		body = short.Bytes()
	}
	b, err := json.Marshal(l)
	if err != nil || len(body) == 0 {
		return append(b, '\n'), err
	}
	b = append(b[:len(b)-1], `,"body":`...)
	b = append(b, body...)
	return append(b, "}\n"...), nil
}

// keptOf reads a line back, byte by byte the same body.
func keptOf(b []byte) (thwart.Kept, error) {
	var l keptLine
	if err := json.Unmarshal(b, &l); err != nil {
		return thwart.Kept{}, err
	}
	if l.BodyText != nil {
		l.Body = json.RawMessage(*l.BodyText)
	}
	return l.Kept, nil
}
