package boater

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"thwart"
)

// Every language holds every message, with the same places to fill in.
func TestCataloguesAreComplete(t *testing.T) {
	all := catalogues()
	place := regexp.MustCompile(`\{[a-z]+\}`)
	if len(all) < 3 {
		t.Fatalf("%d languages", len(all))
	}
	for code, m := range all {
		for key, english := range all["en"] {
			text, ok := m[key]
			if !ok || strings.TrimSpace(text) == "" {
				t.Errorf("%s lacks %s", code, key)
			}
			want, got := place.FindAllString(english, -1), place.FindAllString(text, -1)
			slices.Sort(want)
			slices.Sort(got)
			if !slices.Equal(want, got) {
				t.Errorf("%s, %s: %v, want %v", code, key, got, want)
			}
		}
		for key := range m {
			if _, ok := all["en"][key]; !ok {
				t.Errorf("%s has %s, which English lacks", code, key)
			}
		}
	}
}

// Every reason and every step that the product knows has its message, and every message its use.
func TestEveryReasonIsSaid(t *testing.T) {
	m := catalogues()["en"]
	used := map[string]bool{}
	for code, key := range foundBy {
		used["found."+key] = true
		if m["found."+key] == "" {
			t.Errorf("%s: no message found.%s", code, key)
		}
	}
	for kind, key := range doBy {
		used["do."+key] = true
		if m["do."+key] == "" {
			t.Errorf("%s: no message do.%s", kind, key)
		}
	}
	used["do.home"] = true
	for key := range m {
		if (strings.HasPrefix(key, "found.") || strings.HasPrefix(key, "do.")) && !used[key] {
			t.Errorf("%s is never said", key)
		}
	}
	for _, o := range thwart.Outcomes {
		if m["word."+string(o)] == "" || m["say."+string(o)] == "" {
			t.Errorf("%s has no word", o)
		}
	}
}

// counted are the words, sentences and syllables of a text.
type counted struct{ words, sentences, syllables int }

// silentES ends words such as takes, not washes.
var silentES = regexp.MustCompile(`[^sxzhcg]es$`)

func count(text, vowels string) (c counted) {
	text = regexp.MustCompile(`\{[a-z]+\}`).ReplaceAllString(text, "5")
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' && r != '’' }) {
		n, inside := 0, false
		for _, r := range strings.ToLower(w) {
			is := strings.ContainsRune(vowels, r)
			if is && !inside {
				n++
			}
			inside = is
		}
		// A silent e at the end, as in "take" and "takes", but not as the only vowel.
		low := strings.ToLower(w)
		if n > 1 && vowels != vowelsES && (strings.HasSuffix(low, "e") && !strings.HasSuffix(low, "le") || silentES.MatchString(low)) {
			n--
		}
		c.words, c.syllables = c.words+1, c.syllables+max(n, 1)
	}
	for _, r := range text {
		if strings.ContainsRune(".!?:", r) {
			c.sentences++
		}
	}
	c.sentences = max(c.sentences, 1)
	return c
}

const (
	vowelsEN = "aeiouy"
	vowelsES = "aeiouáéíóúü"
	vowelsFR = "aeiouyàâéèêëîïôûùœ"
)

// Flesch–Kincaid grade (Kincaid and others 1975): 0.39 words/sentence + 11.8 syllables/word − 15.59.
func grade(c counted) float64 {
	return 0.39*float64(c.words)/float64(c.sentences) + 11.8*float64(c.syllables)/float64(c.words) - 15.59
}

// Flesch reading ease for French (Kandel and Moles 1958, from memory): 207 − 1.015 words/sentence − 73.6 syllables/word. 70 and
// more is fairly easy.
func easeFR(c counted) float64 {
	return 207 - 1.015*float64(c.words)/float64(c.sentences) - 73.6*float64(c.syllables)/float64(c.words)
}

// Flesch reading ease for Spanish (Szigriszt 1993, from memory): 206.835 − 62.3 syllables/word − words/sentence. 65 and more is
// fairly easy on the INFLESZ scale (Barrio 2008, from memory).
func easeES(c counted) float64 {
	return 206.835 - 62.3*float64(c.syllables)/float64(c.words) - float64(c.words)/float64(c.sentences)
}

// whole is every sentence a language's cards are made of.
func whole(m map[string]string) (text string) {
	for _, key := range slices.Sorted(maps.Keys(m)) {
		if strings.Contains(key, ".") && !strings.HasPrefix(key, "month.") && !strings.HasPrefix(key, "word.") {
			text += m[key] + " "
		}
	}
	return text
}

