package season

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"thwart"
)

// Options of a [Builder].
type Options struct {
	// Zone finds a time zone by its IANA name, as [time.LoadLocation] does. Hours of day at a launch that names its zone are
	// then the launch's own. Where it is nil, or knows no such zone, the offset stands that the record was written with.
	Zone func(name string) (*time.Location, error)
}

// Builder gathers entries. It is not safe for concurrent use; the Books it makes are.
type Builder struct {
	opt    Options
	syms   symbols
	words  map[string]string // one copy of every class, place, organism …
	faults []Fault
	// faulty counts all, of which only the first maxFaults are kept.
	faulty int

	versions pile[version]
	byEntry  []int32 // per symbol: the version with that id, or None
	latest   []int32 // per symbol: the last added version of that subject, or None
	cursor   int64

	waters     pile[thwart.WaterBody]
	launches   pile[thwart.Ramp]
	units      pile[thwart.Kit]
	people     pile[thwart.Person]
	shifts     pile[Shift]
	encounters pile[Encounter]
	washes     pile[Wash]
	tallies    pile[Tally]
	trials     pile[Trial]
	desk       officePiles
}

const maxFaults = 100

// New makes an empty Builder.
func New(opt Options) *Builder {
	return &Builder{opt: opt, syms: symbols{of: map[string]int32{}}, words: map[string]string{}}
}

// version is one entry without its body. Ids are symbols.
type version struct {
	kind                    thwart.Kind
	id, subject, supersedes int32
	person                  int32
	previous                int32 // version of the same subject that was added before, or None
	body                    int32 // in the pile of its kind
	at                      Moment
	received                int64
	sum                     uint64 // of the body
	removed                 bool
	office                  bool // made at the office's desk
}

// Kinds lists the kinds of entry that a Builder takes; others are passed over.
func Kinds() []thwart.Kind {
	return []thwart.Kind{
		thwart.KindWater, thwart.KindLaunch, thwart.KindUnit, thwart.KindPerson, thwart.KindShift, thwart.KindInspection,
		thwart.KindWash, thwart.KindTally, thwart.KindTrial, thwart.KindProgramme, thwart.KindPairing, thwart.KindSecondLook,
		thwart.KindDrill, thwart.KindReceipt, thwart.KindCurriculum, thwart.KindCertificate, thwart.KindPlan, thwart.KindPlannedShift,
		thwart.KindAvailability, thwart.KindIncident, thwart.KindSheets, thwart.KindReopening,
	}
}

// Cursor is the largest cursor of the entries taken so far: what a Book was made from.
func (b *Builder) Cursor() int64 { return b.cursor }

// Add takes one entry. Entries may come in any order, and one that came before is passed over. An entry whose body cannot be
// read is an error and is noted among the Book's faults; the older versions of its subject then stand.
func (b *Builder) Add(k thwart.Kept) error { return b.add(&k, nil) }

// add takes one entry. opened is its body where it was read ahead, see [open].
func (b *Builder) add(k *thwart.Kept, opened any) error {
	b.cursor = max(b.cursor, k.Cursor)
	id := b.syms.get(k.ID)
	b.room()
	if at := b.byEntry[id]; at != None {
		return nil
	}
	body, err := b.read(k, opened)
	if err != nil {
		err = fmt.Errorf("entry %s of kind %s: %w", k.ID, k.Kind, err)
		b.faulty++
		if len(b.faults) < maxFaults {
			b.faults = append(b.faults, Fault{Entry: k.ID, Kind: k.Kind, Why: err.Error()})
		}
		return err
	}
	if body == None && !k.Removed {
		return nil // of no kind that a Book keeps
	}
	v := version{
		kind: k.Kind, id: id, subject: b.syms.get(k.Subject), supersedes: None, person: b.ref(k.Person), body: body,
		at: momentOf(k.At(), nil), received: k.ReceivedAt.UnixMilli(), removed: k.Removed, sum: sumOf(k.Body), office: k.Origin == thwart.OriginOffice,
	}
	if k.Supersedes != "" {
		v.supersedes = b.syms.get(k.Supersedes)
	}
	b.room()
	v.previous = b.latest[v.subject]
	n := b.versions.add(v)
	b.byEntry[id], b.latest[v.subject] = n, n
	return nil
}

// sumOf tells bodies apart (FNV-1a, 64 bits).
func sumOf(body []byte) uint64 {
	h := fnv.New64a()
	h.Write(body)
	return h.Sum64()
}

