package cli

import (
	"fmt"
	"math"
	"strings"

	"thwart"
	"thwart/engine/num"
	"thwart/refdata"
	"thwart/season/flows"
	"thwart/unit"
)

func knownOrganism(id string) error {
	if _, ok := refdata.OrganismByID(id); !ok {
		return thwart.FieldErrors{{Field: "--organism", Value: id, Accepted: "an organism of the library (list them with: thwart organisms)"}}
	}
	return nil
}

// craft writes a number of craft with as many digits as mean something.
func craft(x float64) string {
	switch {
	case x == 0:
		return "0"
	case x < 0.095:
		return fmt.Sprintf("%.1g", x)
	case x < 9.95:
		return fmt.Sprintf("%.1f", x)
	case x < 999.5:
		return fmt.Sprintf("%.0f", x)
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-2)
	return fmt.Sprintf("%.0f", math.Round(x/step)*step)
}

func between(i num.Interval) string {
	return fmt.Sprintf("%s (%s to %s)", craft(i.Mid), craft(i.Lo), craft(i.Hi))
}

func percents(i num.Interval) string {
	return fmt.Sprintf("%s (%s to %s)", percent(i.Mid), percent(i.Lo), percent(i.Hi))
}

// kmPerMile is the international mile of 1959.
const kmPerMile = 1.609344

func (p *printer) road(km float64) string {
	if p.units == unit.US {
		return fmt.Sprintf("%.0f mi", km/kmPerMile)
	}
	return fmt.Sprintf("%.0f km", km)
}

func (p *printer) caveats(list []flows.Caveat) {
	if len(list) == 0 {
		return
	}
	p.head("Mind")
	for _, w := range list {
		p.item(2, "-", w.Text)
	}
}

func printCard(p *printer, c *flows.ModelCard) {
	u := &c.RecordsUsed
	p.line("Traffic from %s to %s", c.From, c.To)
	p.head("Fitted on")
	p.para(2, fmt.Sprintf("%d encounters, of which %d were about to be launched in an hour that was staffed and %d said which water they came from: %.0f from"+
		" another water, %d from the same. %d craft more were only counted. %.0f hours at %d of %d launches, on %d of %d waters (%d outside the region), in %d days.",
		u.Encounters, u.Arriving-u.NoHours, u.FromKnown, c.Craft, u.Back, u.Tallied, u.HoursWorked, u.Staffed, u.Launches, u.WatersMet, u.Waters, u.Outside, u.Days))
	p.para(2, "Distances: "+c.Roads+".")
	if len(c.Coefficients) > 0 {
		p.head("Model")
		p.para(2, c.Model+".")
		rows := [][]string{}
		for _, k := range c.Coefficients {
			rows = append(rows, []string{k.Name, fmt.Sprintf("%.3f", k.Estimate), fmt.Sprintf("%.3f to %.3f", k.Lo, k.Hi), k.Words})
		}
		p.table(2, rows)
		if c.Theta != nil {
			p.para(2, fmt.Sprintf("θ %.2f: counts vary by mean + mean²/θ.", *c.Theta))
		}
		printFit(p, c)
	}
	printWeather(p, &c.Weather)
	p.caveats(c.Warnings)
	p.head("What it cannot say")
	for _, s := range c.CannotSay {
		p.item(2, "-", s)
	}
}

func printWeather(p *printer, u *flows.WeatherUsed) {
	p.head("Weather in the arrivals")
	p.para(2, fmt.Sprintf("The shifts of %d of %d staffed days said what the weather was.", u.Known, u.Staffed))
	var rows [][]string
	for _, x := range u.Terms {
		rows = append(rows, []string{x.Name, fmt.Sprintf("× %.2f", x.Factor.Mid), fmt.Sprintf("%.2f to %.2f", x.Factor.Lo, x.Factor.Hi), x.Words})
	}
	p.table(2, rows)
	for _, s := range u.Said {
		p.item(2, "-", s)
	}
}

