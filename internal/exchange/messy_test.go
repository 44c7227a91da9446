package exchange_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"thwart/internal/exchange"
)

func id(n int) string { return fmt.Sprintf("01980d5e-6a00-7000-8000-%012x", n) }

var (
	key   = []byte("a key of the test programme")
	zone  = "America/Chicago"
	names = exchange.Options{
		Key: exchange.OneKey(key),
		Now: time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC),
		Waters: []exchange.Name{
			{ID: id(1), Names: []string{"Fenwillow Lake"}}, {ID: id(2), Names: []string{"Lake Osprey", "Osprey"}},
			{ID: id(3), Names: []string{"Thistle Reservoir"}}, {ID: id(4), Names: []string{"Copperwater"}},
		},
		Launches: []exchange.Name{{ID: id(11), Names: []string{"Alder Point"}}, {ID: id(12), Names: []string{"Bittern Landing"}}},
		People:   []exchange.Name{{ID: id(21), Names: []string{"W. Marsh"}}, {ID: id(22), Names: []string{"T. Reed"}}},
	}
	messyHeader = []string{
		"Form No", "Inspection Date", "Time", "Boat Ramp", "Inspector", "Watercraft Type", "Length (ft)", "Reg #", "Owner Name", "Phone",
		"Last Waterbody", "Days Since", "Found?", "Wash temp", "Result", "Refused", "Comments", "Weather",
	}
	messyMapping = exchange.Mapping{
		Columns: map[exchange.Field]string{
			exchange.FieldDate: "Inspection Date", exchange.FieldTime: "Time", exchange.FieldLaunch: "Boat Ramp", exchange.FieldSteward: "Inspector",
			exchange.FieldClass: "Watercraft Type", exchange.FieldLength: "Length (ft)", exchange.FieldRegistration: "Reg #",
			exchange.FieldLastWater: "Last Waterbody", exchange.FieldDaysOut: "Days Since", exchange.FieldFound: "Found?",
			exchange.FieldWashTemp: "Wash temp", exchange.FieldOutcome: "Result", exchange.FieldRefused: "Refused", exchange.FieldNote: "Comments",
		},
		Dates: []string{"iso", "text", "serial", "mdy"}, Zone: zone,
		Units:  exchange.Units{Length: "ft", Temp: "F"},
		Words:  map[exchange.Field]map[string]string{exchange.FieldClass: {"speed boat": "runabout"}, exchange.FieldOutcome: {"good to go": "launch"}},
		Ignore: []string{"Owner Name", "Phone", "Form No"},
	}
)

// messy is a table as newcomers bring it, and what a reader must make of it.
type messy struct {
	rows                        [][]string
	taken, refused, duplicates  int
	left, look                  map[exchange.Field]int
	unknownWater, unknownLaunch int
	registrations               []string
}

