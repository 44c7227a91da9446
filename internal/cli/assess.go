package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/advice"
)

func (a *app) assessCommand() *cobra.Command {
	var f caseFlags
	var withRound bool
	cmd := &cobra.Command{
		Use:   "assess [case.json … | -]",
		Short: "Judge one craft, or many: verdict, reasons, risk, treatment, drying clock",
		Long: "Assess reads a case (one craft as it was inspected, the waters it comes from, the protocol, what is at hand) and says" +
			" whether it may launch, why not, what it is owed and how long that takes. The first word on the plate is what to do now;" +
			" what follows stands beside it. The risk informs and never overrules a failed standard.\n\n" +
			"Several files give one line each, and with --json a list of objects with file and either assessment or errors. Without a file, or with -, the case is read from standard input.",
		Example: `  thwart assess case.json
  thwart assess case.json --protocol utah --weather weather.csv --ahead 20C/50%
  thwart assess case.json other.json
  thwart assess --json - < case.json`,
		Args: cobra.ArbitraryArgs,
	}
	f.add(cmd)
	a.jsonFlag(cmd)
	a.strictFlag(cmd, "every craft may launch")
	a.fullFlag(cmd)
	cmd.Flags().BoolVar(&withRound, "round", false, "print the round as well")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		names, err := a.files(cmd, args)
		if err != nil {
			return err
		}
		if len(names) > 1 {
			return a.assessMany(names, &f)
		}
		cs, err := a.readCase(names[0], &f)
		if err != nil {
			return err
		}
		answer, err := advice.Assess(cs)
		if err != nil {
			return about(names[0], err)
		}
		if a.json {
			if err := a.writeJSON(answer); err != nil {
				return err
			}
		} else if err := a.printAssessment(&cs, &answer, withRound); err != nil {
			return err
		}
		return a.strictly(answer.Verdict.Outcome == thwart.Launch)
	})
	return cmd
}

// strictly ends a command with code 3 where --strict was asked for and the answer is not the good one.
func (a *app) strictly(good bool) error {
	if a.strict && !good {
		return notMet{}
	}
	return nil
}

// assessed is one file of several.
type assessed struct {
	File       string              `json:"file"`
	Assessment *advice.Assessment  `json:"assessment,omitempty"`
	Errors     []thwart.FieldError `json:"errors,omitempty"` // why the file could not be taken
}

func (a *app) assessMany(names []string, f *caseFlags) error {
	var refused []error
	rows := make([]assessed, 0, len(names))
	launch := true
	for _, name := range names {
		row := assessed{File: name}
		cs, err := a.readCase(name, f)
		if err == nil {
			var answer advice.Assessment
			if answer, err = advice.Assess(cs); err == nil {
				row.Assessment = &answer
				launch = launch && answer.Verdict.Outcome == thwart.Launch
			}
			err = about(name, err)
		}
		if err != nil {
			refused = append(refused, err)
			var fields thwart.FieldErrors
			if !errors.As(err, &fields) {
				fields = thwart.FieldErrors{{Field: "file", Value: name, Accepted: err.Error()}}
			}
			row.Errors = fields
		}
		rows = append(rows, row)
	}
	// The files that could be taken are answered even when others are refused; the exit code and the messages tell of those.
	if a.json {
		if err := a.writeJSON(rows); err != nil {
			return err
		}
	} else {
		a.printSummary(rows)
	}
	if len(refused) > 0 {
		return answered{errors.Join(refused...)}
	}
	return a.strictly(launch)
}

func (a *app) printSummary(rows []assessed) {
	p := a.print()
	dir := sharedDir(rows)
	if dir != "." {
		p.line("In %s:", dir)
	}
	table := [][]string{{"file", "now", "then", "risk", "why"}}
	for _, r := range rows {
		if r.Assessment == nil {
			table = append(table, []string{below(dir, r.File), "-", "-", "-", "could not be taken, see the message"})
			continue
		}
		v := &r.Assessment.Verdict
		then := "-"
		if v.Now != v.Outcome {
			then = advice.Plate(v.Outcome)
		}
		why := strings.TrimSuffix(v.Reasons[0].Text, ".")
		if more := len(v.Reasons) - 1; more > 0 {
			why = fmt.Sprintf("%s (of %d)", why, len(v.Reasons))
		}
		risk := "-" // nothing to work out
		if len(r.Assessment.Risk.ByOrganism) > 0 {
			risk = percent(r.Assessment.Risk.Chance.Mid)
		}
		table = append(table, []string{below(dir, r.File), advice.Plate(v.Now), then, risk, p.say(why)})
	}
	p.oneLine(table)
}

// sharedDir is the folder that all files are in, or "." where they are in several.
func sharedDir(rows []assessed) string {
	dir := filepath.Dir(rows[0].File)
	for _, r := range rows {
		if filepath.Dir(r.File) != dir {
			return "."
		}
	}
	return dir
}

// below names a file without the folder that was said before.
func below(dir, file string) string {
	if dir == "." {
		return file
	}
	return filepath.Base(file)
}

func (a *app) printAssessment(cs *thwart.Case, answer *advice.Assessment, withRound bool) error {
	p := a.print()
	names, err := placeNames(cs)
	if err != nil {
		return err
	}
	printPlate(p, &answer.Verdict, answer.Treatment)
	printVerdict(p, cs, &answer.Verdict, names)
	printRisk(p, &answer.Risk, names)
	if answer.Treatment != nil {
		printTreatment(p, answer.Treatment, names)
		if answer.Treatment.Dry != nil {
			printDry(p, answer.Treatment.Dry)
		}
	}
	if withRound {
		printRound(p, &answer.Round)
	}
	printFoot(p, answer.Verdict.Versions)
	return nil
}

