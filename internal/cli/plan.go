package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"thwart/engine/siting"
	"thwart/internal/calendar"
	"thwart/internal/store"
	"thwart/season"
	"thwart/season/flows"
	"thwart/season/plan"
	"thwart/season/roster"
	"thwart/solver"
)

// planning is what the flags of plan say.
type planning struct {
	dsn, policy   string
	hours, money  float64
	people, front int
	seconds       float64
	robust        float64
	seed          uint64
	quick         bool
}

func (f *planning) add(cmd *cobra.Command) {
	storeFlag(cmd, &f.dsn)
	flags := cmd.Flags()
	flags.Float64Var(&f.hours, "hours", 0, "hours of work in the season, every person counted (default: as many as were worked in the records, unless --money is given)")
	flags.Float64Var(&f.money, "money", 0, "money for the season, in the programme's currency")
	flags.IntVar(&f.people, "people", 0, "people on duty at once, at most")
	flags.StringVar(&f.policy, "meet", "", "where craft are met: arrival, departure or both (default arrival)")
	flags.Float64Var(&f.seconds, "seconds", 0, "seconds that the proof may take (default 60)")
	flags.Float64Var(&f.robust, "robust", 0, "plan for the mean of this worst share of sampled seasons, such as 0.2 (default: for the mean season)")
	flags.Uint64Var(&f.seed, "seed", 1, "of what is drawn")
	flags.BoolVar(&f.quick, "quick", false, "search alone, without the solver's proof; the plan still says how much better is possible at most")
}

// wishes reads a file of wishes, if any, and lays the flags over it.
func (f *planning) wishes(a *app, cmd *cobra.Command, names []string) (w plan.PlanWishes, err error) {
	if len(names) > 0 {
		if err := a.readJSON(names[0], &w); err != nil {
			return w, err
		}
	}
	set := cmd.Flags().Changed
	if set("hours") {
		w.Hours = f.hours
	}
	if set("money") {
		w.Money = &f.money
	}
	if set("people") {
		w.People = f.people
	}
	if set("meet") {
		w.Policy = f.policy
	}
	if set("seconds") {
		w.Seconds = f.seconds
	}
	if set("robust") {
		w.Robust = f.robust
	}
	if f.front > 0 {
		w.Frontier = f.front
	}
	w.Seed = f.seed
	return w, nil
}

// readJSON reads a file strictly: a name it does not know is an error, not a silence.
func (a *app) readJSON(name string, into any) error {
	r, err := a.open(name)
	if err != nil {
		return err
	}
	defer r.Close()
	d := json.NewDecoder(io.LimitReader(r, 8<<20))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return about(name, err)
	}
	return nil
}

// openSolver opens the solver, with its machine code kept where programs keep such things.
func openSolver(ctx context.Context) (*solver.Engine, error) {
	dir, err := os.UserCacheDir()
	if err == nil {
		dir = filepath.Join(dir, "thwart", "solver")
	}
	if e, err := solver.Open(ctx, solver.Settings{CacheDir: dir}); err == nil {
		return e, nil
	}
	return solver.Open(ctx, solver.Settings{}) // a folder that cannot be written to costs time and nothing else
}

// make plans on the records.
func (f *planning) make(ctx context.Context, book *season.Book, w plan.PlanWishes) (*plan.SeasonPlan, error) {
	m, err := flows.New(book, flows.Options{Seed: f.seed})
	if err != nil {
		return nil, err
	}
	in, err := plan.FromModel(book, m)
	if err != nil {
		return nil, err
	}
	maker := &plan.Maker{}
	if !f.quick {
		e, err := openSolver(ctx)
		if err != nil {
			return nil, err
		}
		defer e.Close(ctx)
		maker.Solver = e
	}
	return maker.Make(ctx, in, w)
}

func withBook(ctx context.Context, dsn string, work func(*season.Book) error) error {
	return withStore(ctx, dsn, true, func(s *store.Store) error {
		book, err := season.Read(ctx, s, season.Options{Zone: time.LoadLocation})
		if err != nil {
			return err
		}
		return work(book)
	})
}

