package advice_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"thwart"
	"thwart/advice"
)

// What a practitioner tries in the first hour: twenty facts of the trade, each asked of the program as she would ask.

// craftFrom is a clean, drained, dry craft of a class from a mussel water so many days ago, under a protocol.
func craftFrom(protocol, class string, daysOut float64, drives ...thwart.Drive) thwart.Case {
	out := start.Add(-time.Duration(daysOut * 24 * float64(time.Hour)))
	if len(drives) == 0 {
		drives = []thwart.Drive{thwart.DriveOutboard}
	}
	return thwart.Case{
		ProtocolID: protocol,
		Waters: []thwart.Water{
			{ID: "mussels", Name: "mussel water", Status: map[string]thwart.WaterStatus{"zebra_mussel": thwart.StatusInfested}, Others: thwart.StatusNotFound},
			{ID: "free", Name: "free water", Others: thwart.StatusNotFound},
		},
		Inspection: thwart.Inspection{
			StartedAt: start, Water: "free", PlugsOut: thwart.Yes, DriveLowered: thwart.Yes, StrainerOut: thwart.Yes, OutOfRegion: thwart.No,
			Setup:      thwart.Setup{Class: class, Drives: drives, Spaces: []thwart.Space{}, Trailer: thwart.TrailerBunk, Paint: thwart.PaintNone},
			LastWaters: []thwart.Visit{{Water: "mussels", OutAt: &out, Stay: thwart.StayDay}},
			Others:     &thwart.Check{Looked: thwart.Yes, Felt: thwart.Yes, Opened: thwart.Yes, Wet: thwart.WetDry, RanDry: thwart.Yes},
		},
	}
}

func outcome(t *testing.T, cs thwart.Case) thwart.Outcome {
	t.Helper()
	v, err := advice.Judge(cs)
	if err != nil {
		t.Fatal(err)
	}
	return v.Outcome
}

func wants(t *testing.T, cs thwart.Case, want thwart.Outcome, source string) {
	t.Helper()
	if source == "" {
		t.Fatal("no source")
	}
	v, err := advice.Judge(cs)
	if err != nil {
		t.Fatal(err)
	}
	if v.Outcome != want {
		t.Errorf("%s: %s, want %s (%s)\n%+v", cs.ProtocolID, v.Outcome, want, source, v.Reasons)
	}
}

func TestBallastBoats(t *testing.T) {
	ballast := func(protocol string, days float64) thwart.Case {
		cs := craftFrom(protocol, "wake_boat", days, thwart.DriveInboard)
		cs.Inspection.Setup.Spaces = []thwart.Space{{Kind: thwart.SpaceBallastTank, Count: 2}}
		return cs
	}
	hot := &thwart.WashUnit{FlowLPerMin: 15}
	t.Run("Utah gives complex craft 30 days whatever the season", func(t *testing.T) {
		const src = "Utah Admin. Code R657-60-2, 2021 text; agency page on ballast tanks, inboards and raw-water systems"
		clean := start.AddDate(0, 0, -29)
		cs := ballast("utah", 29.5)
		cs.Inspection.CleanedAt = &clean
		h, err := advice.DryClock(cs)
		if err != nil {
			t.Fatal(err)
		}
		if h.Earliest != nil && h.Earliest.Before(clean.AddDate(0, 0, 30)) {
			t.Errorf("may launch from %v, want not before %v (%s)", h.Earliest, clean.AddDate(0, 0, 30), src)
		}
		if !slices.ContainsFunc(h.Lines, func(l thwart.DryLine) bool { return strings.HasPrefix(l.Rule, "ut_complex") && l.Binding }) {
			t.Errorf("no line for complex craft: %+v", h.Lines)
		}
	})
	t.Run("Montana washes them always", func(t *testing.T) {
		cs := ballast("montana", 200)
		cs.Unit = hot
		wants(t, cs, thwart.Wash, "Montana Fish, Wildlife & Parks, ballast law, releases 2019-2023")
	})
	t.Run("Yellowstone shuts sealed ballast out", func(t *testing.T) {
		wants(t, ballast("yellowstone", 200), thwart.Hold, "Yellowstone National Park, sealed ballast ban from 2019")
	})
	t.Run("a golden-mussel lake washes every motor craft, ballast or not", func(t *testing.T) {
		cs := craftFrom("tahoe", "open_aluminium_fishing", 60)
		cs.Inspection.LastWaters[0].Water = "free"
		cs.Unit = hot
		wants(t, cs, thwart.Wash, "Lake Tahoe programme, from spring 2025")
		cs.Inspection.Setup.Drives, cs.Inspection.Setup.Class = []thwart.Drive{thwart.DriveHand}, "canoe_kayak"
		cs.Inspection.Setup.Trailer = thwart.TrailerNone
		wants(t, cs, thwart.Launch, "Lake Tahoe programme: motor craft")
	})
}

