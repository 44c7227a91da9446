package cli

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/advice"
	"thwart/engine/trace"
	"thwart/intake"
	"thwart/refdata"
	"thwart/unit"
)

// measuredAt lists where a temperature can be said to have been read.
var measuredAt = []thwart.MeasuredAt{
	thwart.AtContact, thwart.AtExit, thwart.AtContactOrExit, thwart.AtSoak, thwart.AtNozzle, thwart.AtInlet,
}

type washFlags struct {
	part, method, measured, risk string
	protocol, plusMinus          string
	pressure, inletMax           string
	scale                        string
	organisms, probes            []string
	cold                         bool
}

func (a *app) washCommand() *cobra.Command {
	var f washFlags
	cmd := &cobra.Command{
		Use:   "wash trace.csv",
		Short: "Was the wash hot enough for long enough? Proof from a logged temperature trace",
		Long: "Wash judges a logger's file against one line of a protocol's wash table. It gives two answers and keeps them apart: was" +
			" the protocol met (the temperature, less the thermometer's uncertainty, held without a break for the contact time, read" +
			" where the line wants it), and was it lethal by the published data, for each organism and stage that rides on the part.\n\n" +
			"Every temperature column of the file counts as a probe, and the coldest decides; --probe chooses. What is not said about" +
			" the wash leaves the answer unknown, which never clears a craft.",
		Example: `  thwart wash trace.csv --protocol regional-minimum --part hull --method high_spray --measured contact --plus-minus 1
  thwart wash trace.csv --protocol utah --part ballast --method fill_and_flush --measured exit --inlet-max 60C
  thwart wash trace.csv --protocol own.json --part hull --method high_spray --measured contact --organism "zebra mussel" --json`,
		Args: args(1, 1, "one file of a temperature logger, or - for standard input"),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.part, "part", "", "part that was washed: "+oneOf(thwart.Parts))
	flags.StringVar(&f.method, "method", "", "how the hot water was brought there: "+oneOf(thwart.Methods))
	flags.StringVar(&f.measured, "measured", "", "where the temperature was read: "+oneOf(measuredAt))
	flags.StringVar(&f.protocol, "protocol", "", "protocol to judge by: an id of the library, or a JSON file")
	flags.StringVar(&f.plusMinus, "plus-minus", "", "uncertainty of the thermometer, such as 1C or 2F; left out, it is taken as large")
	flags.StringVar(&f.risk, "risk", "", "line of a table that goes by risk: low or high; left out, high")
	flags.StringVar(&f.pressure, "pressure", "", "pressure used, such as 3bar or 45psi")
	flags.StringVar(&f.inletMax, "inlet-max", "", "hottest water that went in, such as 60C or 140F")
	flags.StringVar(&f.scale, "unit", "", "C or F, for a file that does not say")
	flags.StringArrayVar(&f.organisms, "organism", nil, "organism to judge the dose for; repeat for several; left out, all of the library")
	flags.StringArrayVar(&f.probes, "probe", nil, "temperature column that counts, by its name or number; repeat for several")
	flags.BoolVar(&f.cold, "cold-water", false, "the animals come from water at 10 °C or colder")
	a.jsonFlag(cmd)
	a.strictFlag(cmd, "the protocol's line is met")
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error { return a.wash(args[0], &f) })
	return cmd
}

func (a *app) wash(name string, f *washFlags) error {
	claim, err := a.washClaim(f)
	if err != nil {
		return err
	}
	protocol, err := a.protocol(f.protocol)
	if err != nil {
		return err
	}
	probes, notes, err := a.readTrace(name, f)
	if err != nil {
		return err
	}
	proof, err := advice.Prove(protocol, claim, probes...)
	if err != nil {
		return err
	}
	proof.Notes = append(notes, proof.Notes...)
	if a.json {
		if err := a.writeJSON(proof); err != nil {
			return err
		}
	} else {
		printProof(a.print(), &proof, probes)
	}
	return a.strictly(proof.Protocol == "met")
}

func (a *app) washClaim(f *washFlags) (thwart.WashClaim, error) {
	r := amounts{units: a.units}
	r.need(f.part != "", "part", oneOf(thwart.Parts))
	r.need(f.protocol != "", "protocol", "an id of the library, such as regional-minimum (list them with: thwart protocols), or a JSON file")
	claim := thwart.WashClaim{
		Part: word(&r, "part", f.part, thwart.Parts), Risk: f.risk, Method: word(&r, "method", f.method, thwart.Methods),
		Measured: word(&r, "measured", f.measured, measuredAt), PlusMinusC: r.step("plus-minus", f.plusMinus),
		PressureBar: r.get(pressure, "pressure", f.pressure), InletMaxC: r.temp("inlet-max", f.inletMax), ColdAcclimated: f.cold,
	}
	if f.risk != "" && f.risk != "low" && f.risk != "high" {
		r.fail("risk", f.risk, "low, high")
	}
	for _, name := range f.organisms {
		o, err := refdata.FindOrganism(name)
		if err != nil {
			r.errs = append(r.errs, "--organism: "+err.Error()+" (list them with: thwart organisms)")
			continue
		}
		claim.Organisms = append(claim.Organisms, o.ID)
	}
	return claim, r.err()
}