// placeNames gives the names of the places of a case's craft by id.
func placeNames(cs *thwart.Case) (map[string]string, error) {
	places, err := advice.Places(cs.Inspection.Setup)
	if err != nil {
		return nil, err
	}
	names := make(map[string]string, len(places))
	for i := range places {
		names[places[i].ID] = places[i].Name
	}
	return names, nil
}

// oneCase makes a command that reads one case and prints or encodes one answer.
func oneCase[T any](a *app, cmd *cobra.Command, answer func(thwart.Case) (T, error), show func(*printer, *thwart.Case, T) error, good func(T) bool) *cobra.Command {
	var f caseFlags
	f.add(cmd)
	a.jsonFlag(cmd)
	cmd.Args = args(0, 1, "one case file, or - for standard input")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		names, err := a.files(cmd, args)
		if err != nil {
			return err
		}
		cs, err := a.readCase(names[0], &f)
		if err != nil {
			return err
		}
		v, err := answer(cs)
		if err != nil {
			return about(names[0], err)
		}
		if a.json {
			err = a.writeJSON(v)
		} else {
			err = show(a.print(), &cs, v)
		}
		if err != nil {
			return err
		}
		return a.strictly(good == nil || good(v))
	})
	return cmd
}

func (a *app) verdictCommand() *cobra.Command {
	cmd := oneCase(a, &cobra.Command{
		Use:   "verdict [case.json | -]",
		Short: "May it launch? The verdict with its reasons, alone",
		Long: "Verdict judges the three standards and gives the outcome with every reason, strictest first. Launch, fix here, wash," +
			" dry, hold: mildest first, and the strictest reason decides.",
		Example: `  thwart verdict case.json
  thwart verdict case.json --strict`,
	}, advice.Judge, func(p *printer, cs *thwart.Case, v thwart.Verdict) error {
		names, err := placeNames(cs)
		if err != nil {
			return err
		}
		printPlate(p, &v, nil)
		printVerdict(p, cs, &v, names)
		printFoot(p, v.Versions)
		return nil
	}, func(v thwart.Verdict) bool { return v.Outcome == thwart.Launch })
	a.strictFlag(cmd, "the craft may launch")
	a.fullFlag(cmd)
	return cmd
}

func (a *app) riskCommand() *cobra.Command {
	return oneCase(a, &cobra.Command{
		Use:   "risk [case.json | -]",
		Short: "How likely is something alive still aboard? With its interval and what adds most",
		Long: "Risk chains what is published of carrying, looking and surviving: the chance that something alive is still aboard after" +
			" this inspection, its 95 % interval, and the organisms and places that add most. It informs; it never overrules a failed" +
			" standard. The draws are seeded by the case, so the same case gives the same figures.",
		Example: `  thwart risk case.json
  thwart risk case.json --json`,
	}, advice.RiskOf, func(p *printer, cs *thwart.Case, r thwart.Risk) error {
		names, err := placeNames(cs)
		if err != nil {
			return err
		}
		printRisk(p, &r, names)
		return nil
	}, nil)
}

func (a *app) treatCommand() *cobra.Command {
	cmd := oneCase(a, &cobra.Command{
		Use:   "treat [case.json | -]",
		Short: "What is it owed? The work in order, with temperatures, times, water and fuel",
		Long: "Treat writes the work order of a craft that may not launch as it stands: what comes off by hand, what drains, what is" +
			" washed at which temperature, read where, for how long, and what that takes. A step that cannot be done with the water" +
			" at hand says why and what else may be done. A craft that may launch is owed nothing.",
		Example: `  thwart treat case.json
  thwart treat case.json --units us`,
	}, treatment, func(p *printer, cs *thwart.Case, t *thwart.Treatment) error {
		names, err := placeNames(cs)
		if err != nil {
			return err
		}
		if t == nil {
			p.line("Nothing is owed: the craft may launch.")
			return nil
		}
		printTreatment(p, t, names)
		p.sources()
		return nil
	}, nil)
	a.fullFlag(cmd)
	return cmd
}

// treatment is the treatment, or nil where none is owed: that is an answer and no error.
func treatment(cs thwart.Case) (*thwart.Treatment, error) {
	t, err := advice.Treat(cs)
	if errors.Is(err, advice.ErrNothingOwed) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &t, nil
}

func (a *app) dryCommand() *cobra.Command {
	return oneCase(a, &cobra.Command{
		Use:   "dry [case.json | -]",
		Short: "When is it dry enough? Every clock, and the one that decides",
		Long: "Dry works out every drying clock of the craft: the protocol's own table and the published drying data of what it may" +
			" carry. Each says when it started, when it ends and why, or why no time can be given. Without weather the past earns" +
			" nothing and the time ahead is taken as cool and damp.",
		Example: `  thwart dry case.json --weather weather.csv --ahead 20C/50%
  thwart dry case.json --protocol utah`,
	}, advice.DryClock, func(p *printer, _ *thwart.Case, h thwart.DryHold) error {
		printDry(p, &h)
		p.sources()
		return nil
	}, nil)
}

// answered is a refusal of part of the input: what could be answered stands on standard output.
type answered struct{ error }

func (e answered) Unwrap() error { return e.error }

// list joins names for a sentence: a, b and c.
func list(names []string, last string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + last + " " + names[len(names)-1]
}