func TestDryingByTheBook(t *testing.T) {
	for _, c := range []struct {
		name, protocol, class string
		cleaned               time.Time
		days                  int
		source                string
	}{
		{"Utah, July: 7 days", "utah", "row_utility", time.Date(2026, 7, 10, 8, 0, 0, 0, time.UTC), 7, "Utah Admin. Code R657-60-2"},
		{"Utah, September is 18 days", "utah", "row_utility", time.Date(2026, 9, 7, 8, 0, 0, 0, time.UTC), 18, "Utah Admin. Code R657-60-2"},
		{"Utah, a spell that touches June and May: 18 days", "utah", "row_utility", time.Date(2026, 5, 28, 8, 0, 0, 0, time.UTC), 18, "Utah Admin. Code R657-60-2; strictest month touched, our reading"},
		{"Utah, a winter start: 30 days", "utah", "row_utility", time.Date(2027, 2, 20, 8, 0, 0, 0, time.UTC), 30, "Utah Admin. Code R657-60-2; strictest month touched, our reading"},
	} {
		t.Run(c.name, func(t *testing.T) {
			cs := craftFrom(c.protocol, c.class, 1, thwart.DriveHand)
			out := c.cleaned.Add(-24 * time.Hour)
			cs.Inspection.StartedAt, cs.Inspection.CleanedAt, cs.Inspection.LastWaters[0].OutAt = c.cleaned, &c.cleaned, &out
			h, err := advice.DryClock(cs)
			if err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(h.Lines, func(l thwart.DryLine) bool { return l.Rule == "ut_simple" })
			if i < 0 || h.Lines[i].Earliest == nil || !h.Lines[i].Earliest.Equal(c.cleaned.AddDate(0, 0, c.days)) {
				t.Errorf("%+v; want %v (%s)", h.Lines, c.cleaned.AddDate(0, 0, c.days), c.source)
			}
		})
	}
	t.Run("Utah, 72 hours below freezing instead", func(t *testing.T) {
		cold := time.Date(2026, 1, 5, 8, 0, 0, 0, time.UTC)
		cs := craftFrom("utah", "row_utility", 1, thwart.DriveHand)
		out := cold.Add(-time.Hour)
		cs.Inspection.StartedAt, cs.Inspection.CleanedAt, cs.Inspection.LastWaters[0].OutAt = cold.Add(72*time.Hour), &cold, &out
		cs.Weather = []thwart.Air{{Hours: 72, TempC: -4, RHPct: 80}}
		h, err := advice.DryClock(cs)
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(h.Lines, func(l thwart.DryLine) bool { return l.Rule == "ut_simple" })
		if i < 0 || h.Lines[i].Earliest == nil || !h.Lines[i].Earliest.Equal(cold.Add(72*time.Hour)) {
			t.Errorf("%+v; want %v (Utah Admin. Code R657-60-2)", h.Lines, cold.Add(72*time.Hour))
		}
	})
	t.Run("two rules: the stricter decides and both are shown", func(t *testing.T) {
		p := protocolOf(t, "utah")
		p.DryTables = append(p.DryTables, "glacier")
		p.Dry = nil
		cs := craftFrom("", "open_aluminium_fishing", 1)
		cs.Protocol = &p
		at := start.Add(-time.Hour)
		cs.Inspection.CleanedAt = &at
		cs.Inspection.Seal = &thwart.Seal{Kind: "cleared", Intact: thwart.Yes, SealedAt: &at}
		h, err := advice.DryClock(cs)
		if err != nil {
			t.Fatal(err)
		}
		if h.Earliest == nil || h.Earliest.Before(at.AddDate(0, 0, 30)) {
			t.Errorf("earliest %v, want 30 days from the seal at least (Glacier National Park boat rules)", h.Earliest)
		}
		for _, rule := range []string{"ut_simple", "glacier"} {
			if !slices.ContainsFunc(h.Lines, func(l thwart.DryLine) bool { return l.Rule == rule }) {
				t.Errorf("%s is not shown", rule)
			}
		}
	})
	t.Run("Parks Canada: 48 hours or 30 days by where it was last used", func(t *testing.T) {
		at := start.Add(-50 * time.Hour)
		for out, want := range map[thwart.Answer]thwart.Outcome{thwart.No: thwart.Launch, thwart.Yes: thwart.DryOut, thwart.Unknown: thwart.DryOut} {
			cs := craftFrom("parks-canada-mountain", "open_aluminium_fishing", 50.0/24)
			cs.Inspection.LastWaters[0].Water = "free"
			cs.Inspection.OutOfRegion, cs.Inspection.CleanedAt, cs.Inspection.DryToTouchAt = out, &at, &at
			wants(t, cs, want, "Parks Canada, mountain parks drying rule")
		}
	})
	t.Run("Arizona: day use dries, six days at a mooring washes", func(t *testing.T) {
		const src = "Arizona Game and Fish, Director's orders 2009-2010; R12-4-902"
		cs := craftFrom("arizona", "open_aluminium_fishing", 10)
		at := start.AddDate(0, 0, -9)
		cs.Inspection.CleanedAt, cs.Inspection.DryToTouchAt = &at, &at
		cs.Unit = &thwart.WashUnit{}
		cs.Weather = []thwart.Air{{Hours: 240, TempC: 36, RHPct: 15}}
		wants(t, cs, thwart.Launch, src)
		cs.Inspection.LastWaters[0].Stay = thwart.StayMoored
		wants(t, cs, thwart.Wash, src)
	})
	t.Run("Minnesota: docks and lifts stay out 21 days", func(t *testing.T) {
		for days, want := range map[float64]thwart.Outcome{20: thwart.DryOut, 22: thwart.Launch} {
			cs := craftFrom("minnesota", "dock_or_lift", days, thwart.DriveHand)
			cs.Inspection.LastWaters[0].Water = "free"
			wants(t, cs, want, "Minnesota Statutes 84D.10")
		}
	})
}

