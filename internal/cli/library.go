package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"thwart/refdata"
	"thwart/unit"
)

func (a *app) craftCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "craft [name]",
		Short: "The craft classes of the library, their drives, compartments and gear",
		Long: "Craft lists the words a setup may use: classes of craft, drives, compartments and kinds of loose gear. With a name it" +
			" shows one of them: what is usual for it and what is known of where water stays.",
		Example: `  thwart craft
  thwart craft wake_boat
  thwart craft sterndrive`,
		Args: args(0, 1, "one name, in quotes if it has spaces, or none for the list"),
	}
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return a.listCraft()
		}
		return a.showCraft(args[0])
	})
	return cmd
}

// craftLists is all that a setup may name.
type craftLists struct {
	Classes []refdata.CraftClass `json:"classes"`
	Drives  []refdata.DriveFacts `json:"drives"`
	Spaces  []refdata.SpaceFacts `json:"spaces"`
	Gear    []refdata.GearKind   `json:"gear"`
}

func (a *app) listCraft() error {
	all := craftLists{refdata.CraftClasses(), refdata.DriveFactsList(), refdata.SpaceFactsList(), refdata.GearKinds()}
	if a.json {
		return a.writeJSON(records(all))
	}
	p := a.print()
	rows := [][]string{{"class", "usual length", "drives", "name"}}
	for _, c := range all.Classes {
		rows = append(rows, []string{c.ID, p.units.Length(c.LengthM), drives(c.Drives), c.Name})
	}
	p.table(0, rows)
	p.head("Drives")
	p.table(2, idsAndNames(all.Drives, func(d refdata.DriveFacts) (string, string) { return d.ID, d.Name }))
	p.head("Compartments")
	p.table(2, idsAndNames(all.Spaces, func(s refdata.SpaceFacts) (string, string) { return s.ID, s.Name }))
	p.head("Gear")
	p.table(2, idsAndNames(all.Gear, func(g refdata.GearKind) (string, string) { return g.ID, g.Name }))
	return nil
}

func idsAndNames[T any](list []T, of func(T) (string, string)) [][]string {
	rows := make([][]string, len(list))
	for i, v := range list {
		id, name := of(v)
		rows[i] = []string{id, name}
	}
	return rows
}

func drives(list []string) string {
	if len(list) == 0 {
		return "-"
	}
	var out []string
	for _, d := range list {
		if d == "" {
			d = "unknown"
		}
		if !slices.Contains(out, d) {
			out = append(out, d)
		}
	}
	return strings.Join(out, ", ")
}

func (a *app) showCraft(name string) error {
	id := strings.ReplaceAll(strings.ToLower(name), " ", "_")
	for _, d := range refdata.DriveFactsList() {
		if d.ID == id {
			return a.show(d, [][]string{
				{"takes water in", yesNo(d.TakesWaterIn)}, {"cooling", d.CoolingPath}, {"water stays in", d.WhereWaterStays},
				{"drain", d.Drain}, {"flush by", d.FlushBy}, {"caution", d.Caution},
			}, d.Name, d.Provenance)
		}
	}
	for _, s := range refdata.SpaceFactsList() {
		if s.ID == id {
			return a.show(s, [][]string{
				{"can be seen into", yesNo(!s.Hidden)}, {"empty by", s.EmptyBy}, {"holds, all together", a.volumes(s.TogetherLowL, s.TogetherHighL)},
				{"left after draining", a.volumes(s.ResidualL, nil)},
			}, s.Name, s.Provenance)
		}
	}
	if g, ok := refdata.GearKindByID(id); ok {
		return a.show(g, [][]string{{"rope, mesh or cloth", yesNo(g.Cloth)}, {"also called", strings.Join(g.Words, ", ")}}, g.Name, g.Provenance)
	}
	c, err := refdata.FindCraftClass(name)
	if err != nil {
		return err
	}
	var spaces []string
	for _, u := range c.Spaces {
		text := u.Kind
		switch {
		case u.Count == refdata.CountNotKnown:
			text += " (number not known)"
		case u.Count > 1:
			text = fmt.Sprintf("%d × %s", u.Count, u.Kind)
		}
		if u.VolumeL > 0 {
			text += " of " + a.units.Volume(u.VolumeL)
		}
		spaces = append(spaces, text)
	}
	trailer := c.Trailer
	if trailer == "" {
		trailer = "not known"
	}
	return a.show(c, [][]string{
		{"id", c.ID}, {"also called", strings.Join(c.Words, ", ")}, {"kind", plain(c.Complexity)},
		{"length", fmt.Sprintf("%s (%s to %s)", a.units.Length(c.LengthM), a.units.Length(c.MinLengthM), a.units.Length(c.MaxLengthM))},
		{"beam", a.units.Length(c.BeamM)}, {"usual drives", drives(c.Drives)}, {"usual compartments", strings.Join(spaces, ", ")},
		{"usual trailer", trailer}, {"usual gear", strings.Join(c.Gear, ", ")},
	}, c.Name, c.Provenance)
}

