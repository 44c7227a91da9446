package api

import (
	"context"
	"fmt"
	"maps"
	"math"
	"net/http"
	"slices"
	"sort"
	"time"

	"thwart"
	"thwart/merge"
	"thwart/season"
)

type twinsIn struct {
	Decided bool      `query:"decided" doc:"pairs that a person has decided on too"`
	From    time.Time `query:"from" doc:"7 days before to, when left out"`
	To      time.Time `query:"to" doc:"now, when left out"`
	Of      string    `query:"of" maxLength:"40" doc:"only pairs of this encounter, an hour before and after it; what was decided on is listed however far apart"`
	Limit   int       `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"how many are listed, the likeliest first; all are counted"`
}

// Twin is a pair that may be one craft.
type Twin struct {
	A            string         `json:"a"`
	B            string         `json:"b"`
	ApartSeconds float64        `json:"apartSeconds"`
	Score        int            `json:"score" doc:"orders the list; no probability"`
	Agree        []merge.Sign   `json:"agree"`
	Differ       []merge.Sign   `json:"differ"`
	Outcome      thwart.Outcome `json:"outcome,omitempty" doc:"governs the craft until it is decided, and of one craft after"`
	Decision     string         `json:"decision,omitempty" doc:"same or different, where a person has decided; record it as a pairing, correct that to turn it round"`
	Pairing      string         `json:"pairing,omitempty" doc:"the record of the decision"`
}

// Twins are the first of the pairs that were asked for.
type Twins struct {
	Items []Twin `json:"items"`
	Count int    `json:"count" doc:"how many pairs there are, listed or not"`
}

// maxTwinSpan is as much as a person can decide on at a time. twinReach is how far round one encounter pairs of it are looked for:
// further than any that are proposed for their times.
const (
	maxTwinSpan = 62 * 24 * time.Hour
	twinReach   = time.Hour
)

func (a *API) twins(ctx context.Context, in *twinsIn) (*struct{ Body Twins }, error) {
	book, one, err := a.bookWith(ctx, in.Of)
	if err != nil {
		return nil, err
	}
	to, from := in.To, in.From
	if in.Of != "" {
		if !from.IsZero() || !to.IsZero() || !thwart.IsID(in.Of) {
			return nil, field("query.of", short(in.Of), "the id of an encounter, without from and to")
		}
		if one < 0 {
			return nil, problem(http.StatusNotFound, "there is no such encounter")
		}
		at := book.Encounters[one].At.Time()
		from, to = at.Add(-twinReach), at.Add(twinReach)
	}
	if to.IsZero() {
		to = a.cfg.Now()
	}
	if from.IsZero() {
		from = to.Add(-7 * 24 * time.Hour)
	}
	if span := to.Sub(from); span <= 0 || span > maxTwinSpan {
		return nil, field("query.from", from.Format(time.RFC3339), "a time before to, at most 62 days")
	}
	key := fmt.Sprintf("twins %d %d", from.UnixMilli(), to.UnixMilli())
	pairs, err := fromBook(ctx, a, key, func(b *season.Book) ([]merge.Pair, error) { return merge.Twins(looksOf(b, from, to)), nil })
	if err != nil {
		return nil, err
	}
	decided := decisionsOf(book)
	if in.Decided {
		pairs = append(slices.Clip(pairs), namedPairs(book, in.Of, from, to, decided, pairs)...)
	}
	out := Twins{Items: []Twin{}}
	for _, p := range pairs {
		d := decided[pairKey(p.A, p.B)]
		if d.decision != "" && !in.Decided || in.Of != "" && p.A != in.Of && p.B != in.Of {
			continue
		}
		if out.Count++; out.Count > in.Limit {
			continue
		}
		t := Twin{A: p.A, B: p.B, ApartSeconds: p.Apart.Seconds(), Score: p.Score, Agree: p.Agree, Differ: p.Differ, Outcome: p.Outcome,
			Decision: d.decision, Pairing: d.subject}
		if t.Differ == nil {
			t.Differ = []merge.Sign{}
		}
		out.Items = append(out.Items, t)
	}
	return &struct{ Body Twins }{out}, nil
}