func TestPlugsAndDrives(t *testing.T) {
	for _, c := range []struct {
		protocol string
		plug     thwart.Answer
		want     thwart.Outcome
		source   string
	}{
		{"utah", thwart.No, thwart.FixHere, "Utah Admin. Code R657-60"},
		{"minnesota", thwart.No, thwart.FixHere, "Minnesota Statutes 84D.10"},
		{"minnesota", thwart.Unknown, thwart.FixHere, "unknown counts as unsafe"},
		{"montana", thwart.No, thwart.Launch, "MCA 80-7-1010(2): may be refitted once the water is out"},
	} {
		cs := craftFrom(c.protocol, "open_aluminium_fishing", 90)
		cs.Inspection.LastWaters[0].Water = "free"
		cs.Inspection.PlugsOut = c.plug
		wants(t, cs, c.want, c.source)
	}
	t.Run("a motor that was not lowered counts as not drained", func(t *testing.T) {
		for _, a := range []thwart.Answer{thwart.No, thwart.Unknown} {
			cs := craftFrom("regional-minimum", "open_aluminium_fishing", 90)
			cs.Inspection.DriveLowered = a
			v, err := advice.Judge(cs)
			if err != nil {
				t.Fatal(err)
			}
			if v.Outcome == thwart.Launch || v.Standards[1].Met == thwart.Yes {
				t.Errorf("lowered %q: %s, drained %q", a, v.Outcome, v.Standards[1].Met)
			}
		}
	})
	t.Run("Utah wants the sea strainer out", func(t *testing.T) {
		cs := craftFrom("utah", "cabin_cruiser", 90, thwart.DriveInboard)
		cs.Inspection.LastWaters[0].Water = "free"
		wants(t, cs, thwart.Launch, "Utah Division of Wildlife Resources")
		cs.Inspection.StrainerOut = thwart.No
		wants(t, cs, thwart.FixHere, "Utah Division of Wildlife Resources")
	})
	t.Run("lowering the drive and pulling the plugs come before the walk", func(t *testing.T) {
		cs := craftFrom("utah", "bass_boat", 1)
		a, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		var said string
		for _, f := range a.Round.First {
			said += f.Say + "\n"
		}
		for _, word := range []string{"lower", "plug"} {
			if !strings.Contains(strings.ToLower(said), word) {
				t.Errorf("nothing about %q before the walk:\n%s", word, said)
			}
		}
	})
}

