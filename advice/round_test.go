package advice_test

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

func roundOf(t testing.TB, s thwart.Setup, opt advice.RoundOptions) ([]thwart.Place, advice.RoundPlan) {
	t.Helper()
	places := placesOf(t, s)
	plan, err := advice.Round(places, s, opt)
	if err != nil {
		t.Fatalf("%+v, %+v: %v", s, opt, err)
	}
	return places, plan
}

// TestRoundVisitsEveryPlaceOnce: every class, every drive, every corner, both directions.
func TestRoundVisitsEveryPlaceOnce(t *testing.T) {
	corners := []string{"", "bow_port", "bow_starboard", "stern_starboard", "stern_port"}
	directions := []string{"", "clockwise", "counterclockwise"}
	n := 0
	everySetup(func(s thwart.Setup) {
		n++
		if n%7 != 0 { // a seventh of the setups, each with another corner and direction, keeps the test quick
			return
		}
		opt := advice.RoundOptions{Start: corners[n%len(corners)], Direction: directions[n%len(directions)]}
		places, plan := roundOf(t, s, opt)
		left := placeIDs(places)
		for i, st := range plan.Stops {
			if _, ok := left[st.Place]; !ok {
				t.Fatalf("%+v: %s twice or unknown", s, st.Place)
			}
			delete(left, st.Place)
			if st.Number != i+1 || st.Say == "" {
				t.Fatalf("%+v: stop %+v", s, st)
			}
		}
		if len(left) != 0 {
			t.Fatalf("%+v: left out: %v", s, left)
		}
		if plan.TotalS < plan.LowerBoundS*(1-1e-9) {
			t.Fatalf("%+v: %g s beats the bound of %g s", s, plan.TotalS, plan.LowerBoundS)
		}
	})
}

// TestWaterRunsFirst: everything that drains is started before the walk, once, and looked at in its turn; with the
// default corner the ways out at the transom are the last stops on the ground.
func TestWaterRunsFirst(t *testing.T) {
	for _, class := range craftClasses() {
		places, plan := roundOf(t, thwart.Setup{Class: class, Trailer: thwart.TrailerBunk}, advice.RoundOptions{})
		runs := 0
		for _, p := range places {
			if p.Asks(thwart.TaskDrain) || p.Asks(thwart.TaskLower) || p.Asks(thwart.TaskRun) {
				runs++
			}
		}
		said := map[string]bool{}
		ballast := 0 // times that its pumps are asked for: once, for every tank, valve and vent that they empty
		for _, f := range plan.First {
			if strings.Contains(f.Say, "ballast pump") {
				ballast++
			}
			if said[f.Say] || f.Say == "" || len(f.Places) != len(f.Stops) {
				t.Errorf("%s: asked twice or of nowhere: %+v", class, f)
			}
			said[f.Say] = true
			for i, id := range f.Places {
				runs--
				if st := plan.Stops[f.Stops[i]-1]; st.Place != id || !st.Running {
					t.Errorf("%s: %s is said to be stop %d, which is %s", class, id, f.Stops[i], st.Place)
				}
			}
		}
		for _, st := range plan.Stops {
			if strings.HasPrefix(st.Place, "ballast") && strings.Contains(st.Say, "run ") {
				t.Errorf("%s: %s asks for its pump again: %s", class, st.Place, st.Say)
			}
		}
		if has := slices.ContainsFunc(places, func(p thwart.Place) bool { return p.Part == thwart.PartBallast && p.Hidden }); ballast > 1 || has != (ballast == 1) {
			t.Errorf("%s: ballast pumps are asked for %d times", class, ballast)
		}
		if runs != 0 {
			t.Errorf("%s: %d draining places are not started first", class, runs)
		}
	}
	_, plan := roundOf(t, thwart.Setup{Class: "runabout", Trailer: thwart.TrailerBunk}, advice.RoundOptions{})
	ground := 0
	for _, st := range plan.Stops {
		if st.Posture != thwart.PostureAboard && st.Zone != thwart.ZoneGear {
			ground++
		}
	}
	for _, st := range plan.Stops[:ground] {
		if st.Running && st.Number <= ground*3/4 {
			t.Errorf("%s, where water runs, is already stop %d of %d on the ground", st.Place, st.Number, ground)
		}
	}
}