// room makes the tables by symbol long enough for every symbol.
func (b *Builder) room() {
	if n := len(b.syms.names); n > len(b.byEntry) {
		b.byEntry, b.latest = grow(b.byEntry, n+n/2+256), grow(b.latest, n+n/2+256)
	}
}

func grow(list []int32, n int) []int32 {
	out := make([]int32, n)
	for i := copy(out, list); i < n; i++ {
		out[i] = None
	}
	return out
}

// ref is the symbol of an id, None for an empty one.
func (b *Builder) ref(id string) int32 {
	if id == "" {
		return None
	}
	return b.syms.get(id)
}

func (b *Builder) refs(ids []string) []int32 {
	var out []int32
	for _, id := range ids {
		out = append(out, b.ref(id))
	}
	return out
}

// word keeps one copy of a text that comes up again and again.
func (b *Builder) word(s string) string {
	if w, ok := b.words[s]; ok {
		return w
	}
	b.words[s] = s
	return s
}

// read puts the body of an entry on the pile of its kind and gives its place there; None for a removal without a body and for
// a kind that is passed over.
func (b *Builder) read(k *thwart.Kept, opened any) (int32, error) {
	if k.Removed && len(k.Body) == 0 {
		return None, nil
	}
	switch k.Kind {
	case thwart.KindWater:
		return keep(&b.waters, k.Body)
	case thwart.KindLaunch:
		return keep(&b.launches, k.Body)
	case thwart.KindUnit:
		return keep(&b.units, k.Body)
	case thwart.KindPerson:
		return keep(&b.people, k.Body)
	case thwart.KindShift:
		return convert(k, nil, &b.shifts, b.shift)
	case thwart.KindInspection:
		return convert(k, opened, &b.encounters, b.encounter)
	case thwart.KindWash:
		return convert(k, opened, &b.washes, b.wash)
	case thwart.KindTally:
		return convert(k, nil, &b.tallies, b.tally)
	case thwart.KindTrial:
		return convert(k, nil, &b.trials, b.trial)
	}
	return b.office(k)
}

func keep[T any](p *pile[T], body []byte) (int32, error) {
	var t T
	if err := json.Unmarshal(body, &t); err != nil {
		return None, err
	}
	return p.add(t), nil
}

// convert reads a body as F and keeps it as T. Times of a body are moved to the server's clock by the entry's skew.
func convert[F, T any](k *thwart.Kept, opened any, p *pile[T], to func(*F, clock) T) (int32, error) {
	f, ok := opened.(*F)
	if !ok {
		f = new(F)
		if err := json.Unmarshal(k.Body, f); err != nil {
			return None, err
		}
	}
	return p.add(to(f, clock(time.Duration(k.SkewMS)*time.Millisecond))), nil
}

// open reads the bodies of inspections and washes off their JSON, which is most of the work of taking them, and shares it among the
// processors. It gives nil for an entry of another kind and for a body that cannot be read, which is then found when it is added.
func open(entries []thwart.Kept) []any {
	out := make([]any, len(entries))
	var next atomic.Int64
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for i := next.Add(1) - 1; int(i) < len(entries); i = next.Add(1) - 1 {
				var body any
				switch entries[i].Kind {
				case thwart.KindInspection:
					body = new(leanEncounter)
				case thwart.KindWash:
					body = new(leanWash)
				default:
					continue
				}
				if json.Unmarshal(entries[i].Body, body) == nil {
					out[i] = body
				}
			}
		})
	}
	done.Wait()
	return out
}

// clock is by how much a device's clock ran ahead.
type clock time.Duration

func (c clock) moment(t time.Time) Moment {
	if t.IsZero() {
		return Moment{}
	}
	return momentOf(t.Add(-time.Duration(c)), nil)
}

func (c clock) optional(t *time.Time) Moment {
	if t == nil {
		return Moment{}
	}
	return c.moment(*t)
}

func (b *Builder) shift(s *thwart.Shift, c clock) Shift {
	return Shift{Launch: b.ref(s.Launch), People: b.refs(s.People), From: c.moment(s.From), To: c.optional(s.To), Clicker: int32(s.Clicker), Weather: s.Weather}
}

func (b *Builder) wash(w *leanWash, c clock) Wash {
	out := Wash{
		Encounter: b.ref(w.Encounter), Unit: b.ref(w.Kit), People: b.refs(w.People), From: c.moment(w.StartedAt), To: c.moment(w.EndedAt),
		WaterL: float32(w.WaterL), FuelL: float32(w.FuelL), Sheet: w.Sheet, BoatSheet: w.BoatSheet,
	}
	for _, s := range w.Steps {
		out.Steps = append(out.Steps, WashStep{Part: thwart.Part(b.word(string(s.Claim.Part))), Outcome: b.word(s.Outcome), Probed: s.Proof != nil})
	}
	return out
}

