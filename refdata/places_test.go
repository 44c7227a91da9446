package refdata

import (
	"errors"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func TestCheckPlaces(t *testing.T) {
	if err := CheckPlaces(); err != nil {
		t.Fatal(err)
	}
}

// TestRequiredCraft: no class, drive, compartment or kind of gear that the trade speaks of is missing.
func TestRequiredCraft(t *testing.T) {
	for _, id := range []string{
		"open_aluminium_fishing", "bass_boat", "runabout", "cabin_cruiser", "pontoon", "wake_boat", "sailboat_centreboard",
		"sailboat_keel", "personal_watercraft", "canoe_kayak", "paddleboard", "jon_duck_boat", "houseboat", "raft_drift_boat",
		"row_utility", "inflatable", "float_tube", "seaplane_floats", "dock_or_lift", "other",
	} {
		if _, ok := CraftClassByID(id); !ok {
			t.Errorf("no class %s", id)
		}
	}
	var drives, spaces []string
	for _, d := range DriveFactsList() {
		drives = append(drives, d.ID)
	}
	for _, s := range SpaceFactsList() {
		spaces = append(spaces, s.ID)
	}
	if !slices.Equal(drives, craftDrives) || !slices.Equal(spaces, craftSpaces) {
		t.Errorf("drives %v and spaces %v; want each of %v and %v once", drives, spaces, craftDrives, craftSpaces)
	}
	for _, id := range []string{
		"anchor_and_rope", "dock_lines", "life_jackets", "throwable_float", "paddles", "skis_boards", "tow_tube_rope", "nets",
		"waders_boots", "bait_bucket", "downriggers", "fishing_line", "decoys", "cooler", "wetsuit_dive_gear", "fenders",
		"cover_tarp", "push_pole_anchor",
	} {
		if _, ok := GearKindByID(id); !ok {
			t.Errorf("no gear %s", id)
		}
	}
}

// TestUsualSizes holds the recalled sizes to what is published: of registered vessels in the United States 95 % are under
// 26 ft, wake boats are 21 to 26 ft long and carry 2,500 to over 5,500 lb of ballast (trade press, sources P52 and P51).
func TestUsualSizes(t *testing.T) {
	const footM, poundKg = 0.3048, 0.45359237
	long := 0
	for _, c := range CraftClasses() {
		if c.LengthM > 26*footM {
			long++
		}
	}
	if long > 1 { // the houseboat
		t.Errorf("%d classes are usually longer than 26 ft", long)
	}
	wake, _ := CraftClassByID("wake_boat")
	if wake.LengthM < 21*footM || wake.LengthM > 26*footM {
		t.Errorf("wake boat %g m, published 21 to 26 ft", wake.LengthM)
	}
	ballast := 0.0
	for _, s := range wake.Spaces {
		if s.Kind == "ballast_tank" {
			ballast += float64(s.Count) * s.VolumeL
		}
	}
	if ballast < 2500*poundKg || ballast > 5500*poundKg { // a litre of lake water is a kilogram
		t.Errorf("wake boat with %g L of ballast, published %.0f to %.0f kg", ballast, 2500*poundKg, 5500*poundKg)
	}
}

// TestWeightsFollowThePublishedOrder: a panel on boat design ranked what is hardest to keep clean (2015 summit, in the
// reports on ABYC T-32): anchors, rode and lockers; storage tanks; bilge; intake systems; live wells; trim tabs;
// generators; air conditioning; boarding ladders. The places of each rank together weigh in that order.
func TestWeightsFollowThePublishedOrder(t *testing.T) {
	ranks := []struct {
		name string
		rows map[string]float64 // row and how many of it a craft usually has
	}{
		{"anchors, rode and lockers", map[string]float64{"gear.anchor_and_rope": 1, "locker": 1}},
		{"storage tanks", map[string]float64{"ballast_tank": 2}},
		{"bilge", map[string]float64{"bilge": 1, "transom.plug": 1}},
		{"intake systems", map[string]float64{"outboard.lower_unit": 1, "outboard.passages": 1}},
		{"live wells", map[string]float64{"live_well": 1}},
		{"trim tabs", map[string]float64{"transom.trim_tabs": 2}},
		{"generators", map[string]float64{"inside.generator": 1}},
		{"air conditioning", map[string]float64{"inside.air_conditioning": 1}},
		{"boarding ladders", map[string]float64{"transom.swim_platform": 1}},
	}
	for i, r := range ranks {
		sum := 0.0
		for id, n := range r.rows {
			p, ok := PlaceRowByID(id)
			if !ok {
				t.Fatalf("no place %s", id)
			}
			sum += n * p.Weight
			if !strings.Contains(p.WeightFrom, "P33") {
				t.Errorf("%s: weight from %q, want the ranking of P33", id, p.WeightFrom)
			}
		}
		if want := float64(len(ranks) - i); sum != want {
			t.Errorf("rank %d, %s: weight %g, want %g", i+1, r.name, sum, want)
		}
	}
	for _, id := range []string{"inboard.intake inboard.strainer inboard.passages", "sterndrive.leg sterndrive.passages", "pod.leg pod.strainer pod.passages", "inboard_jet.intake inboard_jet.passages"} {
		sum := 0.0
		for _, row := range strings.Fields(id) {
			p, _ := PlaceRowByID(row)
			sum += p.Weight
		}
		if sum != 6 {
			t.Errorf("%s: weight %g, want the 6 of intake systems", id, sum)
		}
	}
}

// TestTrailerAgainstAnchor: zebra mussels left on plants on the trailer of 5.3 % of craft and on the anchor of 0.9 %
// (Johnson, Ricciardi & Carlton 2001, recalled), a ratio of 5.9; the trailer's places together keep it to a tenth.
func TestTrailerAgainstAnchor(t *testing.T) {
	anchor, _ := PlaceRowByID("gear.anchor_and_rope")
	sum := 0.0
	for _, p := range PlaceRows() {
		if p.Zone != "trailer" || strings.Contains(p.ID, "roller") {
			continue
		}
		n := 1.0
		if p.Mirror {
			n = 2
		}
		sum += n * p.Weight
	}
	if ratio := sum / anchor.Weight; ratio < 5.9*0.9 || ratio > 5.9*1.1 {
		t.Errorf("trailer on bunks weighs %.2f anchors, want 5.9 (5.3 %% against 0.9 %%)", ratio)
	}
}

func TestFindCraftClass(t *testing.T) {
	for name, want := range map[string]string{
		"bass": "bass_boat", "Bass Boat": "bass_boat", "bass-boat": "bass_boat", "bowrider": "runabout", "SUP": "paddleboard",
		"wakeboat": "wake_boat", "pwc": "personal_watercraft", "kayak": "canoe_kayak", "lift": "dock_or_lift",
	} {
		if c, err := FindCraftClass(name); err != nil || c.ID != want {
			t.Errorf("%q: %s, %v; want %s", name, c.ID, err, want)
		}
	}
	for name, near := range map[string]string{"pontoon bote": "pontoon", "duck": "jon_duck_boat", "canoo": "canoe_kayak", "house": "houseboat"} {
		_, err := FindCraftClass(name)
		var unknown *UnknownName
		if !errors.As(err, &unknown) || !slices.Contains(unknown.Near, near) {
			t.Errorf("%q: %v, want %s among the similar", name, err, near)
		}
	}
	if _, err := FindCraftClass("  "); err == nil {
		t.Error("an empty name was found")
	}
	if g, err := FindGearKind("waders"); err != nil || g.ID != "waders_boots" {
		t.Errorf("waders: %s, %v", g.ID, err)
	}
	if _, err := FindGearKind("anchr"); err == nil || !strings.Contains(err.Error(), "anchor_and_rope") {
		t.Errorf("anchr: %v", err)
	}
}

// TestCraftNamesAreUnique: no name leads to two classes or two kinds of gear.
func TestCraftNamesAreUnique(t *testing.T) {
	of := map[string]string{}
	one := func(id, name string) {
		n := plainName(name)
		if old, ok := of[n]; ok && old != id {
			t.Errorf("%q names %s and %s", name, old, id)
		}
		of[n] = id
	}
	for _, c := range CraftClasses() {
		for _, n := range append([]string{c.ID, c.Name}, c.Words...) {
			one(c.ID, n)
		}
	}
	clear(of)
	for _, g := range GearKinds() {
		for _, n := range append([]string{g.ID, g.Name}, g.Words...) {
			one(g.ID, n)
		}
	}
}

// taskSaid are the words by which a text asks for a task.
var taskSaid = map[string]*regexp.Regexp{
	"look": regexp.MustCompile(`(?i)\b(look|see|watch|count|read|turn each|with the craft turned|run a)`),
	"feel": regexp.MustCompile(`(?i)\b(feel|press|squeeze|run a|wipe|turn each|hand)`),
	"ask":  regexp.MustCompile(`(?i)\bask`),
	"open": regexp.MustCompile(`(?i)\b(open|lid|into each|see the plug out|pump each)`),
	"tip":  regexp.MustCompile(`(?i)\b(tip|water runs out|raise)`),
}

var sentenceEnd = regexp.MustCompile(`[.?!:]( |$)`)

// TestPlaceWordsArePlain: short sentences that end, and no order that only the owner may carry out.
func TestPlaceWordsArePlain(t *testing.T) {
	never := regexp.MustCompile(`(?i)(start|run) the (engine|motor)|open the seacock|(go|get|crawl|lie) (under|beneath)`)
	for _, p := range PlaceRows() {
		for _, text := range []string{p.Say, p.Start, p.Why} {
			if text == "" {
				continue
			}
			if !strings.HasSuffix(text, ".") || text[0] < 'A' || text[0] > 'Z' {
				t.Errorf("%s: %q is not a sentence", p.ID, text)
			}
			for _, s := range sentenceEnd.Split(text, -1) {
				if n := len(strings.Fields(s)); n > 20 {
					t.Errorf("%s: %d words: %q", p.ID, n, s)
				}
			}
			if m := never.FindString(text); m != "" {
				t.Errorf("%s tells a steward to %s", p.ID, m)
			}
		}
		if p.Start != "" && !strings.HasPrefix(p.Start, "Ask the owner") && !strings.HasPrefix(p.Start, "Ask the pilot") {
			t.Errorf("%s: %q is not asked of the owner", p.ID, p.Start)
		}
		// An opening that a steward has not been let into is opened by its owner, or carefully by the steward; what is
		// hidden is never said to be looked into.
		if p.Hidden && slices.Contains(p.Tasks, "open") {
			t.Errorf("%s cannot be seen into and is to be opened", p.ID)
		}
		for _, task := range []string{"feel", "ask", "open", "tip", "look"} {
			// A drive that is lowered is looked at for what ran out; the question about it was put before the walk.
			if slices.Contains(p.Tasks, task) && !taskSaid[task].MatchString(p.Say) && !(task == "ask" && slices.Contains(p.Tasks, "lower")) {
				t.Errorf("%s: %q does not say to %s", p.ID, p.Say, task)
			}
		}
	}
}

// TestBadCells: what a slip of the pen would do to the tables of craft and places is refused, with the cell named.
func TestBadCells(t *testing.T) {
	read := func(column, cell string, parse func(*row) any) error {
		fs := fstest.MapFS{"t.csv": {Data: []byte(column + ",source,known,note\n\"" + cell + "\",\"common practice, no source\",common practice,\n")}}
		_, err := readTable(fs, "t.csv", []string{column, "source", "known", "note"}, nil, func(r *row) any {
			v := parse(r)
			r.provenance()
			return v
		})
		return err
	}
	for _, c := range []struct {
		cell string
		how  func(*row) any
		says string
	}{
		{"steam", func(r *row) any { return r.drives("c") }, "outboard"},
		{"outboard:9", func(r *row) any { return r.drives("c") }, "from 2 to 4"},
		{"", func(r *row) any { return r.drives("c") }, "at least one drive"},
		{"bilge", func(r *row) any { return r.spaces("c") }, "kind:count"},
		{"bilge:0", func(r *row) any { return r.spaces("c") }, "count from 1"},
		{"sauna:1", func(r *row) any { return r.spaces("c") }, "ballast_tank"},
		{"bilge:1:-3", func(r *row) any { return r.spaces("c") }, "litres"},
		{"drive:steam", func(r *row) any { return r.selector("c") }, "outboard"},
		{"colour:red", func(r *row) any { return r.selector("c") }, "class:"},
		{"trailered:yes", func(r *row) any { return r.selector("c") }, "trailered"},
		{"profile", func(r *row) any { return r.selector("c") }, "profile:"},
		{"sledge", func(r *row) any { return r.unknownOr("c", craftTrailers) }, "cradle"},
	} {
		if err := read("c", c.cell, c.how); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want an error that says %q", c.cell, err, c.says)
		}
	}
	good := map[string]func(*row) any{
		"outboard:2;unknown":                                         func(r *row) any { return r.drives("c") },
		"bilge:unknown;live_well:2:75":                               func(r *row) any { return r.spaces("c") },
		"drive:hand !class:canoe_kayak or gear:paddles or trailered": func(r *row) any { return r.selector("c") },
		"unknown": func(r *row) any { return r.unknownOr("c", craftTrailers) },
	}
	for cell, how := range good {
		if err := read("c", cell, how); err != nil {
			t.Errorf("%q: %v", cell, err)
		}
	}
}

// TestPlaceRowsAreRead: every row exists for at least one class, and an Each row says what it counts.
func TestPlaceRowsAreRead(t *testing.T) {
	for _, p := range PlaceRows() {
		if p.Each {
			if by := p.Counted(); len(by.Words) == 0 {
				t.Errorf("%s counts nothing", p.ID)
			}
		}
		possible := slices.ContainsFunc(CraftClasses(), func(c CraftClass) bool {
			return slices.ContainsFunc(p.When, func(clause []Term) bool {
				return !slices.ContainsFunc(clause, func(term Term) bool {
					is := map[string]string{"class": c.ID, "profile": c.Profile, "complexity": c.Complexity}[term.Of]
					return is != "" && slices.Contains(term.Words, is) == term.Not
				})
			})
		})
		if !possible {
			t.Errorf("%s exists for no class", p.ID)
		}
	}
}
