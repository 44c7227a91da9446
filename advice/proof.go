package advice

import (
	"fmt"
	"math"
	"strings"

	"thwart"
	"thwart/engine/lethal"
	"thwart/engine/trace"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// MaxGapS is the longest step between two readings of a log that still counts as watched. A longer one counts as cold.
const MaxGapS = trace.DefaultMaxGapS

// Prove judges the logged temperatures of one wash step: was the protocol's line met, and separately, was it lethal by the
// published data? probes are the readings of one or several thermometers; where there are several, the coldest counts.
//
// The protocol answer is "met" only when the temperature was read where the line wants it, the method serves it, and the
// readings less their uncertainty stayed at the target for the contact time without a break. It is "unknown" when the
// record does not say where or how: unknown never clears.
func Prove(p thwart.Protocol, claim thwart.WashClaim, probes ...[]thwart.Probe) (thwart.Proof, error) {
	p, row, err := claimedRow(p, &claim)
	if err != nil {
		return thwart.Proof{}, err
	}
	tr, notes, n, err := coldest(probes)
	if err != nil {
		return thwart.Proof{}, err
	}
	pr := thwart.Proof{
		Part: claim.Part, TargetC: row.TempC, NeedS: row.ContactS, Samples: n, Source: row.Source, Notes: notes,
		PlusMinusC: unknownGaugeC,
		Versions:   thwart.Versions{Engine: EngineVersion, Data: refdata.Version(), Protocol: p.ID + "@" + p.Version},
	}
	if claim.PlusMinusC != nil {
		pr.PlusMinusC = *claim.PlusMinusC
	} else {
		pr.Notes = append(pr.Notes, tongue.Say("Nobody said how good the thermometer is: ±{doubt} is taken.", unit.Metric.TempStep(unknownGaugeC)))
	}
	holds := tr.Holds(row.TempC, pr.PlusMinusC)
	pr.Passes = len(holds)
	for _, h := range holds {
		pr.AboveS += h.Seconds
		if h.Seconds > pr.HeldS {
			pr.HeldS, pr.HeldFromS = h.Seconds, h.FromS
		}
	}
	if top, ok := tr.Highest(); ok {
		pr.PeakC = top.TempC
	}
	pr.Protocol, pr.Why = judgeRow(row, &claim, &pr)
	pr.Breaches = breaches(row, &claim)
	pr.Lethal = lethality(&p, row, &claim, &pr, tr)
	return pr, nil
}

// claimedRow checks a claim and finds the line of the protocol's wash table it is about, in the protocol with its tables
// filled in.
func claimedRow(p thwart.Protocol, claim *thwart.WashClaim) (thwart.Protocol, *thwart.WashRow, error) {
	if err := checkClaim(&p, claim); err != nil {
		return p, nil, err
	}
	p, err := Expand(p)
	if err != nil {
		return p, nil, err
	}
	risk := claim.Risk
	if risk == "" {
		risk = "high"
	}
	row := washRow(&p, claim.Part, risk)
	if row == nil {
		return p, nil, thwart.FieldErrors{{Field: "part", Value: string(claim.Part), Accepted: tongue.Say("a part that the wash table of {protocol} has a line for", p.ID)}}
	}
	return p, row, nil
}

func checkClaim(p *thwart.Protocol, c *thwart.WashClaim) error {
	var errs thwart.FieldErrors
	bad := func(field, value, accepted string) {
		errs = append(errs, thwart.FieldError{Field: field, Value: value, Accepted: accepted})
	}
	if !contains(thwart.Parts, c.Part) {
		bad("part", string(c.Part), "one of "+list(thwart.Parts))
	}
	if c.Method != "" && !contains(thwart.Methods, c.Method) {
		bad("method", string(c.Method), "one of "+list(thwart.Methods))
	}
	if c.Risk != "" && c.Risk != "low" && c.Risk != "high" {
		bad("risk", c.Risk, "low, high, or leave it out for high")
	}
	if _, ok := measureWords[c.Measured]; !ok {
		bad("measured", string(c.Measured), "contact, exit, contact_or_exit, soak, nozzle or inlet")
	}
	if c.PlusMinusC != nil && !(*c.PlusMinusC >= 0 && *c.PlusMinusC <= 10) {
		bad("plusMinusC", fmt.Sprint(*c.PlusMinusC), "0 to 10 °C")
	}
	if !(c.PressureBar >= 0 && c.PressureBar <= 350) {
		bad("pressureBar", fmt.Sprint(c.PressureBar), "0 to 350 bar")
	}
	for i, o := range c.Organisms {
		if _, ok := organismIndex().names[o]; !ok {
			bad(fmt.Sprintf("organisms[%d]", i), o, "an organism of the library (list them with: thwart organisms)")
		}
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

// coldest cleans every probe's readings and takes the coldest of them at each moment.
func coldest(probes [][]thwart.Probe) (tr trace.Trace, notes []string, samples int, err error) {
	if len(probes) == 0 || len(probes[0]) == 0 {
		return tr, nil, 0, thwart.FieldErrors{{Field: "trace", Accepted: "at least two readings of time and temperature"}}
	}
	traces := make([]trace.Trace, 0, len(probes))
	for i, pr := range probes {
		rows := make([]trace.Reading, len(pr))
		for k, r := range pr {
			rows[k] = trace.Reading{AtS: r.AtS, TempC: r.TempC, Row: r.Row}
			if r.Row == 0 {
				rows[k].Row = k + 1
			}
		}
		samples += len(rows)
		t, found := trace.Clean(rows, trace.Options{MaxGapS: MaxGapS})
		traces = append(traces, t)
		for _, n := range found {
			text := n.Text
			if len(probes) > 1 {
				text = tongue.Say("Probe {n}: {note}", tongue.Int(i+1), text)
			}
			notes = append(notes, text)
		}
	}
	if len(traces) == 1 {
		return traces[0], notes, samples, nil
	}
	return trace.Coldest(traces...), notes, samples, nil
}

// judgeRow decides the protocol's answer. What is unknown about the claim makes the answer unknown; what is known to be
// wrong makes it not met.
func judgeRow(row *thwart.WashRow, c *thwart.WashClaim, pr *thwart.Proof) (string, []string) {
	var unknown, wrong []string
	switch {
	case c.Measured == thwart.AtUnknown:
		unknown = append(unknown, tongue.Say("Nobody said where the temperature was read; it counts {where}.", whereRead(row.Measured)))
	case !c.Measured.Proves(row.Measured):
		unknown = append(unknown, tongue.Say("The temperature was read {where}; it counts {counts}.", whereRead(c.Measured), whereRead(row.Measured)))
	}
	switch {
	case c.Method == "":
		unknown = append(unknown, tongue.Say("Nobody said how the hot water was brought there; the line asks for {method}.", tongue.Say(methodWords[row.Method])))
	case !c.Method.Serves(row.Method):
		wrong = append(wrong, tongue.Say("It was done by {done}; the line asks for {method}.", tongue.Say(methodWords[c.Method]), tongue.Say(methodWords[row.Method])))
	}
	need := row.ContactS
	if row.UntilExit {
		if pr.HeldS <= 0 {
			wrong = append(wrong, tongue.Say("The water coming out never held {temperature} (best reading {best}, ±{doubt}).", temp(row.TempC), temp(pr.PeakC), unit.Metric.TempStep(pr.PlusMinusC)))
		}
	} else if pr.HeldS < need-1e-9 {
		text := tongue.Say("The longest unbroken time at {temperature}, readings less ±{doubt}, was {held}; the line asks for {need}.",
			temp(row.TempC), unit.Metric.TempStep(pr.PlusMinusC), seconds(pr.HeldS), seconds(need))
		if pr.AboveS >= need {
			text += " " + tongue.Say("In all it was hot for {time}, but with breaks, and breaks do not add up.", seconds(pr.AboveS))
		}
		wrong = append(wrong, text)
	}
	switch {
	case len(wrong) > 0:
		return "not_met", append(wrong, unknown...)
	case len(unknown) > 0:
		return "unknown", unknown
	}
	if row.UntilExit {
		return "met", []string{tongue.Say("The water coming out reached {temperature}.", temp(row.TempC))}
	}
	return "met", []string{tongue.Say("{temperature} was held for {held}; the line asks for {need}.", temp(row.TempC), seconds(pr.HeldS), seconds(need))}
}

// breaches lists limits that were passed, whether or not the line is met: they are for the owner and the record.
func breaches(row *thwart.WashRow, c *thwart.WashClaim) []string {
	var out []string
	if row.MaxInletC > 0 && c.InletMaxC != nil && *c.InletMaxC > row.MaxInletC+1e-9 {
		out = append(out, tongue.Say("Water went in at {temperature}; the limit is {limit}. Tell the owner and keep it on record.", temp(*c.InletMaxC), temp(row.MaxInletC)))
	}
	if row.PressureMaxBar > 0 && c.PressureBar > row.PressureMaxBar+1e-9 {
		out = append(out, tongue.Say("The pressure was {pressure}; the limit is {limit}.", unit.Metric.Pressure(c.PressureBar), unit.Metric.Pressure(row.PressureMaxBar)))
	}
	if row.Method == thwart.MethodLowSpray && c.Method == thwart.MethodHighSpray {
		out = append(out, tongue.Say("High pressure was used where the line asks for low: look for damage to seals, bellows and fittings."))
	}
	return out
}

// lethality gives the other answer: what the published data say of each organism and stage on this part.
func lethality(p *thwart.Protocol, row *thwart.WashRow, c *thwart.WashClaim, pr *thwart.Proof, tr trace.Trace) []thwart.Lethality {
	method := c.Method
	if method == "" {
		method = row.Method
	}
	immersed := method.Immersed()
	organisms := c.Organisms
	if len(organisms) == 0 {
		organisms = organismIDs()
	}
	// The temperature counts at the organism: a reading taken elsewhere earns nothing for it.
	counts := c.Measured.Proves(row.Measured)
	var out []thwart.Lethality
	for _, o := range organisms {
		stages := stagesOf(o)
		for k := range stages {
			st := &stages[k]
			if !ridesOn(st, row.Part) {
				continue
			}
			l := thwart.Lethality{Organism: o, Stage: string(st.Name), Answer: "not_known", Needed: p.SafetyFactor}
			name := nameAndStage(o, st.Name)
			prof, known := profileFor(st, immersed, c.ColdAcclimated)
			switch {
			case !known:
				l.Source, l.Known = st.Cite(), string(st.Known)
				l.Text = tongue.Say("{stage}: nobody is known to have measured what kills it this way.", name)
			case !counts:
				l.Source, l.Known = prof.row.Cite(), string(prof.row.Known)
				l.Text = tongue.Say("{stage}: the temperature at the animal is not known.", name)
			default:
				l.Source, l.Known = prof.row.Cite(), string(prof.row.Known)
				l.Needed = prof.factor(p)
				l.Dose = tr.Dose(prof.Profile, pr.PlusMinusC)
				if lethal.Lethal(l.Dose, l.Needed) {
					l.Answer = "lethal"
					l.Text = tongue.Say("{stage}: met the published exposure {times} times over ({asked} asked). All dead in a trial still leaves room for a few survivors;"+
						" how many animals the trial had is not known.", name, tongue.Num(l.Dose, 'g', 3), tongue.Short(l.Needed))
				} else {
					l.Answer = "not_lethal"
					l.Text = tongue.Say("{stage}: not shown dead; it met {times} times the published exposure, and {asked} times are asked.", name, tongue.Num(floor3(l.Dose), 'g', 3), tongue.Short(l.Needed))
				}
			}
			out = append(out, l)
		}
	}
	return out
}

// floor3 keeps a figure that falls short of its limit from being rounded up to it.
func floor3(x float64) float64 { return math.Floor(x*1000) / 1000 }

func seconds(s float64) string { return tongue.Say("{n} s", tongue.Short(math.Floor(s*10+1e-6)/10)) }

func list[T ~string](words []T) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return strings.Join(out, ", ")
}

var methodWords = map[thwart.Method]tongue.Text{
	thwart.MethodHighSpray: "high-pressure spray", thwart.MethodLowSpray: "low-pressure spray", thwart.MethodFlush: "flushing",
	thwart.MethodFillFlush: "fill and flush", thwart.MethodLowOrFlush: "low-pressure spray or flushing",
	thwart.MethodEngineFlush: "an engine flush", thwart.MethodSoak: "a soak",
}