func printFit(p *printer, c *flows.ModelCard) {
	p.head("Other forms of the same data (smaller is better)")
	var rows [][]string
	for _, f := range c.Forms {
		if f.AIC == 0 {
			rows = append(rows, []string{f.Name, "", f.Note})
			continue
		}
		rows = append(rows, []string{f.Name, fmt.Sprintf("AIC %.1f", f.AIC), strings.TrimSpace(fmt.Sprintf("BIC %.1f %s", f.BIC, f.Note))})
	}
	p.table(2, rows)
	if g := c.Fit; g != nil && len(g.Distance) > 0 {
		p.head("Counted against expected, by road")
		rows = nil
		for _, b := range g.Distance {
			rows = append(rows, []string{p.say(b.Name), craft(b.Observed), "expected " + between(b.Expected)})
		}
		p.table(2, rows)
		p.para(2, fmt.Sprintf("Randomised quantile residuals %.2f ± %.2f (0 ± 1 is right); R² of the square roots %.2f.", g.ResidualMean, g.ResidualSD, g.R2))
		for _, s := range g.Misfit {
			p.item(2, "-", s)
		}
	}
	if h := c.Held; h != nil {
		p.head("Every fourth week held out and foretold")
		if h.Note != "" {
			p.para(2, "No test: "+h.Note+".")
			return
		}
		p.para(2, fmt.Sprintf("%.0f craft from other waters on %d staffed days of %d weeks.", h.Craft, h.Days, h.Weeks))
		rows = nil
		for _, s := range h.Scores {
			rows = append(rows, []string{s.Name, fmt.Sprintf("log score %.4f", s.LogScore), fmt.Sprintf("%d of the %d busiest pairs; foretold %.2f × what came", s.Hits, h.K, s.Bias)})
		}
		p.table(2, rows)
	}
}

// ranged writes a number with its doubt, if that is known.
func ranged(x float64, i *num.Interval) string {
	if i == nil {
		return craft(x)
	}
	return craft(x) + " (" + craft(i.Lo) + " to " + craft(i.Hi) + ")"
}

func printFlows(p *printer, r *flows.FlowsReport, top int) {
	name := map[string]string{}
	for _, w := range r.Waters {
		name[w.ID] = w.Name
	}
	p.line("Passages between waters from %s to %s: about %s over %d pairs", r.From, r.To, ranged(r.Total, r.TotalRange), r.All)
	p.head("Largest")
	rows := [][]string{}
	for _, f := range r.Pairs {
		rows = append(rows, []string{name[f.From] + " to " + name[f.To], p.road(f.KM), craft(f.Counted) + " met", between(f.Passages)})
	}
	p.table(2, rows)
	p.head("Waters")
	rows = [][]string{}
	for _, w := range r.Waters[:min(top, len(r.Waters))] {
		from := ranged(w.Into, w.IntoRange) + " in"
		if w.Outside {
			from = "outside"
		}
		back := ""
		if w.Back != nil {
			back = "; back to it " + between(*w.Back)
		}
		rows = append(rows, []string{w.Name, from, ranged(w.Out, w.OutRange) + " out", "met " + percent(w.Met) + back})
	}
	p.table(2, rows)
	p.caveats(r.Warnings)
}

func printArrivals(p *printer, r *flows.ArrivalsReport, top int) {
	p.line("Craft that come to launch from %s to %s: about %s", r.From, r.To, between(r.Total))
	p.head("Launches")
	rows := [][]string{}
	for _, l := range r.Launches[:min(top, len(r.Launches))] {
		rows = append(rows, []string{l.Launch.Name, between(l.Season), fmt.Sprintf("%.0f counted in %.0f h, %s of the season", l.Counted, l.Hours, percent(l.Share))})
	}
	p.table(2, rows)
	p.head("Hours of day (share of a day's craft)")
	rows = [][]string{{"", "weekday", "free day"}}
	for h := range 24 {
		if r.Weekday[h]+r.Free[h] > 0.002 {
			rows = append(rows, []string{fmt.Sprintf("%02d:00", h), percent(r.Weekday[h]), percent(r.Free[h])})
		}
	}
	p.table(2, rows)
	p.head("Kind of day, month and weather (craft against the day it is compared with)")
	rows = [][]string{}
	for _, e := range r.Effects {
		rows = append(rows, []string{e.Name, fmt.Sprintf("× %.2f", e.Factor.Mid), fmt.Sprintf("%.2f to %.2f", e.Factor.Lo, e.Factor.Hi)})
	}
	p.table(2, rows)
	p.para(2, fmt.Sprintf("Days differ by another %.0f %% beyond that: luck, and weather that nobody said.", 100*r.DaySpread))
	p.caveats(r.Warnings)
}

