package examples_test

import (
	"thwart"
)

// The tables below say what a person of the trade expects of each example, and why, in words and with the text it rests
// on. They were written from the published rules, not from the program's answers: a golden file shows what the program
// says, these tables say whether that is right.

// expectation is what somebody who knows the protocol expects of a case before a program is asked.
type expectation struct {
	file         string
	outcome, now thwart.Outcome
	// because is said in the words of the ramp; source is the text it rests on.
	because, source string
	// named lists reasons that have to be among those given: a code, or code@place.
	named []string
	// earliest is when the craft may launch if it dries, where the case has a date; never says that no date may be given.
	earliest string
	never    bool
	// line is a drying line with its end, such as "mn_gear 2026-10-22T15:00:00-05:00", whatever else counts beside it.
	line string
	// instead is what stands while a wash cannot be done with what is at hand.
	instead thwart.Outcome
}

const (
	umps     = "UMPS III (2016) with Table 3"
	practice = "common practice, no source"
)

var expectations = []expectation{
	{
		file: "01-clean-canoe-from-a-clean-lake", outcome: thwart.Launch, now: thwart.Launch,
		because: "clean, drained and dry, and last in a water where everything was looked for: nothing is owed",
		source:  umps + "; let go where no place failed and the history is low",
		named:   []string{"all_met"},
	},
	{
		file: "02-wake-boat-from-mussel-water", outcome: thwart.Wash, now: thwart.Wash,
		because: "fixed ballast tanks cannot be seen into, so they count as wet, and mussel larvae live in that water",
		source:  umps + "; University of Minnesota 2019-2020: every one of 379 drained boats held some water",
		named:   []string{"hidden_counts_wet@ballast_tank.1", "hidden_counts_wet@ballast_tank.2"}, never: true,
	},
	{
		file: "03-canoe-from-water-flea-lake", outcome: thwart.DryOut, now: thwart.FixHere,
		because: "wet gear off a water-flea lake: empty and wipe it first, then the resting eggs have to dry; the clock starts dry to the touch",
		source:  "Branstrator et al. 2013, Limnol. Oceanogr. 58:2171-2184: no hatching after 6 h or more of drying, no effect of 4 h or less",
		named:   []string{"standing_water@gear.bait_bucket", "damp@gear.nets", "plant@gear.anchor_and_rope"}, never: true,
	},
	{
		file: "04-burner-gives-49", outcome: thwart.Wash, now: thwart.Wash, instead: thwart.Hold,
		because: "49 °C read with ±1 °C proves 48 °C, below every line of the table, and a sealed tank cannot be shown dry either",
		source:  umps + ": 60 °C on hull, trailer, gimbal and engine, 48.9 °C in compartments", never: true,
	},
	{
		file: "05-runabout-with-weed-on-the-trailer", outcome: thwart.FixHere, now: thwart.FixHere,
		because: "a plant on the trailer fails clean; it comes off by hand at the ramp, and this state asks no more of a drained boat",
		source:  "Minnesota Statutes 84D.10",
		named:   []string{"plant@trailer.axle.port"},
	},
	{
		file: "06-bass-boat-live-well-and-outboard-up", outcome: thwart.FixHere, now: thwart.FixHere,
		because: "a dry site: any water fails, the outboard first and the live well second; both drain here, and the water is a clean pond's",
		source:  "East Bay Municipal Utility District, vessel inspection rules",
		named:   []string{"drive_not_lowered", "standing_water@live_well.1"},
	},
	{
		file: "07-cabin-cruiser-mussels-on-a-trim-tab", outcome: thwart.Hold, now: thwart.Hold,
		because: "attached mussels on a boat moored in mussel water: nothing is washed before the authority has seen it",
		source:  "Utah Admin. Code R657-60-5: craft with mussels may not leave or launch without authorization; call the authority, " + practice,
		named:   []string{"mussel_taken_as_alive@transom.trim_tabs.port", "water_at_risk"},
	},
	{
		file: "08-pontoon-with-dead-mussels", outcome: thwart.Hold, now: thwart.Hold,
		because: "listed mussels are forbidden alive or dead, however long the boat has been ashore",
		source:  "British Columbia Invasive Mussel Defence Program",
		named:   []string{"dead_mussel@tube.brackets.port"},
	},
	{
		file: "09-jon-boat-last-water-unknown", outcome: thwart.Wash, now: thwart.Wash,
		because: "nobody knows the last water or when: it counts as the worst one, today, and a wash is at hand",
		source:  "New Mexico 19.30.14.12 NMAC; unknown never clears a craft",
		named:   []string{"water_at_risk"},
	},
	{
		file: "10-sailing-dinghy-places-out-of-reach", outcome: thwart.Wash, now: thwart.Wash,
		because: "a trunk not seen and a keel not felt, on a boat from mussel water, count as carrying; young mussels are only felt",
		source:  umps + "; " + practice,
		named:   []string{"not_looked@sail.trunk", "not_felt@hull.keel"},
	},
	{
		file: "11-personal-watercraft-refused", outcome: thwart.Hold, now: thwart.Hold,
		because: "a refusal is recorded and handed on; it is not a pass",
		source:  "Wyoming Game and Fish Commission Regulation ch. 62: impound on refusal, by an officer",
		named:   []string{"refused"},
	},
	{
		file: "12-duck-boat-snails-not-mussels", outcome: thwart.FixHere, now: thwart.FixHere,
		because: "snails that are certainly no mussels come off by hand; low risk and hands at hand: clean it there. A damp decoy line passes a drained-only rule",
		source:  "Washington RCW 77.135.110 and .130",
		named:   []string{"animal@gear.decoys"},
	},
	{
		file: "13-kayak-mud-and-turions", outcome: thwart.DryOut, now: thwart.FixHere,
		because: "mud and winter buds come off by hand: neither a hot spray nor drying is known to kill a turion; and coming from a" +
			" water at risk it owes a wash or a drying time, with no hot water here",
		source: "Bruckerhoff, Havel, Knight 2015, Hydrobiologia (turions sprout after long drying)",
		named:  []string{"mud@paddle.seats", "resting_stage@paddle.seats"},
	},
	{
		file: "14-aluminium-boat-september-drying", outcome: thwart.DryOut, now: thwart.DryOut,
		because:  "18 days in September after cleaning and draining, of which eight are served",
		source:   "Utah Admin. Code R657-60-2: 7 days June to August, 18 in spring and autumn, 30 in winter",
		earliest: "2026-09-25T14:00:00-05:00", line: "ut_simple 2026-09-25T14:00:00-05:00", named: []string{"water_at_risk"},
	},
	{
		file: "15-houseboat-from-out-of-state", outcome: thwart.Wash, now: thwart.Wash,
		because: "every craft from outside the state is washed before launch, clean or not; no drying is accepted instead",
		source:  "Idaho law from 1 July 2024 (Bonner County Daily Bee, 3 July 2024)",
		named:   []string{"rule_of_the_place"}, never: true,
	},
	{
		file: "16-keelboat-sealed-with-receipt", outcome: thwart.Launch, now: thwart.Launch,
		because: "this lake's own seal, whole, with its receipt, fitted by an inspector, and not launched since: accept it",
		source:  "Lake George Park Commission, 6 NYCRR 646-9",
		named:   []string{"seal_accepted"},
	},
	{
		file: "17-inflatable-hold-not-over", outcome: thwart.DryOut, now: thwart.DryOut,
		because:  "sealed for 30 days on 10 June, and the receipt holds it two days longer: no launch on 25 June, and none before 12 July",
		source:   "Glacier National Park boat rules 2011-2019; a hold ends when whoever ordered it says, common practice, no source",
		earliest: "2026-07-12T09:30:00-05:00", line: "glacier 2026-07-10T09:30:00-05:00", named: []string{"hold_not_over"},
	},
	{
		file: "18-drift-boat-48-hours", outcome: thwart.DryOut, now: thwart.DryOut,
		because:  "last used nearby: 48 hours, counted from dry to the touch at eight on 1 July",
		source:   "Parks Canada, mountain parks drying rule",
		earliest: "2026-07-03T08:00:00-05:00", line: "parks_canada_mountain 2026-07-03T08:00:00-05:00", named: []string{"rule_of_the_place"},
	},
	{
		file: "19-rowing-boat-back-to-the-same-water", outcome: thwart.Launch, now: thwart.Launch,
		because: "straight back into the water it left last night: neither drying nor a wash is asked for, a damp rope included",
		source:  "Manitoba AIS Regulation 173/2015 pages: not needed when going back to the same water",
	},
	{
		file: "20-ski-boat-tanks-run-dry-from-a-clean-lake", outcome: thwart.Launch, now: thwart.Launch,
		because: "no water at risk, and the ballast pumped until it sucked air: drained as far as it goes",
		source:  umps + "; " + practice,
	},
	{
		file: "21-ski-boat-ballast-always-washed", outcome: thwart.Wash, now: thwart.Wash,
		because: "a boat with ballast is washed whatever is found",
		source:  "Montana Fish, Wildlife & Parks, ballast law of 2019",
		named:   []string{"rule_of_the_place"},
	},
	{
		file: "22-ski-boat-sealed-ballast-shut-out", outcome: thwart.Hold, now: thwart.Hold,
		because: "sealed ballast tanks may not be launched here, and no drying time or wash changes that",
		source:  "Yellowstone National Park, sealed ballast ban from 2019",
		named:   []string{"may_not_launch_here"}, never: true,
	},
	{
		file: "23-runabout-washed-and-looked-at-again", outcome: thwart.Launch, now: thwart.Launch,
		because: "washed after its last water, towelled dry, looked at again and nothing left: the wash or dry it owed is done",
		source:  "Oregon OAR 250-010-0660; inspection again after a wash, Wyoming Game and Fish",
	},
	{
		file: "24-dock-moved-between-lakes", outcome: thwart.DryOut, now: thwart.DryOut,
		because: "docks, lifts and swim rafts stay out of the water for 21 days: 1 October and 21 days is 22 October",
		source:  "Minnesota Statutes 84D.10 and programme pages",
		line:    "mn_gear 2026-10-22T15:00:00-05:00", named: []string{"rule_of_the_place"},
	},
	{
		file: "25-paddleboard-carried-in", outcome: thwart.Launch, now: thwart.Launch,
		because: "the thirty days are for motor and trailered craft; a board carried in by hand is exempt, and it is clean and dry",
		source:  "California: Folsom Lake, 14 April 2025 (rosevilletoday.com)",
	},
	{
		file: "26-float-tube-wet-from-a-mudsnail-lake", outcome: thwart.DryOut, now: thwart.FixHere,
		because: "wet cover and waders off a lake with mudsnails, no hot water here: wipe now, then dry; no date while it is wet",
		source:  "Oregon OAR 250-010-0660 (a float tube is a boat); Alonso, Castro-Diez 2012, NeoBiota 14:67-74",
		named:   []string{"film_of_water@float_tube.cover", "damp@gear.waders_boots"}, never: true,
	},
	{
		file: "27-seaplane-weed-on-a-water-rudder", outcome: thwart.FixHere, now: thwart.FixHere,
		because: "a plant on a rudder cable comes off by hand; the floats are pumped out, and no more is asked here",
		source:  "Minnesota Statutes 84D.10; seaplane practice after Manitoba's float-plane page (pumped water put on land)",
		named:   []string{"plant@float.water_rudder.port"},
	},
	{
		file: "28-own-rules-dead-shells-are-washed", outcome: thwart.Wash, now: thwart.Wash,
		because: "this programme's own confirmed rules fail dead shells but wash them off instead of holding the boat",
		source:  "the protocol in the case itself: deadMusselFails without deadMusselHolds",
		named:   []string{"dead_mussel@tube.brackets.port"},
	},
	{
		file: "29-aluminium-boat-seal-taken-off-early", outcome: thwart.Hold, now: thwart.Hold,
		because: "a drying-time seal taken off early goes to the authority, whatever the reason",
		source:  "Utah Division of Wildlife Resources, seals: not removed early except for maintenance",
		named:   []string{"seal_taken_off_early"},
	},
	{
		file: "30-aluminium-boat-three-days-of-frost", outcome: thwart.Launch, now: thwart.Launch,
		because: "72 hours running below freezing stand in for the thirty days of winter; they were over at eight this morning",
		source:  "Utah Admin. Code R657-60-2: air below freezing for 72 consecutive hours",
	},
	{
		file: "31-nothing-answered", outcome: thwart.Hold, now: thwart.Hold,
		because: "nobody looked, nobody knows the water or the tanks, and there is no wash here: the worst is taken everywhere",
		source:  "unknown never clears a craft; " + practice,
		named:   []string{"no_treatment_can_be_shown"}, never: true,
	},
}