// makeMessy makes n rows. Each begins clean and unlike all others (its minute and registration are its own); then, by turns,
// one thing is made wrong with it.
func makeMessy(n int) messy {
	rng := rand.New(rand.NewPCG(7, 1))
	m := messy{left: map[exchange.Field]int{}, look: map[exchange.Field]int{}}
	pick := func(list ...string) string { return list[rng.IntN(len(list))] }
	for i := range n {
		at := time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC).AddDate(0, 0, i/50).Add(time.Duration(i%50*17) * time.Minute)
		reg := fmt.Sprintf("WX %04d-%02d", i, rng.IntN(100))
		row := []string{
			fmt.Sprint(i + 1), at.Format("1/2/2006"), at.Format("3:04 PM"), pick("Alder Point", "alder point", " BITTERN  landing"),
			pick("W. Marsh", "T. Reed"), pick("bass boat", "Pontoon", "speed boat", "runabout"), fmt.Sprint(18 + rng.IntN(5)), reg,
			"Somebody Private", "555-0100", pick("Fenwillow Lake", "lake osprey", "Osprey", "Copperwater", "unknown", ""), fmt.Sprint(rng.IntN(60)),
			pick("none", "no", "", "weeds", "mussels", "mud, weeds"), "", pick("passed", "Good to go", "decon", "cleaned", ""), pick("", "no", "N"), "", "sunny",
		}
		m.registrations = append(m.registrations, reg)
		kind := i % 25
		again := false
		switch kind {
		case 0:
			row[1] = at.Format(time.DateOnly)
		case 1:
			row[1] = at.Format("Jan 2, 2006")
		case 2:
			row[1] = at.Format("2 January 2006")
		case 3:
			row[1] = at.Format("01/02/06")
		case 4: // cannot be a date with the month first
			row[1] = "25/12/2025"
		case 5:
			row[1] = "last Tuesday"
		case 6:
			row[1] = ""
		case 7:
			row[6] = "5.5" // metres in a column of feet
			m.left[exchange.FieldLength]++
		case 8:
			row[6] = "5.5 m"
		case 9:
			row[6] = `18' 6"`
		case 10:
			row[10] = pick("Fenwilow Lake", "Fen Willow lake")
			m.unknownWater++
			m.left[exchange.FieldLastWater]++
		case 11:
			row[10] = "Lake Nowhere At All"
			m.unknownWater++
			m.left[exchange.FieldLastWater]++
		case 12:
			row[3] = "Alder Pt"
			m.unknownLaunch++
		case 13:
			row[13] = "60" // °C in a column of °F
			m.left[exchange.FieldWashTemp]++
		case 14:
			row[13] = "140"
		case 15:
			row[13] = "=cmd|' /C calc'!A0"
			m.left[exchange.FieldWashTemp]++
		case 16:
			row[16] = "=HYPERLINK(\"http://x\")\x00, call 555-867-5309"
			m.look[exchange.FieldNote]++
		case 17:
			row[5] = "submarine"
			row[6] = "18"
			m.look[exchange.FieldClass]++
		case 18:
			row[12] = "something slimy"
			m.look[exchange.FieldFound]++
		case 19:
			row[2] = "half past"
			row[1] = at.Format(time.DateOnly)
			m.left[exchange.FieldTime]++
		case 20:
			row[14] = "who knows"
			m.left[exchange.FieldOutcome]++
		case 21:
			row[11] = "-3"
			m.left[exchange.FieldDaysOut]++
		case 22:
			row[1] = "7/4/2031" // has not been
		case 23:
			again = true
		case 24:
			row[15] = "YES"
		}
		m.rows = append(m.rows, row)
		switch kind {
		case 4, 5, 6, 12, 22:
			m.refused++
		default:
			m.taken++
		}
		if again {
			copied := append([]string(nil), row...)
			copied[0] = fmt.Sprint(100000 + i) // another form, the same craft
			m.rows = append(m.rows, copied)
			m.duplicates++
		}
	}
	return m
}

func (m messy) csv(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("\ufeff")
	for i, row := range append([][]string{messyHeader}, m.rows...) {
		var one bytes.Buffer
		w := csv.NewWriter(&one)
		if err := w.Write(row); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		b.WriteString(strings.TrimSuffix(one.String(), "\n"))
		b.WriteString([]string{"\n", "\r\n", "\r"}[i%3])
		if i%100 == 99 {
			b.WriteString(strings.Repeat(",", len(row)-1) + "\r\n") // rows with nothing in them
		}
	}
	return b.Bytes()
}

func (m messy) xlsx(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range append([][]string{messyHeader}, m.rows...) {
		cells := make([]any, len(row))
		for k, c := range row {
			cells[k] = strings.ReplaceAll(c, "\x00", "") // XML has no such character
			if at, err := time.Parse(time.DateOnly, c); err == nil && k == 1 {
				cells[k] = at.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
			}
			if x := 0; k == 6 && len(c) == 2 {
				if _, err := fmt.Sscan(c, &x); err == nil {
					cells[k] = x
				}
			}
		}
		if err := w.SetRow(fmt.Sprintf("A%d", i+1), cells); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
