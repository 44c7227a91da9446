package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/advice"
	"thwart/unit"
)

func (a *app) protocolsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "protocols [id]",
		Short: "The protocols of the library; one in words; check your own",
		Long: "Protocols lists the rules of jurisdictions as the library keeps them: dated snapshots with their sources. None is" +
			" confirmed: a person of the programme has to check it against the law in force first. With an id it says one in words;" +
			" --json gives it whole, its tables filled in, as a start for your own.",
		Example: `  thwart protocols
  thwart protocols utah
  thwart protocols utah --json
  thwart protocols check own.json`,
		Args: args(0, 1, "one id, or none for the list"),
	}
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return a.listProtocols()
		}
		pr, err := a.protocol(args[0])
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(pr)
		}
		printProtocol(a.print(), &pr)
		return nil
	})
	check := &cobra.Command{
		Use:   "check own.json …",
		Short: "Check a programme's own protocol file",
		Long: "Check reads protocol files, fills in the tables they name and checks every field. It says what cannot be taken, or what" +
			" the protocol asks for in words.",
		Example: "  thwart protocols check own.json",
		Args:    args(1, -1, "at least one protocol file, or - for standard input"),
	}
	check.RunE = a.run(func(_ *cobra.Command, args []string) error {
		for i, name := range args {
			pr, err := a.readProtocol(name)
			if err != nil {
				return err
			}
			p := a.print()
			if i > 0 {
				p.line("")
			}
			p.line("%s can be taken.", name)
			printProtocol(p, &pr)
		}
		return nil
	})
	cmd.AddCommand(check)
	return cmd
}

// protocolLine is a protocol in a list.
type protocolLine struct {
	ID        string `json:"id"`
	Version   string `json:"version"`
	Title     string `json:"title"`
	TextDate  string `json:"textDate"`
	Confirmed bool   `json:"confirmed"`
	Summary   string `json:"summary"`
}

func (a *app) listProtocols() error {
	var lines []protocolLine
	for _, pr := range advice.Protocols() {
		lines = append(lines, protocolLine{pr.ID, pr.Version, pr.Title, pr.TextDate, pr.Confirmed, pr.Summary})
	}
	if a.json {
		return a.writeJSON(lines)
	}
	p := a.print()
	for _, l := range lines {
		p.line("%s", l.ID)
		p.para(2, fmt.Sprintf("%s, text of %s. %s", l.Title, l.TextDate, p.say(l.Summary)))
	}
	p.line("")
	p.para(0, "None of these is confirmed: practice only, until the programme has checked it against the law in force.")
	return nil
}

var afterRiskWords = map[string]string{
	"nothing": "nothing more", "wash_or_dry": "a wash, or drying long enough", "wash": "a wash", "dry": "drying long enough",
	"wash_and_dry": "a wash and drying long enough",
}