// show prints one row of the library: its name, its facts, and where they come from.
func (a *app) show(v any, facts [][]string, name string, from refdata.Provenance) error {
	if a.json {
		return a.writeJSON(records(v))
	}
	p := a.print()
	p.line("%s", strings.ToUpper(name[:1])+name[1:])
	facts = slices.DeleteFunc(facts, func(row []string) bool { return row[1] == "" })
	facts = append(facts, []string{"source", from.Cite()})
	if from.Note != "" {
		facts = append(facts, []string{"note", from.Note})
	}
	p.table(2, facts)
	return nil
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func (a *app) volumes(low, high *float64) string {
	switch {
	case low == nil && high == nil:
		return "not known"
	case high == nil || low != nil && *low == *high:
		return a.units.Volume(*low)
	case low == nil:
		return "up to " + a.units.Volume(*high)
	}
	return a.units.Volume(*low) + " to " + a.units.Volume(*high)
}

func (a *app) organismsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "organisms [name]",
		Short: "The organisms of the library, and what clears each stage of them",
		Long: "Organisms lists what craft are looked over for. With a name (id, common, scientific or an old one) it shows every stage:" +
			" how it rides along, whether it can be seen or felt, and what heat and drying are published to kill it. Where nothing" +
			" is published, that is said; it is never taken as harmless.",
		Example: `  thwart organisms
  thwart organisms quagga_mussel
  thwart organisms "Dreissena polymorpha" --json`,
		Args: args(0, 1, "one name, in quotes if it has spaces, or none for the list"),
	}
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return a.listOrganisms()
		}
		o, err := refdata.FindOrganism(args[0])
		if err != nil {
			return err
		}
		return a.showOrganism(o)
	})
	return cmd
}

func (a *app) listOrganisms() error {
	all := refdata.Organisms()
	if a.json {
		return a.writeJSON(records(all))
	}
	rows := [][]string{{"id", "group", "scientific name", "common name"}}
	for _, o := range all {
		rows = append(rows, []string{o.ID, plain(o.Group), o.Scientific, o.Common})
	}
	a.print().table(0, rows)
	return nil
}

// organismAnswer is an organism with its stages and the models behind them.
type organismAnswer struct {
	Organism refdata.Organism      `json:"organism"`
	Stages   []refdata.Stage       `json:"stages"`
	Heat     []refdata.HeatProfile `json:"heatProfiles"`
	Drying   []refdata.DryingDose  `json:"dryingDoses"`
}

func (a *app) showOrganism(o refdata.Organism) error {
	answer := organismAnswer{Organism: o, Stages: refdata.Stages(o.ID)}
	for _, s := range answer.Stages {
		for _, id := range []string{s.HeatSpray, s.HeatImmersion} {
			if h, ok := refdata.HeatProfileByID(id); ok && !slices.ContainsFunc(answer.Heat, func(x refdata.HeatProfile) bool { return x.ID == h.ID }) {
				answer.Heat = append(answer.Heat, h)
			}
		}
		if d, ok := refdata.DryingDoseByID(s.Drying.ID); ok && s.Drying.Kind == refdata.ModelDose {
			answer.Drying = append(answer.Drying, d)
		}
	}
	if a.json {
		return a.writeJSON(records(answer))
	}
	p := a.print()
	p.line("%s (%s)", strings.ToUpper(o.Common[:1])+o.Common[1:], words(" ", o.Scientific, o.Authority))
	facts := [][]string{{"id", o.ID}, {"group", plain(o.Group)}}
	if len(o.Synonyms) > 0 {
		facts = append(facts, []string{"also called", strings.Join(o.Synonyms, ", ")})
	}
	p.table(2, append(facts, []string{"names from", strings.TrimSpace(p.cite(o.Cite()))}))
	for _, s := range answer.Stages {
		p.head("%s", strings.ToUpper(plain(s.Name)[:1])+plain(s.Name)[1:])
		p.table(2, stageFacts(p, &s))
	}
	p.sources()
	return nil
}

