package exchange

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"thwart"
)

// SmallCell is the smallest count that a public table shows. Below it a cell might be one craft that somebody knows.
const SmallCell = 5

// PublicBys lists what public sums may be split by. Days and stewards are not among them: the first can isolate a craft, the
// second is a league table.
var PublicBys = []string{"", "launch", "week", "month", "class", "outcome", "last_water"}

const (
	small    = "<5"
	withheld = "withheld"
)

// WritePublicTotals writes sums as CSV for everybody. by is what they are split by, one of [PublicBys]; names turns keys into
// names, where it has them.
//
// A count below [SmallCell], zero too, is written "<5". Where only one part of a sum would be hidden so, it could be had by
// taking the others from the sum, and so could several that are small together; the next smallest part is then written
// "withheld". Outcomes, what was not judged and what was refused add up to the number of encounters, so all are parts.
//
// Publish one split of one season: two splits of the same records can be taken from each other.
func WritePublicTotals(w io.Writer, totals []thwart.Total, by string, names map[string]string) error {
	if !slices.Contains(PublicBys, by) {
		return thwart.FieldErrors{{Field: "by", Value: by, Accepted: strings.TrimPrefix(strings.Join(PublicBys, ", "), ", ")}}
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	head := []string{cmp.Or(by, "all"), "encounters"}
	for _, o := range thwart.Outcomes {
		head = append(head, "outcome_"+string(o))
	}
	head = append(head, "not_judged", "refused", "with_findings", "refused_tallied", "turned_away", "passed_by", "steward_hours")
	if err := out.Write(head); err != nil {
		return err
	}
	for i := range totals {
		t := &totals[i]
		parts := make([]int, 0, len(thwart.Outcomes)+2)
		judged := 0
		for _, o := range thwart.Outcomes {
			parts = append(parts, t.ByOutcome[o])
			judged += t.ByOutcome[o]
		}
		parts = append(parts, max(t.Encounters-judged-t.Refused, 0), t.Refused)
		key := t.Key
		if n, ok := names[key]; ok {
			key = n
		}
		row := append([]string{Guard(key), shown(t.Encounters)}, HideSmall(parts)...)
		row = append(row, shown(t.Findings), shown(t.TallyRefused), shown(t.TurnedAway), shown(t.PassedBy))
		hours := ""
		if t.Hours >= 0 {
			hours = fmt.Sprintf("%.1f", t.Hours)
		}
		if err := out.Write(append(row, hours)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func shown(n int) string {
	if n < SmallCell {
		return small
	}
	return strconv.Itoa(n)
}

// HideSmall writes the parts of a sum with the small ones hidden, and one more where what is hidden could be had from the sum and is
// a single part, or small together.
func HideSmall(parts []int) []string {
	out := make([]string, len(parts))
	hidden, together, next := 0, 0, -1
	for i, n := range parts {
		out[i] = shown(n)
		if n < SmallCell {
			hidden++
			together += n
		} else if next < 0 || n < parts[next] {
			next = i
		}
	}
	if hidden > 0 && (hidden == 1 || together < SmallCell) && next >= 0 {
		out[next] = withheld
	}
	return out
}
