package cli

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/engine/num"
	"thwart/engine/spread"
	"thwart/season/flows"
	"thwart/season/spreading"
)

func (a *app) spreadCommand() *cobra.Command {
	var q spreading.Question
	var compliance float64
	cmd := &cobra.Command{
		Use:   "spread",
		Short: "What happens to the waters over the years, with and without somebody at the launches",
		Long: "Spread runs the years many times: waters that hold an organism send craft that carry it, and a clear water that gets N of them in a" +
			" year is infested with the chance 1 - exp(-(αN)^c). With and without a plan are run on the same luck, so that their difference is" +
			" sharp. Waters where nobody has looked count as sources.",
		Example: "  thwart spread --organism eurasian_watermilfoil --years 5 --runs 500\n  thwart spread --organism zebra_mussel --runs 500 --unlooked-clear --json",
	}
	sub := a.trafficSub(cmd, func(ctx context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		if q.Organism == "" {
			return nil, nil, usage("--organism: an organism is needed; such as --organism zebra_mussel")
		}
		q.Seed, q.Compliance = f.seed, &compliance
		r, err := spreading.Forecast(ctx, m, q, nil)
		return r, func(p *printer) { printSpread(p, r, f.top) }, err
	})
	f := sub.Flags()
	f.StringVar(&q.Organism, "organism", "", "an organism of the library, such as zebra_mussel")
	f.IntVar(&q.Years, "years", 10, "how many, 1 to 50")
	f.IntVar(&q.Runs, "runs", 2000, "how often the years are run, 100 to 100000")
	f.Float64Var(&q.Alpha, "alpha", 0, fmt.Sprintf("per risky passage; 0: the assumption %g", spreading.DefaultAlpha))
	f.Float64Var(&q.C, "c", 0, fmt.Sprintf("1: every passage has its own luck; above: few almost never succeed; 0: the assumption %g", spreading.DefaultC))
	f.BoolVar(&q.Known, "known", false, "take alpha and c as exact instead of varying them from run to run")
	f.Float64Var(&compliance, "compliance", 1, "share of what could be stopped that is, 0 to 1")
	f.StringVar(&q.Plan, "plan", "", "id of a plan; left out: the hours as worked last season")
	f.BoolVar(&q.UnlookedClear, "unlooked-clear", false, "take waters where nobody has looked for clear: not safe, and here to show the difference")
	sub.AddCommand(a.spreadFitCommand())
	return sub
}

func printSpread(p *printer, r *spreading.SpreadReport, top int) {
	p.line("%s over %d years, %d runs", r.Organism, len(r.Years), r.Runs)
	p.para(0, r.Sentence)
	p.head("Newly infested by the end of each year")
	rows := [][]string{{"year", "nobody stands", "95 % of runs", "with " + short(r.PlanName, 24), "fewer", "95 % of runs"}}
	for _, y := range r.Years {
		rows = append(rows, []string{fmt.Sprint(y.Year), fmt.Sprintf("%.2f", y.Without.Mid), few(y.Range), fmt.Sprintf("%.2f", y.With.Mid), fmt.Sprintf("%.2f ± %.2f", y.Spared.Mid, y.Spared.Hi-y.Spared.Mid), few(y.RangeD)})
	}
	p.table(2, rows)
	if r.Sharper > 0 {
		p.para(2, fmt.Sprintf("Both were run on the same luck: two separate lucks would need %.1f times as many runs for as sharp a difference.", r.Sharper))
	}
	p.head("Waters that are clear now")
	rows = [][]string{{"water", "risky craft a year", "stopped", "infested by the last year", "with it"}}
	for i, w := range r.Waters {
		if w.Start != "clear" || i >= top {
			break
		}
		rows = append(rows, []string{w.Name, craft(w.Risky), percent(w.Stopped), percents(w.Last), percents(w.LastW)})
	}
	p.table(2, rows)
	p.head("Under other assumptions, in the last year")
	rows = [][]string{{"", "α", "c", "compliance", "nobody stands", "with it", "fewer"}}
	for _, c := range r.Cases {
		rows = append(rows, []string{c.What, fmt.Sprintf("%.3g", c.Alpha), fmt.Sprintf("%.3g", c.C), percent(c.Compliance), fmt.Sprintf("%.2f", c.Without.Mid), fmt.Sprintf("%.2f", c.With.Mid), fmt.Sprintf("%.2f ± %.2f", c.Spared.Mid, c.Spared.Hi-c.Spared.Mid)})
	}
	p.table(2, rows)
	p.head("Mind")
	for _, text := range append(append([]string{}, r.Warnings...), r.Assumed...) {
		p.item(2, "-", text)
	}
	p.item(2, "-", fmt.Sprintf("α %g and c %g, %s: %s risky craft a year infest a clear water with the chance one half.", r.Alpha, r.C, r.Doubt, craft(r.HalfChance)))
}

