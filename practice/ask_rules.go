package practice

import (
	"math/rand/v2"
	"slices"
	"strings"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// asker makes questions from one protocol.
type asker struct {
	order *QuizOrder
	p     *thwart.Protocol
	r     *rand.Rand
}

// one makes one question of a topic; nil where the protocol has no line for it.
func (a *asker) one(topic string) (*asking, error) {
	switch topic {
	case "wash_heat":
		return a.washHeat(), nil
	case "wash_time":
		return a.washTime(), nil
	case "wash_gauge":
		return a.washGauge()
	case "drained":
		return a.drained()
	case "verdict":
		return a.verdict()
	case "dry_days":
		return a.dryDays(), nil
	case "look_back":
		return a.lookBack(), nil
	}
	return a.whoDecides(), nil
}

func (a *asker) units() unit.System {
	if a.order.US {
		return unit.US
	}
	return unit.Metric
}

// partWords is what a part is called in a question.
var partWords = map[thwart.Part]tongue.Text{
	thwart.PartHull: "the hull", thwart.PartTrailer: "the trailer", thwart.PartGimbal: "the gimbal area of a sterndrive", thwart.PartEngine: "the engine's cooling passages",
	thwart.PartBallast: "a ballast bag or tank", thwart.PartWell: "a live well or bait well", thwart.PartBilge: "the bilge", thwart.PartGear: "ropes and gear", thwart.PartInside: "the inside",
}

var riskWords = map[string]tongue.Text{"": "{part}", "high": "{part} of a craft from a water at risk", "low": "{part} of a craft from no water at risk"}

// partAt names a part of a craft that comes from such a water.
func partAt(part thwart.Part, risk string) string {
	return tongue.Say(riskWords[risk], tongue.Say(partWords[part]))
}

var measuredWords = map[thwart.MeasuredAt]tongue.Text{
	thwart.AtContact: "on the surface", thwart.AtExit: "in the water that runs out", thwart.AtContactOrExit: "on the surface or in the water that runs out",
	thwart.AtNozzle: "at the nozzle", thwart.AtInlet: "at the inlet", thwart.AtSoak: "in the bath",
}

func (a *asker) row() *thwart.WashRow {
	if len(a.p.Wash) == 0 {
		return nil
	}
	return &a.p.Wash[a.r.IntN(len(a.p.Wash))]
}

func (a *asker) washHeat() *asking {
	row := a.row()
	if row == nil || measuredWords[row.Measured] == "" {
		return nil
	}
	say := func(c unit.Celsius, m thwart.MeasuredAt) string {
		return tongue.Say("{temperature}, {where}", a.units().Temp(c), tongue.Say(measuredWords[m]))
	}
	x := &asking{
		topic: "wash_heat", text: tongue.Say("Hot water on {part}: how hot, measured where?", partAt(row.Part, row.Risk)),
		right: say(row.TempC, row.Measured), source: advice.Cite(row.Source),
		why: tongue.Say("The line in force for {part} asks for {heat}.", tongue.Say(partWords[row.Part]), say(row.TempC, row.Measured)),
	}
	var near, far []string
	for _, other := range a.p.Wash {
		near = append(near, say(other.TempC, row.Measured))
		if !other.Measured.Proves(row.Measured) { // else it would be right as well
			near = append(near, say(row.TempC, other.Measured), say(other.TempC, other.Measured))
		}
	}
	near = append(near, say(row.TempC, thwart.AtNozzle))
	for _, name := range refdata.WashTables() {
		for _, w := range refdata.WashTable(name) {
			if w.TempC != nil {
				far = append(far, say(*w.TempC, row.Measured))
			}
		}
	}
	x.wrong = a.distinct(x.right, near, far)
	return x
}

func (a *asker) washTime() *asking {
	row := a.row()
	if row == nil {
		return nil
	}
	say := func(s float64, untilExit bool) string {
		switch {
		case s == 0 && untilExit:
			return tongue.Say("no fixed time: until the water that runs out is that hot")
		case untilExit:
			return tongue.Say("{time} from when the water that runs out is that hot", seconds(s))
		}
		return seconds(s)
	}
	x := &asking{
		topic: "wash_time", text: keptFor(row, a.units().Temp(row.TempC)),
		right: say(row.ContactS, row.UntilExit), source: advice.Cite(row.Source),
		why: tongue.Say("Each spot gets the whole contact time without a break. Shorter is not shown to kill."),
	}
	var near, far []string
	for _, other := range a.p.Wash {
		near = append(near, say(other.ContactS, row.UntilExit && other.ContactS > 0))
	}
	for _, name := range refdata.WashTables() {
		for _, w := range refdata.WashTable(name) {
			if w.ContactS != nil {
				far = append(far, say(*w.ContactS, row.UntilExit && *w.ContactS > 0))
			}
		}
	}
	x.wrong = a.distinct(x.right, near, far)
	return x
}

func seconds(s float64) string {
	switch {
	case s >= 120 && int(s)%60 == 0:
		return tongue.Say("{n} minutes", tongue.Int(int(s)/60))
	case s >= 120:
		return tongue.Say("{minutes} minutes {seconds} seconds", tongue.Int(int(s)/60), tongue.Int(int(s)%60))
	}
	return tongue.Say("{n} seconds", tongue.Short(s))
}

// washGauge shows a reading and asks whether the line is met; the answer is that of the proof the wash log gets.
func (a *asker) washGauge() (*asking, error) {
	row := a.row()
	if row == nil || row.ContactS <= 0 {
		return nil, nil
	}
	plus := []float64{0.5, 1, 2}[a.r.IntN(3)]
	at := []thwart.MeasuredAt{row.Measured, row.Measured, row.Measured, thwart.AtNozzle, thwart.AtUnknown}[a.r.IntN(5)]
	reading := float64(row.TempC) + []float64{-plus, plus / 2, plus, plus + 1.5, 8}[a.r.IntN(5)]
	held := row.ContactS * []float64{0.5, 1.1, 1.1, 1.5}[a.r.IntN(4)]
	claim := thwart.WashClaim{Part: row.Part, Risk: "high", Method: row.Method, Measured: at, PlusMinusC: &plus}
	if row.Risk == "low" {
		claim.Risk = "low"
	}
	var log []thwart.Probe
	for s := 0.0; s < held; s++ {
		log = append(log, thwart.Probe{AtS: s, TempC: unit.Celsius(reading)})
	}
	log = append(log, thwart.Probe{AtS: held, TempC: unit.Celsius(reading)})
	proof, err := advice.Prove(*a.p, claim, log)
	if err != nil {
		return nil, nil // a line no log can be held against, such as one shadowed by another
	}
	where := tongue.Say(measuredWords[at])
	if at == thwart.AtUnknown {
		where = tongue.Say("(nobody wrote down where)")
	}
	answers := map[string]string{"met": tongue.Say("Met"), "not_met": tongue.Say("Not met"), "unknown": tongue.Say("It cannot be said, so it does not count")}
	options := []string{answers["met"], answers["not_met"], answers["unknown"]}
	return &asking{
		topic: "wash_gauge", fixed: true, options: options, right: answers[proof.Protocol], source: advice.Cite(row.Source),
		text: tongue.Say("{part}: the thermometer, good to ±{doubt}, shows {temperature} {where} for {time}. Is the line met?", tongue.Capital(partAt(row.Part, claim.Risk)),
			a.units().TempStep(plus), a.units().Temp(unit.Celsius(reading)), where, seconds(float64(int(held+0.5)))),
		why: strings.Join(proof.Why, " "),
	}, nil
}

func (a *asker) dryDays() *asking {
	var lines []thwart.DryRule
	for _, d := range a.p.Dry {
		if d.Days > 0 && d.UsedIn == "" && appliesWords[d.Applies] != "" {
			lines = append(lines, d)
		}
	}
	if len(lines) == 0 {
		return nil
	}
	d := lines[a.r.IntN(len(lines))]
	when := ""
	if len(d.Months) > 0 {
		when = tongue.Say(" in {month}", tongue.Month(d.Months[a.r.IntN(len(d.Months))]))
	}
	x := &asking{
		topic: "dry_days", text: tongue.Say("By the drying table in force here ({table}), how long does {craft} dry{when}?",
			tongue.Data(strings.ReplaceAll(d.Profile, "_", " ")), tongue.Say(appliesWords[d.Applies]), when),
		right: days(d.Days), source: advice.Cite(d.Source), why: tongue.Say("The clock starts when it is {state}. Rain or a wetting starts it anew.", tongue.Say(clockWords[d.From])),
	}
	var near, far []string
	for _, o := range a.p.Dry {
		if o.Days > 0 {
			near = append(near, days(o.Days))
		}
	}
	if a.p.LookBackDays > 0 {
		near = append(near, days(a.p.LookBackDays))
	}
	for _, name := range refdata.DryProfiles() {
		for _, o := range refdata.DryRules(name) {
			if o.Days != nil && *o.Days > 0 {
				far = append(far, days(*o.Days))
			}
		}
	}
	// A craft that two lines fit is asked about once, with the stricter: then neither is a wrong answer to the other.
	for _, o := range lines {
		if o.Applies == d.Applies && o.Profile == d.Profile && o.Days != d.Days && len(o.Months) == 0 {
			return nil
		}
	}
	x.wrong = a.distinct(x.right, near, far)
	return x
}

var appliesWords = map[string]tongue.Text{
	"any": "any craft", "simple": "a simple open craft", "complex": "a craft with ballast, an inboard or spaces that cannot be emptied", "motor": "a motor craft",
	"carry_in": "a craft carried in without a motor", "dock": "a dock or lift", "gear": "loose gear",
}

var clockWords = map[thwart.ClockStart]tongue.Text{
	thwart.ClockOutOfWater: "out of the water", thwart.ClockCleaned: "cleaned and drained", thwart.ClockDryToTouch: "dry to the touch everywhere",
	thwart.ClockWashed: "washed", thwart.ClockSealed: "sealed",
}

func days(d float64) string {
	return tongue.Say("{n, plural, one {# day} other {# days}}", tongue.Short(d))
}

func (a *asker) lookBack() *asking {
	say := func(d float64) string {
		if d == 0 {
			return tongue.Say("for ever")
		}
		return days(d)
	}
	x := &asking{
		topic: "look_back", text: tongue.Say("How long does a stay in a water at risk count under the rules in force here?"), right: say(a.p.LookBackDays),
		why: tongue.Say("Ask for every water within that time, not only the last one."),
	}
	near, far := []string{}, []string{days(7), days(14), days(60)}
	for _, d := range a.p.Dry {
		if d.Days > 0 {
			near = append(near, days(d.Days))
		}
	}
	for _, o := range advice.Protocols() {
		far = append(far, say(o.LookBackDays))
	}
	x.wrong = a.distinct(x.right, near, far)
	return x
}

var actWords = map[string]tongue.Text{
	"inspect": "inspect a craft", "refuse_launch": "refuse a launch", "require_wash": "require a wash", "order_wash": "order a wash", "hold": "order a hold",
	"impound": "impound a craft", "release": "release a craft from a hold", "fit_seal": "fit a seal",
}

func (a *asker) whoDecides() *asking {
	if len(a.p.Powers) == 0 {
		return nil
	}
	w := a.p.Powers[a.r.IntN(len(a.p.Powers))]
	if actWords[w.Act] == "" {
		return nil
	}
	x := &asking{
		topic: "who_decides", text: tongue.Say("Who may {act} here?", tongue.Say(actWords[w.Act])), right: whoWords(w.Who), source: advice.Cite(w.Source),
		why: tongue.Say("A name stands only under an order that its bearer may give."),
	}
	if w.Note != "" {
		x.why = tongue.Capital(tongue.Data(w.Note)) + "."
	}
	var near []string
	for _, o := range a.p.Powers {
		near = append(near, whoWords(o.Who))
	}
	far := []string{
		whoWords([]thwart.Role{thwart.RoleSteward, thwart.RoleTechnician, thwart.RoleManager}), whoWords([]thwart.Role{thwart.RoleOfficer, thwart.RoleAgency}),
		whoWords([]thwart.Role{thwart.RoleManager, thwart.RoleAgency}), whoWords(nil),
	}
	x.wrong = a.distinct(x.right, near, far)
	return x
}

func whoWords(who []thwart.Role) string {
	if len(who) == 0 {
		return tongue.Say("the agency alone")
	}
	list := make([]string, len(who))
	for i, r := range who {
		list[i] = tongue.Say(roleWords[r])
	}
	return strings.Join(list, ", ")
}

var roleWords = map[thwart.Role]tongue.Text{
	thwart.RoleOwner: "owner", thwart.RoleVolunteer: "volunteer", thwart.RoleSteward: "steward", thwart.RoleTechnician: "technician",
	thwart.RoleManager: "manager", thwart.RoleOfficer: "officer", thwart.RoleAgency: "agency",
}

// distinct shuffles the near wrong answers, then the far ones behind them, without repeats and without the right one.
func (a *asker) distinct(right string, near, far []string) (out []string) {
	for _, list := range [][]string{near, far} {
		list = slices.Clone(list)
		a.r.Shuffle(len(list), func(i, k int) { list[i], list[k] = list[k], list[i] })
		for _, s := range list {
			if s != right && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out[:min(len(out), MostOptions-1)]
}

// keptFor asks how long a line's heat is kept up.
func keptFor(row *thwart.WashRow, heat string) string {
	part := tongue.Capital(tongue.Say(partWords[row.Part]))
	switch row.Risk {
	case "high":
		return tongue.Say("{part} must be kept at {temperature} of a craft from a water at risk. For how long?", part, heat)
	case "low":
		return tongue.Say("{part} must be kept at {temperature} of a craft from no water at risk. For how long?", part, heat)
	}
	return tongue.Say("{part} must be kept at {temperature}. For how long?", part, heat)
}
