package advice_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

func placesOf(t testing.TB, s thwart.Setup) []thwart.Place {
	t.Helper()
	places, err := advice.Places(s)
	if err != nil {
		t.Fatalf("%+v: %v", s, err)
	}
	return places
}

func placeIDs(places []thwart.Place) map[string]thwart.Place {
	ids := make(map[string]thwart.Place, len(places))
	for _, p := range places {
		ids[p.ID] = p
	}
	return ids
}

// TestChecklistIsCovered goes through the published and customary checklists, row by row, and wants every place of each
// in the list for that craft.
func TestChecklistIsCovered(t *testing.T) {
	f, err := os.Open("testdata/checklist.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if want := "list,item,classes,drives,spaces,gear,trailer,places,source"; strings.Join(rows[0], ",") != want {
		t.Fatalf("columns %v, want %s", rows[0], want)
	}
	for _, r := range rows[1:] {
		list, item, classes, drives, spaces, gear, trailer, want, source := r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7], r[8]
		if source == "" || want == "" {
			t.Errorf("%s: %s: no source or no places", list, item)
		}
		for _, class := range strings.Split(classes, "|") {
			s := thwart.Setup{Class: class, Trailer: thwart.TrailerBunk}
			if trailer != "" {
				s.Trailer = thwart.Trailer(strings.TrimSuffix(trailer, "unknown"))
			}
			for _, d := range split(drives) {
				s.Drives = append(s.Drives, thwart.Drive(strings.TrimSuffix(d, "unknown")))
			}
			for _, sp := range split(spaces) {
				kind, count, _ := strings.Cut(sp, ":")
				n := thwart.CountUnknown
				if count != "unknown" {
					n = thwart.Count(count[0] - '0')
				}
				s.Spaces = append(s.Spaces, thwart.Space{Kind: thwart.SpaceKind(kind), Count: n})
			}
			s.Gear = split(gear)
			have := placeIDs(placesOf(t, s))
			for _, id := range split(want) {
				if _, ok := have[id]; !ok {
					t.Errorf("%s: %q (%s): %s has no place %s", list, item, source, class, id)
				}
			}
		}
	}
}

func split(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(s, ";")
}

// craftClasses lists the ids of all classes.
func craftClasses() []string {
	var ids []string
	for _, c := range refdata.CraftClasses() {
		ids = append(ids, c.ID)
	}
	return ids
}

// everySetup yields each class with each drive, sets of compartments and trailers, the unknown among them.
func everySetup(yield func(thwart.Setup)) {
	drives := [][]thwart.Drive{
		nil, {thwart.DriveUnknown}, {thwart.DriveOutboard, thwart.DriveOutboard, thwart.DriveOutboard},
		{thwart.DriveOutboard, thwart.DriveUnknown, thwart.DriveUnknown}, thwart.Drives[:8],
	}
	for _, d := range thwart.Drives {
		drives = append(drives, []thwart.Drive{d})
	}
	var one, unknown, twenty []thwart.Space
	for _, k := range thwart.SpaceKinds {
		one = append(one, thwart.Space{Kind: k, Count: 1})
		unknown = append(unknown, thwart.Space{Kind: k, Count: thwart.CountUnknown})
		twenty = append(twenty, thwart.Space{Kind: k, Count: thwart.MaxSpaces, VolumeL: 10})
	}
	for _, class := range craftClasses() {
		for _, d := range drives {
			for _, sp := range [][]thwart.Space{nil, {}, one, unknown, twenty} {
				for _, tr := range append([]thwart.Trailer{thwart.TrailerUnknown}, thwart.Trailers...) {
					yield(thwart.Setup{Class: class, Drives: d, Spaces: sp, Trailer: tr})
				}
			}
		}
	}
}

// TestEverySetupGivesSoundPlaces: whatever the outfit, ids are unique, words are those of the records, numbers make
// sense, the order is that of the zones, and hidden places ask for nothing that a hidden place cannot be asked.
func TestEverySetupGivesSoundPlaces(t *testing.T) {
	setups := 0
	everySetup(func(s thwart.Setup) {
		setups++
		seen := map[string]bool{}
		zone, x := 0, math.Inf(-1)
		for _, p := range placesOf(t, s) {
			if seen[p.ID] {
				t.Fatalf("%+v: %s is there twice", s, p.ID)
			}
			seen[p.ID] = true
			z := slices.Index(thwart.Zones, p.Zone)
			if z < zone || (z == zone && p.XM < x) {
				t.Fatalf("%+v: %s is out of order", s, p.ID)
			}
			zone, x = z, p.XM
			soundPlace(t, s, p)
		}
	})
	t.Logf("%d setups", setups)
}