func TestEasyToRead(t *testing.T) {
	all := catalogues()
	if g := grade(count(whole(all["en"]), vowelsEN)); g > 4 {
		t.Errorf("English as a whole: grade %.1f", g)
	} else {
		t.Logf("English as a whole: grade %.1f", g)
	}
	for key, text := range all["en"] {
		if !strings.Contains(key, ".") || strings.HasPrefix(key, "month.") || strings.HasPrefix(key, "word.") {
			continue
		}
		c := count(text, vowelsEN)
		if g := grade(c); g > 6 {
			t.Errorf("%s: grade %.1f: %s", key, g, text)
		}
		if c.words/c.sentences > 20 {
			t.Errorf("%s: a sentence of more than 20 words", key)
		}
	}
	fr, es := easeFR(count(whole(all["fr"]), vowelsFR)), easeES(count(whole(all["es"]), vowelsES))
	t.Logf("French ease %.0f, Spanish ease %.0f", fr, es)
	if fr < 70 {
		t.Errorf("French ease %.0f, want at least 70", fr)
	}
	if es < 65 {
		t.Errorf("Spanish ease %.0f, want at least 65", es)
	}
}

// The measure itself, on texts whose counts are plain: 10 words, 2 sentences, 11 syllables.
func TestMeasure(t *testing.T) {
	c := count("The boat is wet. Pull the plug and let water.", vowelsEN)
	if c != (counted{10, 2, 11}) {
		t.Errorf("%+v", c)
	}
}

func TestCards(t *testing.T) {
	at := time.Date(2026, 7, 4, 9, 30, 0, 0, time.FixedZone("", -5*3600))
	until := time.Date(2026, 7, 7, 19, 19, 30, 0, time.UTC)
	for _, c := range []struct {
		name string
		v    thwart.Verdict
		t    *thwart.Treatment
		lang string
		time string
		do   string
	}{
		{"clean", thwart.Verdict{Outcome: thwart.Launch, Now: thwart.Launch, Reasons: []thwart.Reason{{Code: thwart.ReasonAllMet}}}, nil, "en", "", ""},
		{"weed", thwart.Verdict{Outcome: thwart.FixHere, Now: thwart.FixHere, Reasons: []thwart.Reason{{Code: thwart.ReasonPlant}, {Code: thwart.ReasonPlant}}},
			&thwart.Treatment{Possible: true, Minutes: 3, Steps: []thwart.Step{{Kind: thwart.StepRemove}}}, "en", "It takes about 5 minutes.", "Take off all plants, mud and animals. We will help you."},
		{"dry, in the ramp's time", thwart.Verdict{Outcome: thwart.DryOut, Now: thwart.FixHere, Reasons: []thwart.Reason{{Code: thwart.ReasonRiskWater}}},
			&thwart.Treatment{Possible: true, Dry: &thwart.DryHold{Earliest: &until}}, "en", "You may launch from 14:20 on July 7, if it stays dry.", "You may go home with it. Do not launch it, here or in any other lake."},
		{"dry, nobody knows how long", thwart.Verdict{Outcome: thwart.DryOut, Now: thwart.DryOut, Reasons: []thwart.Reason{{Code: thwart.ReasonHiddenWet}}},
			&thwart.Treatment{Possible: true, Dry: &thwart.DryHold{}}, "fr", "On ne peut pas dire combien de temps. Voyez le chef.", "Vous pouvez rentrer avec. Ne le mettez dans aucun lac."},
		{"no hot water", thwart.Verdict{Outcome: thwart.Wash, Now: thwart.Wash, Reasons: []thwart.Reason{{Code: thwart.ReasonRiskWater}}},
			&thwart.Treatment{Possible: false, Minutes: 20}, "es", "Ahora no se puede hacer aquí. El encargado le dirá dónde.", ""},
		{"mussel", thwart.Verdict{Outcome: thwart.Hold, Now: thwart.Hold, Reasons: []thwart.Reason{{Code: thwart.ReasonLiveMussel}}},
			&thwart.Treatment{Possible: true, Minutes: 9}, "en", "", "We call the agency. Please stay here if you can."},
	} {
		card, err := For(&c.v, c.t, c.lang, at.Location())
		if err != nil {
			t.Fatal(err)
		}
		if card.Time != c.time || (c.do != "" && !slices.Contains(card.Do, c.do)) || len(card.Found) != 1 || card.Word == "" || card.Say == "" {
			t.Errorf("%s: %+v", c.name, card)
		}
	}
	if _, err := For(&thwart.Verdict{Now: thwart.Launch}, nil, "xx", nil); err == nil || !strings.Contains(err.Error(), "en, es, fr") {
		t.Errorf("an unknown language: %v", err)
	}
	if _, err := For(&thwart.Verdict{}, nil, "en", nil); err == nil {
		t.Error("no verdict was said to be one")
	}
}

// No card says launch unless the verdict does, whatever the reasons.
func TestCardIsNeverMilder(t *testing.T) {
	for code := range foundBy {
		for _, o := range thwart.Outcomes {
			for _, l := range Languages() {
				v := thwart.Verdict{Outcome: o, Now: o, Reasons: []thwart.Reason{{Code: code}}}
				card, err := For(&v, nil, l[0], nil)
				if err != nil {
					t.Fatal(err)
				}
				m := catalogues()[l[0]]
				if launch := card.Word == m["word.launch"] || card.Say == m["say.launch"]; launch && o != thwart.Launch {
					t.Errorf("%s, %s: the card says launch", code, o)
				}
			}
		}
	}
}
