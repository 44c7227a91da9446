package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
	"thwart/unit"
)

// roundFlags describe a craft without a case file, and how it is walked.
type roundFlags struct {
	class, length, beam, trailer string
	drives, spaces, gear         []string
	from                         string
	reverse                      bool
	seconds                      string
}

func (a *app) roundCommand() *cobra.Command {
	var f roundFlags
	cmd := &cobra.Command{
		Use:   "round [case.json | -]",
		Short: "Where does the walk go? What to start draining first, then every stop in order",
		Long: "Round lists every place of a craft in the order a steward walks: first what has to start draining, then once round the" +
			" rig, aboard, and along the loose gear. It gives metres and seconds, and how far the walk is from a bound that no order" +
			" can beat. Nothing is left out.\n\n" +
			"The craft comes from a case, or from --class and the flags beside it; what is left out of those is taken as usual for" +
			" the class. With --seconds too short for the whole round, the time is shared out where it finds most, and what is given" +
			" up is said: a place without time does not count as looked at.",
		Example: `  thwart round case.json
  thwart round --class wake_boat
  thwart round --class bass_boat --length 5.8m --drive outboard --drive trolling_bow --space live_well:2:75L
  thwart round case.json --seconds 90
  thwart round --class runabout --from bow_port --reverse`,
		Args: args(0, 1, "one case file or - for standard input, or --class without a file"),
	}
	flags := cmd.Flags()
	flags.StringVar(&f.class, "class", "", "craft class, instead of a case (list them with: thwart craft)")
	flags.StringVar(&f.length, "length", "", "length of the craft, such as 6.5m or 21ft")
	flags.StringVar(&f.beam, "beam", "", "beam of the craft")
	flags.StringArrayVar(&f.drives, "drive", nil, "a drive; repeat for each one: "+oneOf(thwart.Drives)+", unknown")
	flags.StringArrayVar(&f.spaces, "space", nil, "a compartment as kind:count:volume, such as ballast_tank:3:500L; repeat for each kind, none for none")
	flags.StringArrayVar(&f.gear, "gear", nil, "a kind of loose gear; repeat for each, none for none")
	flags.StringVar(&f.trailer, "trailer", "", "how it is carried: "+oneOf(thwart.Trailers)+", unknown")
	flags.StringVar(&f.from, "from", "", "corner to start from: bow_port, bow_starboard, stern_starboard, stern_port")
	flags.BoolVar(&f.reverse, "reverse", false, "walk the other way round")
	flags.BoolVar(&a.full, "full", false, "show the id of every place, for writing a case")
	flags.StringVar(&f.seconds, "seconds", "", "time there is for looking, where it is short, such as 90 or 3min")
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		cs, err := a.roundCase(cmd, args, &f)
		if err != nil {
			return err
		}
		if f.seconds != "" {
			return a.shortRound(cs, f.seconds)
		}
		plan, err := makeRound(cs.Inspection.Setup, &f)
		if err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(plan)
		}
		p := a.print()
		p.line("%s", craftWords(p, &cs.Inspection.Setup))
		printRound(p, &plan)
		return nil
	})
	return cmd
}

// roundCase gives the case a round is for: from a file, or made of the flags.
func (a *app) roundCase(cmd *cobra.Command, args []string, f *roundFlags) (thwart.Case, error) {
	if f.class == "" {
		for _, name := range []string{"length", "beam", "drive", "space", "gear", "trailer"} {
			if cmd.Flags().Changed(name) {
				return thwart.Case{}, usage("--%s goes with --class; in a case, change the setup in the file", name)
			}
		}
		names, err := a.files(cmd, args)
		if err != nil {
			return thwart.Case{}, err
		}
		return a.readCase(names[0], &caseFlags{})
	}
	if len(args) > 0 {
		return thwart.Case{}, usage("a case file and --class were both given; accepted: one of them")
	}
	return a.classCase(f)
}

// classCase makes a case of the craft that the flags describe. A round asks nothing of the other fields: the waters are
// unknown, which puts every organism at risk.
func (a *app) classCase(f *roundFlags) (thwart.Case, error) {
	class, err := refdata.FindCraftClass(f.class)
	if err != nil {
		return thwart.Case{}, err
	}
	r := amounts{units: a.units}
	s := thwart.Setup{
		Class: class.ID, LengthM: r.get(length, "length", f.length), BeamM: r.get(length, "beam", f.beam),
		Trailer: word(&r, "trailer", f.trailer, thwart.Trailers),
	}
	for _, d := range f.drives {
		s.Drives = append(s.Drives, word(&r, "drive", d, thwart.Drives))
	}
	if f.trailer == "" {
		s.Trailer = thwart.Trailer(class.Trailer)
	}
	if len(s.Drives) == 0 {
		for _, d := range class.Drives {
			s.Drives = append(s.Drives, thwart.Drive(d))
		}
	}
	s.Gear = none(f.gear)
	switch given := none(f.spaces); {
	case given == nil:
		s.Spaces = []thwart.Space{}
		for _, u := range class.Spaces {
			s.Spaces = append(s.Spaces, thwart.Space{Kind: thwart.SpaceKind(u.Kind), Count: thwart.Count(u.Count), VolumeL: u.VolumeL})
		}
	default:
		s.Spaces = append([]thwart.Space{}, r.spaces("space", given)...)
	}
	if err := r.err(); err != nil {
		return thwart.Case{}, err
	}
	return thwart.Case{
		Inspection: thwart.Inspection{StartedAt: time.Unix(0, 0).UTC(), Setup: s},
		ProtocolID: advice.Protocols()[0].ID,
	}, nil
}

// none turns the single word none into an empty list, which says that there are none; no word at all stays nil.
func none(list []string) []string {
	if len(list) == 1 && list[0] == "none" {
		return []string{}
	}
	return list
}