func soundPlace(t *testing.T, s thwart.Setup, p thwart.Place) {
	t.Helper()
	ok := p.Name != "" && p.Why != "" && p.Source != "" && slices.Contains(refdata.KnownMarkers, refdata.Known(p.Known)) &&
		slices.Contains(thwart.Parts, p.Part) && slices.Contains(thwart.Postures, p.Posture) &&
		slices.Contains(thwart.Holdings, p.Holds) && len(p.Tasks) > 0 && len(p.Carries) > 0 && p.Weight > 0 && p.Seconds >= 1 && p.Seconds < 120
	for _, k := range p.Tasks {
		ok = ok && slices.Contains(thwart.Tasks, k)
	}
	for _, c := range p.Carries {
		ok = ok && slices.Contains(thwart.Carriages, c)
	}
	if !ok {
		t.Fatalf("%+v: %+v is not a sound place", s, p)
	}
	if p.ZM < 0 || p.ZM > 4 || math.Abs(p.YM) > 6 || p.XM < -3 || p.XM > 40 {
		t.Fatalf("%+v: %s lies at (%g, %g, %g)", s, p.ID, p.XM, p.YM, p.ZM)
	}
	// The owner is asked to run, open or lower something at a hidden place; nobody is asked to look into it and then
	// believed.
	if p.Hidden && p.Holds == thwart.HoldsNone {
		t.Fatalf("%+v: %s is hidden and holds nothing", s, p.ID)
	}
	if p.Part == thwart.PartBallast && strings.HasPrefix(p.ID, "ballast_tank") && !p.Hidden {
		t.Fatalf("%+v: %s can be seen into", s, p.ID)
	}
}

// TestUnknownIsLookedFor: calling something unknown keeps every place that the likely answers would have given.
func TestUnknownIsLookedFor(t *testing.T) {
	keeps := func(s, instead thwart.Setup) {
		t.Helper()
		have := placeIDs(placesOf(t, s))
		for _, p := range placesOf(t, instead) {
			q, ok := have[p.ID]
			if !ok {
				t.Errorf("%s with %v, %q: no %s, which %v, %q has", s.Class, s.Drives, s.Trailer, p.ID, instead.Drives, instead.Trailer)
			}
			if p.Hidden && !q.Hidden {
				t.Errorf("%s: %s is hidden, but not when less is known", s.Class, p.ID)
			}
		}
	}
	for _, c := range refdata.CraftClasses() {
		for _, tr := range []thwart.Trailer{thwart.TrailerBunk, thwart.TrailerRoller, thwart.TrailerCradle} {
			if c.Trailer != "none" {
				keeps(thwart.Setup{Class: c.ID}, thwart.Setup{Class: c.ID, Trailer: tr})
			}
		}
		for _, d := range []thwart.Drive{thwart.DriveOutboard, thwart.DriveSterndrive} {
			keeps(thwart.Setup{Class: c.ID, Drives: []thwart.Drive{thwart.DriveUnknown}}, thwart.Setup{Class: c.ID, Drives: []thwart.Drive{d}})
		}
	}

	// A canoe that nobody said how it came has one place for whatever carried it, with all that a trailer asks.
	have := placeIDs(placesOf(t, thwart.Setup{Class: "canoe_kayak"}))
	p, ok := have["carrier.unknown"]
	if !ok || p.Part != thwart.PartTrailer || !p.Asks(thwart.TaskLook) || !p.Asks(thwart.TaskFeel) || p.Holds == thwart.HoldsNone {
		t.Errorf("canoe, trailer unknown: %+v", p)
	}
	for _, tr := range []thwart.Trailer{thwart.TrailerBunk, thwart.TrailerNone} {
		if _, ok := placeIDs(placesOf(t, thwart.Setup{Class: "canoe_kayak", Trailer: tr}))["carrier.unknown"]; ok {
			t.Errorf("canoe with trailer %s still has carrier.unknown", tr)
		}
	}

	// Every task of every drive is asked for when the drive is not known, so that nothing can be passed over.
	have = placeIDs(placesOf(t, thwart.Setup{Class: "dock_or_lift", Drives: []thwart.Drive{thwart.DriveUnknown}, Trailer: thwart.TrailerNone}))
	asked := map[thwart.Task]bool{}
	for id, p := range have {
		if row, _, _ := strings.Cut(id, "."); slices.Contains([]string{"outboard", "sterndrive", "drive"}, row) {
			for _, k := range p.Tasks {
				asked[k] = true
			}
		}
	}
	for _, d := range []thwart.Drive{thwart.DriveInboard, thwart.DrivePod, thwart.DriveOutboardJet, thwart.DriveSterndrive} {
		for _, p := range placesOf(t, thwart.Setup{Class: "dock_or_lift", Drives: []thwart.Drive{d}, Trailer: thwart.TrailerNone}) {
			if p.Zone == thwart.ZoneGear || strings.HasPrefix(p.ID, "dock.") || strings.HasPrefix(p.ID, "carrier.") {
				continue
			}
			for _, k := range p.Tasks {
				if !asked[k] {
					t.Errorf("an unknown drive never asks to %s, as %s of %s does", k, p.ID, d)
				}
			}
		}
	}
}

