// Package boater says a verdict to the person whose boat it is: what was found, what to do now, how long it takes. Short words,
// short sentences, in the boater's language; no codes, no places by name, nothing that blames.
//
// The texts are data, one file a language (messages/en.json and so on), chosen by the reasons of the verdict and the steps of
// the treatment. A language is added by adding its file; a test asks that each holds every message, and measures how hard it is
// to read.
package boater

import (
	"embed"
	"encoding/json"
	"path"
	"strconv"
	"strings"
	"time"

	"thwart"
	"thwart/lean"
)

//go:embed messages/*.json
var files embed.FS

// catalogues are the messages by language. They are compiled in, so a broken one is a mistake of the build.
var catalogues = lean.Once(func() map[string]map[string]string {
	all := map[string]map[string]string{}
	names, err := files.ReadDir("messages")
	if err != nil {
		panic("boater: " + err.Error())
	}
	for _, n := range names {
		text, err := files.ReadFile(path.Join("messages", n.Name()))
		if err != nil {
			panic("boater: " + err.Error())
		}
		m := map[string]string{}
		if err := json.Unmarshal(text, &m); err != nil {
			panic("boater: " + n.Name() + ": " + err.Error())
		}
		all[strings.TrimSuffix(n.Name(), ".json")] = m
	}
	return all
})

// Languages lists the languages there are, English first, with their own names.
func Languages() [][2]string {
	list := [][2]string{}
	for code, m := range catalogues() {
		list = append(list, [2]string{code, m["language"]})
	}
	lean.Sort(list, func(a, b [2]string) int {
		if a[0] == "en" || b[0] == "en" {
			return map[bool]int{true: -1, false: 1}[a[0] == "en"]
		}
		return strings.Compare(a[0], b[0])
	})
	return list
}

// Card is one screen to turn towards the boater.
type Card struct {
	Language string         `json:"language"`
	Outcome  thwart.Outcome `json:"outcome"` // the first act: which plate to show
	Word     string         `json:"word"`
	Say      string         `json:"say"`
	FoundIs  string         `json:"foundIs"` // the heading over found
	Found    []string       `json:"found"`
	DoIs     string         `json:"doIs"` // the heading over do
	Do       []string       `json:"do"`
	Time     string         `json:"time,omitempty"`
	Practice string         `json:"practice,omitempty"` // set while the protocol is not confirmed
}

// foundBy gives the message for each reason. A reason without one is said by its outcome alone.
var foundBy = map[thwart.ReasonCode]string{
	thwart.ReasonNotLooked: "unchecked", thwart.ReasonNotFelt: "unchecked", thwart.ReasonNotOpened: "unchecked", thwart.ReasonWaterUnknown: "unchecked",
	thwart.ReasonWater: "water", thwart.ReasonHiddenWet: "hidden", thwart.ReasonFilm: "damp", thwart.ReasonDamp: "damp",
	thwart.ReasonPlugIn: "plug", thwart.ReasonPlugUnknown: "plug", thwart.ReasonDriveUp: "drive", thwart.ReasonDriveUnknown: "drive",
	thwart.ReasonStrainerIn: "strainer", thwart.ReasonLiveMussel: "mussel", thwart.ReasonNotIdentified: "mussel", thwart.ReasonDeadMussel: "dead_mussel",
	thwart.ReasonAnimal: "animal", thwart.ReasonPlant: "plant", thwart.ReasonMud: "mud", thwart.ReasonResting: "resting",
	thwart.ReasonOtherMatter: "other", thwart.ReasonRiskWater: "risk_water", thwart.ReasonAlways: "rule", thwart.ReasonSealBroken: "seal",
	thwart.ReasonSealHeld: "seal", thwart.ReasonSealSevere: "seal", thwart.ReasonSealNotCounted: "seal", thwart.ReasonNeverHere: "never",
	thwart.ReasonNoTreatment: "no_treatment", thwart.ReasonRefused: "refused", thwart.ReasonSealAccepted: "seal_good",
	thwart.ReasonSameWater: "same_water", thwart.ReasonCarriedIn: "carried", thwart.ReasonWashedSince: "cleared", thwart.ReasonDriedSince: "cleared",
	thwart.ReasonAllMet: "clean",
}