func printProtocol(p *printer, pr *thwart.Protocol) {
	p.line("%s (%s@%s), text of %s", pr.Title, pr.ID, pr.Version, pr.TextDate)
	if !pr.Confirmed {
		p.line("Not confirmed: practice only.")
	} else {
		p.line("Confirmed by %s on %s.", pr.ConfirmedBy, pr.ConfirmedOn)
	}
	p.para(0, p.say(pr.Summary))
	p.head("To launch")
	lookBack := "for ever"
	if pr.LookBackDays > 0 {
		lookBack = fmt.Sprintf("for %g days", pr.LookBackDays)
	}
	rows := [][]string{
		{"required", oneOf(pr.Requires)},
		{"a water at risk counts", lookBack + "; a clean, drained and dry craft from there still owes " + afterRiskWords[pr.AfterRisk]},
		{"exempt", words(", ", when(pr.SameWaterExempt, "straight back to the same water"), when(pr.CarryInExempt, "carried in, without a motor"))},
		{"dead mussels", words(", ", when(pr.Criteria.DeadMusselFails, "fail like live ones"), when(pr.Criteria.DeadMusselHolds, "hold the craft"))},
		{"also fail", words(", ", when(pr.Criteria.AnyPlantFails, "any plant"), when(pr.Criteria.MudFails, "mud"), when(pr.Criteria.ClothMustDry, "damp rope or cloth"))},
		{"water left aboard", waterWords(p, &pr.Criteria)},
		{"drain plug on the road", plain(pr.Criteria.Plug)},
		{"safety factor", fmt.Sprintf("%g times every published lethal bound", pr.SafetyFactor)},
	}
	p.table(2, slices.DeleteFunc(rows, func(r []string) bool { return r[1] == "" }))
	printAlways(p, pr)
	printWashTable(p, pr)
	printDryTable(p, pr)
	p.head("Who may")
	rows = nil
	for _, w := range pr.Powers {
		rows = append(rows, []string{plain(w.Act), roles(w.Who) + p.cite(w.Source)})
	}
	p.table(2, rows)
	for _, n := range pr.Notes {
		p.item(2, "-", p.say(n))
	}
	for _, id := range pr.Sources {
		p.cite(id)
	}
	p.sources()
}

func when(b bool, text string) string {
	if b {
		return text
	}
	return ""
}

func waterWords(p *printer, c *thwart.Criteria) string {
	if c.Water == "limit" {
		return "at most " + p.units.Volume(c.WaterLimitML/1000)
	}
	return c.Water
}

func printAlways(p *printer, pr *thwart.Protocol) {
	if len(pr.Always) == 0 {
		return
	}
	p.head("Whatever is found")
	var rows [][]string
	for _, w := range pr.Always {
		rows = append(rows, []string{plain(w.When), advice.Plate(w.Outcome) + p.cite(w.Source)})
	}
	p.table(2, rows)
}

func printWashTable(p *printer, pr *thwart.Protocol) {
	if len(pr.Wash) == 0 {
		return
	}
	p.head("Wash (%s)", plain(pr.WashOrder))
	rows := [][]string{{"part", "risk", "at", "for", "read", "by"}}
	for _, w := range pr.Wash {
		contact := unit.Duration(w.ContactS)
		if w.UntilExit {
			contact = "until it leaves hot"
		}
		risk := w.Risk
		if risk == "" {
			risk = "any"
		}
		by := words(", ", plain(w.Method), whenAbove(w.PressureMaxBar, "at most "+p.units.Pressure(w.PressureMaxBar)),
			whenAbove(float64(w.MaxInletC), "going in at "+p.units.Temp(w.MaxInletC)+" at most"))
		rows = append(rows, []string{string(w.Part), risk, p.units.Temp(w.TempC), contact, plain(w.Measured), by + p.cite(w.Source)})
	}
	p.table(2, rows)
}

func whenAbove(v float64, text string) string { return when(v > 0, text) }

func printDryTable(p *printer, pr *thwart.Protocol) {
	if len(pr.Dry) == 0 {
		return
	}
	p.head("Dry")
	rows := [][]string{{"line", "for", "months", "time", "from"}}
	for _, d := range pr.Dry {
		months := "any"
		if len(d.Months) > 0 {
			var names []string
			for _, m := range d.Months {
				names = append(names, m.String()[:3])
			}
			months = strings.Join(names, " ")
		}
		time := fmt.Sprintf("%g days", d.Days)
		switch {
		case d.Never:
			time = "never here"
		case d.NotAccepted:
			time = "not accepted"
		case d.FreezingH > 0:
			time = fmt.Sprintf("%g h freezing", d.FreezingH)
		}
		to := plain(d.Applies)
		if d.UsedIn != "" {
			to += ", used " + d.UsedIn
		}
		rows = append(rows, []string{d.Profile, to, months, time, plain(d.From) + p.cite(d.Source)})
	}
	p.table(2, rows)
}