func TestSameWater(t *testing.T) {
	for _, c := range []struct {
		protocol string
		want     thwart.Outcome
		source   string
	}{
		{"utah", thwart.Launch, "Utah Admin. Code R657-60-5(6): back to the same water"},
		{"manitoba", thwart.Launch, "Manitoba AIS Regulation 173/2015: back to the same water"},
	} {
		cs := craftFrom(c.protocol, "open_aluminium_fishing", 0.1)
		wants(t, cs, map[string]thwart.Outcome{"utah": thwart.DryOut, "manitoba": thwart.DryOut}[c.protocol], "bound for another water")
		cs.Inspection.Water = "mussels"
		wants(t, cs, c.want, c.source)
	}
}

func TestDeadMusselsStillMatter(t *testing.T) {
	find := func(protocol string, v thwart.Vitality) thwart.Case {
		cs := craftFrom(protocol, "runabout", 60, thwart.DriveSterndrive)
		cs.Unit = &thwart.WashUnit{}
		cs.Inspection.Findings = []thwart.Finding{{Place: "transom.trim_tabs.port", Matter: thwart.MatterAttached, Organism: "zebra_mussel", Confidence: "certain", Vitality: v}}
		return cs
	}
	wants(t, find("british-columbia", thwart.VitalityDead), thwart.Hold, "British Columbia: listed mussels, dead or alive")
	for _, p := range protocolIDs {
		if o := outcome(t, find(p, thwart.VitalityDead)); o == thwart.Launch {
			t.Errorf("%s launches a craft with dead mussels on it", p)
		}
		for _, alive := range []thwart.Vitality{thwart.VitalityAlive, thwart.VitalityUncertain, thwart.VitalityNotAssessed, thwart.VitalityUnknown, thwart.VitalityMixed} {
			if o := outcome(t, find(p, alive)); o != thwart.Hold {
				t.Errorf("%s: mussels %q: %s, want hold", p, alive, o)
			}
		}
	}
}

// An inspector may deny launch; holding, ordering and releasing are for officers or the agency in most places read.
func TestWhoseOrderItIs(t *testing.T) {
	cs := craftFrom("utah", "runabout", 1, thwart.DriveSterndrive)
	cs.Inspection.Findings = []thwart.Finding{{Place: "transom.face", Matter: thwart.MatterAttached}}
	for id, source := range map[string]string{
		"utah": "Utah Admin. Code R657-60", "idaho": "IDAPA 02.06.09.133", "washington": "RCW 77.135.130", "minnesota": "Minnesota Statutes 84D.10",
	} {
		cs.ProtocolID = id
		v, err := advice.Judge(cs)
		if err != nil {
			t.Fatal(err)
		}
		if v.Outcome != thwart.Hold || slices.Contains(v.Decides, thwart.RoleSteward) || slices.Contains(v.Decides, thwart.RoleVolunteer) {
			t.Errorf("%s: %s is decided by %v, want nobody at the ramp (%s)", id, v.Outcome, v.Decides, source)
		}
	}
}

// A clean canoe takes a minute, a wake boat many times that, and the two are not asked the same questions.
func TestCanoeAndWakeBoatAreNotAskedTheSame(t *testing.T) {
	total := func(class string, d thwart.Drive, on thwart.Trailer, spaces ...thwart.Space) (places int, seconds float64) {
		cs := craftFrom("regional-minimum", class, 90, d)
		cs.Inspection.Setup.Trailer, cs.Inspection.Setup.Spaces = on, append([]thwart.Space{}, spaces...)
		a, err := advice.Assess(cs)
		if err != nil {
			t.Fatal(err)
		}
		return len(a.Round.Stops), a.Round.TotalS
	}
	canoePlaces, canoe := total("canoe_kayak", thwart.DriveHand, thwart.TrailerNone)
	wakePlaces, wake := total("wake_boat", thwart.DriveInboard, thwart.TrailerBunk,
		thwart.Space{Kind: thwart.SpaceBallastTank, Count: 3}, thwart.Space{Kind: thwart.SpaceBilge, Count: 1}, thwart.Space{Kind: thwart.SpaceLocker, Count: 2})
	if canoe > 120 || wake < 5*canoe || wakePlaces < 2*canoePlaces {
		t.Errorf("canoe: %d places, %.0f s; wake boat: %d places, %.0f s", canoePlaces, canoe, wakePlaces, wake)
	}
}

