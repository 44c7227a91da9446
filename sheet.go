package thwart

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// SheetForm is a printed form that is filled in by hand and keyed in later.
type SheetForm string

// Forms, by the letter their numbers begin with.
const (
	SheetBoat  SheetForm = "B" // one craft: what was asked, looked at and found
	SheetTally SheetForm = "T" // craft that were met and not looked at
	SheetWash  SheetForm = "W" // one wash, step by step
)

// SheetForms lists them.
var SheetForms = []SheetForm{SheetBoat, SheetTally, SheetWash}

// sheetDigits is how many digits a sheet's number has.
const sheetDigits = 7

// MaxSheet is the highest number of a sheet.
const MaxSheet = 9_999_999

// checkAlphabet gives the characters of ISO/IEC 7064, MOD 37-2, their values: the place in this list.
const checkAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

// checkSum is the sum of ISO/IEC 7064, MOD 37-2: each value weighted with two to the power of its place from the right, the last
// counting as place 0, modulo 37. ok is false for a character that has no value, or a * that is not the last.
func checkSum(s string) (sum int, ok bool) {
	for i := range len(s) {
		v := strings.IndexByte(checkAlphabet, s[i])
		if v < 0 || v == 36 && i < len(s)-1 {
			return 0, false
		}
		sum = (sum*2 + v) % 37
	}
	return sum, s != ""
}

// CheckCharacter gives the character that follows capital letters and digits so that a slip in writing them down is noticed:
// ISO/IEC 7064, MOD 37-2. Every single wrong character and every swap of two neighbours is noticed. ok is false where data holds
// anything but capital letters and digits, or nothing.
func CheckCharacter(data string) (c byte, ok bool) {
	sum, ok := checkSum(data + "0")
	if data == "" {
		ok = false
	}
	if !ok {
		return 0, false
	}
	return checkAlphabet[(38-sum)%37], true
}

// Checked reports whether a text ends in its check character.
func Checked(text string) bool {
	sum, ok := checkSum(text)
	return ok && len(text) > 1 && sum == 1
}

// SheetNumber gives the number that is printed on a sheet: the form's letter, seven digits, the check character, in groups for
// the eye, such as B-0000123-0. n counts from 1 to [MaxSheet], for each form by itself.
func SheetNumber(form SheetForm, n int) string {
	data := fmt.Sprintf("%s%0*d", form, sheetDigits, n)
	c, _ := CheckCharacter(data)
	return data[:1] + "-" + data[1:] + "-" + string(c)
}

// ReadSheet reads the number of a sheet as somebody keyed it: case, blanks and dashes do not matter. A slip gives [FieldErrors]
// for the field "sheet".
func ReadSheet(text string) (form SheetForm, n int, err error) {
	plain := strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(text))
	fail := func(accepted string) (SheetForm, int, error) {
		return "", 0, FieldErrors{{Field: "sheet", Value: text, Accepted: accepted}}
	}
	if len(plain) != 1+sheetDigits+1 {
		return fail("the number printed on the sheet: a letter, seven digits and a check character, such as " + SheetNumber(SheetBoat, 123))
	}
	if !Checked(plain) {
		return fail("the number as it is printed; its last character shows that one of them is not as printed, or that two are swapped")
	}
	n, err = strconv.Atoi(plain[1 : 1+sheetDigits])
	form = SheetForm(plain[:1])
	if err != nil || n < 1 || form != SheetBoat && form != SheetTally && form != SheetWash {
		return fail("a number that begins with B, T or W and goes on with seven digits")
	}
	return form, n, nil
}

// sheet checks the number of the sheet that a record was keyed in from, as [SheetNumber] writes it; empty where there was none.
func (c *check) sheet(number string, form SheetForm) { c.sheetAt("sheet", number, form) }

// boatSheet checks the number of the boat's sheet that a wash card names.
func (c *check) boatSheet(number string) { c.sheetAt("boatSheet", number, SheetBoat) }

func (c *check) sheetAt(field, number string, form SheetForm) {
	if number == "" {
		return
	}
	f, n, err := ReadSheet(number)
	if err != nil || f != form || number != SheetNumber(f, n) {
		c.fail(field, number, "the number of a sheet of this form, such as "+SheetNumber(form, 123))
	}
}

// Sheets is a block of sheets that was printed. Blocks of one form never overlap, so no number is on two sheets.
type Sheets struct {
	Form     SheetForm `json:"form"`
	First    int       `json:"first"`
	Count    int       `json:"count"`
	Protocol string    `json:"protocol"`        // id@version they were printed from
	Class    string    `json:"class,omitempty"` // craft class whose walk stands on them
	At       time.Time `json:"at"`
}

// MaxSheets is the largest block.
const MaxSheets = 500

// Validate checks form and numbers.
func (s Sheets) Validate() error {
	var c check
	oneOf(&c, "form", s.Form, SheetForms...)
	c.within("count", float64(s.Count), 1, MaxSheets, "sheets")
	c.within("first", float64(s.First), 1, float64(MaxSheet-max(s.Count, 1)+1), "")
	c.required("protocol", s.Protocol, "the protocol they were printed from, as id@version")
	c.text("class", s.Class, MaxLine)
	if s.At.IsZero() {
		c.fail("at", "", "when they were printed")
	}
	return c.err()
}

// Last is the highest number of the block.
func (s Sheets) Last() int { return s.First + s.Count - 1 }