func (a *app) planCommand() *cobra.Command {
	var f planning
	cmd := &cobra.Command{
		Use:   "plan [wishes.json]",
		Short: "Where and when to stand: the shifts and wash units that stop the most risk, with proof",
		Long: "Plan fits the traffic of the records, and chooses shifts (launch, kind of day, part of the day) under hours, money, people" +
			" and whatever else the file of wishes asks: minimum presence, contracts, fair shares, places decided by hand, wash units." +
			" It says how much better any plan could be at most, holds the plan beside what people do without computing, and gives" +
			" reasons. Wishes that cannot all be kept are named, with how far one would have to give way.",
		Example: `  thwart plan --hours 2000 --quick
  thwart plan --hours 1500 --people 8 --meet both --frontier 4 --quick --json`,
		Args: args(0, 1, "a file of wishes in JSON"),
	}
	f.add(cmd)
	a.jsonFlag(cmd)
	cmd.Flags().IntVar(&f.front, "frontier", 0, "points of money against risk, 2 to 50")
	cmd.RunE = a.run(func(cmd *cobra.Command, names []string) error {
		w, err := f.wishes(a, cmd, names)
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		return withBook(ctx, f.dsn, func(book *season.Book) error {
			r, err := f.make(ctx, book, w)
			if err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(r)
			}
			a.printPlan(r)
			return nil
		})
	})
	cmd.AddCommand(a.watchCommand())
	return cmd
}

func (a *app) watchCommand() *cobra.Command {
	var q plan.WatchAsk
	cmd := &cobra.Command{
		Use:   "waters",
		Short: "Which waters to watch whole against one organism, budget by budget, each proved",
		Long: "Waters finds, for one organism, which waters to watch all season for each of some budgets, so that the most risky craft are" +
			" met. Risky craft go from waters that hold it to waters that do not, so every budget is a minimum cut: the answer comes in" +
			" seconds for a whole state, with the limit that no choice of waters exceeds. Shifts, parts of the day and several organisms" +
			" at once are the matter of thwart plan.",
		Example: "  thwart plan waters --organism eurasian_watermilfoil --points 5",
	}
	sub := a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		if q.Organism == "" {
			return nil, nil, usage("--organism: an organism is needed; such as --organism zebra_mussel")
		}
		r, err := plan.Watch(m, q)
		return r, func(p *printer) { printWatch(p, r, f.top) }, err
	})
	f := sub.Flags()
	f.StringVar(&q.Organism, "organism", "", "an organism of the library, such as zebra_mussel")
	f.Float64Var(&q.HoursDay, "hours-day", 12, "hours a day that somebody stands at each launch of a watched water")
	f.Float64Var(&q.HourCost, "hour-cost", 0, "money for an hour (default: the programme's cost of a steward-hour, else 25)")
	f.IntVar(&q.Points, "points", 12, "budgets, 2 to 50")
	return sub
}

func printWatch(p *printer, r *plan.WatchReport, top int) {
	p.line("%s: %.4g risky craft a season between %d pairs of waters", plain(r.Organism), r.All, r.Pairs)
	p.head("Money against risky craft met")
	rows := [][]string{{"money", "spent", "met", "at most", "waters watched"}}
	for _, x := range r.Points {
		var names []string
		for i, w := range x.Waters {
			if i == min(3, top) {
				names = append(names, fmt.Sprintf("and %d more", len(x.Waters)-i))
				break
			}
			names = append(names, w.Name)
		}
		rows = append(rows, []string{fmt.Sprintf("%.0f", x.Money), fmt.Sprintf("%.0f", x.Cost), fmt.Sprintf("%.4g", x.Stopped), fmt.Sprintf("%.4g", x.Bound), words(", ", names...)})
	}
	p.table(2, rows)
	p.head("What this takes for granted")
	for _, s := range append(append([]string{}, r.Warnings...), r.Assumed...) {
		p.item(2, "-", s)
	}
}

