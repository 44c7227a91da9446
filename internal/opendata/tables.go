package opendata

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"thwart"
	"thwart/internal/exchange"
	"thwart/refdata"
)

// table is one of the tables that go out.
type table struct {
	name, about string
	key         []string          // columns that name a row
	refers      map[string]string // column to the table whose key it holds
	columns     []exchange.Column
}

var answerWords = []string{"yes", "no", "unknown"}

func words[T ~string](list []T, more ...string) []string {
	out := make([]string, 0, len(list)+len(more))
	for _, w := range list {
		out = append(out, string(w))
	}
	return append(out, more...)
}

// tablesOf lists the tables of a copy.
func tablesOf(c Copy) []table {
	var exactTimes, person []exchange.Column
	if c == Agency {
		exactTimes = []exchange.Column{
			{Name: "started_at", Type: "datetime", Description: "start, ISO 8601 with the offset of the place"},
			{Name: "ended_at", Type: "datetime", Description: "end; empty = not known"},
		}
		person = []exchange.Column{{Name: "steward", Type: "string", Description: "made-up id of who looked; empty = not known"}}
	}
	withheld := exchange.Column{Name: "withheld", Type: "string", Description: "columns of this row that are left out so that no single craft can be told, separated by |"}
	return []table{
		{
			"inspections", "craft met, one row each; planted craft are not among them", []string{"id"}, map[string]string{"session": "sessions", "launch": "launches", "water": "waters", "last_water": "waters"},
			slices.Concat([]exchange.Column{
				{Name: "id", Type: "string", Description: "id of the row in this copy"},
				{Name: "session", Type: "string", Description: "when and where it was met"},
				{Name: "week", Type: "string", Description: "ISO 8601 week at the place, such as 2026-W27"},
			}, exactTimes, person, []exchange.Column{
				{Name: "launch", Type: "string", Description: "id of the launch"},
				{Name: "water", Type: "string", Description: "id of the water at the launch; what was found on the craft says nothing of it"},
				{Name: "direction", Type: "string", Description: "which way the craft was going", Accepted: []string{"launching", "leaving", "roadside", "other", "unknown"}},
				{Name: "class", Type: "string", Description: "craft class"},
				{Name: "last_water", Type: "string", Description: "id of the water it was in last, as the boater said; empty = not known or left out"},
				{Name: "last_water_status", Type: "string", Description: "what was known of that water when the craft came out of it", Accepted: []string{"at_risk", "no_invader_known", "not_known"}},
				{Name: "plugs_out", Type: "string", Description: "drain plugs were out", Accepted: answerWords},
				{Name: "outcome", Type: "string", Description: "what the craft left with; empty = not judged", Accepted: words(thwart.Outcomes)},
				{Name: "protocol", Type: "string", Description: "rules in force, id@version"},
				{Name: "refused", Type: "boolean", Description: "the boater declined"},
				{Name: "complete", Type: "boolean", Description: "every place of the round was looked at; only then does nothing found mean anything"},
				{Name: "findings", Type: "integer", Description: "how many findings; they are in the table findings"},
				withheld,
			}),
		},
		{
			"findings", "what was found on craft, trailers and gear, one row each: interceptions, not occurrences of the organism in the water at the launch", []string{"inspection", "number"},
			map[string]string{"inspection": "inspections"}, []exchange.Column{
				{Name: "inspection", Type: "string", Description: "id of the inspection"},
				{Name: "number", Type: "integer", Description: "of the finding within the inspection, from 1"},
				{Name: "place", Type: "string", Description: "place on craft, trailer or gear"},
				{Name: "matter", Type: "string", Description: "what it is made of", Accepted: words(thwart.Matters, "unknown")},
				{Name: "organism", Type: "string", Description: "organism of the library; empty = not told apart"},
				{Name: "scientific_name", Type: "string", Description: "its scientific name with authority"},
				{Name: "stage", Type: "string", Description: "life stage"},
				{Name: "confidence", Type: "string", Description: "how sure the steward was", Accepted: []string{"certain", "likely", "unsure"}},
				{Name: "amount", Type: "string", Text: true, Description: "how many: 1, 2-10, 11-100, >100"},
				{Name: "vitality", Type: "string", Description: "Darwin Core vitality", Accepted: words(thwart.Vitalities, "unknown")},
				{Name: "removed", Type: "string", Description: "how much was taken off", Accepted: []string{"none", "part", "all", "unknown"}},
				{Name: "volume_l", Type: "number", Unit: "L", Description: "of water; empty = not noted"},
			},
		},
		{
			"sessions", sessionsAbout(c), []string{"id"}, map[string]string{"launch": "launches", "water": "waters"}, slices.Concat([]exchange.Column{
				{Name: "id", Type: "string", Description: "id of the row in this copy"},
				{Name: "launch", Type: "string", Description: "id of the launch"},
				{Name: "water", Type: "string", Description: "id of the water at the launch"},
				{Name: "week", Type: "string", Description: "ISO 8601 week in which it began"},
			}, exactTimes, []exchange.Column{
				{Name: "shifts", Type: "integer", Description: "how many shifts"},
				{Name: "steward_hours", Type: "number", Unit: "h", Description: "length of the shifts times their people"},
				{Name: "passed_by", Type: "integer", Description: "craft not stopped, as counted"},
				{Name: "refused", Type: "integer", Description: "craft that declined without a record of their own"},
				{Name: "turned_away", Type: "integer", Description: "craft that left the queue"},
				withheld,
			}),
		},
		{
			"washes", "washes as carried out", []string{"id"}, map[string]string{"inspection": "inspections"}, []exchange.Column{
				{Name: "id", Type: "string", Description: "id of the row in this copy"},
				{Name: "inspection", Type: "string", Description: "id of the inspection"},
				{Name: "steps", Type: "integer", Description: "parts of the craft washed"},
				{Name: "steps_met", Type: "integer", Description: "of them, as the rules ask"},
				{Name: "water_l", Type: "number", Unit: "L", Description: "water used; empty = not noted"},
			},
		},
		{
			"waters", "lakes, reservoirs and reaches that craft come from or go to", []string{"id"}, nil, []exchange.Column{
				{Name: "id", Type: "string", Description: "id of the water"},
				{Name: "name", Type: "string", Text: true, Description: "what people call it"},
				{Name: "lon", Type: "number", Unit: "°", Description: "longitude of the centre, WGS 84"},
				{Name: "lat", Type: "number", Unit: "°", Description: "latitude of the centre, WGS 84"},
				{Name: "area_ha", Type: "number", Unit: "ha", Description: "area; empty = not known"},
				{Name: "outside", Type: "boolean", Description: "outside the region: a source of craft only"},
				{Name: "statuses", Type: "string", Description: "organism=status since date, separated by semicolons; all that was ever declared"},
				{Name: "others", Type: "string", Description: "status of every organism not named", Accepted: words(thwart.WaterStatuses, "unknown")},
			},
		},
		{
			"launches", "where craft enter and leave the water", []string{"id"}, map[string]string{"water": "waters"}, []exchange.Column{
				{Name: "id", Type: "string", Description: "id of the launch"},
				{Name: "name", Type: "string", Text: true, Description: "what people call it"},
				{Name: "water", Type: "string", Description: "id of the water"},
				{Name: "lon", Type: "number", Unit: "°", Description: "longitude, WGS 84"},
				{Name: "lat", Type: "number", Unit: "°", Description: "latitude, WGS 84"},
				{Name: "lanes", Type: "integer", Description: "how many craft at once"},
			},
		},
	}
}