// readTrace reads the probes of a logger's file, those that count.
func (a *app) readTrace(name string, f *washFlags) (probes [][]thwart.Probe, notes []string, err error) {
	scale, err := intake.ParseTempUnit(f.scale)
	if err != nil {
		return nil, nil, usage("--unit: %q is not accepted; accepted: C, F", f.scale)
	}
	r, err := a.open(name)
	if err != nil {
		return nil, nil, err
	}
	defer r.Close()
	b, err := io.ReadAll(io.LimitReader(r, maxTraceBytes+1))
	switch {
	case err != nil:
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	case len(b) > maxTraceBytes:
		return nil, nil, fmt.Errorf("%s: the file is larger than %d bytes", name, maxTraceBytes)
	}
	file, err := intake.ParseTrace(bytes.NewReader(b), intake.TraceOptions{Unit: scale})
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	var columns []string
	used := map[string]bool{}
	for _, pr := range file.Probes {
		number := strconv.Itoa(pr.Column)
		columns = append(columns, number+" "+pr.Name)
		if len(f.probes) > 0 && !slices.Contains(f.probes, pr.Name) && !slices.Contains(f.probes, number) {
			continue
		}
		used[pr.Name], used[number] = true, true
		list := make([]thwart.Probe, len(pr.Readings))
		for i, reading := range pr.Readings {
			list[i] = thwart.Probe{AtS: reading.AtS, TempC: reading.TempC, Row: reading.Row}
		}
		probes = append(probes, list)
	}
	for _, want := range f.probes {
		if !used[want] {
			return nil, nil, usage("--probe: %q is not a temperature column of %s; accepted: %s", want, name, strings.Join(columns, ", "))
		}
	}
	for _, n := range file.Notes {
		notes = append(notes, n.Text)
	}
	return probes, notes, nil
}

// maxTraceBytes is the largest logger's file that is read: a season of one-second readings.
const maxTraceBytes = 256 << 20

// proofWords are the words of the protocol's answer and of the published data's, apart on purpose.
var (
	proofWords  = map[string]string{"met": "MET", "not_met": "NOT MET", "unknown": "UNKNOWN"}
	lethalWords = map[string]string{"lethal": "LETHAL", "not_lethal": "NOT LETHAL", "not_known": "NOT KNOWN"}
)

func printProof(p *printer, pr *thwart.Proof, probes [][]thwart.Probe) {
	p.line("Protocol %s, %s: %s", pr.Versions.Protocol, pr.Part, proofWords[pr.Protocol])
	for _, w := range pr.Why {
		p.item(2, "-", p.say(w))
	}
	for _, b := range pr.Breaches {
		p.item(2, "LIMIT PASSED:", p.say(b))
	}
	need := unit.Duration(pr.NeedS)
	if pr.NeedS == 0 {
		need = "no fixed time"
	}
	held := "never"
	if pr.HeldS > 0 {
		held = fmt.Sprintf("%s without a break, from %s; %s in all in %s", unit.Duration(floor(pr.HeldS)), clock(pr.HeldFromS),
			unit.Duration(floor(pr.AboveS)), plural(pr.Passes, "spell", "spells"))
	}
	p.line("")
	p.table(2, [][]string{
		{"target", p.units.Temp(pr.TargetC) + ", " + need},
		{"held", held},
		{"readings", fmt.Sprintf("%d, best %s, thermometer ±%s", pr.Samples, p.units.Temp(pr.PeakC), p.units.TempStep(pr.PlusMinusC))},
		{"asked by", strings.TrimSpace(pr.Versions.Protocol + p.cite(pr.Source))},
	})
	drawTrace(p, pr, cleaned(probes))
	if len(pr.Notes) > 0 {
		p.head("About the log")
		for _, n := range pr.Notes {
			p.item(2, "-", p.say(n))
		}
	}
	p.head("By the published data, apart from the protocol")
	var rows [][]string
	for _, l := range pr.Lethal {
		text := p.say(l.Text)
		if l.Answer != "not_known" {
			text += p.cite(l.Source)
		}
		rows = append(rows, []string{lethalWords[l.Answer], text})
	}
	p.table(2, rows)
	printFoot(p, pr.Versions)
}

// floor drops fractions of a second, so that a time that falls short is never rounded up to the one asked for.
func floor(s float64) float64 { return float64(int(s + 1e-9)) }

// cleaned gives the readings as they are judged: in order, spikes lowered, what cannot be true left out.
func cleaned(probes [][]thwart.Probe) [][]thwart.Probe {
	out := make([][]thwart.Probe, len(probes))
	for i, list := range probes {
		rows := make([]trace.Reading, len(list))
		for k, r := range list {
			rows[k] = trace.Reading{AtS: r.AtS, TempC: r.TempC, Row: r.Row}
		}
		t, _ := trace.Clean(rows, trace.Options{MaxGapS: advice.MaxGapS})
		for _, pt := range t.Points {
			out[i] = append(out[i], thwart.Probe{AtS: pt.AtS, TempC: pt.TempC})
		}
	}
	return out
}