func (a *app) printPlan(r *plan.SeasonPlan) {
	p := a.print()
	if !r.Made {
		p.head("No plan")
		p.para(2, r.Clash.Words)
		return
	}
	p.head("Plan")
	for _, w := range r.Why {
		p.item(2, "-", w)
	}
	if r.Unspent != nil {
		p.head("Why %.0f of the money stays unspent", r.Unspent.Money)
		for _, w := range r.Unspent.Why {
			p.item(2, "-", w)
		}
	}
	p.head("Shifts, what stops most per hour first")
	rows := [][]string{{"launch", "day", "from", "people", "hours", "stops"}}
	for _, s := range r.Shifts {
		rows = append(rows, []string{s.Name, s.Day, fmt.Sprintf("%02d-%02d", s.From, s.To), strconv.Itoa(s.People), fmt.Sprintf("%.0f", s.Hours), fmt.Sprintf("%.2g", s.Stops)})
	}
	p.table(2, rows)
	for _, u := range r.Units {
		p.item(2, "-", "wash unit at "+u.Name+": "+words(", ", u.Works...))
	}
	p.head("Organisms: risky craft a season, and how many the plan stops")
	rows = nil
	for _, o := range r.Organisms {
		rows = append(rows, []string{plain(o.Organism), fmt.Sprintf("%.3g", o.Arriving), fmt.Sprintf("%.3g", o.Stopped)})
	}
	p.table(2, rows)
	if len(r.Frontier) > 0 {
		p.head("Money against risk stopped")
		rows = [][]string{{"money", "stops", "at most"}}
		for _, x := range r.Frontier {
			rows = append(rows, []string{fmt.Sprintf("%.0f", x.Money), fmt.Sprintf("%.3g", x.Value), fmt.Sprintf("%.3g", x.Bound)})
		}
		p.table(2, rows)
	}
	for _, m := range r.More {
		p.para(0, m.Words)
		p.rivals(m.Rivals)
	}
	p.head("What this takes for granted")
	for _, s := range append(append([]string{}, r.Assumed...), r.Warnings...) {
		p.item(2, "-", s)
	}
}

// rivals lists where one more wash unit could go.
func (p *printer) rivals(list []plan.UnitRival) {
	if len(list) == 0 {
		return
	}
	rows := [][]string{{"one more unit at", "stops more", "between", "money for it", "whole plan", "hours"}}
	for _, v := range list {
		rows = append(rows, []string{
			v.Name, fmt.Sprintf("%.3g", v.Worth.Mid), fmt.Sprintf("%.3g and %.3g", v.Worth.Lo, v.Worth.Hi), fmt.Sprintf("%.0f", v.Cost), fmt.Sprintf("%.0f", v.PlanCost), fmt.Sprintf("%.0f", v.Hours),
		})
	}
	p.table(2, rows)
}