// TestBowFirst: started at the bow the round begins with the tongue, as the customary order does.
func TestBowFirst(t *testing.T) {
	for _, corner := range []string{"bow_port", "bow_starboard"} {
		_, plan := roundOf(t, thwart.Setup{Class: "runabout", Trailer: thwart.TrailerBunk}, advice.RoundOptions{Start: corner})
		for _, st := range plan.Stops[:3] {
			if st.Zone != thwart.ZoneTow && !strings.HasPrefix(st.Place, "trailer.spare") && !strings.HasPrefix(st.Place, "hull.bow_eye") {
				t.Errorf("from %s: stop %d is %s", corner, st.Number, st.Place)
			}
		}
	}
}

// TestDurations holds the assumed seconds to what is published or customary for whole rounds. Looking is the sum of the
// places' seconds; the total adds asking, walking and changes of posture.
func TestDurations(t *testing.T) {
	for _, c := range []struct {
		class         string
		lowMin, upMin float64
		of            string
		source        string
	}{
		{"canoe_kayak", 0.7, 1.5, "total", "common practice, no source: a clean canoe takes a minute"},
		{"open_aluminium_fishing", 3, 5, "look", "East Bay Municipal Utility District: a ramp inspection takes about 5 minutes"},
		{"open_aluminium_fishing", 4, 6, "total", "East Bay Municipal Utility District: a ramp inspection takes about 5 minutes"},
		{"runabout", 5, 10, "total", "walk-round at a Minnesota access, 5 to 10 minutes (East Otter Tail SWCD article)"},
		{"bass_boat", 5, 10, "total", "walk-round at a Minnesota access, 5 to 10 minutes (East Otter Tail SWCD article)"},
		{"wake_boat", 8, 15, "total", "assumption, between 5 to 10 minutes at a ramp and at least 30 with papers at Glacier National Park"},
		{"houseboat", 8, 30, "total", "assumption: below the at least 30 minutes for motor craft at Glacier National Park, which include papers"},
	} {
		if c.source == "" {
			t.Errorf("%s: no source", c.class)
		}
		class, _ := refdata.CraftClassByID(c.class)
		_, plan := roundOf(t, thwart.Setup{Class: c.class, Trailer: thwart.Trailer(class.Trailer)}, advice.RoundOptions{})
		minutes := plan.TotalS / 60
		if c.of == "look" {
			minutes = plan.LookS / 60
		}
		if minutes < c.lowMin || minutes > c.upMin {
			t.Errorf("%s: %s %.1f min, want %g to %g (%s)", c.class, c.of, minutes, c.lowMin, c.upMin, c.source)
		}
	}
}

// TestEveryRoundOfAClass prints the table of rounds. Walking and changing posture stay within twice their lower bound, the
// guarantee of the textbook tour that walks round a minimum spanning tree (Rosenkrantz, Stearns & Lewis 1977, SIAM J.
// Comput. 6:563-581): a taught circuit has to be no worse than that.
func TestEveryRoundOfAClass(t *testing.T) {
	for _, c := range refdata.CraftClasses() {
		_, plan := roundOf(t, thwart.Setup{Class: c.ID, Trailer: thwart.Trailer(c.Trailer)}, advice.RoundOptions{})
		t.Logf("%-23s %3d places %2d stations %5.1f m, look %4.0f + walk %3.0f + posture %3.0f + ask %3.0f = %4.0f s, bound %4.0f s, gap %4.1f %%",
			c.ID, len(plan.Stops), plan.Stations, plan.WalkM, plan.LookS, plan.WalkS, plan.PostureS, plan.StartS, plan.TotalS, plan.LowerBoundS, plan.GapPct)
		moving, least := plan.WalkS+plan.PostureS, plan.LowerBoundS-plan.LookS-plan.StartS
		if moving > 2*least {
			t.Errorf("%s: %.0f s of walking and getting up and down, more than twice the bound of %.0f s", c.ID, moving, least)
		}
	}
}