func few(i num.Interval) string { return fmt.Sprintf("%.0f to %.0f", i.Lo, i.Hi) }

func short(s string, n int) string {
	if len(s) <= n {
		return s
	}
	return strings.TrimSpace(s[:n]) + "…"
}

func (a *app) spreadFitCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "fit FILE",
		Short: "Estimate α and c from waters with known risky craft a year and the year they were found infested",
		Long: "Fit reads a CSV with the headings water, n1, n2, … and found: risky craft in each year, and the year in which the water was found" +
			" infested (empty: not by the end). It gives the most likely α and c, their intervals by the likelihood ratio, and whether c is" +
			" needed at all.",
		Example: "  thwart spread fit finds.csv",
	}
	cmd.Args = args(1, 1, "the CSV file")
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(_ *cobra.Command, names []string) error {
		file, err := openFile(names[0])
		if err != nil {
			return err
		}
		defer file.Close()
		h, err := readHistory(file)
		if err != nil {
			return inFile{file: names[0], err: err}
		}
		r, err := spread.Fit(h)
		if err != nil {
			return inFile{file: names[0], err: err}
		}
		if a.json {
			return a.writeJSON(r)
		}
		p := a.print()
		p.line("%d waters, %d found infested", r.Waters, r.Found)
		p.table(2, [][]string{
			{"", "estimate", "95 %"},
			{"α", fmt.Sprintf("%.4g", r.Alpha), fmt.Sprintf("%.3g to %.3g", r.AlphaCI.Lo, r.AlphaCI.Hi)},
			{"c", fmt.Sprintf("%.4g", r.C), fmt.Sprintf("%.3g to %.3g", r.CCI.Lo, r.CCI.Hi)},
		})
		p.para(0, fmt.Sprintf("With c = 1 the best α is %.4g; twice the difference in log-likelihood is %.2f, p = %.3f.", r.Alpha1, r.Ratio, r.P))
		for _, w := range r.Warnings {
			p.item(2, "-", w)
		}
		return nil
	})
	return cmd
}

func readHistory(r io.Reader) ([]spread.History, error) {
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(rows) < 2 || len(rows[0]) < 3 || !strings.EqualFold(rows[0][0], "water") || !strings.EqualFold(rows[0][len(rows[0])-1], "found") {
		return nil, thwart.FieldErrors{{Field: "headings", Value: firstRow(rows), Accepted: "water, n1, n2, … and found, with rows below"}}
	}
	var out []spread.History
	var errs thwart.FieldErrors
	for i, row := range rows[1:] {
		h := spread.History{}
		last := len(row) - 1
		for k, text := range row[1:last] {
			n, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
			if err != nil || !(n >= 0) {
				errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("line %d: %s", i+2, rows[0][k+1]), Value: text, Accepted: "risky craft in the year, 0 or more"})
			}
			h.N = append(h.N, n)
		}
		if text := strings.TrimSpace(row[last]); text != "" {
			if h.Found, err = strconv.Atoi(text); err != nil || h.Found < 1 || h.Found > len(h.N) {
				errs = append(errs, thwart.FieldError{Field: fmt.Sprintf("line %d: found", i+2), Value: text, Accepted: fmt.Sprintf("a year from 1 to %d, or nothing", len(h.N))})
			}
		}
		out = append(out, h)
	}
	if errs != nil {
		return nil, errs
	}
	return out, nil
}