func (b *Builder) tally(t *thwart.Tally, c clock) Tally {
	return Tally{
		Shift: b.ref(t.Shift), At: c.moment(t.At), PassedBy: int32(t.PassedBy), Refused: int32(t.Refused), TurnedAway: int32(t.TurnedAway), Sheet: t.Sheet,
	}
}

func (b *Builder) trial(t *thwart.Trial, c clock) Trial {
	return Trial{
		Object: t.Object, Like: b.word(t.Like), Place: b.word(t.Place), Encounter: b.ref(t.Encounter), Steward: b.ref(t.Steward),
		PlantedBy: b.ref(t.PlantedBy), PlantedAt: c.moment(t.PlantedAt), Found: t.Found, RetrievedAt: c.optional(t.RetrievedAt),
		Seconds: float32(t.Seconds),
	}
}

func (b *Builder) encounter(l *leanEncounter, c clock) Encounter {
	in := &l.Inspection
	e := Encounter{
		At: c.moment(in.StartedAt), Shift: b.ref(l.Shift), Launch: b.ref(in.Launch), Water: b.ref(in.Water), Steward: b.ref(in.Steward),
		Next: b.ref(in.NextWater), Twin: None, Direction: directions[in.Direction], Refused: in.Refused, Test: l.Test,
		Overruled: l.Override != nil, Class: b.word(in.Setup.Class), LengthM: float32(in.Setup.LengthM), Protocol: b.word(l.Protocol),
		HomeArea: b.word(l.HomeArea), Sheet: l.Sheet, OutOfRegion: replyOf(in.OutOf), PlugsOut: replyOf(in.PlugsOut), DriveLowered: replyOf(in.DriveLow),
		Strainer: replyOf(in.Strainer),
	}
	if in.EndedAt != nil {
		e.Seconds = float32(in.EndedAt.Sub(in.StartedAt).Seconds())
	}
	if l.Mark != nil {
		e.Mark, e.MarkState = b.word(l.Mark.Hash), b.word(l.Mark.Prefix)
	}
	e.Computed, e.Given = l.outcomes()
	e.Computed, e.Given = thwart.Outcome(b.word(string(e.Computed))), thwart.Outcome(b.word(string(e.Given)))
	if l.Verdict != nil {
		e.AtRisk = l.Verdict.AtRisk
		for _, s := range l.Verdict.Standards {
			switch s.Standard {
			case thwart.Clean:
				e.Clean = replyOf(s.Met)
			case thwart.Drained:
				e.Drained = replyOf(s.Met)
			case thwart.Dry:
				e.Dry = replyOf(s.Met)
			}
		}
	}
	e.Visits = make([]Visit, len(in.LastWaters))
	for i, v := range in.LastWaters {
		e.Visits[i] = Visit{Water: b.ref(v.Water), Named: v.Water != "", Stay: thwart.Stay(b.word(string(v.Stay))), Out: c.optional(v.OutAt)}
	}
	if in.Others != nil {
		others := b.check(in.Others)
		e.Others = &others
	}
	for i := range in.Checks {
		e.Checks = append(e.Checks, b.check(&in.Checks[i]))
	}
	for i := range in.Findings {
		e.Findings = append(e.Findings, b.finding(&in.Findings[i]))
	}
	return e
}

func (b *Builder) check(k *thwart.Check) Check {
	return Check{
		Place: b.word(k.Place), Looked: replyOf(k.Looked), Felt: replyOf(k.Felt), Opened: replyOf(k.Opened), RanDry: replyOf(k.RanDry),
		Wet: thwart.Wetness(b.word(string(k.Wet))), Seconds: float32(k.Seconds), Reasoned: k.Reason != "",
	}
}

func (b *Builder) finding(f *thwart.Finding) Finding {
	return Finding{
		Place: b.word(f.Place), Organism: b.word(f.Organism), Stage: b.word(f.Stage), Confidence: b.word(f.Confidence), Amount: b.word(f.Amount),
		Matter: thwart.Matter(b.word(string(f.Matter))), Vitality: thwart.Vitality(b.word(string(f.Vitality))),
		Removed: thwart.Removed(b.word(string(f.Removed))), VolumeL: float32(f.VolumeL),
	}
}
