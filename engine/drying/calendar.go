package drying

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"thwart/engine/num"
	"thwart/tongue"
)

// Rule is one row of a jurisdiction's drying table. Rows of one profile belong together: a table by month has a row per
// season, and a row with FreezingH is an alternative to the others. Days are for rules that count in days, Hours for those
// that count in hours ("48 hours dry", "72 hours"); a row that gives none of Days, Hours, FreezingH, Never and
// NoneAccepted ("as long as possible") is a wait nobody can compute.
type Rule struct {
	Profile string
	Months  []time.Month // in which the row holds; empty: all year
	Days    float64      // whole days
	Hours   float64      // elapsed hours
	// FreezingH is the unbroken run of hours in air below 0 °C after which the profile is met whatever the month.
	FreezingH    float64
	NoneAccepted bool // no drying is accepted: wash always
	Never        bool // no launch at all, without an end date
	Source       string
}

// maxWaitDays bounds a drying table's wait at ten years; more is a slip of the pen.
const maxWaitDays = 3653

// Validate refuses a row that contradicts itself.
func (r Rule) Validate() error {
	err := errors.Join(
		num.Within("days", r.Days, 0, maxWaitDays),
		num.Within("hours", r.Hours, 0, 24*maxWaitDays),
		num.Within("hours below freezing", r.FreezingH, 0, 24*maxWaitDays),
	)
	if r.Profile == "" {
		err = errors.Join(err, errors.New(`profile: "" is not accepted; accepted: the name of the table`))
	}
	if r.Days != math.Trunc(r.Days) {
		err = errors.Join(err, &num.RangeError{Field: "days", Value: r.Days, Accepted: "whole days; put parts of a day in hours"})
	}
	for _, m := range r.Months {
		if m < time.January || m > time.December {
			err = errors.Join(err, &num.RangeError{Field: "month", Value: float64(m), Accepted: "1 to 12"})
		}
	}
	waits := r.Days > 0 || r.Hours > 0
	if r.FreezingH > 0 && (waits || r.Never || r.NoneAccepted || len(r.Months) > 0) {
		err = errors.Join(err, errors.New("hours below freezing: not accepted beside another wait or months; accepted: a row of its own"))
	}
	if (r.Never || r.NoneAccepted) && waits || r.Never && r.NoneAccepted {
		err = errors.Join(err, errors.New("drying rule: more than one of a wait, none accepted and never; accepted: one of them"))
	}
	if err != nil {
		return fmt.Errorf("drying rule %q: %w", r.Profile, err)
	}
	return nil
}

func (r Rule) holdsIn(m time.Month) bool { return len(r.Months) == 0 || slices.Contains(r.Months, m) }

// Start is when a rule's clock began.
type Start struct {
	At time.Time
	// DateOnly says that nobody wrote down the hour: the date counts, as read in At's own location.
	DateOnly bool
}

// Site is where the craft will launch.
type Site struct {
	Zone    *time.Location // of the launch; nil: that of the start
	Weather *Weather       // for rows that accept freezing; nil: not known, so they do not help
}

// RuleState is what a drying table says.
type RuleState string

// The states, mildest first. When several profiles bind, the last of them in this order decides.
const (
	LaunchFrom     RuleState = "from"
	RuleNotKnown   RuleState = "not known"
	NoDryingCounts RuleState = "no drying accepted: wash"
	NoLaunchEver   RuleState = "never"
)

var strictness = []RuleState{LaunchFrom, RuleNotKnown, NoDryingCounts, NoLaunchEver}

// ProfileResult is what one profile says.
type ProfileResult struct {
	Profile string
	State   RuleState
	// At is set only when State is LaunchFrom, in the zone of the launch. With DateOnly the date alone is meant, and At is
	// the first instant of it.
	At       time.Time
	DateOnly bool
	Rule     Rule         // the row that decides; the zero value when there is none
	Months   []time.Month // touched from the start to At, in order
	Why      string       // a sentence
}

// Result is what all profiles say together: the strictest of them, all others listed.
type Result struct {
	ProfileResult
	ByProfile []ProfileResult // in the order in which the profiles first appear
}