// forbidden are things that no steward is told to do. "Ask the owner to" may come before them.
var forbidden = regexp.MustCompile(`(?i)\b(start|run|crank) (the|its|an?) (engine|motor)|(?i)\bopen (the|a|every) seacock|(?i)\b(go|get|crawl|lie|climb) (under|beneath)`)

// TestWords: what is said is short and plain, and never sends a steward where only the owner or nobody may go.
func TestWords(t *testing.T) {
	for _, c := range refdata.CraftClasses() {
		for _, d := range append([]thwart.Drive{thwart.DriveUnknown}, thwart.Drives...) {
			s := everything(c.ID, d)
			places, plan := roundOf(t, s, advice.RoundOptions{})
			byID := placeIDs(places)
			var lines []string
			for _, f := range plan.First {
				if !strings.HasPrefix(f.Say, "Ask the owner") && !strings.HasPrefix(f.Say, "Ask the pilot") {
					t.Errorf("before the walk the owner is asked, not told off to the steward: %q", f.Say)
				}
				lines = append(lines, f.Say)
			}
			for _, st := range plan.Stops {
				lines = append(append(lines, st.Say), st.Cautions...)
				checkCautions(t, st, byID[st.Place])
			}
			for _, line := range append(lines, plan.Before...) {
				if m := forbidden.FindString(line); m != "" {
					t.Errorf("%q tells a steward to %s", line, m)
				}
				for _, sentence := range regexp.MustCompile(`[.?!:] `).Split(line, -1) {
					if n := len(strings.Fields(sentence)); n > 20 {
						t.Errorf("%d words: %q", n, sentence)
					}
				}
			}
		}
	}
}

// checkCautions wants the caution where the hand is.
func checkCautions(t *testing.T, st advice.RoundStop, p thwart.Place) {
	t.Helper()
	says := strings.Join(st.Cautions, " ")
	want := func(what, text string) {
		t.Helper()
		if !strings.Contains(says, text) {
			t.Errorf("%s: %s, but the cautions are %q", st.Place, what, says)
		}
	}
	row, _, _ := strings.Cut(st.Place, ".")
	aircraft := row == "float"
	if strings.Contains(p.Name, "ropeller") || strings.Contains(p.Name, "mpeller") {
		want("a propeller or impeller", "key out")
	}
	if p.Posture == thwart.PostureUnder && !aircraft {
		want("a reach under the craft", "Never lean under a craft that is not on its bunks")
	}
	if aircraft {
		want("an aircraft", "pilot sees you")
	}
	if strings.Contains(st.Place, "strainer") || st.Place == "inside.head" {
		want("a raw-water intake", "owner shuts the seacock")
	}
	if slices.Contains([]string{"inboard.passages.1", "inboard.strainer.1", "sterndrive.passages.1", "pod.passages.1"}, st.Place) {
		want("an engine", "may be hot")
	}
	if p.Asks(thwart.TaskLower) {
		want("a drive that moves", "hands clear")
	}
	if p.Zone == thwart.ZoneTow && p.XM < 0 {
		want("the tongue", "chocked")
	}
}

func TestFirstStepAboardAsksLeave(t *testing.T) {
	_, plan := roundOf(t, thwart.Setup{Class: "cabin_cruiser"}, advice.RoundOptions{})
	first := slices.IndexFunc(plan.Stops, func(st advice.RoundStop) bool { return st.Posture == thwart.PostureAboard })
	if first < 0 || !strings.Contains(strings.Join(plan.Stops[first].Cautions, " "), "Ask before you climb aboard") {
		t.Errorf("stop %d is the first aboard, with %q", first+1, plan.Stops[first].Cautions)
	}
}