func makeRound(s thwart.Setup, f *roundFlags) (advice.RoundPlan, error) {
	places, err := advice.Places(s)
	if err != nil {
		return advice.RoundPlan{}, err
	}
	opt := advice.RoundOptions{Start: f.from}
	if f.reverse {
		return advice.RoundReversed(places, s, opt)
	}
	return advice.Round(places, s, opt)
}

func (a *app) shortRound(cs thwart.Case, budget string) error {
	r := amounts{units: a.units}
	s := r.get(seconds, "seconds", budget)
	if err := r.err(); err != nil {
		return err
	}
	plan, err := advice.ShortOfTime(cs, s)
	if err != nil {
		return err
	}
	if a.json {
		return a.writeJSON(plan)
	}
	p := a.print()
	p.line("%s", craftWords(p, &cs.Inspection.Setup))
	printShort(p, &plan)
	return nil
}

var cornerWords = map[string]string{
	"bow_port": "the port side of the bow", "bow_starboard": "the starboard side of the bow",
	"stern_starboard": "the starboard side of the stern", "stern_port": "the port side of the stern",
}

// legs are the three stretches of a round.
var legs = map[thwart.Zone]string{
	thwart.ZoneTow: "Round the rig", thwart.ZoneHull: "Round the rig", thwart.ZoneTransom: "Round the rig", thwart.ZoneTrailer: "Round the rig",
	thwart.ZoneAboard: "Aboard", thwart.ZoneGear: "Gear, laid out behind the rig",
}

func printRound(p *printer, plan *advice.RoundPlan) {
	p.head("Round: %s at %s, %s, %s walked", plural(len(plan.Stops), "stop", "stops"), plural(plan.Stations, "stand", "stands"),
		unit.Duration(plan.TotalS), p.units.Length(plan.WalkM))
	for _, text := range plan.Before {
		p.item(2, "!", text)
	}
	if len(plan.First) > 0 {
		p.head("First, so that water has time to run")
		for _, s := range plan.First {
			var stops []string
			for _, n := range s.Stops {
				stops = append(stops, fmt.Sprint(n))
			}
			p.item(2, "-", fmt.Sprintf("%s (seen again at %s)", s.Say, stopsWord(stops)))
		}
	}
	begin := "Walk"
	if len(plan.First) > 0 {
		begin = "Then walk"
	}
	p.head("%s from %s, %s", begin, cornerWords[plan.Start], plan.Direction)
	leg := ""
	var told []string // cautions already given in full: later stops name their letter
	for i := range plan.Stops {
		s := &plan.Stops[i]
		if legs[s.Zone] != leg {
			leg = legs[s.Zone]
			p.line("")
			p.line("  %s", leg)
		}
		name := s.Name
		if p.full {
			name += " [" + s.Place + "]"
		}
		p.item(0, fmt.Sprintf("%4d  %5s  %6s  %-7s", s.Number, clock(s.AtS), p.units.Length(math.Round(s.WalkedM)), s.Posture), name)
		const in = 28
		text := p.say(s.Say)
		var fresh []string
		for _, c := range s.Cautions {
			n := slices.Index(told, c)
			if n < 0 {
				n = len(told)
				told = append(told, c)
				fresh = append(fresh, fmt.Sprintf("(%s) %s", caution(n), c))
				continue
			}
			text += fmt.Sprintf(" !(%s)", caution(n))
		}
		p.para(in, text)
		for _, c := range fresh {
			p.item(in, "!", p.say(c))
		}
	}
	p.line("")
	p.para(0, fmt.Sprintf("Takes %s: asking %s, looking %s, walking %s, getting up, down and aboard %s. No order of these stops takes less than %s;"+
		" this one is %s above that.", unit.Duration(plan.TotalS), unit.Duration(plan.StartS), unit.Duration(plan.LookS),
		unit.Duration(plan.WalkS), unit.Duration(plan.PostureS), unit.Duration(plan.LowerBoundS), percent(plan.GapPct/100)))
	p.para(0, "Columns: stop, minute and second it begins, distance walked, posture, place. !(a) stands for the caution that was given in full at (a).")
}

func stopsWord(stops []string) string {
	if len(stops) == 1 {
		return "stop " + stops[0]
	}
	return "stops " + list(stops, "and")
}

// clock writes seconds as minutes and seconds.
func clock(s float64) string {
	n := int(math.Round(s))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}

func printShort(p *printer, t *advice.TimePlan) {
	p.head("Short of time: %s of looking where the full round takes %s", unit.Duration(t.BudgetS), unit.Duration(t.FullS))
	p.para(0, fmt.Sprintf("If something is aboard at one place, this finds it with a chance of %s; the full round, %s.", percent(t.Detection), percent(t.FullDetection)))
	rows := [][]string{{"seconds", "of", "given up", "place"}}
	for _, s := range t.Spots {
		if s.Seconds == 0 {
			continue
		}
		rows = append(rows, []string{fmt.Sprintf("%7.0f", s.Seconds), fmt.Sprintf("%.0f", s.FullS), percent(s.GivenUp), s.Name})
	}
	p.line("")
	p.table(2, rows)
	if len(t.Skipped) > 0 {
		names := map[string]string{}
		lost := 0.0
		for _, s := range t.Spots {
			names[s.Place] = s.Name
			if s.Seconds == 0 {
				lost += s.GivenUp
			}
		}
		p.head("Not looked at (%d, giving up %s)", len(t.Skipped), percent(lost))
		p.para(2, strings.Join(placeList(names, t.Skipped), "; ")+".")
	}
	p.line("")
	for _, n := range t.Notes {
		p.item(0, "-", n)
	}
}
