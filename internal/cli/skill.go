package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/store"
	"thwart/practice"
	"thwart/season"
	"thwart/season/skill"
)

func (a *app) skillCommand() *cobra.Command {
	var dsn, on, person string
	var target float64
	cmd := &cobra.Command{
		Use:   "skill",
		Short: "What do people find and miss? Estimates with intervals, what to practise, who is due, certificates",
		Long: "Skill reads the programme's planted objects, double checks and practice craft and says what each person finds, with its" +
			" interval. Below ten objects it says nothing of a person, and it puts nobody before anybody: people stand by name. It also" +
			" says who is due to practise this week and whose certificate ends within a fortnight. A missed test object is for" +
			" training; it is no ground for discipline.",
		Example: `  thwart skill
  thwart skill --on 2026-07-15
  thwart skill --person "Ines (demo steward)" --json`,
		Args: args(0, 0, "no argument; the records are named by --store"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	cmd.Flags().StringVar(&on, "on", "", "the day for which it is said, such as 2026-07-15; left out: the last day of the records")
	cmd.Flags().StringVar(&person, "person", "", "one person alone, by name or id")
	cmd.Flags().Float64Var(&target, "target", 0.8, "chance of finding below which somebody practises")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		return withStore(cmd.Context(), dsn, true, func(s *store.Store) error {
			b, now, err := seasonOn(cmd.Context(), s, on)
			if err != nil {
				return err
			}
			r, err := skill.Of(b, skill.Options{Now: now, Target: target})
			if err != nil {
				return err
			}
			standings := skill.Standings(b, now)
			if person != "" {
				if r, standings, err = onePerson(r, standings, person); err != nil {
					return err
				}
			}
			if a.json {
				return a.writeJSON(struct {
					Skill     *skill.Report    `json:"skill"`
					Standings []skill.Standing `json:"standings"`
				}{r, standings})
			}
			a.printSkill(r, standings)
			return nil
		})
	})
	return cmd
}

// seasonOn reads the records, and the day they are asked for.
func seasonOn(ctx context.Context, s *store.Store, on string) (*season.Book, time.Time, error) {
	b, err := season.Read(ctx, s, season.Options{Zone: time.LoadLocation})
	if err != nil {
		return nil, time.Time{}, err
	}
	if on != "" {
		day, err := time.Parse(time.DateOnly, on)
		if err != nil {
			return nil, time.Time{}, usage("--on: %q is no day; accepted: a date such as 2026-07-15", on)
		}
		return b, day, nil
	}
	_, last, ok := b.Span()
	if !ok {
		return nil, time.Time{}, usage("--on: the records have no shift that is over; give the day")
	}
	return b, last.Date(), nil
}

func onePerson(r *skill.Report, standings []skill.Standing, person string) (*skill.Report, []skill.Standing, error) {
	var names []string
	for i := range r.People {
		p := &r.People[i]
		if p.Person != person && !strings.EqualFold(p.Name, person) {
			names = append(names, p.Name)
			continue
		}
		var own []skill.Standing
		for _, s := range standings {
			if s.Person == p.Person {
				own = append(own, s)
			}
		}
		return r.For(p.Person), own, nil
	}
	return nil, nil, thwart.FieldErrors{{Field: "person", Value: person, Accepted: "one of " + strings.Join(names, ", ")}}
}

func (a *app) printSkill(r *skill.Report, standings []skill.Standing) {
	p := a.print()
	p.line("On %s: %d planted objects, %d second looks, %d practice craft.", r.At.Format("2 January 2006"), r.Trials, r.Looks, r.Drills)
	p.head("The programme")
	rows := [][]string{{"kind of thing", "found", "of", "people", "chance of 100", "published"}}
	for _, c := range r.Classes {
		rows = append(rows, []string{c.Words, fmt.Sprint(c.Found), fmt.Sprint(c.Trials), fmt.Sprint(c.People), hundred(c.Mean), fmt.Sprintf("%.0f", 100*c.Published)})
	}
	p.table(2, rows)
	for _, x := range r.People {
		p.head("%s", x.Name)
		for _, c := range x.Classes {
			if c.Trials > 0 {
				p.hang(2, 4, c.Words+": "+c.Says)
			}
		}
		if x.Screen != nil {
			p.hang(2, 4, "on screen: "+x.Screen.Says)
		}
		for _, s := range x.Says {
			p.hang(2, 4, s)
		}
		for _, s := range standings {
			if s.Person == x.Person {
				printStanding(p, &s)
			}
		}
	}
	p.head("Mind")
	for _, n := range r.Notes {
		p.para(2, n)
	}
}

func printStanding(p *printer, s *skill.Standing) {
	for _, h := range s.Certificates {
		p.hang(2, 4, fmt.Sprintf("certificate to %s: %s", h.For, h.Says))
	}
	for _, c := range s.Curricula {
		p.hang(2, 4, fmt.Sprintf("%s: %d of %d parts done.", c.Name, c.Done, len(c.Parts)))
	}
}

func hundred(r thwart.Range) string {
	return fmt.Sprintf("%.0f (%.0f to %.0f)", 100*r.Mid, 100*r.Lo, 100*r.Hi)
}

