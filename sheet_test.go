package thwart_test

import (
	"strings"
	"testing"
	"time"

	"thwart"
)

const sheetAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

func TestCheckCharacter(t *testing.T) {
	for _, c := range []struct{ data, want, source string }{
		{"G123498654321", "H", "Guidelines for the Blood Transfusion Services in the UK, annex 2, table A2.2: sum 148354, modulo 37 21, checksum 17"},
		{"G123489654321", "Y", "the same sum by hand: 8 and 9 stand swapped, which takes 128 from 148354; 148226 modulo 37 is 4; 38 - 4 = 34"},
		{"0", "1", "by hand: 0 weighs nothing; 38 modulo 37 is 1"},
		{"1", "*", "by hand: 1 at place 1 is 2; 38 - 2 = 36"},
	} {
		got, ok := thwart.CheckCharacter(c.data)
		if !ok || string(got) != c.want || !thwart.Checked(c.data+c.want) {
			t.Errorf("%s: %c, want %s (%s)", c.data, got, c.want, c.source)
		}
	}
	for _, bad := range []string{"", "a1", "A*1", "Ä", "A 1"} {
		if _, ok := thwart.CheckCharacter(bad); ok {
			t.Errorf("%q has a check character", bad)
		}
	}
}

// Every single wrong character, and every swap of neighbours, is noticed at every place of a number: also of the check character.
func TestSheetNumberSlips(t *testing.T) {
	tried := 0
	for _, form := range thwart.SheetForms {
		for _, n := range []int{1, 9, 10, 123, 1998, 7654321, 1234567, 9090909, thwart.MaxSheet} {
			printed := thwart.SheetNumber(form, n)
			if f, m, err := thwart.ReadSheet(strings.ToLower(strings.ReplaceAll(printed, "-", " "))); err != nil || f != form || m != n {
				t.Fatalf("%s is read as %s %d, %v", printed, f, m, err)
			}
			plain := strings.ReplaceAll(printed, "-", "")
			for i := range plain {
				for _, c := range sheetAlphabet {
					if byte(c) == plain[i] {
						continue
					}
					tried++
					if wrong := plain[:i] + string(c) + plain[i+1:]; thwart.Checked(wrong) {
						t.Errorf("%s passes for %s", wrong, plain)
					}
				}
				if i+1 < len(plain) && plain[i] != plain[i+1] {
					tried++
					if wrong := plain[:i] + plain[i+1:i+2] + plain[i:i+1] + plain[i+2:]; thwart.Checked(wrong) {
						t.Errorf("%s passes for %s", wrong, plain)
					}
				}
			}
		}
	}
	if tried < 8000 {
		t.Errorf("only %d slips tried", tried)
	}
}

func TestReadSheetRefuses(t *testing.T) {
	other, _ := thwart.CheckCharacter("X0000123")
	zero, _ := thwart.CheckCharacter("B0000000")
	letters, _ := thwart.CheckCharacter("BA000123")
	for _, bad := range []string{"", "B", "B-0000123", "X0000123" + string(other), "B0000000" + string(zero), "BA000123" + string(letters), "B-0000123-?", "B-00001234-5"} {
		if _, _, err := thwart.ReadSheet(bad); err == nil || !strings.Contains(err.Error(), "sheet") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

func TestSheetsValidate(t *testing.T) {
	ok := thwart.Sheets{Form: thwart.SheetBoat, First: 1, Count: 20, Protocol: "utah@1", At: time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC)}
	if err := ok.Validate(); err != nil || ok.Last() != 20 {
		t.Error(err, ok.Last())
	}
	for name, change := range map[string]func(*thwart.Sheets){
		"form":     func(s *thwart.Sheets) { s.Form = "X" },
		"first":    func(s *thwart.Sheets) { s.First = thwart.MaxSheet },
		"count":    func(s *thwart.Sheets) { s.Count = 0 },
		"protocol": func(s *thwart.Sheets) { s.Protocol = "" },
		"at":       func(s *thwart.Sheets) { s.At = time.Time{} },
	} {
		s := ok
		change(&s)
		if err := s.Validate(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