func printSources(p *printer, r *flows.RiskFlows, top int) {
	p.line("Risky passages from %s to %s: craft that arrive with the organism alive aboard", r.From, r.To)
	if len(r.Organisms) == 0 {
		p.para(0, "No water is known or suspected to hold anything.")
	}
	for i := range r.Organisms {
		o := &r.Organisms[i]
		p.head("%s: %s arrive, %s get past the looks", o.Organism, between(o.Total.Arriving), between(o.Total.Through))
		e := &o.Evidence
		p.para(2, fmt.Sprintf("Carried by %s of craft from waters where it lives; published %s. The programme found something that may be it on %d of %d such craft, and"+
			" on %d of %d from elsewhere.", percents(o.Carry), percents(o.Published), e.Found, e.Looked, e.FoundElse, e.LookedElse))
		p.para(2, fmt.Sprintf("Alive on arrival: %s to %s, by how long %d craft had been out. A look finds %s.", percent(o.AliveLo), percent(o.AliveHi), o.Timed, percents(o.Find)))
		if o.Unlooked > 0 {
			p.para(2, fmt.Sprintf("Nobody has looked for it in %d waters, from which about %s craft come: not counted here, and not safe.", o.Unlooked, craft(o.NotLooked)))
		}
		p.sites("comes from", o.Sources, top)
		p.sites("reaches", o.Launches, top)
	}
	p.head("Taken for granted")
	for _, s := range r.Assumed {
		p.item(2, "-", s)
	}
	p.caveats(r.Warnings)
}

func (p *printer) sites(word string, list []flows.SiteRisk, top int) {
	var rows [][]string
	for _, s := range list[:min(top, len(list))] {
		rows = append(rows, []string{word, s.Name, between(s.Through)})
	}
	p.table(2, rows)
}

func printDeclaration(p *printer, d *flows.DeclarationEffect, top int) {
	was := strings.ReplaceAll(d.Was, "_", " ")
	if was == "" {
		was = "not known"
	}
	p.line("If %s held %s (now: %s)", d.Water.Name, d.Organism, was)
	p.table(2, [][]string{
		{"now", "arriving " + between(d.Before.Arriving), "past the looks " + between(d.Before.Through)},
		{"added", "arriving " + between(d.Added.Arriving), "past the looks " + between(d.Added.Through)},
	})
	p.para(2, fmt.Sprintf("It would make up %s of all that gets past then.", percent(d.Share)))
	p.sites("reaches", d.Launches, top)
	p.caveats(d.Warnings)
}

func printBootstrap(p *printer, r *flows.BootstrapReport) {
	p.line("%d seasons' counts drawn from the fit and fitted again; %d could not be", r.Replicates, r.Failed)
	rows := [][]string{{"", "estimate", "error", "by bootstrap", "2.5 % to 97.5 %"}}
	for _, c := range r.Coefficients {
		rows = append(rows, []string{c.Name, fmt.Sprintf("%.3f", c.Estimate), fmt.Sprintf("%.3f", c.SE), fmt.Sprintf("%.3f", c.BootstrapSE), fmt.Sprintf("%.3f to %.3f", c.Bootstrap.Lo, c.Bootstrap.Hi)})
	}
	p.table(2, rows)
}