func (a *app) rosterCommand() *cobra.Command {
	var f planning
	var ask roster.RosterAsk
	var planFile, askFile, icsFile, person string
	cmd := &cobra.Command{
		Use:   "roster",
		Short: "Who stands where and when: people to the shifts of a plan",
		Long: "Roster puts the programme's people to dated shifts: those of --plan (a file that plan --json wrote), of a plan made on the" +
			" way for --hours, or else the planned shifts of the records. Only who is certified on the day, free and rested is asked;" +
			" nobody new stands alone; weekends are shared. Places that cannot be filled stay open and are listed. --ask gives a" +
			" file with house rules, who is fixed, barred and kept; --ics writes a calendar (iCalendar), of --person or of all.",
		Example: "  thwart roster --from 2026-06-06 --to 2026-06-07 --hours 1500 --quick",
		Args:    args(0, 0, "flags only"),
	}
	f.add(cmd)
	a.jsonFlag(cmd)
	flags := cmd.Flags()
	flags.StringVar(&ask.From, "from", "", "first day, such as 2026-06-01")
	flags.StringVar(&ask.To, "to", "", "last day, included")
	flags.StringVar(&planFile, "plan", "", "plan, as written by plan --json")
	flags.StringVar(&askFile, "ask", "", "house rules and decisions by hand, in JSON")
	flags.StringVar(&icsFile, "ics", "", "calendar to write; it must not be there yet")
	flags.StringVar(&person, "person", "", "id of the person whose calendar is written (default: everybody's)")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		ctx := cmd.Context()
		from, to := ask.From, ask.To
		if askFile != "" {
			if err := a.readJSON(askFile, &ask); err != nil {
				return err
			}
			if from != "" {
				ask.From = from
			}
			if to != "" {
				ask.To = to
			}
		}
		return withBook(ctx, f.dsn, func(book *season.Book) error {
			if err := a.shiftsFor(cmd, &f, book, planFile, &ask); err != nil {
				return err
			}
			ans, err := f.roster(ctx, book, ask)
			if err != nil {
				return err
			}
			if icsFile != "" {
				if err := writeCalendar(ans, icsFile, person); err != nil {
					return err
				}
			}
			if a.json {
				return a.writeJSON(ans)
			}
			a.printRoster(ans)
			return nil
		})
	})
	return cmd
}

// shiftsFor takes the shifts to roster from a plan's file or from a plan made on the way.
func (a *app) shiftsFor(cmd *cobra.Command, f *planning, book *season.Book, file string, ask *roster.RosterAsk) error {
	var r plan.SeasonPlan
	switch {
	case file != "":
		if err := a.readJSON(file, &r); err != nil {
			return err
		}
	case cmd.Flags().Changed("hours") || cmd.Flags().Changed("money"):
		w, err := f.wishes(a, cmd, nil)
		if err != nil {
			return err
		}
		made, err := f.make(cmd.Context(), book, w)
		if err != nil {
			return err
		}
		r = *made
	default:
		return nil
	}
	if !r.Made {
		return errors.New("the plan was not made: " + clashWords(r.Clash))
	}
	ask.Shifts = r.Shifts
	return nil
}

func clashWords(c *siting.Clash) string {
	if c == nil {
		return "it has no shifts"
	}
	return c.Words
}

func (f *planning) roster(ctx context.Context, book *season.Book, ask roster.RosterAsk) (*roster.SeasonRoster, error) {
	if f.quick {
		return roster.Make(ctx, book, ask, nil, nil)
	}
	e, err := openSolver(ctx)
	if err != nil {
		return nil, err
	}
	defer e.Close(ctx)
	return roster.Make(ctx, book, ask, e, nil)
}

func writeCalendar(ans *roster.SeasonRoster, file, person string) error {
	text, err := calendar.Of([]calendar.Edition{{Roster: ans, Made: time.Now()}}, "Shifts", person, time.UTC, time.LoadLocation)
	if err != nil {
		return err
	}
	return newFile(file, func(out *os.File) error {
		_, err := out.WriteString(text)
		return err
	})
}

func (a *app) printRoster(ans *roster.SeasonRoster) {
	p := a.print()
	p.head("Roster")
	var rows [][]string
	for _, r := range ans.Rows {
		var names []string
		for _, n := range r.People {
			names = append(names, n.Name)
		}
		if r.Open > 0 {
			names = append(names, fmt.Sprintf("%d OPEN", r.Open))
		}
		rows = append(rows, []string{r.Day, fmt.Sprintf("%02.0f-%02.0f", r.From, r.To), r.Name, words(", ", names...)})
	}
	p.table(2, rows)
	p.head("People")
	rows = [][]string{{"", "shifts", "hours", "free days"}}
	for _, s := range ans.People {
		rows = append(rows, []string{s.Name, strconv.Itoa(s.Shifts), fmt.Sprintf("%.0f", s.Hours), fmt.Sprintf("%.0f", s.FreeDays)})
	}
	p.table(2, rows)
	for _, n := range ans.Notes {
		p.item(2, "-", n)
	}
}