func TestUnknownCountIsOneHiddenPlace(t *testing.T) {
	for _, k := range thwart.SpaceKinds {
		have := placeIDs(placesOf(t, thwart.Setup{Class: "runabout", Spaces: []thwart.Space{{Kind: k, Count: thwart.CountUnknown, VolumeL: 70}}}))
		p, ok := have[string(k)+".unknown"]
		if !ok || !p.Hidden || p.VolumeL != 70 {
			t.Errorf("%s: %t, hidden %t, %g L; want one hidden place of 70 L", k, ok, p.Hidden, p.VolumeL)
		}
		if _, numbered := have[string(k)+".1"]; numbered {
			t.Errorf("%s: numbered although the number is not known", k)
		}
	}
}

// TestLeftOutMeansUsual: what is left out comes from the class, an empty list means none.
func TestLeftOutMeansUsual(t *testing.T) {
	count := func(s thwart.Setup, prefix string) int {
		n := 0
		for _, p := range placesOf(t, s) {
			if strings.HasPrefix(p.ID, prefix) {
				n++
			}
		}
		return n
	}
	wake := thwart.Setup{Class: "wake_boat"}
	if n := count(wake, "ballast_tank."); n != 3 {
		t.Errorf("wake boat, nothing said: %d ballast tanks, want the usual 3", n)
	}
	if n := count(wake, "inboard.shaft."); n != 1 {
		t.Errorf("wake boat, nothing said: %d shafts, want 1", n)
	}
	if n := count(wake, "gear.skis_boards"); n != 1 {
		t.Error("wake boat, nothing said: no boards among the gear")
	}
	bare := thwart.Setup{Class: "wake_boat", Spaces: []thwart.Space{}, Gear: []string{}, Drives: []thwart.Drive{thwart.DriveHand}}
	for _, prefix := range []string{"ballast", "bilge.", "locker.", "inboard.", "gear.skis_boards"} {
		if n := count(bare, prefix); n != 0 {
			t.Errorf("wake boat with none of it: %d places of %s", n, prefix)
		}
	}
	if n := count(bare, "gear.anything_else"); n != 1 {
		t.Error("an empty gear list drops the question for anything else that was in the water")
	}
	two := thwart.Setup{Class: "runabout", Spaces: []thwart.Space{{Kind: thwart.SpaceBilge, Count: 2}, {Kind: thwart.SpaceTank, Count: 0}}}
	if b, k := count(two, "bilge."), count(two, "tank."); b != 2 || k != 0 {
		t.Errorf("two bilges and no tank: %d and %d", b, k)
	}
}

// TestLengthScalesTheCraft: a longer craft has its stern farther aft and takes longer to feel over; the trailer's tongue
// stays the length it is.
func TestLengthScalesTheCraft(t *testing.T) {
	short := placeIDs(placesOf(t, thwart.Setup{Class: "runabout", LengthM: 5, BeamM: 2}))
	long := placeIDs(placesOf(t, thwart.Setup{Class: "runabout", LengthM: 8, BeamM: 3}))
	if len(short) != len(long) {
		t.Fatalf("%d and %d places", len(short), len(long))
	}
	if d := long["transom.plug"].XM - short["transom.plug"].XM; math.Abs(d-3) > 1e-12 {
		t.Errorf("plug moves %g m aft with 3 m of length", d)
	}
	if d := long["hull.topside.starboard"].YM - short["hull.topside.starboard"].YM; math.Abs(d-0.5) > 1e-12 {
		t.Errorf("topside moves %g m out with 1 m of beam", d)
	}
	if long["tow.coupler"].XM != short["tow.coupler"].XM {
		t.Error("the tongue grew with the craft")
	}
	if long["hull.waterline_mid.port"].Seconds <= short["hull.waterline_mid.port"].Seconds {
		t.Error("a longer waterline takes no longer")
	}
}

