package report

import (
	"regexp"
	"strings"
	"sync"
)

// elsewhereEnglish are sentences that other packages make, with verbs where a value stands: d, f and g numbers, s names, v a sentence
// or the text of an error. A sentence that changes there is told in English by the report until it is changed here; a test makes
// a whole report and finds it.
var elsewhereEnglish = []string{
	// package report, from [Gather]
	"What more or fewer hours would buy could not be computed from these records: %v.",
	"How many infestations to expect could not be computed from these records: %v.",
	"Traffic could not be estimated from these records: %v.",
	"Passages between waters could not be estimated from these records: %v.",
	"Risk could not be estimated from these records: %v.",
	"What stewards find could not be estimated from these records: %v.",
	// package spreading
	"Over %d years %.1f more of %d clear waters are expected to be infested if nobody stands anywhere, and %.1f with %s: %.1f fewer (95 %% of runs: %.0f to %.0f fewer).",
	"α within a factor of %d either way, c within %.1f",
	"The share of craft that carry it is an assumption too: %v",
	"In %d waters nobody has looked for it. Unknown is not safe: they count as sources and cannot be counted as newly infested.",
	"In %d waters nobody has looked for it. They were taken for clear because it was asked for; the true numbers may be worse.",
	"In one water nobody has looked for it. Unknown is not safe: it counts as a source and cannot be counted as newly infested.",
	"In one water nobody has looked for it. It was taken for clear because it was asked for; the true numbers may be worse.",
	"%d suspected waters count as sources.",
	"One suspected water counts as a source.",
	// package plan
	"A shift is worked by one of these teams: %s. Hours of work count every person of a team.",
	"A shift is worked by one of these teams: %s. Hours of work count every person of a team. No teams were given, so this is an assumption.",
	"1 person, %g craft an hour",
	"%d people, %g craft an hour",
	"An hour of one person costs %s %g, as the programme's record has it.",
	"An hour of one person costs %g, as the programme's record has it.",
	"An hour of one person costs %s %g: none was given and the programme's record names none, so this is an assumption (common practice, no source).",
	"An hour of one person costs %g: none was given and the programme's record names none, so this is an assumption (common practice, no source).",
	"A shift is worked all season, and the shortest that would stop more takes %.0f hours.",
	// package flows
	"Flows between waters could not be estimated: %v.",
	"Only %.0f craft were met that came from another water; take every flow as a guess until there are %d.",
	"Craft were met on only %d pairs of waters; what distance and size do rests on few places.",
	"Craft were met on only one pair of waters; what distance and size do rests on it.",
	"The fit has craft come rather from far than from near (distance %.2f), which no published fit has: look at which launches were staffed, and at the names of waters.",
	"Only %d waters were staffed; the others are predicted from so few.",
	"Only one water was staffed; the others are predicted from it.",
	"Nobody was at %s: arrivals there are the region's, or a guess, with their spread.",
	"Less than %d hours were staffed at %s.",
	"Only %d of %d craft said where they came from; those that did not may come from elsewhere than those that did.",
	"%d craft were recorded in hours without a finished shift and are not used: counts without hours say nothing of traffic.",
	"One craft was recorded in an hour without a finished shift and is not used: counts without hours say nothing of traffic.",
	"%d shifts have not ended and are not used.",
	"One shift has not ended and is not used.",
	"%d entries could not be read and are not used.",
	"One entry could not be read and is not used.",
}

type elsewhereShape struct {
	english string
	shape   *regexp.Regexp
	verbs   []byte
}

var verb = regexp.MustCompile(`%(\.\d)?([dfgsv])`)

var elsewhere = sync.OnceValue(func() []elsewhereShape {
	var out []elsewhereShape
	for _, e := range elsewhereEnglish {
		s := elsewhereShape{english: e}
		var b strings.Builder
		b.WriteString("^")
		rest := strings.ReplaceAll(e, "%%", "%")
		for {
			at := verb.FindStringSubmatchIndex(rest)
			if at == nil {
				break
			}
			b.WriteString(regexp.QuoteMeta(rest[:at[0]]))
			v := rest[at[4]]
			if v == 's' || v == 'v' {
				b.WriteString("(.+?)")
			} else {
				b.WriteString(`(-?\d+(?:\.\d+)?)`)
			}
			s.verbs = append(s.verbs, v)
			rest = rest[at[1]:]
		}
		b.WriteString(regexp.QuoteMeta(rest) + "$")
		s.shape = regexp.MustCompile(b.String())
		out = append(out, s)
	}
	return out
})