func sessionsAbout(c Copy) string {
	if c == Public {
		return "time on site by launch and week; a count below 5 is left out"
	}
	return "shifts"
}

func number(x float64) string {
	if x == 0 {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

func answerWord(a thwart.Answer) string { return orUnknown(string(a)) }

func (l *look) row(c Copy) []string {
	row := []string{l.ID, l.Session, l.Week}
	if c == Agency {
		row = append(row, stamp(l.Started), stamp(l.Ended), l.Steward)
	}
	return append(row, l.Launch, l.Water, l.Direction, l.Class, l.LastWater, l.LastStatus, answerWord(l.PlugsOut), string(l.Outcome), l.Protocol,
		strconv.FormatBool(l.Refused), strconv.FormatBool(l.Complete), strconv.Itoa(len(l.Findings)), strings.Join(l.Withheld, "|"))
}

func (l *look) findingRow(i int) []string {
	f := &l.Findings[i]
	scientific := ""
	if o, ok := refdata.OrganismByID(f.Organism); ok {
		scientific = strings.TrimSpace(o.Scientific + " " + o.Authority)
	}
	return []string{l.ID, strconv.Itoa(i + 1), f.Place, orUnknown(string(f.Matter)), f.Organism, scientific, f.Stage, f.Confidence, f.Amount,
		orUnknown(string(f.Vitality)), orUnknown(string(f.Removed)), number(f.VolumeL)}
}

func (s *session) row(c Copy) []string {
	row := []string{s.ID, s.Launch, s.Water, s.Week}
	if c == Agency {
		row = append(row, stamp(s.From), stamp(s.To))
	}
	row = append(row, strconv.Itoa(s.Shifts), number(round2(s.Hours)))
	var withheld []string
	for _, n := range []struct {
		name string
		n    int
	}{{"passed_by", s.PassedBy}, {"refused", s.Refused}, {"turned_away", s.TurnedAway}} {
		if c == Public && n.n < exchange.SmallCell {
			row = append(row, "")
			withheld = append(withheld, n.name)
			continue
		}
		row = append(row, strconv.Itoa(n.n))
	}
	return append(row, strings.Join(withheld, "|"))
}

func waterRow(id string, w *thwart.WaterBody) []string {
	var st []string
	for _, d := range w.Statuses {
		one := d.Organism + "=" + orUnknown(string(d.Status)) + " " + d.From.Format(time.DateOnly)
		if d.To != nil {
			one += "/" + d.To.Format(time.DateOnly)
		}
		st = append(st, one)
	}
	return []string{id, w.Name, degrees(w.Centre.Lon()), degrees(w.Centre.Lat()), number(w.AreaHa), strconv.FormatBool(w.Outside),
		strings.Join(st, ";"), orUnknown(string(w.Others))}
}

func launchRow(id string, l *thwart.Ramp) []string {
	return []string{id, l.Name, l.Water, degrees(l.At.Lon()), degrees(l.At.Lat()), strconv.Itoa(l.Lanes)}
}

func degrees(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