// washExpectation is one claim about one logger's file, and what somebody who reads the table and the log expects.
type washExpectation struct {
	name, file, protocol    string
	part                    thwart.Part
	method                  thwart.Method
	measured                thwart.MeasuredAt
	plusMinus, inletMax     string // as typed
	organisms               []string
	want                    string // met, not_met, unknown or refused
	says                    string // a piece of the reason or of the refusal
	lethal                  map[string]string
	heldLeastS, heldBelowS  float64
	breach                  bool
	because, source, logger string
}

const hull10 = "UMPS III Table 3: hull 140 °F (60 °C) at the surface for 10 s"

var washExpectations = []washExpectation{
	{
		name: "wash-01-hull-good", file: "01-hull-run-off.csv", protocol: "regional-minimum", logger: "dates and clock, remarks above the table",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "met", heldLeastS: 20, lethal: map[string]string{"zebra_mussel adult": "lethal"},
		because: "the run-off stands at 62 °C, 61 after the thermometer, for some 26 s",
		source:  hull10 + "; Morse 2009, Biofouling 25:605-610: all dead at 60 °C and 10 s of spray",
	},
	{
		name: "wash-02-hull-read-at-the-nozzle", file: "01-hull-run-off.csv", protocol: "regional-minimum", logger: "the same file",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtNozzle, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "unknown", says: "nozzle", lethal: map[string]string{"zebra_mussel adult": "not_known"},
		because: "water cools between nozzle and hull, so a nozzle reading proves nothing at the surface; unknown never clears",
		source:  hull10 + "; the nozzle is not contact",
	},
	{
		name: "wash-03-hull-thermometer-not-known", file: "01-hull-run-off.csv", protocol: "regional-minimum", logger: "the same file",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, organisms: []string{"zebra_mussel"},
		want: "not_met", says: "±2.5 °C",
		because: "an unchecked thermometer may be 2.5 °C out, and 62 less 2.5 is below 60",
		source:  hull10 + "; IEC 60584-1, class 2 type K, from memory",
	},
	{
		name: "wash-04-hull-water-flea-eggs", file: "01-hull-run-off.csv", protocol: "regional-minimum", logger: "the same file",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C", organisms: []string{"spiny_water_flea"},
		want: "met", lethal: map[string]string{"spiny_water_flea resting_egg": "not_known"},
		because: "the mussel rule is met, and it is no evidence about resting eggs: nobody has sprayed them",
		source:  hull10 + "; Branstrator et al. 2013: eggs still hatched after 1 min in water at 50 °C",
	},
	{
		name: "wash-05-hull-too-cool", file: "02-hull-too-cool.csv", protocol: "regional-minimum", logger: "semicolons, decimal commas, German header",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "0.5C", organisms: []string{"zebra_mussel"},
		want: "not_met", heldBelowS: 1, lethal: map[string]string{"zebra_mussel adult": "not_lethal"},
		because: "a full minute at 59 °C is not ten seconds at 60: no credit below the line",
		source:  hull10,
	},
	{
		name: "wash-06-trailer-broken-off", file: "03-trailer-broken-off.csv", protocol: "regional-minimum", logger: "seconds from the start",
		part: thwart.PartTrailer, method: thwart.MethodLowSpray, measured: thwart.AtContact, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "not_met", says: "70 s", heldLeastS: 48, heldBelowS: 60,
		because: "the log ends after some 52 hot seconds of the 70 asked for",
		source:  "UMPS III Table 3: trailer 140 °F for 70 s, low pressure",
	},
	{
		name: "wash-07-bilge-with-a-gap", file: "04-bilge-with-a-gap.csv", protocol: "regional-minimum", logger: "time stamps with an offset, a reading each 2 s",
		part: thwart.PartBilge, method: thwart.MethodFlush, measured: thwart.AtExit, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "not_met", says: "breaks", heldBelowS: 130,
		because: "nobody knows how hot it was in the 44 s without a reading, so the 130 s are not unbroken",
		source:  "UMPS III Table 3: bilge 120 °F (48.9 °C) for 130 s",
	},
	{
		name: "wash-08-hull-fahrenheit-called-celsius", file: "05-hull-fahrenheit-called-celsius.csv", protocol: "regional-minimum", logger: "a header that says °C over numbers in °F",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C",
		want: "refused", says: "°F",
		because: "144 °C is no water temperature; the file has to be set right, not guessed at",
		source:  "water boils at 100 °C",
	},
	{
		name: "wash-09-live-well-two-passes", file: "06-live-well-two-passes.csv", protocol: "regional-minimum", logger: "sample numbers and battery beside the probe",
		part: thwart.PartWell, method: thwart.MethodFlush, measured: thwart.AtExit, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "not_met", says: "do not add up", heldLeastS: 80, heldBelowS: 130,
		because: "86 s and 72 s with a cold spell between them are not 130 s",
		source:  "UMPS III Table 3: live well 120 °F for 130 s",
	},
	{
		name: "wash-10-engine-flush-inlet-too-hot", file: "07-engine-flush.csv", protocol: "regional-minimum", logger: "tabs, °F",
		part: thwart.PartEngine, method: thwart.MethodEngineFlush, measured: thwart.AtExit, plusMinus: "0.5C", inletMax: "62C", organisms: []string{"zebra_mussel"},
		want: "met", breach: true,
		because: "the exit reached 60 °C, but the water going in was 62: the line is met and a limit was passed, for the owner and the record",
		source:  "UMPS III Table 3, engine and note 6: exit 140 °F, input never above 140 °F",
	},
	{
		name: "wash-11-ballast-two-probes", file: "08-ballast-two-probes.csv", protocol: "regional-minimum", logger: "two probes, a reading each 5 s",
		part: thwart.PartBallast, method: thwart.MethodFillFlush, measured: thwart.AtExit, plusMinus: "0.5C", organisms: []string{"zebra_mussel"},
		want: "met", heldLeastS: 130, heldBelowS: 330,
		because: "the slower tank decides: it is above 48.9 °C for under five minutes, which is enough",
		source:  "UMPS III Table 3: ballast, high risk, 120 °F at the exit for 130 s, fill and flush",
	},
	{
		name: "wash-12-ballast-flushed-only", file: "08-ballast-two-probes.csv", protocol: "regional-minimum", logger: "the same file",
		part: thwart.PartBallast, method: thwart.MethodFlush, measured: thwart.AtExit, plusMinus: "0.5C", organisms: []string{"zebra_mussel"},
		want: "not_met", says: "fill and flush",
		because: "flushing alone leaves what the water does not reach; from a water at risk the tank is filled",
		source:  "UMPS III Table 3: ballast, high risk, fill and flush",
	},
	{
		name: "wash-13-hull-late-and-double-rows", file: "09-hull-late-and-double-rows.csv", protocol: "regional-minimum", logger: "12-hour clock, rows late and twice",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C", organisms: []string{"quagga_mussel"},
		want: "met", heldLeastS: 15, lethal: map[string]string{"quagga_mussel adult": "lethal"},
		because: "put in order of time, the colder of two readings kept, it is hot for some 22 s",
		source:  hull10 + "; Comeau et al. 2011, Biofouling 27:267-274: quagga mussels dead at 60 °C and 5 s",
	},
	{
		name: "wash-14-hull-with-a-spike", file: "10-hull-with-a-spike.csv", protocol: "regional-minimum", logger: "one reading that cannot be true",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C", organisms: []string{"zebra_mussel"},
		want: "not_met", heldBelowS: 1,
		because: "one reading of 78 °C among 57s is a fault of the probe and earns nothing",
		source:  hull10,
	},
	{
		name: "wash-15-gear-soak", file: "11-gear-soak.csv", protocol: "new-zealand", logger: "minutes from the start, a reading each 10 s",
		part: thwart.PartGear, method: thwart.MethodSoak, measured: thwart.AtSoak, plusMinus: "1C", organisms: []string{"spiny_water_flea", "new_zealand_mudsnail"},
		want: "met", heldLeastS: 600, lethal: map[string]string{"spiny_water_flea resting_egg": "lethal"},
		because: "eleven minutes at 56 °C and more: twice the five minutes at 50 °C after which no egg hatched",
		source:  "New Zealand Ministry for Primary Industries: soak at 50-55 °C for 5 min; Branstrator et al. 2013",
	},
	{
		name: "wash-16-hull-scale-not-said", file: "12-hull-scale-not-said.csv", protocol: "regional-minimum", logger: "no word of °C or °F",
		part: thwart.PartHull, method: thwart.MethodHighSpray, measured: thwart.AtContact, plusMinus: "1C",
		want: "refused", says: "unit",
		because: "62 may be hot or barely warm; nobody can tell, so nobody is told",
		source:  "60 °F is 15.6 °C",
	},
}