func TestRefusedSetups(t *testing.T) {
	for _, c := range []struct {
		setup thwart.Setup
		field string
		says  string
	}{
		{thwart.Setup{}, "class", ""},
		{thwart.Setup{Class: "bass"}, "class", "bass_boat"},
		{thwart.Setup{Class: "wakeboat"}, "class", "wake_boat"},
		{thwart.Setup{Class: "runabuot"}, "class", "runabout"},
		{thwart.Setup{Class: "xqz"}, "class", "such as"},
		{thwart.Setup{Class: "runabout", Gear: []string{"nets", "anchor"}}, "gear[1]", "anchor_and_rope"},
		{thwart.Setup{Class: "runabout", LengthM: 400}, "lengthM", "40"},
		{thwart.Setup{Class: "runabout", Drives: []thwart.Drive{"steam"}}, "drives[0]", "outboard"},
	} {
		_, err := advice.Places(c.setup)
		var errs thwart.FieldErrors
		if !errors.As(err, &errs) || errs[0].Field != c.field || !strings.Contains(errs[0].Accepted, c.says) {
			t.Errorf("%+v: %v; want field %s to name %q", c.setup, err, c.field, c.says)
		}
	}
	_, err := advice.Places(thwart.Setup{Class: "no such", Gear: []string{"no such"}, LengthM: -1})
	var errs thwart.FieldErrors
	if errors.As(err, &errs); len(errs) != 3 {
		t.Errorf("three slips give %d errors: %v", len(errs), err)
	}
}

// TestCallersMayChangeTheirPlaces: two calls share nothing.
func TestCallersMayChangeTheirPlaces(t *testing.T) {
	s := thwart.Setup{Class: "wake_boat"}
	first := placesOf(t, s)
	want := fmt.Sprint(first)
	for i := range first {
		first[i].Tasks[0], first[i].Carries[0], first[i].ID = "spoilt", "spoilt", "spoilt"
		first[i].Tasks = append(first[i].Tasks, "more")
	}
	if got := fmt.Sprint(placesOf(t, s)); got != want {
		t.Error("changing one answer changed the next")
	}
}

// TestOrderOfTheSetupDoesNotMatter: the list depends on what the craft has, not on the order it was named in.
func TestOrderOfTheSetupDoesNotMatter(t *testing.T) {
	s := thwart.Setup{
		Class: "runabout", Drives: []thwart.Drive{thwart.DriveSterndrive, thwart.DriveTrollingBow, thwart.DriveSterndrive},
		Spaces: []thwart.Space{{Kind: thwart.SpaceBilge, Count: 1}, {Kind: thwart.SpaceLiveWell, Count: 3}},
		Gear:   []string{"nets", "decoys", "fenders"},
	}
	r := s
	r.Drives, r.Spaces, r.Gear = slices.Clone(s.Drives), slices.Clone(s.Spaces), slices.Clone(s.Gear)
	slices.Reverse(r.Drives)
	slices.Reverse(r.Spaces)
	slices.Reverse(r.Gear)
	if a, b := fmt.Sprint(placesOf(t, s)), fmt.Sprint(placesOf(t, r)); a != b {
		t.Error("the list of places depends on the order of the setup")
	}
}

// everything is the craft with the most places of a class: all compartments, all gear, three drives.
func everything(class string, drives ...thwart.Drive) thwart.Setup {
	s := thwart.Setup{Class: class, Drives: drives, Trailer: thwart.TrailerUnknown}
	for _, k := range thwart.SpaceKinds {
		s.Spaces = append(s.Spaces, thwart.Space{Kind: k, Count: 3, VolumeL: 100})
	}
	for _, g := range refdata.GearKinds() {
		s.Gear = append(s.Gear, g.ID)
	}
	return s
}

var heaviest = map[string]thwart.Setup{
	"wake boat": everything("wake_boat", thwart.DriveInboard, thwart.DriveTrollingBow, thwart.DriveUnknown),
	"houseboat": everything("houseboat", thwart.DriveOutboard, thwart.DriveOutboard, thwart.DriveSterndrive),
	"canoe":     {Class: "canoe_kayak", Trailer: thwart.TrailerNone},
}

// TestPlacesAllocateLittle keeps the list cheap enough to be made again for every question.
func TestPlacesAllocateLittle(t *testing.T) {
	for name, s := range heaviest {
		if n := testing.AllocsPerRun(20, func() { placesOf(t, s) }); n > 400 {
			t.Errorf("%s with everything: %.0f allocations", name, n)
		}
	}
}

func BenchmarkPlaces(b *testing.B) {
	for name, s := range heaviest {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				n = len(placesOf(b, s))
			}
			b.ReportMetric(float64(n), "places")
		})
	}
}

func ExamplePlaces() {
	places, err := advice.Places(thwart.Setup{Class: "paddleboard", Gear: []string{}, Trailer: thwart.TrailerNone})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range places {
		fmt.Println(p.ID, p.Tasks)
	}
	// Output:
	// carrier.straps [look feel]
	// board.deck_pad [look feel]
	// paddle.outside.port [look feel]
	// paddle.outside.starboard [look feel]
	// board.fin_box [look feel]
	// board.valve [look feel]
	// gear.paddles [look tip]
	// gear.containers [ask look open]
	// gear.anything_else [ask look feel]
}