func TestUnknownIsSaid(t *testing.T) {
	_, plan := roundOf(t, thwart.Setup{
		Class: "runabout", Drives: []thwart.Drive{thwart.DriveUnknown}, Spaces: []thwart.Space{{Kind: thwart.SpaceBallastTank, Count: thwart.CountUnknown}},
	}, advice.RoundOptions{})
	said := map[string]string{}
	for _, st := range plan.Stops {
		said[st.Place] = st.Say
	}
	if s := said["ballast_tank.unknown"]; !strings.HasPrefix(s, "Ask how many") {
		t.Errorf("ballast_tank.unknown: %q", s)
	}
	if s := said["sterndrive.gimbal.1"]; !strings.HasPrefix(s, "If it has this drive") {
		t.Errorf("sterndrive.gimbal.1: %q", s)
	}
}

// TestPlacesOfAnotherLibrary: a place that the library does not know is walked to as well, in words made from its tasks.
func TestPlacesOfAnotherLibrary(t *testing.T) {
	places := []thwart.Place{
		{ID: "sluice", Name: "sluice", Zone: thwart.ZoneHull, Posture: thwart.PostureStand, XM: 2, YM: 1, Tasks: []thwart.Task{thwart.TaskLook, thwart.TaskDrain}, Seconds: 5},
		{ID: "vat.3", Name: "vat", Zone: thwart.ZoneAboard, Posture: thwart.PostureAboard, XM: 1, Tasks: []thwart.Task{thwart.TaskRun}, Seconds: 5},
	}
	plan, err := advice.Round(places, thwart.Setup{Class: "hover_barge", LengthM: 6, BeamM: 3}, advice.RoundOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Stops) != 2 || plan.Stops[0].Say == "" || len(plan.First) != 2 {
		t.Errorf("%+v", plan)
	}
}

func TestRefusedRounds(t *testing.T) {
	s := thwart.Setup{Class: "runabout"}
	places := placesOf(t, s)
	for _, c := range []struct {
		setup thwart.Setup
		opt   advice.RoundOptions
		field string
	}{
		{s, advice.RoundOptions{Start: "port"}, "start"},
		{s, advice.RoundOptions{Direction: "left"}, "direction"},
		{s, advice.RoundOptions{WalkMPerS: 30}, "walkMPerS"},
		{s, advice.RoundOptions{PostureChangeS: -1}, "postureChangeS"},
		{thwart.Setup{Class: "none such"}, advice.RoundOptions{}, "class"},
	} {
		_, err := advice.Round(places, c.setup, c.opt)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || errs[0].Field != c.field {
			t.Errorf("%+v: %v, want field %s", c.opt, err, c.field)
		}
	}
	twice := append(slices.Clone(places), places[0])
	if _, err := advice.Round(twice, s, advice.RoundOptions{}); err == nil {
		t.Error("a place that is there twice was taken")
	}
}

func BenchmarkRound(b *testing.B) {
	for name, s := range heaviest {
		places := placesOf(b, s)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := advice.Round(places, s, advice.RoundOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExampleRound() {
	s := thwart.Setup{Class: "open_aluminium_fishing", Trailer: thwart.TrailerBunk, Gear: []string{"anchor_and_rope"}}
	places, err := advice.Places(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := advice.Round(places, s, advice.RoundOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range plan.First {
		fmt.Println("First:", f.Say)
	}
	for _, st := range plan.Stops[:3] {
		fmt.Printf("%d. %s: %s\n", st.Number, st.Name, st.Say)
	}
	// Output:
	// First: Ask the owner to lower the motor fully and leave it down until nothing runs out.
	// First: Ask the owner to pull every plug and leave it out.
	// First: Ask the owner to open the bilge and pull its plug, so that water runs out.
	// First: Ask the owner to drain the live well and run its pump until it sucks air.
	// 1. Guide post tube, port side: Look into the tube. Ask the owner to tip it out.
	// 2. Waterline at the stern, port side: Look and feel along the waterline and a hand's width below it. Young mussels feel like sandpaper.
	// 3. Transom below the waterline: Look and feel across the transom below the waterline.
}