// Earliest returns when the rules let a craft launch, from one start of the clock. Rules whose clocks start at different
// events (leaving the water, the wash, the seal) are asked one by one and joined with [Strictest].
//
// The published tables leave some things open. These are read to the safe side:
//   - Where a table goes by month, the strictest row of any month the whole wait touches decides, its first and last day
//     included.
//   - A wait in days ends at the same clock time, in the zone of the start or of the launch, but not before 24 hours a day
//     have passed: across a change to summer time that is an hour later on the clock.
//   - A wait in hours counts elapsed time. From a start without an hour it counts from the end of that day.
//   - A run of freezing counts only in known weather, is broken by a wet spell, and does not lift "never" or "none accepted".
//   - A month without a row is not known, and "not known" beats any date.
//
// Without rules, or with a start that is the zero Time, the answer is RuleNotKnown.
func Earliest(rules []Rule, start Start, site Site) (Result, error) {
	for _, r := range rules {
		if err := r.Validate(); err != nil {
			return Result{}, err
		}
	}
	if site.Weather != nil {
		if err := site.Weather.Validate(); err != nil {
			return Result{}, err
		}
	}
	if site.Zone == nil {
		site.Zone = start.At.Location()
	}
	var all []ProfileResult
	for i, r := range rules {
		if slices.ContainsFunc(rules[:i], func(before Rule) bool { return before.Profile == r.Profile }) {
			continue
		}
		var rows []Rule
		for _, row := range rules {
			if row.Profile == r.Profile {
				rows = append(rows, row)
			}
		}
		all = append(all, profileResult(rows, start, site))
	}
	return strictest(all), nil
}

// Strictest joins results of different clocks: the strictest profile decides, and all are kept.
func Strictest(results ...Result) Result {
	var all []ProfileResult
	for _, r := range results {
		all = append(all, r.ByProfile...)
	}
	return strictest(all)
}

func strictest(all []ProfileResult) Result {
	if len(all) == 0 {
		return Result{ProfileResult: ProfileResult{State: RuleNotKnown, Why: tongue.Say("No drying rule was given.")}}
	}
	worst := strictestOf(all)
	if len(all) > 1 {
		worst.Why += " " + tongue.Say("It is the strictest of {n} rules.", tongue.Int(len(all)))
	}
	return Result{ProfileResult: worst, ByProfile: all}
}

func strictestOf(all []ProfileResult) ProfileResult {
	worst := all[0]
	for _, p := range all[1:] {
		if stricter(p, worst) {
			worst = p
		}
	}
	return worst
}

func stricter(a, b ProfileResult) bool {
	if ra, rb := slices.Index(strictness, a.State), slices.Index(strictness, b.State); ra != rb {
		return ra > rb
	}
	return a.At.After(b.At)
}

func profileResult(rows []Rule, start Start, site Site) ProfileResult {
	profile := rows[0].Profile
	if start.At.IsZero() {
		return ProfileResult{Profile: profile, State: RuleNotKnown, Why: tongue.Say("The drying clock has not started, or its start is not known.")}
	}
	var table []Rule
	for _, r := range rows {
		if r.FreezingH == 0 {
			table = append(table, r)
		}
	}
	best := byTable(profile, table, start, site.Zone)
	if best.State == NoLaunchEver || best.State == NoDryingCounts || site.Weather == nil {
		return best
	}
	for _, r := range rows {
		if r.FreezingH == 0 {
			continue
		}
		at, ok := FirstFreeze(start.latest(site.Zone), *site.Weather, r.FreezingH)
		if !ok || best.State == LaunchFrom && !at.Before(best.At) {
			continue
		}
		best = ProfileResult{
			Profile: profile, State: LaunchFrom, At: at.In(site.Zone), Rule: r,
			Months: monthsTouched(start, at, site.Zone),
			Why:    tongue.Say("{n} unbroken hours of air below freezing.", plain(r.FreezingH)),
		}
	}
	return best
}

// byTable finds the row that decides. The wait grows with the months it touches and the months with the wait; both only
// grow, so the search ends.
func byTable(profile string, table []Rule, start Start, zone *time.Location) ProfileResult {
	months := monthsTouched(start, start.At, zone)
	for {
		p := strictestIn(months, table, start, zone)
		p.Profile, p.Months = profile, months
		if p.State != LaunchFrom {
			return p
		}
		touched := monthsTouched(start, p.At, zone)
		if len(touched) == len(months) {
			return p
		}
		months = touched
	}
}

func strictestIn(months []time.Month, table []Rule, start Start, zone *time.Location) ProfileResult {
	var candidates []ProfileResult
	for _, m := range months {
		before := len(candidates)
		for _, r := range table {
			if r.holdsIn(m) {
				candidates = append(candidates, r.result(start, zone, months))
			}
		}
		if len(candidates) == before {
			candidates = append(candidates, ProfileResult{State: RuleNotKnown, Why: tongue.Say("The table has no row for {month}.", tongue.Month(m))})
		}
	}
	return strictestOf(candidates)
}

