package names_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thwart/names"
)

// Invented waters.
var waters = []names.Entry{
	{ID: "b", Name: "Brackenholt Lake", At: &[2]float64{-93, 45}},
	{ID: "o", Name: "Owlmere Reservoir", At: &[2]float64{-93.2, 45.1}},
	{ID: "p", Name: "Pikehollow Lake", Also: []string{"Pike Pond"}, At: &[2]float64{-94, 46}},
	{ID: "f", Name: "Fenwillow Lake"},
	{ID: "f2", Name: "Fenwillow Lake", At: &[2]float64{-93, 45.01}},
	{ID: "g", Name: "Grindle Pond"},
	{ID: "s", Name: "Étang Saint-Ambroise", At: &[2]float64{-72, 46}},
	{ID: "l", Name: "Long Lake"},
	{ID: "ll", Name: "Little Long Lake"},
	{ID: "lake", Name: "Lake of the Reeds"},
	{ID: "st", Name: "St. Olwen's Lake"},
}

func ids(hits []names.Hit) (list []string) {
	for _, h := range hits {
		list = append(list, waters[h.Entry].ID)
	}
	return list
}

func TestFindForgivesSlips(t *testing.T) {
	x := names.New(waters)
	for _, c := range []struct{ typed, want, why string }{
		{"Brackenholt Lake", "b", "as it stands"},
		{"brack", "b", "its beginning"},
		{"Brakenholt", "b", "a letter missing"},
		{"Brackenhollt", "b", "a letter doubled"},
		{"Brackneholt", "b", "two letters exchanged"},
		{"bracken holt", "b", "written as two words"},
		{"owl mere", "o", "written as two words"},
		{"owlmeer lake", "o", "the wrong kind of water, two letters exchanged"},
		{"pikehollow", "p", "without its kind"},
		{"pike pond", "p", "another name"},
		{"etang st ambroise", "s", "no accent, saint shortened"},
		{"ambroise", "s", "its second word"},
		{"saint olwens", "st", "saint written out, no apostrophe"},
		{"long lake", "l", "the whole name before a longer one"},
		{"lake of reeds", "lake", "small words left out"},
		{"GRINDLE", "g", "capitals"},
	} {
		got := ids(x.Find(c.typed, nil, 5))
		if len(got) == 0 || got[0] != c.want {
			t.Errorf("%q (%s): %v, want %s first", c.typed, c.why, got, c.want)
		}
	}
	for _, typed := range []string{"zzzz", "xylophone", "qq"} {
		if got := ids(x.Find(typed, nil, 5)); len(got) > 0 {
			t.Errorf("%q found %v", typed, got)
		}
	}
}

func TestNearestFirstAmongEquals(t *testing.T) {
	x := names.New(waters)
	near := &[2]float64{-93, 45}
	got := x.Find("fenwillow", near, 5)
	if len(got) != 2 || waters[got[0].Entry].ID != "f2" || !math.IsNaN(got[1].ApartKM) {
		t.Errorf("%+v: of two waters of one name both come, the near one first", got)
	}
	// One hundredth of a degree of latitude on a sphere of 6371 km: 6371·π/180/100 = 1.11195 km.
	if d := got[0].ApartKM; math.Abs(d-1.11195) > 1e-4 {
		t.Errorf("%g km, want 1.11195", d)
	}
	if got := ids(x.Find("", near, 3)); len(got) != 3 || got[0] != "b" || got[1] != "f2" || got[2] != "o" {
		t.Errorf("nothing typed: %v, want the nearest", got)
	}
	if got := x.Find("lake", nil, 0); len(got) != 0 {
		t.Errorf("no limit: %v", got)
	}
}

var syllables = []string{"bra", "cken", "holt", "owl", "mere", "pike", "hol", "low", "fen", "wil", "ash", "thorn", "reed", "ald", "er", "bit", "tern", "sed", "ge", "mor", "wick", "nor", "sta", "ple"}

// many makes n invented names of two to four syllables, from a seed.
func many(n int) []names.Entry {
	r := rand.New(rand.NewPCG(4, 2026))
	list := make([]names.Entry, n)
	kinds := []string{"Lake", "Pond", "Reservoir", "River"}
	for i := range list {
		name := ""
		for range 2 + r.IntN(3) {
			name += syllables[r.IntN(len(syllables))]
		}
		list[i] = names.Entry{ID: fmt.Sprint(i), Name: name + " " + kinds[r.IntN(4)], At: &[2]float64{-95 + 4*r.Float64(), 44 + 3*r.Float64()}}
	}
	return list
}

// One slip at random in a name of six letters or more leaves it among the first eight of 5,000, nearly always.
func TestOneSlipInFiveThousand(t *testing.T) {
	list := many(5000)
	x := names.New(list)
	r := rand.New(rand.NewPCG(1, 1))
	tries, found := 0, 0
	for i := 0; tries < 400; i++ {
		word := []byte(list[(i*37)%len(list)].Name)
		word = word[:len(word)-len(lastWord(word))]
		if len(word) < 8 {
			continue
		}
		tries++
		k := r.IntN(len(word)-2) + 1
		switch r.IntN(3) {
		case 0:
			word = append(word[:k], word[k+1:]...)
		case 1:
			word[k] = 'a' + byte(r.IntN(26))
		case 2:
			word[k], word[k-1] = word[k-1], word[k]
		}
		for _, h := range x.Find(string(word), nil, 8) {
			if h.Entry == (i*37)%len(list) {
				found++
				break
			}
		}
	}
	t.Logf("found %d of %d", found, tries)
	if found < tries*90/100 {
		t.Errorf("only %d of %d names with one slip were found", found, tries)
	}
}

func lastWord(b []byte) []byte {
	for i := len(b) - 1; i >= 0; i-- {
		if b[i] == ' ' {
			return b[i:]
		}
	}
	return nil
}

func BenchmarkFind5000(b *testing.B) {
	x := names.New(many(5000))
	near := &[2]float64{-93, 45}
	for b.Loop() {
		x.Find("brakenholt", near, 8)
	}
}

func FuzzFind(f *testing.F) {
	f.Add("brackenholt")
	f.Add("é'’ \x00\xff")
	x := names.New(waters)
	f.Fuzz(func(t *testing.T, typed string) {
		for _, h := range x.Find(typed, nil, 20) {
			if !(h.Score > 0 && h.Score <= 1) {
				t.Fatalf("%q: %+v", typed, h)
			}
		}
	})
}