func stageFacts(p *printer, s *refdata.Stage) [][]string {
	var ways []string
	for _, c := range s.Carried {
		ways = append(ways, plain(c))
	}
	seen := map[refdata.Seen]string{refdata.SeenYes: "can be seen", refdata.SeenHard: "hard to see", refdata.SeenNo: "cannot be seen"}[s.Seen]
	if s.Felt {
		seen += ", can be felt"
	}
	hand := "not by hand"
	if s.HandRemoval {
		hand = "comes off by hand"
	}
	facts := [][]string{
		{"rides along", strings.Join(ways, ", ") + "; " + seen + "; " + hand},
		{"hot spray", heatWords(p, s.HeatSpray)},
		{"hot immersion", heatWords(p, s.HeatImmersion)},
		{"drying", dryingWords(p, s)},
		{"source", strings.TrimSpace(p.cite(s.Cite()))},
	}
	if s.Note != "" {
		facts = append(facts, []string{"note", s.Note})
	}
	return facts
}

func heatWords(p *printer, id string) string {
	h, ok := refdata.HeatProfileByID(id)
	if !ok {
		return "nothing published is shown to kill it this way"
	}
	text := fmt.Sprintf("%s for %s (grade %s", p.units.Temp(h.RefTempC), unit.Duration(h.RefTimeS), h.Grade)
	if !h.MayClear() {
		text += ", shown and never used to clear"
	}
	return text + ")" + p.cite(h.Cite())
}

func dryingWords(p *printer, s *refdata.Stage) string {
	switch s.Drying.Kind {
	case refdata.ModelNever:
		return "never clears it"
	case refdata.ModelWeibull:
		return "published curves of mussels in air (" + s.Drying.ID + "), by temperature and humidity"
	case refdata.ModelDose:
		d, _ := refdata.DryingDoseByID(s.Drying.ID)
		if d.ClearKPaH == nil {
			return "never clears it"
		}
		text := fmt.Sprintf("%g kPa·h of open drying", *d.ClearKPaH)
		if d.MinH != nil {
			text += fmt.Sprintf(" and at least %s", unit.Duration(3600**d.MinH))
		}
		return text + fmt.Sprintf(" (grade %s)", d.Grade) + p.cite(d.Cite())
	}
	return "nothing is known that clears it"
}

func (a *app) sourcesCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "sources [id or words]",
		Short: "The papers, rules and pages the library cites, and how each was read",
		Long: "Sources lists every source of the library. An id shows one; other words list the sources whose citation holds them all." +
			" \"Not seen\" means that the text was never read and its numbers are recalled: they clear nothing.",
		Example: `  thwart sources
  thwart sources S01
  thwart sources overland mussel`,
		Args: cobra.ArbitraryArgs,
	}
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		list := refdata.Sources()
		if len(args) == 1 {
			if s, ok := refdata.SourceByID(strings.ToUpper(args[0])); ok {
				list = []refdata.Source{s}
			}
		}
		if len(list) > 1 {
			list = slices.DeleteFunc(list, func(s refdata.Source) bool {
				text := strings.ToLower(s.ID + " " + s.Citation + " " + s.Where)
				return slices.ContainsFunc(args, func(w string) bool { return !strings.Contains(text, strings.ToLower(w)) })
			})
		}
		if len(list) == 0 {
			return fmt.Errorf("no source holds %q; accepted: an id such as S01, or words of a citation", strings.Join(args, " "))
		}
		if a.json {
			return a.writeJSON(records(list))
		}
		p := a.print()
		for _, s := range list {
			p.item(0, s.ID, words("; ", s.Citation, s.Where, "read: "+s.Seen, string(s.Known), s.Note)+".")
		}
		return nil
	})
	return cmd
}
