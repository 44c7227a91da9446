package exchange

import (
	"cmp"
	"fmt"
	"regexp"
	"strings"

	"thwart"
)

var betweenFindings = regexp.MustCompile(`\s*(?:[,;/&+\n]|\band\b)\s*`)

func (rd *reader) findings() []thwart.Finding {
	var out []thwart.Finding
	if s := rd.told(FieldFound); s != "" {
		v := vocabularies[FieldFound]
		parts := []string{s}
		if _, whole := lookup(rd.m.Words[FieldFound], v, s); !whole {
			parts = betweenFindings.Split(s, 20)
		}
		for _, p := range parts {
			if p = strings.TrimSpace(p); p == "" {
				continue
			}
			meaning, ok := lookup(rd.m.Words[FieldFound], v, p)
			switch {
			case !ok && yesNo.words[plain(p)] == "yes":
				rd.say(LevelLook, FieldFound, "what was found; taken as not known, which counts as alive", "say in words.found what yes stands for")
				out = append(out, thwart.Finding{Place: PlaceNotTold})
			case !ok:
				rd.say(LevelLook, FieldFound, strings.Join(v.accepted(), ", ")+"; taken as not known, which counts as alive", rd.wordFix(FieldFound, p, v))
				text, _ := withoutPersons(p)
				out = append(out, thwart.Finding{Place: PlaceNotTold, Note: clip(text)})
			case meaning != "none":
				out = append(out, thwart.Finding{Place: PlaceNotTold, Matter: thwart.Matter(meaning)})
			}
		}
	}
	if x, _, ok := rd.amount(FieldWaterFound, cmp.Or(rd.m.Units.Volume, "L")); ok {
		switch {
		case x < 0 || x > thwart.MaxSpaceL:
			rd.say(LevelLeftOut, FieldWaterFound, fmt.Sprintf("0 to %g L", thwart.MaxSpaceL), "")
		case x > 0:
			if x > 3000 {
				rd.say(LevelLook, FieldWaterFound, fmt.Sprintf("usually at most 3000 L; taken as %.0f L", x), "")
			}
			out = append(out, thwart.Finding{Place: PlaceNotTold, Matter: thwart.MatterWater, VolumeL: x})
		}
	}
	return out
}

// Bounds of a wash as people write it, in °C: below is the lake, above is steam.
const (
	coldestWashC = 20
	hottestWashC = 95
)

func (rd *reader) note() string {
	var parts []string
	if s := rd.told(FieldNote); s != "" {
		text, removed := withoutPersons(s)
		if removed {
			rd.say(LevelLook, FieldNote, "a note without telephone numbers and e-mail addresses; they were taken out", "")
			rd.hideLast()
		}
		parts = append(parts, text)
	}
	own, other := "C", "F"
	if rd.m.Units.Temp == "F" {
		own, other = other, own
	}
	if x, said, ok := rd.amount(FieldWashTemp, own); ok {
		raw, _, _ := number(rd.told(FieldWashTemp))
		fits := func(v float64) bool { return v >= coldestWashC && v <= hottestWashC }
		swapped := metric(raw, other)
		switch {
		case fits(x):
			parts = append(parts, fmt.Sprintf("Wash temperature as written, not measured by us: %.1f °C.", x))
		case !said && fits(swapped):
			rd.say(LevelLeftOut, FieldWashTemp, fmt.Sprintf("%d to %d °C", coldestWashC, hottestWashC),
				fmt.Sprintf("%g °%s = %.1f °C? then write the unit into the cell, or set units.temp to %s", raw, other, swapped, other))
		default:
			rd.say(LevelLeftOut, FieldWashTemp, fmt.Sprintf("%d to %d °C", coldestWashC, hottestWashC), "")
		}
	}
	note := strings.Join(parts, " ")
	for len(note) > thwart.MaxNote {
		r := []rune(note)
		note = string(r[:len(r)-1-(len(note)-thwart.MaxNote)/4])
	}
	return note
}

// reach are e-mail addresses and telephone numbers (seven digits and more, in groups).
var reach = regexp.MustCompile(`[\w.+-]+@[\w-]+\.[\w.-]+|\+?\(?\d{3}\)?[ .-]?\d{3}[ .-]?\d{4}|\+\d[\d -]{7,14}\d|\b\d{3}[-.]\d{4}\b`)

func withoutPersons(s string) (text string, removed bool) {
	text = reach.ReplaceAllString(s, "[taken out]")
	return text, text != s
}
