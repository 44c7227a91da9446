package tongue

import (
	"testing"
)

func speak(t *testing.T, b *Book) {
	t.Helper()
	Use(b)
	t.Cleanup(func() { Use(nil) })
}

func TestEnglishIsSaidAsItStands(t *testing.T) {
	for _, c := range []struct {
		text   Text
		values []string
		want   string
	}{
		{"Nothing to fill in, # and all.", nil, "Nothing to fill in, # and all."},
		{"{place}: at most {limit}.", []string{"Keel", "60 °C"}, "Keel: at most 60 °C."},
		{"{a} and {b} and {a}", []string{"1", "2"}, "1 and 2 and 1"},
		{"{a} then", []string{"{b} }#"}, "{b} }# then"}, // what is filled in is not read again
		{"{n, plural, =0 {none} one {# day} other {# days}} left", []string{"0"}, "none left"},
		{"{n, plural, =0 {none} one {# day} other {# days}} left", []string{"1"}, "1 day left"},
		{"{n, plural, one {# day} other {# days}} of {all}", []string{"1.5", "7"}, "1.5 days of 7"},
		{"{n, plural, one {{n} {what}} other {{n} {what}s}}", []string{"3", "plug"}, "3 plugs"},
		{"{a} {b}", []string{"one"}, "one {b}"}, // a value that is missing shows
	} {
		if got := Say(c.text, c.values...); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

// Forms of Polish, by Unicode CLDR 44: one for 1; few for 2 to 4 but not 12 to 14; many for the other whole numbers; other for broken ones.
func polish() (whole, broken []string) {
	for n := range 200 {
		form := "many"
		switch {
		case n == 1:
			form = "one"
		case n%10 >= 2 && n%10 <= 4 && (n%100 < 12 || n%100 > 14):
			form = "few"
		}
		whole, broken = append(whole, form), append(broken, "other")
	}
	return whole, broken
}

func TestAnotherLanguage(t *testing.T) {
	whole, broken := polish()
	speak(t, &Book{
		Words: map[string]string{
			"{n} places of {craft}": "{craft}: {n, plural, =0 {nic} one {# miejsce} few {# miejsca} many {# miejsc} other {# miejsca}}",
			"keel":                  "stępka",
			"{place} is {what}":     "{what} – {place} – {missing}",
		},
		Decimal: ",", Whole: whole, Broken: broken,
	})
	for n, want := range map[string]string{
		"0": "łódź: nic", "1": "łódź: 1 miejsce", "3": "łódź: 3 miejsca", "12": "łódź: 12 miejsc", "22": "łódź: 22 miejsca",
		"112": "łódź: 112 miejsc", "1012": "łódź: 1012 miejsc", "1023": "łódź: 1023 miejsca", "1,5": "łódź: 1,5 miejsca",
	} {
		if got := Say("{n} places of {craft}", n, "łódź"); got != want {
			t.Errorf("%s: %q, want %q", n, got, want)
		}
	}
	if got := Say("{place} is {what}", Data("keel"), "mokra"); got != "mokra – stępka – {missing}" {
		t.Errorf("order of names: %q", got)
	}
	if got := Say("no translation {x}", "y"); got != "no translation y" {
		t.Errorf("fallback: %q", got)
	}
	if got := Short(60.5) + " " + Num(1234.25, 'f', 1) + " " + Short(7); got != "60,5 1234,2 7" {
		t.Errorf("numbers: %q", got)
	}
}

func TestFirstLetterIsALetterNotAByte(t *testing.T) {
	for in, want := range map[string]string{"": "", "hull": "Hull", "élice": "Élice", "⟦hull⟧": "⟦hull⟧", "\xff": "\xff"} {
		if got := Capital(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
	if got := Small("Échelle"); got != "échelle" {
		t.Error(got)
	}
}

func TestLists(t *testing.T) {
	if got := Or([]string{"a", "b", "c"}); got != "a or b or c" {
		t.Error(got)
	}
	if got := And([]string{"a", "b", "c"}); got != "a, b and c" {
		t.Error(got)
	}
	if And(nil) != "" || And([]string{"a"}) != "a" {
		t.Error("short lists")
	}
	if Or(nil) != "" || Or([]string{"a"}) != "a" {
		t.Error("short lists")
	}
}

func TestOnceAsksAgainInAnotherLanguage(t *testing.T) {
	n := 0
	words := Once(func() string { n++; return Say("keel") })
	if words()+words() != "keelkeel" || n != 1 {
		t.Errorf("worked out %d times", n)
	}
	speak(t, &Book{Words: map[string]string{"keel": "quilla"}})
	if words()+words() != "quillaquilla" || n != 2 {
		t.Errorf("%s, worked out %d times", words(), n)
	}
}

// FuzzSay asks that no translation, however broken, makes the engine fall.
func FuzzSay(f *testing.F) {
	f.Add("{n, plural, one {# a} other {# b}} {m}", "1")
	f.Add("{n, plural, one {", "2")
	f.Add("}}{{,,", "x")
	f.Fuzz(func(t *testing.T, said, value string) {
		speak(t, &Book{Words: map[string]string{"{n} of {m}": said}})
		Say("{n} of {m}", value, value)
	})
}