// bookWith gives the records, and the place of one encounter among them: -1 where it is not there. One that has only just come
// is looked for in the records as they stand.
func (a *API) bookWith(ctx context.Context, encounter string) (book *season.Book, at int, err error) {
	find := func() int {
		return slices.IndexFunc(book.Encounters, func(e season.Encounter) bool { return e.Subject == encounter })
	}
	if book, err = a.season(ctx); err != nil || encounter == "" {
		return book, -1, err
	}
	if at = find(); at < 0 {
		if book, err = a.cfg.Live.Current(ctx); err == nil {
			at = find()
		}
	}
	return book, at, err
}

// looksOf are the craft met in a stretch of time as far as they can be compared, but for planted ones.
func looksOf(b *season.Book, from, to time.Time) []merge.Look {
	first := sort.Search(len(b.Encounters), func(i int) bool { return b.Encounters[i].At.MS >= from.UnixMilli() })
	var out []merge.Look
	for i := first; i < len(b.Encounters) && b.Encounters[i].At.MS < to.UnixMilli(); i++ {
		if !b.Encounters[i].Test {
			out = append(out, lookOf(b, i))
		}
	}
	return out
}

func lookOf(b *season.Book, i int) merge.Look {
	e := &b.Encounters[i]
	l := merge.Look{Subject: e.Subject, At: e.At.Time(), Class: e.Class, Mark: e.Mark, Direction: e.Direction.String(), Outcome: e.Given, Sheet: e.Sheet,
		LengthM: math.Round(float64(e.LengthM)*1e4) / 1e4} // as it was typed: the book keeps fewer digits
	if e.Launch != season.None {
		l.Launch = b.Launches[e.Launch].Subject
	}
	if e.Steward != season.None {
		l.Steward = b.People[e.Steward].Subject
	}
	if w := e.From(); w != season.None {
		l.LastWater = b.Waters[w].Subject
	}
	return l
}

type decision struct{ subject, decision string }

func pairKey(a, b string) [2]string { return [2]string{min(a, b), max(a, b)} }

// decisionsOf gives what people have said of pairs. Of two decisions on one pair the later made stands.
func decisionsOf(b *season.Book) map[[2]string]decision {
	out := make(map[[2]string]decision, len(b.Pairings))
	for i := range b.Pairings {
		p := &b.Pairings[i]
		out[pairKey(p.Body.A, p.Body.B)] = decision{p.Subject, p.Body.Decision}
	}
	return out
}

// namedPairs are pairs that people have decided on and nothing proposes: of one encounter, or with both looks in a stretch of time.
func namedPairs(b *season.Book, of string, from, to time.Time, decided map[[2]string]decision, proposed []merge.Pair) []merge.Pair {
	left := maps.Clone(decided)
	for _, p := range proposed {
		delete(left, pairKey(p.A, p.B))
	}
	where := map[string]int{}
	for key := range left {
		where[key[0]], where[key[1]] = -1, -1
	}
	for i := range b.Encounters {
		if _, asked := where[b.Encounters[i].Subject]; asked {
			where[b.Encounters[i].Subject] = i
		}
	}
	within := func(i int) bool {
		at := b.Encounters[i].At.MS
		return at >= from.UnixMilli() && at < to.UnixMilli()
	}
	var out []merge.Pair
	for _, key := range slices.SortedFunc(maps.Keys(left), func(x, y [2]string) int { return slices.Compare(x[:], y[:]) }) {
		x, y := where[key[0]], where[key[1]]
		if x < 0 || y < 0 {
			continue
		}
		if key[0] == of || key[1] == of || of == "" && within(x) && within(y) {
			out = append(out, merge.Compare(lookOf(b, x), lookOf(b, y)))
		}
	}
	return out
}