// result is what one row says by itself when the wait touches the months.
func (r Rule) result(start Start, zone *time.Location, touched []time.Month) ProfileResult {
	switch {
	case r.Never:
		return ProfileResult{State: NoLaunchEver, Rule: r, Why: tongue.Say("The rule lets no such craft launch here and names no end.")}
	case r.NoneAccepted:
		return ProfileResult{State: NoDryingCounts, Rule: r, Why: tongue.Say("The rule accepts no drying time; the craft must be washed.")}
	case r.Days == 0 && r.Hours == 0:
		return ProfileResult{State: RuleNotKnown, Rule: r, Why: tongue.Say("The rule names no time that can be counted.")}
	}
	p := ProfileResult{State: LaunchFrom, Rule: r}
	p.At, p.DateOnly = r.endOfWait(start, zone)
	var waits []string
	if r.Days > 0 {
		waits = append(waits, tongue.Say("{n} days", plain(r.Days)))
	}
	if r.Hours > 0 {
		waits = append(waits, tongue.Say("{n} hours", plain(r.Hours)))
	}
	p.Why = tongue.Say("The rule asks {wait} from the start of its clock.", tongue.And(waits))
	if len(r.Months) > 0 && len(touched) > 1 {
		p.Why += " " + tongue.Say("The wait touches {months}, and the strictest of these counts.", listMonths(touched))
	}
	return p
}

// endOfWait is the first instant at which a row of days or hours is met, in the zone of the launch, and whether only its
// date is meant.
func (r Rule) endOfWait(start Start, zone *time.Location) (at time.Time, dateOnly bool) {
	home, days := start.At.Location(), int(r.Days)
	switch {
	case days > 0 && start.DateOnly:
		civil := civilDate(start.At).AddDate(0, 0, days)
		at, dateOnly = later(startOfDay(civil, home), startOfDay(civil, zone)), true
	case days > 0:
		at = later(start.At.Add(time.Duration(days)*24*time.Hour),
			later(start.At.AddDate(0, 0, days), start.At.In(zone).AddDate(0, 0, days)))
	}
	if r.Hours > 0 {
		if byHours := start.latest(zone).Add(hoursAsDuration(r.Hours)); byHours.After(at) {
			at, dateOnly = byHours, false
		}
	}
	return at.In(zone), dateOnly
}

// latest is the last instant at which the clock can have started.
func (s Start) latest(zone *time.Location) time.Time {
	if !s.DateOnly {
		return s.At
	}
	next := civilDate(s.At).AddDate(0, 0, 1)
	return later(startOfDay(next, s.At.Location()), startOfDay(next, zone))
}

// FirstFreeze returns the first instant after start at which the air has been below 0 °C for so many hours without a
// break, rounded up to a whole second. Only known weather counts; a wet spell breaks the run.
func FirstFreeze(start time.Time, w Weather, hours float64) (time.Time, bool) {
	elapsed, run := 0.0, 0.0
	for s, known := range w.walk(start, w.End()) {
		if !known || !s.freezing() {
			run = 0
		} else if run+s.Hours >= hours-slackH {
			return start.Add(hoursAsDuration(wholeSeconds(elapsed + hours - slackH - run))), true
		} else {
			run += s.Hours
		}
		elapsed += s.Hours
	}
	return time.Time{}, false
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// civilDate is the date of an instant in its own location, as midnight UTC, where every day has 24 hours.
func civilDate(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// startOfDay is the first instant of a date in a zone. In some zones the clocks go forward at midnight, and time.Date may
// then answer with the evening before.
func startOfDay(civil time.Time, zone *time.Location) time.Time {
	y, m, d := civil.Date()
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	for civilDate(t).Before(civil) {
		t = t.Add(30 * time.Minute)
	}
	return t
}

// monthsTouched lists the months of the calendar from the start to the end of a wait, both days included, as a calendar
// in either zone would have them.
func monthsTouched(start Start, at time.Time, zone *time.Location) []time.Month {
	home := start.At.Location()
	first := civilDate(start.At)
	if other := civilDate(start.At.In(zone)); !start.DateOnly && other.Before(first) {
		first = other
	}
	last := later(civilDate(at.In(home)), civilDate(at.In(zone)))
	var months []time.Month
	month := time.Date(first.Year(), first.Month(), 1, 0, 0, 0, 0, time.UTC)
	for ; !month.After(last) && len(months) < 12; month = month.AddDate(0, 1, 0) {
		months = append(months, month.Month())
	}
	return months
}

func listMonths(months []time.Month) string {
	names := make([]string, len(months))
	for i, m := range months {
		names[i] = tongue.Month(m)
	}
	return tongue.And(names)
}

func plain(v float64) string { return tongue.Num(v, 'f', -1) }