// Where to feel: young mussels are like sandpaper at the waterline, the gimbal, trim tabs, intakes and bunks.
func TestWhereToFeel(t *testing.T) {
	places, err := advice.Places(thwart.Setup{
		Class: "runabout", Drives: []thwart.Drive{thwart.DriveSterndrive}, Spaces: []thwart.Space{}, Trailer: thwart.TrailerBunk,
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, stem := range []string{"hull.waterline_mid", "sterndrive.gimbal", "transom.trim_tabs", "sterndrive.leg", "trailer.bunks"} {
		i := slices.IndexFunc(places, func(p thwart.Place) bool { return strings.HasPrefix(p.ID, stem) })
		if i < 0 || !places[i].Asks(thwart.TaskFeel) {
			t.Errorf("%s is not felt (Manitoba press advice; common practice)", stem)
		}
	}
}

// Nothing says "all clear" for water-flea eggs after the compartment line for mussels, and no answer claims a certain kill.
func TestNoAllClearForEggs(t *testing.T) {
	cs := craftFrom("regional-minimum", "bass_boat", 1)
	cs.Waters[0].Status = map[string]thwart.WaterStatus{"spiny_water_flea": thwart.StatusInfested}
	cs.Inspection.Setup.Spaces = []thwart.Space{{Kind: thwart.SpaceLiveWell, Count: 1, VolumeL: 75}}
	cs.Inspection.Checks = []thwart.Check{{Place: "live_well.1", Looked: thwart.Yes, Opened: thwart.Yes, Felt: thwart.Yes, Wet: thwart.WetWater}}
	cs.Unit = &thwart.WashUnit{}
	a, err := advice.Assess(cs)
	if err != nil {
		t.Fatal(err)
	}
	well := stepFor(t, a.Treatment, thwart.PartWell)
	for _, n := range well.Species {
		if n.Stage == "resting_egg" && n.Shown == "yes" {
			t.Errorf("the line for wells is said to kill the eggs: %s (Branstrator et al. 2013: 5 min at 50 °C)", n.Text)
		}
	}
	if !slices.ContainsFunc(well.Species, func(n thwart.SpeciesNeed) bool { return strings.Contains(n.Text, "resting egg") }) {
		t.Errorf("the eggs are not spoken of: %+v", well.Species)
	}
}

// Seals and receipts. Utah, Oregon, Lake George and New Mexico rules: whole, matching, fitted by an inspector, and only
// until the craft touches water.
func TestSeals(t *testing.T) {
	tomorrow := start.Add(24 * time.Hour)
	whole := thwart.Seal{Kind: "cleared", Number: "a-1", Issuer: "trusted", Intact: thwart.Yes, Receipt: thwart.Yes, FittedBy: "inspector", Launched: thwart.No}
	edit := func(f func(*thwart.Seal)) *thwart.Seal { s := whole; f(&s); return &s }
	for _, c := range []struct {
		name   string
		seal   *thwart.Seal
		code   thwart.ReasonCode
		least  thwart.Outcome
		source string
	}{
		{"whole and matching", edit(func(*thwart.Seal) {}), thwart.ReasonSealAccepted, thwart.Launch, "Wyoming ch. 62; New Mexico 19.30.14 NMAC"},
		{"receipt missing", edit(func(s *thwart.Seal) { s.Receipt = thwart.No }), thwart.ReasonSealNotCounted, thwart.Launch, "Lake George Park Commission"},
		{"issuer not recognized", edit(func(s *thwart.Seal) { s.Issuer = "stranger" }), thwart.ReasonSealNotCounted, thwart.Launch, "Wyoming ch. 62: at the receiver's choice"},
		{"dry-time hold that ends tomorrow", edit(func(s *thwart.Seal) { s.Kind, s.HoldEndsAt = "held", &tomorrow }), thwart.ReasonSealHeld, thwart.DryOut, "Utah Division of Wildlife Resources"},
		{"dry-time seal taken off early", edit(func(s *thwart.Seal) {
			s.Kind, s.HoldEndsAt, s.Intact, s.RemovedSoon = "held", &tomorrow, thwart.No, thwart.Yes
		}), thwart.ReasonSealBroken, thwart.Hold, "Utah Division of Wildlife Resources"},
		{"launched elsewhere since", edit(func(s *thwart.Seal) { s.Launched = thwart.Yes }), thwart.ReasonSealNotCounted, thwart.Launch, "New Mexico 19.30.14.12 NMAC"},
		{"refitted by the owner", edit(func(s *thwart.Seal) { s.FittedBy = "owner" }), thwart.ReasonSealNotCounted, thwart.Launch, "Oregon OAR 250-010-0660"},
		{"severe risk", edit(func(s *thwart.Seal) { s.Kind = "severe_risk" }), thwart.ReasonSealSevere, thwart.Hold, "Oregon OAR 250-010-0660"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := protocolOf(t, "utah")
			p.SealTrust, p.SealReceipt = []string{"trusted"}, true
			cs := craftFrom("", "open_aluminium_fishing", 1)
			cs.Protocol, cs.Inspection.Seal = &p, c.seal
			v, err := advice.Judge(cs)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(v.Reasons, func(r thwart.Reason) bool { return r.Code == c.code }) {
				t.Errorf("reasons %+v, want %s (%s)", v.Reasons, c.code, c.source)
			}
			if v.Outcome.Rank() < c.least.Rank() {
				t.Errorf("%s, want at least %s", v.Outcome, c.least)
			}
			if accepted := c.code == thwart.ReasonSealAccepted; accepted != (v.Outcome == thwart.Launch) {
				t.Errorf("accepted %v, and the outcome is %s", accepted, v.Outcome)
			}
			if v.Places == 0 || v.Settled != v.Places {
				t.Errorf("%d of %d places: a seal never shortens the round", v.Settled, v.Places)
			}
		})
	}
	t.Run("an electronic release for this water", func(t *testing.T) {
		cs := craftFrom("switzerland-zurich", "open_aluminium_fishing", 1)
		cs.Unit = &thwart.WashUnit{}
		wants(t, cs, thwart.Wash, "Canton Zurich, wash at each change of water from 1 April 2025")
		cs.Inspection.Seal = &thwart.Seal{Kind: "release", ForWater: "free", Launched: thwart.No}
		wants(t, cs, thwart.Launch, "Canton Zurich: release valid until the next change of water")
	})
}

// A refusal is recorded and is never a pass.
func TestRefusalIsNoPass(t *testing.T) {
	for _, p := range protocolIDs {
		cs := craftFrom(p, "canoe_kayak", 90, thwart.DriveHand)
		cs.Inspection.Refused = true
		if o := outcome(t, cs); o != thwart.Hold {
			t.Errorf("%s: %s", p, o)
		}
	}
}

// A wetter surface is never judged better than a drier one, whatever the protocol lets pass. (Order of plain words: dry, damp
// to the hand, a film to wipe, water that stands; no source is needed for it.)
func TestWetterIsNeverBetter(t *testing.T) {
	places := map[string]string{"a hard surface": "inside.floor", "cloth": "gear.anchor_and_rope"}
	rank := func(o thwart.Outcome) int { return slices.Index(thwart.Outcomes, o) }
	for kind, place := range places {
		for _, water := range []string{"none", "film", "limit"} {
			for _, clothDry := range []bool{true, false} {
				last, said := -1, thwart.Wetness("")
				for _, wet := range thwart.Wetnesses {
					cs := craftFrom("own-rules", "runabout", 20)
					p := published(t, "own-rules")
					p.Criteria.Water, p.Criteria.ClothMustDry, p.Criteria.WaterLimitML = water, clothDry, 500
					cs.Protocol, cs.ProtocolID = &p, ""
					cs.Waters[0].Status = map[string]thwart.WaterStatus{"zebra_mussel": thwart.StatusNotFound}
					cs.Inspection.Setup.Gear = []string{"anchor_and_rope"}
					cs.Inspection.Checks = []thwart.Check{{Place: place, Looked: thwart.Yes, Felt: thwart.Yes, Wet: wet}}
					got := outcome(t, cs)
					if rank(got) < last {
						t.Errorf("%s, water %s, cloth must dry %t: %s gives %s, drier %s gives worse", kind, water, clothDry, wet, got, said)
					}
					last, said = rank(got), wet
				}
			}
		}
	}
}
