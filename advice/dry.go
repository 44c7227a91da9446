package advice

import (
	"math"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/engine/drying"
	"thwart/lean"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// Weather that nobody knows. The past earns nothing: an hour whose air is unknown has not dried anything. The future is
// taken cool and damp so that a date can be given at all; real weather that dries faster brings it forward, and the date
// is worked out anew at every launch. A programme's choice (assumption), slower than the published trials at 20 °C by more
// than a factor of two.
var unknownAhead = drying.Spell{TempC: 10, RHPct: 95}

// horizonDays is how far ahead a clearing hour is looked for.
const horizonDays = 400

// States of a drying line.
const (
	lineMet         = "met"
	lineRunning     = "running"
	lineNotStarted  = "not_started"
	lineNotShown    = "not_shown"
	lineNever       = "never"
	lineNotAccepted = "not_accepted"
)

// dryHold works out every drying clock once. v may be nil while the verdict is still being made: the clocks that start
// with a clean, drained and dry craft then rest on what the record says by itself.
func (s *situation) dryHold(met map[thwart.Standard]thwart.Answer) *thwart.DryHold {
	if s.hold != nil {
		return s.hold
	}
	h := &thwart.DryHold{Weather: s.weatherWords()}
	start := s.clocks(met)
	h.Lines = append(h.Lines, s.sealLine()...)
	h.Lines = append(h.Lines, s.washOnlyLine()...)
	rules := s.ruleLines(start)
	h.Lines = append(h.Lines, rules...)
	// A jurisdiction's own table decides where it has a line for this craft; the published data are then shown beside it, and
	// say what the rule does not exclude. Where it has none, they decide.
	h.Lines = append(h.Lines, s.evidenceLines(start, len(rules) == 0)...)
	var worst *thwart.DryLine
	for i := range h.Lines {
		l := &h.Lines[i]
		l.Note = tongue.Capital(l.Note)
		if l.Earliest != nil {
			up := wholeMinute(*l.Earliest)
			l.Earliest = &up
		}
		if !l.Binding {
			switch {
			case l.State == lineNever || l.State == lineNotShown:
				h.Notes = append(h.Notes, l.Note)
			case len(rules) > 0 && l.State == lineRunning:
				h.Notes = append(h.Notes, tongue.Say("The rule decides. By the published data {stage} is not shown dead before {date}.",
					nameAndStage(l.Organism, refdata.StageName(l.Stage)), date(*l.Earliest)))
			}
			continue
		}
		if worst == nil || later(l, worst) {
			worst = l
		}
	}
	h.Decides = tongue.Say("no drying rule applies")
	if worst != nil {
		h.Decides, h.Earliest = worst.Title, worst.Earliest
	}
	slices.Sort(h.Notes)
	h.Notes = slices.Compact(h.Notes)
	s.hold = h
	return h
}

// wholeMinute rounds an instant up to the minute.
func wholeMinute(t time.Time) time.Time {
	if whole := t.Truncate(time.Minute); !whole.Equal(t) {
		return whole.Add(time.Minute)
	}
	return t
}

// sealLine is the clock of a hold that somebody sealed the craft for.
func (s *situation) sealLine() []thwart.DryLine {
	seal := s.in.Seal
	if seal == nil || seal.Kind != "held" {
		return nil
	}
	l := thwart.DryLine{
		Rule: "seal", Title: tongue.Say("the hold on its seal"), From: thwart.ClockSealed, Binding: true, State: lineNotShown, Start: seal.SealedAt,
		Note: tongue.Say("the seal does not say when its hold ends"),
	}
	if seal.HoldEndsAt != nil {
		end := *seal.HoldEndsAt
		l.Earliest, l.State, l.Note = &end, running(end, s.in.StartedAt), ""
	}
	return []thwart.DryLine{l}
}

// washOnlyLine says so where the protocol takes a wash and nothing else: no drying then ends the hold.
func (s *situation) washOnlyLine() []thwart.DryLine {
	j := judge{situation: s}
	if j.washedSince() {
		return nil
	}
	l := thwart.DryLine{
		Rule: "wash", Title: tongue.Say("a wash is asked for"), From: thwart.ClockWashed, Binding: true, State: lineNotAccepted,
		Note: tongue.Say("this protocol asks for a wash, and accepts no drying in its place"),
	}
	for i := range s.protocol.Always {
		a := &s.protocol.Always[i]
		if a.Outcome == thwart.Wash && j.alwaysApplies(a.When) {
			l.Source = a.Source
			return []thwart.DryLine{l}
		}
	}
	if s.atRisk() && (s.protocol.AfterRisk == "wash" || s.protocol.AfterRisk == "wash_and_dry") {
		return []thwart.DryLine{l}
	}
	return nil
}

// later reports whether line a keeps the craft longer than line b: a line that allows no time at all before one whose clock
// has not started, and that before any date.
func later(a, b *thwart.DryLine) bool {
	rank := func(l *thwart.DryLine) int {
		switch {
		case l.State == lineNever:
			return 4
		case l.State == lineNotAccepted:
			return 3
		case l.State == lineNotShown:
			return 2
		case l.Earliest == nil:
			return 1
		}
		return 0
	}
	if ra, rb := rank(a), rank(b); ra != rb {
		return ra > rb
	}
	return a.Earliest != nil && a.Earliest.After(*b.Earliest)
}

// dryingMet reports whether the craft has already dried long enough for every line that binds.
func (j *judge) dryingMet() bool {
	h := j.dryHold(j.met)
	return h.Earliest != nil && !h.Earliest.After(j.in.StartedAt)
}

// shutOut reports whether a rule keeps the craft from launching here without an end.
func (s *situation) shutOut() bool {
	return slices.ContainsFunc(s.dryRules(), func(r thwart.DryRule) bool { return r.Never })
}

// shutOutBy cites the rule that does.
func (s *situation) shutOutBy() string {
	for _, r := range s.dryRules() {
		if r.Never {
			return r.Source
		}
	}
	return ""
}

// dryRules lists the lines of the protocol's drying table that are for this craft.
func (s *situation) dryRules() (rules []thwart.DryRule) {
	// A dock or lift has lines of its own where a protocol knows it; those for craft are not meant for it then.
	docks := s.traits.dock && slices.ContainsFunc(s.protocol.Dry, func(r thwart.DryRule) bool { return r.Applies == "dock" })
	for _, r := range s.protocol.Dry {
		if s.traits.applies(r.Applies, s.in.WashedAt != nil, s.history.moored) && s.usedIn(r.UsedIn) && (r.Applies == "dock" || !docks) {
			rules = append(rules, r)
		}
	}
	return rules
}

// clocks gives the instant each clock started; one that has not started is absent. A craft that is wet when found has
// started none but the one that runs from leaving the water.
func (s *situation) clocks(met map[thwart.Standard]thwart.Answer) map[thwart.ClockStart]time.Time {
	at := map[thwart.ClockStart]time.Time{}
	set := func(c thwart.ClockStart, t *time.Time) {
		if t != nil {
			at[c] = *t
		}
	}
	now := s.in.StartedAt
	set(thwart.ClockOutOfWater, s.history.outAt)
	set(thwart.ClockWashed, s.in.WashedAt)
	if seal := s.in.Seal; seal != nil && seal.Intact == thwart.Yes {
		set(thwart.ClockSealed, seal.SealedAt)
	}
	cleaned := met[thwart.Clean] == thwart.Yes && met[thwart.Drained] == thwart.Yes
	if cleaned {
		at[thwart.ClockCleaned] = now
		set(thwart.ClockCleaned, s.in.CleanedAt)
	}
	if cleaned && met[thwart.Dry] == thwart.Yes {
		at[thwart.ClockDryToTouch] = now
		set(thwart.ClockDryToTouch, s.in.DryToTouchAt)
	}
	return at
}

// ruleLines reads the protocol's own drying table.
func (s *situation) ruleLines(start map[thwart.ClockStart]time.Time) []thwart.DryLine {
	var profiles []string
	rules := map[string][]drying.Rule{}
	rows := map[string]thwart.DryRule{}
	for _, r := range s.dryRules() {
		key := r.Profile + " " + string(r.From) + " " + r.Applies + r.UsedIn
		if _, ok := rows[key]; !ok {
			profiles = append(profiles, key)
			rows[key] = r
		}
		rules[key] = append(rules[key], drying.Rule{
			Profile: r.Profile, Months: r.Months, Days: r.Days, FreezingH: r.FreezingH,
			NoneAccepted: r.NotAccepted, Never: r.Never, Source: r.Source,
		})
	}
	lines := make([]thwart.DryLine, 0, len(profiles))
	for _, key := range profiles {
		row := rows[key]
		l := thwart.DryLine{
			Rule: row.Profile, Title: tongue.Say("{protocol}: {rule} for {craft}", tongue.Data(s.protocol.Title), tongue.Data(row.Kind), tongue.Say(appliesWords[row.Applies])),
			From: row.From, Binding: true, Source: row.Source, Note: tongue.Data(row.Note), State: lineNotStarted,
		}
		begin, started := start[row.From]
		ask := begin
		if !started {
			ask = s.in.StartedAt // so that "never" and "not accepted" are said before any clock runs
		}
		res, err := drying.Earliest(rules[key], drying.Start{At: ask}, drying.Site{Weather: s.weather(ask)})
		switch {
		case err != nil:
			l.State, l.Note = lineNotShown, err.Error()
		case res.State == drying.NoLaunchEver:
			l.State = lineNever
		case res.State == drying.NoDryingCounts:
			l.State = lineNotAccepted
		case res.State == drying.RuleNotKnown:
			l.State, l.Note = lineNotShown, res.Why
		case started:
			l.Start, l.Earliest = &begin, &res.At
			l.State, l.Note = running(res.At, s.in.StartedAt), res.Why
		default:
			l.Note = tongue.Say("The clock starts {when}. Started now, it would end on {date}.", tongue.Say(startWords[row.From]), date(res.At))
		}
		lines = append(lines, l)
	}
	return lines
}

// usedIn picks the line of a table that goes by where the craft was last used. "near" needs a clear no to "from outside
// the region"; anything else takes the other line.
func (s *situation) usedIn(u string) bool {
	near := s.in.OutOfRegion == thwart.No
	switch u {
	case "near":
		return near
	case "elsewhere":
		return !near
	}
	return true
}

func running(end, now time.Time) string {
	if end.After(now) {
		return lineRunning
	}
	return lineMet
}

// appliesWords says which craft a drying line is for.
var appliesWords = map[string]tongue.Text{
	"any": "any craft", "simple": "simple craft", "complex": "craft that cannot be drained in full", "motor": "motor craft",
	"carry_in": "carried-in craft", "gear": "gear", "dock": "docks and lifts", "sealed_ballast": "craft with sealed ballast",
	"after_wash": "craft washed before", "moored": "craft that lay moored",
}

var startWords = map[thwart.ClockStart]tongue.Text{
	thwart.ClockOutOfWater: "when it leaves the water", thwart.ClockCleaned: "when it is clean and drained",
	thwart.ClockDryToTouch: "when everything is dry to the touch, ropes and cloth included",
	thwart.ClockWashed:     "after the wash", thwart.ClockSealed: "when it is sealed to its trailer",
}

// evidenceLines asks the published drying data for every organism and stage the craft may carry. Stages that share a
// model share a line. A line binds when the data can clear the stage; where they cannot, the line says so and the launch
// rests on hand removal and on the rule.
func (s *situation) evidenceLines(start map[thwart.ClockStart]time.Time, binding bool) []thwart.DryLine {
	if !s.atRisk() {
		return nil
	}
	var lines []thwart.DryLine
	index := map[string]int{}
	also := map[int][]string{}
	for _, o := range s.history.organisms {
		stages := stagesOf(o)
		for k := range stages {
			st := &stages[k]
			key := string(st.Drying.Kind) + st.Drying.ID
			tested := s.testedFor(o)
			if tested != nil {
				key = "tested " + tested.Organism
			}
			if i, ok := index[key]; ok {
				also[i] = append(also[i], nameAndStage(o, st.Name))
				continue
			}
			index[key] = len(lines)
			l := s.evidenceLine(start, o, st, tested)
			l.Binding = l.Binding && binding
			lines = append(lines, l)
		}
	}
	for i, names := range also {
		lines[i].Note = join(lines[i].Note, tongue.Say("The same holds for: {stages}.", strings.Join(names, "; ")))
	}
	if l, ok := s.sealedLine(start); ok {
		lines = append(lines, l)
	}
	return lines
}

func (s *situation) evidenceLine(start map[thwart.ClockStart]time.Time, o string, st *refdata.Stage, tested *thwart.TestedDrying) thwart.DryLine {
	l := thwart.DryLine{
		Rule: "published_data", Title: tongue.Say("published drying data, {stage}", nameAndStage(o, st.Name)), Organism: o, Stage: string(st.Name),
		From: thwart.ClockOutOfWater, State: lineNotShown, Source: st.Cite(),
	}
	models, never, why := s.models(st)
	if source := dryingSource(st); source != "" {
		l.Source = source
	}
	switch {
	case never:
		l.State = lineNever
		l.Note = tongue.Say("Drying does not clear {stage}: it is taken off by hand.", nameAndStage(o, st.Name))
		return l
	case len(models) == 0:
		l.Note = tongue.Say("No drying time is known for {stage}: survival is not excluded.", nameAndStage(o, st.Name))
		return l
	}
	l.Binding, l.Note = true, why
	begin, ok := s.evidenceStart(start)
	if !ok {
		l.State, l.From = lineNotStarted, thwart.ClockDryToTouch
		return l
	}
	l.Start = &begin
	if s.history.outAt == nil || begin.After(*s.history.outAt) {
		l.Note = join(l.Note, tongue.Say("Counted from the first hour whose weather is known."))
	}
	s.clearing(&l, begin, models)
	s.survival(&l, begin, models)
	if tested != nil {
		s.testedLine(&l, start, tested)
	}
	return l
}

// evidenceStart is when published drying began to count: out of the water, but never before the known weather begins,
// and not at all on a craft that is wet when found.
func (s *situation) evidenceStart(start map[thwart.ClockStart]time.Time) (time.Time, bool) {
	if _, dry := start[thwart.ClockDryToTouch]; !dry {
		return time.Time{}, false
	}
	known := s.in.StartedAt.Add(-s.pastHours())
	if s.history.outAt != nil && s.history.outAt.After(known) {
		known = *s.history.outAt
	}
	return known, true
}

func (s *situation) clearing(l *thwart.DryLine, begin time.Time, models []drying.Model) {
	c, err := drying.EarliestClear(begin, *s.weather(begin), begin.AddDate(0, 0, horizonDays), models...)
	switch {
	case err != nil:
		l.State, l.Note = lineNotShown, err.Error()
	case c.State == drying.ClearsAt:
		l.Earliest, l.State = &c.At, running(c.At, s.in.StartedAt)
	case c.State == drying.NeverByDrying:
		l.State = lineNever
	default:
		l.State = lineNotShown
		l.Note = join(l.Note, tongue.Say("Not shown dead within {n} days in the weather assumed.", tongue.Int(horizonDays)))
	}
}

// survival adds the share of mussels expected alive now, from both curves.
func (s *situation) survival(l *thwart.DryLine, begin time.Time, models []drying.Model) {
	var worst *thwart.Range
	for _, m := range models {
		mussels, ok := m.(drying.Mussels)
		if !ok {
			return
		}
		w := s.weather(begin)
		r, err := mussels.Assess(w.Between(begin, s.in.StartedAt))
		if err != nil {
			return
		}
		if worst == nil || r.Survival.Hi > worst.Hi {
			worst = &thwart.Range{Lo: r.Survival.Lo, Mid: r.Survival.Mid, Hi: r.Survival.Hi}
		}
	}
	l.Survival = worst
}

// testedFor finds the programme's own tested drying time for an organism.
func (s *situation) testedFor(organism string) *thwart.TestedDrying {
	for i := range s.protocol.TestedDrying {
		if s.protocol.TestedDrying[i].Organism == organism {
			return &s.protocol.TestedDrying[i]
		}
	}
	return nil
}

// testedLine lets a programme's tested time with its margin stand in for the library's general figure, which is longer
// because it counts from leaving the water and allows for gear that is still wet inside. It counts from dry to the touch.
func (s *situation) testedLine(l *thwart.DryLine, start map[thwart.ClockStart]time.Time, t *thwart.TestedDrying) {
	begin, ok := start[thwart.ClockDryToTouch]
	if !ok {
		return
	}
	model := drying.Tested{Hours: t.Hours, MinTempC: t.MinTempC, MaxRHPct: t.MaxRHPct, Margin: t.Margin}
	c, err := drying.EarliestClear(begin, *s.weather(begin), begin.AddDate(0, 0, horizonDays), model)
	if err != nil || c.State != drying.ClearsAt {
		l.Note = join(l.Note, tongue.Say("The programme's tested time does not count in this weather."))
		return
	}
	if l.Earliest != nil {
		l.Note = tongue.Say("Counted from leaving the water, and allowing for gear wet inside, the library asks until {date}.", date(*l.Earliest))
	}
	if l.Earliest == nil || c.At.Before(*l.Earliest) {
		l.Earliest, l.State = &c.At, running(c.At, s.in.StartedAt)
		l.Start, l.From, l.Source = &begin, thwart.ClockDryToTouch, t.Source
		l.Rule = "programme_margin"
		l.Title = tongue.Say("the programme's margin: {hours} h tested × {margin}", tongue.Short(t.Hours), tongue.Short(t.Margin))
	}
}

// sealedLine says what drying can do for a space nobody can see into. A protocol with a line of its own for such craft has
// decided; otherwise drying cannot be shown.
func (s *situation) sealedLine(start map[thwart.ClockStart]time.Time) (thwart.DryLine, bool) {
	if !s.traits.hidden || !s.history.inWater {
		return thwart.DryLine{}, false
	}
	for _, r := range s.protocol.Dry {
		if r.Applies == "complex" || r.Applies == "sealed_ballast" {
			return thwart.DryLine{}, false
		}
	}
	return thwart.DryLine{
		Rule: "sealed_tank", Title: tongue.Say("sealed tank"), From: thwart.ClockOutOfWater, State: lineNotShown, Binding: true,
		Source: commonPractice(),
		Note:   tongue.Say("Sealed tank: drying cannot be shown. Only a hot fill and flush can."),
	}, true
}

// dryingSource cites what a stage's drying model rests on.
func dryingSource(st *refdata.Stage) string {
	switch st.Drying.Kind {
	case refdata.ModelWeibull:
		return dryingSets()[0].Cite()
	case refdata.ModelDose:
		if d, ok := refdata.DryingDoseByID(st.Drying.ID); ok {
			return d.Cite()
		}
	}
	return ""
}

// join puts sentences together.
func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

// models turns a stage's drying model into the engine's, one for each kind of surface it may sit on. A craft passes only
// when every place on it does.
func (s *situation) models(st *refdata.Stage) (models []drying.Model, never bool, why string) {
	surfaces := s.surfaces(st)
	switch st.Drying.Kind {
	case refdata.ModelNever:
		return nil, true, ""
	case refdata.ModelWeibull:
		for _, surf := range surfaces {
			if m, ok := musselModel(refdata.DryingScale(st.Drying.ID), surf); ok {
				models = append(models, m)
			}
		}
	case refdata.ModelDose:
		d, ok := refdata.DryingDoseByID(st.Drying.ID)
		if !ok || (d.ClearKPaH != nil && !d.MayClear()) {
			return nil, false, ""
		}
		if d.ClearKPaH == nil {
			return nil, true, ""
		}
		last := math.NaN()
		if d.LastAliveKPaH != nil {
			last = *d.LastAliveKPaH
		}
		for _, surf := range surfaces {
			models = append(models, drying.Dose{LastAliveKPaH: last, ClearKPaH: *d.ClearKPaH, MinHours: *d.MinH, Surface: surf})
		}
	}
	if len(surfaces) > 1 {
		why = tongue.Say("Ropes, carpet and spaces that stay wet are counted as damp air.")
	}
	return models, false, why
}

// surfaces lists the kinds of surface a stage can sit on here: open ones, and those that stay wet.
func (s *situation) surfaces(st *refdata.Stage) []drying.Surface {
	set := carriagesOf(st.Carried)
	if s.surfacesOf[set] == nil {
		s.surfacesOf[set] = s.findSurfaces(set)
	}
	return s.surfacesOf[set]
}

func (s *situation) findSurfaces(set carriageSet) (out []drying.Surface) {
	open, wet := false, false
	for i := range s.places {
		p := &s.places[i]
		if carriagesOf(p.Carries)&set == 0 || (p.Hidden && p.Part != thwart.PartEngine) {
			continue
		}
		if p.Cloth || p.Holds != thwart.HoldsNone {
			wet = true
		} else {
			open = true
		}
	}
	if open || !wet {
		out = append(out, drying.Surface{})
	}
	if wet {
		out = append(out, drying.Surface{MinRHPct: dryingSets()[0].WetRHPct})
	}
	return out
}

// dryingSets, materialLimitTable and removals keep the library's lists, which hand out a copy at every call.
var (
	dryingSets         = lean.Once(refdata.DryingSets)
	materialLimitTable = lean.Once(refdata.MaterialLimits)
	removals           = lean.Once(refdata.Removals)
)

// musselModel builds the two fits for one stage scale of the library.
func musselModel(scale refdata.DryingScale, surface drying.Surface) (drying.Mussels, bool) {
	m := drying.Mussels{Surface: surface}
	found := 0
	for _, set := range dryingSets() {
		lambda, ok := set.LambdaD(scale)
		if !ok {
			continue
		}
		w := drying.WeibullSet{
			Name: set.ID, LambdaD: lambda, BTPerC: set.TempSlopePerK, BV: set.VPDExponent, Shape: set.Shape,
			AgeForClear: set.ClearA,
			Evidence: drying.Evidence{
				RefTempC: set.RefTempC, RefRHPct: set.RefRHPct, MinTempC: set.MinTempC, MaxTempC: set.MaxTempC,
				MinVPDKPa: set.MinVPDKPa, MaxVPDKPa: set.MaxVPDKPa,
			},
		}
		// The library's limit is printed to five figures; one in a thousand alive is what it stands for.
		w.AgeForClear = math.Max(w.AgeForClear, w.AgeAtSurvival(0.001))
		switch set.ID {
		case "central":
			m.Central = w
			found++
		case "cautious":
			m.Cautious = w
			found++
		}
	}
	return m, found == 2
}

// pastHours is how far back the weather is known.
func (s *situation) pastHours() time.Duration {
	var h float64
	for i := range s.cs.Weather {
		h += s.cs.Weather[i].Hours
	}
	return time.Duration(h * float64(time.Hour))
}

// weather is the air around the craft from an instant on: what is known of the past up to the inspection, what is
// expected after it, and cool damp air beyond.
func (s *situation) weather(from time.Time) *drying.Weather {
	w := &drying.Weather{Start: s.in.StartedAt.Add(-s.pastHours()), Beyond: unknownAhead}
	w.Spells = make([]drying.Spell, 0, len(s.cs.Weather)+len(s.cs.Ahead))
	for _, list := range [][]thwart.Air{s.cs.Weather, s.cs.Ahead} {
		for _, a := range list {
			w.Spells = append(w.Spells, drying.Spell{Hours: a.Hours, TempC: a.TempC, RHPct: a.RHPct, Wet: a.Wet})
		}
	}
	if from.Before(w.Start) {
		// Hours before the known weather dry nothing: stand in for them with air in which nothing dries.
		gap := drying.Spell{Hours: w.Start.Sub(from).Hours(), TempC: 0, RHPct: 100}
		w.Spells = append([]drying.Spell{gap}, w.Spells...)
		w.Start = from
	}
	return w
}

func (s *situation) weatherWords() string {
	past := tongue.Say("not known: earns nothing")
	ahead := tongue.Say("not known: taken as cool and damp (10 °C, 95 % humidity)")
	if len(s.cs.Weather) > 0 {
		past = tongue.Say("known for the last {time}", unit.Duration(s.pastHours().Seconds()))
	}
	if len(s.cs.Ahead) > 0 {
		var h float64
		for _, a := range s.cs.Ahead {
			h += a.Hours
		}
		ahead = tongue.Say("expected for {time}, then taken as cool and damp", unit.Duration(h*3600))
	}
	return tongue.Say("Past weather {past}. Weather ahead {ahead}.", past, ahead)
}

// DryClock gives the drying clocks alone.
func DryClock(cs thwart.Case) (thwart.DryHold, error) {
	s, err := situationOf(&cs)
	if err != nil {
		return thwart.DryHold{}, err
	}
	v := judgeCase(s)
	met := map[thwart.Standard]thwart.Answer{}
	for _, j := range v.Standards {
		met[j.Standard] = j.Met
	}
	return *s.dryHold(met), nil
}

func date(t time.Time) string { return tongue.Date(t) }