// doBy gives the message for each step a boater should know of.
var doBy = map[thwart.StepKind]string{
	thwart.StepRemove: "remove", thwart.StepDrain: "drain", thwart.StepLook: "look", thwart.StepWipe: "wipe", thwart.StepWash: "wash",
	thwart.StepFlush: "wash", thwart.StepFillFlush: "wash", thwart.StepEngine: "wash", thwart.StepSoak: "wash", thwart.StepChemical: "chemical",
	thwart.StepDry: "dry", thwart.StepRelook: "look_again", thwart.StepCall: "call",
}

// For makes the card of a verdict and its treatment; nil where nothing is owed. zone is where the boater's clock hangs. An
// unknown language gives [thwart.FieldErrors] with those there are.
func For(v *thwart.Verdict, t *thwart.Treatment, language string, zone *time.Location) (Card, error) {
	m, ok := catalogues()[language]
	if !ok {
		var codes []string
		for _, l := range Languages() {
			codes = append(codes, l[0])
		}
		return Card{}, thwart.FieldErrors{{Field: "language", Value: language, Accepted: strings.Join(codes, ", ")}}
	}
	if v.Now.Rank() < 0 {
		return Card{}, thwart.FieldErrors{{Field: "verdict.now", Value: string(v.Now), Accepted: "the verdict of an inspection"}}
	}
	c := Card{
		Language: language, Outcome: v.Now, Word: m["word."+string(v.Now)], Say: m["say."+string(v.Now)], FoundIs: m["found"], DoIs: m["do"],
		Found: []string{}, Do: []string{},
	}
	for i := range v.Reasons {
		if v.Reasons[i].Code == thwart.ReasonNeverHere {
			c.Say = m["say.never"]
		}
		addOnce(&c.Found, m["found."+foundBy[v.Reasons[i].Code]])
	}
	if t != nil {
		for i := range t.Steps {
			addOnce(&c.Do, m["do."+doBy[t.Steps[i].Kind]])
		}
		c.Time = timeOf(v, t, m, zone)
	}
	if v.Now == thwart.Hold {
		addOnce(&c.Do, m["do.call"])
	} else if v.Outcome == thwart.DryOut {
		addOnce(&c.Do, m["do.home"])
	}
	if v.Unconfirmed {
		c.Practice = m["practice"]
	}
	return c, nil
}

func addOnce(list *[]string, text string) {
	if text == "" {
		return
	}
	for _, have := range *list {
		if have == text {
			return
		}
	}
	*list = append(*list, text)
}

// timeOf says how long it takes, or that nobody can say: never a time that is not shown.
func timeOf(v *thwart.Verdict, t *thwart.Treatment, m map[string]string, zone *time.Location) string {
	switch {
	case v.Outcome == thwart.Hold:
		return ""
	case v.Outcome == thwart.DryOut && (t.Dry == nil || t.Dry.Earliest == nil):
		return m["time.not_known"]
	case v.Outcome == thwart.DryOut:
		at := *t.Dry.Earliest
		if zone != nil {
			at = at.In(zone)
		}
		if at.Second() != 0 || at.Nanosecond() != 0 { // never a minute too early
			at = at.Truncate(time.Minute).Add(time.Minute)
		}
		date := strings.NewReplacer("{time}", at.Format("15:04"), "{day}", strconv.Itoa(at.Day()), "{month}", m["month."+strconv.Itoa(int(at.Month()))]).Replace(m["date"])
		return strings.ReplaceAll(m["time.until"], "{time}", date)
	case !t.Possible:
		return m["time.not_now"]
	case t.Minutes > 0:
		const step = 5 // minutes: an estimate is not said to the minute
		n := (int(t.Minutes)/step + 1) * step
		return strings.ReplaceAll(m["time.minutes"], "{minutes}", strconv.Itoa(n))
	}
	return ""
}

// MonthName gives the name of a month in one of [Languages]; another language gives the English one.
func MonthName(language string, month time.Month) string {
	for _, l := range []string{language, "en"} {
		if m, ok := catalogues()[l]; ok {
			return m["month."+strconv.Itoa(int(month))]
		}
	}
	return month.String()
}