// drillFlags order a practice craft.
type drillFlags struct {
	class, protocol, on, turn string
	seed                      uint64
	difficulty, questions     int
	answers                   bool
}

func (a *app) drillCommand() *cobra.Command {
	var f drillFlags
	cmd := &cobra.Command{
		Use:   "drill",
		Short: "Make a practice craft or questions from a protocol, or score what somebody did with one",
		Long: "Drill makes a practice craft: the places to look at and what the owner says. What is on it is sealed; --json gives the" +
			" whole file for a screen. With --turn it scores a turn: what was found and missed, and whether verdict and treatment are" +
			" those of the rules. With --questions it asks questions made from the protocol, so that they stay right when it changes;" +
			" --answers prints the answers below. The same seed gives the same craft and the same questions.\n\n" +
			"Practice, not examination: the answers travel with the file.",
		Example: `  thwart drill --class runabout --seed 7
  thwart drill --class runabout --seed 7 --json
  thwart drill --turn turn.json
  thwart drill --questions 3 --protocol minnesota --seed 2 --answers`,
		Args: args(0, 0, "no argument"),
	}
	a.jsonFlag(cmd)
	flags := cmd.Flags()
	flags.StringVar(&f.class, "class", "open_aluminium_fishing", "craft class (list them with: thwart craft)")
	flags.StringVar(&f.protocol, "protocol", "own-rules", "a protocol of the library (list them with: thwart protocols)")
	flags.StringVar(&f.on, "on", "2026-07-04", "the day on which it plays")
	flags.Uint64Var(&f.seed, "seed", 1, "the same seed gives the same craft")
	flags.IntVar(&f.difficulty, "difficulty", 2, "1 (large things in the open) to 5 (small ones among decoys)")
	flags.StringVar(&f.turn, "turn", "", "a JSON file with drill and turn, to be scored")
	flags.IntVar(&f.questions, "questions", 0, "ask so many questions instead, 1 to 30")
	flags.BoolVar(&f.answers, "answers", false, "print the answers of the questions")
	cmd.RunE = a.run(func(_ *cobra.Command, _ []string) error {
		day, err := time.Parse(time.DateOnly, f.on)
		if err != nil {
			return usage("--on: %q is no day; accepted: a date such as 2026-07-04", f.on)
		}
		switch {
		case f.turn != "":
			return a.scoreTurn(f.turn)
		case f.questions != 0:
			return a.askQuestions(&f, day)
		}
		d, err := practice.Make(practice.Order{
			Seed: f.seed, Setup: thwart.Setup{Class: f.class}, Difficulty: f.difficulty, ProtocolID: f.protocol, At: day.Add(9 * time.Hour),
		})
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(d)
		}
		p := a.print()
		p.line("Practice craft %s: %s, difficulty %d.", d.ID, d.Order.Setup.Class, d.Order.Difficulty)
		p.head("The owner says")
		for _, s := range d.Story.Says {
			p.para(2, s)
		}
		p.head("%d places to look at", len(d.Places))
		for _, x := range d.Places {
			p.hang(2, 4, x.Name)
		}
		return nil
	})
	return cmd
}

func (a *app) scoreTurn(name string) error {
	r, err := a.open(name)
	if err != nil {
		return err
	}
	defer r.Close()
	var in struct {
		Drill practice.DrillCraft `json:"drill"`
		Turn  practice.Turn       `json:"turn"`
	}
	if err := thwart.ReadJSON(r, thwart.MaxCaseBytes, &in); err != nil {
		return err
	}
	s, err := in.Drill.Score(in.Turn)
	if err != nil {
		return err
	}
	if a.json {
		return a.writeJSON(s)
	}
	p := a.print()
	p.line("%.0f of 100: found %d of %d, false alarms %d, %d of %d places done in full.", s.Points(), s.Found, s.Planted, s.FalseAlarms, s.Path.Done, s.Path.Places)
	for _, text := range s.Debrief {
		p.hang(2, 4, text)
	}
	return nil
}

func (a *app) askQuestions(f *drillFlags, day time.Time) error {
	q, err := practice.Ask(practice.QuizOrder{Seed: f.seed, ProtocolID: f.protocol, Count: f.questions, At: day.Add(9 * time.Hour), US: a.units == "us"})
	if err != nil {
		return err
	}
	chosen := make([]int, len(q.Questions))
	for i := range chosen {
		chosen[i] = -1
	}
	m, err := q.Mark(chosen)
	if err != nil {
		return err
	}
	if a.json {
		if f.answers {
			return a.writeJSON(m)
		}
		return a.writeJSON(q)
	}
	p := a.print()
	p.line("Questions from %s.", q.Protocol)
	for _, x := range q.Questions {
		p.head("%d. %s", x.N, x.Text)
		for i, o := range x.Options {
			p.hang(3, 6, fmt.Sprintf("%c  %s", 'a'+i, o))
		}
		if f.answers {
			p.hang(3, 6, "Right: "+m.Answers[x.N-1].Right+". "+m.Answers[x.N-1].Why)
		}
	}
	return nil
}
