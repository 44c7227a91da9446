package intake

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the tests must not depend on the machine's zone files

	"pgregory.net/rapid"

	"thwart/engine/drying"
	"thwart/unit"
)

func weatherZone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func weatherOf(t testing.TB, file string, opt WeatherOptions) (drying.Weather, []WeatherNote) {
	t.Helper()
	w, notes, err := ParseWeather(strings.NewReader(file), opt)
	if err != nil {
		t.Fatalf("%v\n%s", err, file)
	}
	return w, notes
}

func weatherText(spells []drying.Spell) string {
	var parts []string
	for _, s := range spells {
		wet := ""
		if s.Wet {
			wet = " wet"
		}
		parts = append(parts, fmt.Sprintf("%.4gh %.4gC %.4g%%%s", s.Hours, float64(s.TempC), s.RHPct, wet))
	}
	return strings.Join(parts, ", ")
}

func weatherNoted(notes []WeatherNote, part string) bool {
	for _, n := range notes {
		if strings.Contains(n.String(), part) {
			return true
		}
	}
	return false
}

var weatherCool = drying.Spell{TempC: 10, RHPct: 90}

func TestParseWeatherForms(t *testing.T) {
	denver := weatherZone(t, "America/Denver")
	const hours = "1h 20C 50%, 1h 21C 48%"
	for name, c := range map[string]struct {
		file string
		opt  WeatherOptions
		want string
	}{
		"plain":            {"time,temp_c,rh\n2026-07-04T10:00Z,20,50\n2026-07-04T11:00Z,21,48\n", WeatherOptions{}, hours},
		"other order":      {"rh,time,temp_c\n50,2026-07-04T10:00Z,20\n48,2026-07-04T11:00Z,21\n", WeatherOptions{}, hours},
		"fahrenheit":       {"Timestamp,Temp (°F),Humidity (%)\n2026-07-04T10:00Z,68,50\n2026-07-04T11:00Z,69.8,48\n", WeatherOptions{}, hours},
		"scale given":      {"time,temp,humidity\n2026-07-04T10:00Z,68,50\n2026-07-04T11:00Z,69.8,48\n", WeatherOptions{Scale: "F"}, hours},
		"semicolons":       {"time;temp_c;rh\n2026-07-04T10:00Z;20,0;50\n2026-07-04T11:00Z;21,0;48\n", WeatherOptions{}, hours},
		"tabs":             {"time\ttemp_c\trh\n2026-07-04T10:00Z\t20\t50\n2026-07-04T11:00Z\t21\t48\n", WeatherOptions{}, hours},
		"byte order mark":  {"\uFEFFtime,temp_c,rh\r\n2026-07-04T10:00Z,20,50\r\n2026-07-04T11:00Z,21,48\r\n", WeatherOptions{}, hours},
		"comment and gap":  {"# station on the dock\n\ntime,temp_c,rh\n2026-07-04T10:00Z,20,50\n2026-07-04T11:00Z,21,48\n", WeatherOptions{}, hours},
		"clock times":      {"time,temp_c,rh\n2026-07-04 04:00,20,50\n2026-07-04 05:00:00,21,48\n", WeatherOptions{Location: denver}, hours},
		"offsets":          {"time,temp_c,rh\n2026-07-04T04:00-06:00,20,50\n2026-07-04 12:00:00 +0100,21,48\n", WeatherOptions{}, hours},
		"time in UTC":      {"time_utc,temp_c,rh\n2026-07-04 10:00,20,50\n2026-07-04 11:00,21,48\n", WeatherOptions{}, hours},
		"date and time":    {"date,time,temp_c,rh\n2026-07-04,10:00Z,20,50\n2026-07-04,11:00Z,21,48\n", WeatherOptions{}, hours},
		"date alone":       {"Date,temp_c,rh\n2026-07-04T10:00Z,20,50\n2026-07-04T11:00Z,21,48\n", WeatherOptions{}, hours},
		"long names":       {"valid_time,temperature_2m (°C),relative_humidity_2m (%),precipitation (mm)\n2026-07-04T10:00Z,20,50,0\n2026-07-04T11:00Z,21,48,0\n", WeatherOptions{}, hours},
		"names run on":     {"time,tmpf,relh\n2026-07-04T10:00Z,68,50\n2026-07-04T11:00Z,69.8,48\n", WeatherOptions{}, hours},
		"out of order":     {"time,temp_c,rh\n2026-07-04T11:00Z,21,48\n2026-07-04T10:00Z,20,50\n", WeatherOptions{}, hours},
		"given twice":      {"time,temp_c,rh\n2026-07-04T10:00Z,20,50\n2026-07-04T10:00Z,20,50\n2026-07-04T11:00Z,21,48\n", WeatherOptions{}, hours},
		"columns not used": {"time,temp_c,rh,wind\n2026-07-04T10:00Z,20,50,3\n2026-07-04T11:00Z,21,48,gusts\n", WeatherOptions{}, hours},
	} {
		w, _ := weatherOf(t, c.file, c.opt)
		if got := weatherText(w.Spells); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
		if start := time.Date(2026, 7, 4, 10, 0, 0, 0, time.UTC); !w.Start.Equal(start) {
			t.Errorf("%s: starts %v, want %v", name, w.Start, start)
		}
	}
}

func TestParseWeatherRain(t *testing.T) {
	const row = "2026-07-04T%02d:00Z,20,50,%s\n"
	file := func(header string, rain ...string) string {
		b := "time,temp_c,rh," + header + "\n"
		for i, r := range rain {
			b += fmt.Sprintf(row, i, r)
		}
		return b
	}
	for name, c := range map[string]struct {
		file string
		opt  WeatherOptions
		want string
	}{
		"any rain":       {file("rain_mm", "0", "0.1", "0"), WeatherOptions{}, "1h 20C 50%, 1h 20C 50% wet, 1h 20C 50%"},
		"a trace":        {file("precip", "0", "T", "0"), WeatherOptions{}, "1h 20C 50%, 1h 20C 50% wet, 1h 20C 50%"},
		"from a mm":      {file("rain_mm", "0.9", "1", "T"), WeatherOptions{WetMM: 1}, "1h 20C 50%, 1h 20C 50% wet, 1h 20C 50%"},
		"inches":         {file("rain_in", "0.03", "0.04", "0"), WeatherOptions{WetMM: 1}, "1h 20C 50%, 1h 20C 50% wet, 1h 20C 50%"},
		"wet column":     {file("wet", "no", "YES", "0"), WeatherOptions{}, "1h 20C 50%, 1h 20C 50% wet, 1h 20C 50%"},
		"rain not known": {file("rain_mm", "0", "", "0"), WeatherOptions{Unknown: weatherCool}, "1h 20C 50%, 1h 10C 90%, 1h 20C 50%"},
	} {
		w, _ := weatherOf(t, c.file, c.opt)
		if got := weatherText(w.Spells); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
	// Rain or somebody's word for it: either wets.
	w, _ := weatherOf(t, "time,temp_c,rh,rain_mm,wet\n2026-07-04T10:00Z,20,50,2,no\n2026-07-04T11:00Z,20,50,0,yes\n2026-07-04T12:00Z,20,50,0,\n", WeatherOptions{Unknown: weatherCool})
	if got, want := weatherText(w.Spells), "1h 20C 50% wet, 1h 20C 50% wet, 1h 10C 90%"; got != want {
		t.Errorf("rain and wet: %s, want %s", got, want)
	}
	// So does rain in one of two readings that contradict each other.
	w, _ = weatherOf(t, "time,temp_c,rh,rain_mm\n2026-07-04T10:00Z,20,50,0\n2026-07-04T10:00Z,20,50,2\n", WeatherOptions{Unknown: weatherCool})
	if got, want := weatherText(w.Spells), "1h 10C 90% wet"; got != want {
		t.Errorf("rain contradicted: %s, want %s", got, want)
	}
	// A wet hour without a temperature stays wet.
	w, _ = weatherOf(t, "time,temp_c,rh,rain_mm\n2026-07-04T10:00Z,,50,2\n", WeatherOptions{Unknown: weatherCool})
	if got := weatherText(w.Spells); got != "1h 10C 90% wet" {
		t.Errorf("rain at an unknown temperature: %s", got)
	}
}

func TestParseWeatherUnknownHours(t *testing.T) {
	head := "time,temp_c,rh\n"
	for name, c := range map[string]struct {
		file string
		opt  WeatherOptions
		want string
		note string
	}{
		"gap":             {head + "2026-07-04T10:00Z,20,50\n2026-07-04T14:00Z,21,48\n", WeatherOptions{Unknown: weatherCool}, "1h 20C 50%, 3h 10C 90%, 1h 21C 48%", "line 2: 1 stretch without a reading, 3 h in all"},
		"nothing assumed": {head + "2026-07-04T10:00Z,20,50\n2026-07-04T14:00Z,21,48\n", WeatherOptions{}, "1h 20C 50%, 3h 0C 100%, 1h 21C 48%", "line 2: 1 stretch"},
		"late, no gap":    {head + "2026-07-04T10:00Z,20,50\n2026-07-04T11:30Z,21,48\n", WeatherOptions{Unknown: weatherCool}, "1.5h 20C 50%, 1h 21C 48%", ""},
		"three-hourly":    {head + "2026-07-04T10:00Z,20,50\n2026-07-04T13:00Z,21,48\n", WeatherOptions{Unknown: weatherCool, HoldH: 3}, "3h 20C 50%, 3h 21C 48%", ""},
		"ten minutes":     {head + "2026-07-04T10:00Z,20,50\n2026-07-04T10:10Z,21,48\n", WeatherOptions{Unknown: weatherCool}, "0.1667h 20C 50%, 0.1667h 21C 48%", ""},
		"empty cells":     {head + "2026-07-04T10:00Z,20,\n2026-07-04T11:00Z,NA,50\n2026-07-04T12:00Z,20,50\n", WeatherOptions{Unknown: weatherCool}, "1h 10C 90%, 1h 10C 90%, 1h 20C 50%", "line 2: 2 readings with an empty cell"},
		"contradiction":   {head + "2026-07-04T10:00Z,20,50\n2026-07-04T10:00Z,30,20\n", WeatherOptions{Unknown: weatherCool}, "1h 10C 90%", "line 3: 1 reading for a time that has another"},
		"rain feared":     {head + "2026-07-04T10:00Z,20,50\n2026-07-04T12:00Z,21,48\n", WeatherOptions{Unknown: drying.Spell{TempC: 10, RHPct: 90, Wet: true}}, "1h 20C 50%, 1h 10C 90% wet, 1h 21C 48%", "1 stretch"},
	} {
		w, notes := weatherOf(t, c.file, c.opt)
		if got := weatherText(w.Spells); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
		if c.note != "" && !weatherNoted(notes, c.note) {
			t.Errorf("%s: no note with %q in %v", name, c.note, notes)
		}
		if c.note == "" && (weatherNoted(notes, "gap") || weatherNoted(notes, "unknown weather")) {
			t.Errorf("%s: noted %v", name, notes)
		}
		if got, want := weatherText([]drying.Spell{w.Beyond}), weatherText([]drying.Spell{c.opt.Unknown.OrNothingDries()}); got != want {
			t.Errorf("%s: beyond the file %s, want %s", name, got, want)
		}
	}
}

func TestParseWeatherNotes(t *testing.T) {
	file := "time,temp_c,rh,wind\n2026-07-04T11:00Z,21,48,1\n2026-07-04T10:00Z,20,50,2\n2026-07-04T10:00Z,20,50,2\n"
	_, notes := weatherOf(t, file, WeatherOptions{})
	for _, want := range []string{
		"columns not used: wind", "no rain column", "line 3: out of order at 1 place", "line 4: 1 reading given twice",
	} {
		if !weatherNoted(notes, want) {
			t.Errorf("no note with %q in %v", want, notes)
		}
	}
	if _, notes = weatherOf(t, "time,temp_c,rh,rain\n2026-07-04T11:00Z,21,48,1\n", WeatherOptions{}); !weatherNoted(notes, "read as mm") {
		t.Errorf("rain without a unit: %v", notes)
	}
	if _, notes = weatherOf(t, "time,temp_c,rh\n2026-07-04T11:00Z,55,48\n", WeatherOptions{}); !weatherNoted(notes, "is the column in °F?") {
		t.Errorf("55 °C: %v", notes)
	}
}

// In autumn the clock shows one hour twice, in spring it skips one (tz database, America/Denver, 2026).
func TestParseWeatherClockChanges(t *testing.T) {
	opt := WeatherOptions{Location: weatherZone(t, "America/Denver"), Unknown: weatherCool}
	w, notes := weatherOf(t, "time,temp_c,rh\n2026-11-01 00:00,5,80\n2026-11-01 01:00,6,80\n2026-11-01 01:00,7,80\n2026-11-01 02:00,8,80\n", opt)
	if got, want := weatherText(w.Spells), "1h 5C 80%, 1h 6C 80%, 1h 7C 80%, 1h 8C 80%"; got != want {
		t.Errorf("autumn: %s, want %s (notes %v)", got, want, notes)
	}
	w, _ = weatherOf(t, "time,temp_c,rh\n2026-03-08 01:00,5,80\n2026-03-08 03:00,6,80\n", opt)
	if got, want := weatherText(w.Spells), "1h 5C 80%, 1h 6C 80%"; got != want {
		t.Errorf("spring: %s, want %s", got, want)
	}
	_, _, err := ParseWeather(strings.NewReader("time,temp_c,rh\n2026-03-08 02:30,5,80\n"), opt)
	var bad *WeatherError
	if !errors.As(err, &bad) || bad.Line != 2 || !strings.Contains(bad.Accepted, "exists in America/Denver") {
		t.Errorf("a time that no clock showed: %v", err)
	}
	// Half an hour goes missing and comes twice on Lord Howe Island.
	opt.Location = weatherZone(t, "Australia/Lord_Howe")
	w, _ = weatherOf(t, "time,temp_c,rh\n2026-04-05 01:00,5,80\n2026-04-05 01:30,6,80\n2026-04-05 01:30,7,80\n2026-04-05 02:00,8,80\n", opt)
	if got, want := weatherText(w.Spells), "0.5h 5C 80%, 0.5h 6C 80%, 0.5h 7C 80%, 0.5h 8C 80%"; got != want {
		t.Errorf("half an hour twice: %s, want %s", got, want)
	}
}

func TestParseWeatherRefusals(t *testing.T) {
	head := "time,temp_c,rh,rain_mm\n"
	for name, c := range map[string]struct {
		file  string
		opt   WeatherOptions
		line  int
		field string
	}{
		"too hot":              {head + "2026-07-04T10:00Z,60.1,50,0\n", WeatherOptions{}, 2, "temp_c"},
		"too cold":             {head + "2026-07-04T10:00Z,20,50,0\n2026-07-04T11:00Z,-50.1,50,0\n", WeatherOptions{}, 3, "temp_c"},
		"missing-value code":   {head + "2026-07-04T10:00Z,-9999,50,0\n", WeatherOptions{}, 2, "temp_c"},
		"humidity":             {head + "2026-07-04T10:00Z,20,101,0\n", WeatherOptions{}, 2, "rh"},
		"humidity below 0":     {head + "2026-07-04T10:00Z,20,-1,0\n", WeatherOptions{}, 2, "rh"},
		"humidity a fraction":  {head + "2026-07-04T10:00Z,20,0.5,0\n2026-07-04T11:00Z,20,0.9,0\n", WeatherOptions{}, 0, "rh"},
		"rain":                 {head + "2026-07-04T10:00Z,20,50,-1\n", WeatherOptions{}, 2, "rain_mm"},
		"words":                {head + "2026-07-04T10:00Z,warm,50,0\n", WeatherOptions{}, 2, "temp_c"},
		"infinite":             {head + "2026-07-04T10:00Z,20,inf,0\n", WeatherOptions{}, 2, "rh"},
		"fahrenheit":           {"time,temp_f,rh\n2026-07-04T10:00Z,140.1,50\n", WeatherOptions{}, 2, "temp_f"},
		"no unit":              {"time,temp,rh\n2026-07-04T10:00Z,20,50\n", WeatherOptions{}, 1, "header"},
		"other unit":           {"time,temp_c,rh\n2026-07-04T10:00Z,20,50\n", WeatherOptions{Scale: "F"}, 1, "header"},
		"kelvin":               {"time,temp_k,rh\n2026-07-04T10:00Z,293,50\n", WeatherOptions{}, 1, "header"},
		"water temperature":    {"time,water_temp_c,rh\n2026-07-04T10:00Z,20,50\n", WeatherOptions{}, 1, "header"},
		"two temperatures":     {"time,temp_c,temp_f,rh\n2026-07-04T10:00Z,20,68,50\n", WeatherOptions{}, 1, "header"},
		"no humidity":          {"time,temp_c\n2026-07-04T10:00Z,20\n", WeatherOptions{}, 1, "header"},
		"no time":              {"temp_c,rh\n20,50\n", WeatherOptions{}, 1, "header"},
		"no offset":            {head + "2026-07-04T10:00,20,50,0\n", WeatherOptions{}, 2, "time"},
		"not ISO":              {head + "07/04/2026 10:00,20,50,0\n", WeatherOptions{}, 2, "time"},
		"year":                 {head + "0206-07-04T10:00Z,20,50,0\n", WeatherOptions{}, 2, "time"},
		"year of a clock time": {head + "2926-07-04T10:00,20,50,0\n", WeatherOptions{Location: time.UTC}, 2, "time"},
		"no such day":          {head + "2026-02-30T10:00Z,20,50,0\n", WeatherOptions{}, 2, "time"},
		"no time in a row":     {head + ",20,50,0\n", WeatherOptions{}, 2, "time"},
		"short row":            {head + "2026-07-04T10:00Z,20,50\n", WeatherOptions{}, 2, "row"},
		"open quote":           {head + "\"2026-07-04T10:00Z,20,50,0\n", WeatherOptions{}, 2, "row"},
		"quote in the header":  {"time,te\"mp_c,rh\n", WeatherOptions{}, 1, "row"},
		"wet":                  {"time,temp_c,rh,wet\n2026-07-04T10:00Z,20,50,maybe\n", WeatherOptions{}, 2, "wet"},
		"nothing":              {"", WeatherOptions{}, 0, "file"},
		"header alone":         {head, WeatherOptions{}, 0, "readings"},
		"scale":                {head, WeatherOptions{Scale: "K"}, 0, "temperature scale"},
		"wetting rain":         {head, WeatherOptions{WetMM: math.NaN()}, 0, "rain that wets, in mm"},
		"hold":                 {head, WeatherOptions{HoldH: -1}, 0, "hours a reading stands for"},
	} {
		w, notes, err := ParseWeather(strings.NewReader(c.file), c.opt)
		var bad *WeatherError
		if !errors.As(err, &bad) || bad.Line != c.line || bad.Field != c.field || bad.Accepted == "" {
			t.Errorf("%s: error %v, want line %d, field %s", name, err, c.line, c.field)
		}
		if len(w.Spells) != 0 || notes != nil {
			t.Errorf("%s: a refused file still gave %+v", name, w)
		}
	}
	_, _, err := ParseWeather(strings.NewReader(head+"2026-07-04T10:00Z,-9999,50,0\n"), WeatherOptions{})
	if want := `weather, line 2: temp_c: "-9999" is not accepted; accepted: -50 to 60 °C, or an empty cell where there is no reading`; err.Error() != want {
		t.Errorf("error %q, want %q", err, want)
	}
	if _, _, err := ParseWeather(strings.NewReader(head), WeatherOptions{Unknown: drying.Spell{RHPct: 120}}); err == nil {
		t.Error("unknown air of 120 % was taken")
	}
	if _, _, err := ParseWeather(weatherBroken{}, WeatherOptions{}); !errors.Is(err, errWeatherBroken) {
		t.Errorf("a reader that fails: %v", err)
	}
}

var errWeatherBroken = errors.New("cable pulled")

type weatherBroken struct{}

func (weatherBroken) Read([]byte) (int, error) { return 0, errWeatherBroken }

func TestParseWeatherTooLarge(t *testing.T) {
	_, _, err := ParseWeather(weatherEndless{}, WeatherOptions{})
	var bad *WeatherError
	if !errors.As(err, &bad) || bad.Field != "file" {
		t.Errorf("an endless file: %v", err)
	}
}

type weatherEndless struct{}

func (weatherEndless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '\n'
	}
	return len(p), nil
}

// A file with hours taken out never clears a craft before the whole file does.
func TestParseWeatherWithHolesIsNeverEarlier(t *testing.T) {
	eggs := drying.Tested{Hours: 6, MinTempC: 17, MaxRHPct: 100, Margin: 2}
	snails := drying.Dose{LastAliveKPaH: 56.1, ClearKPaH: 84, MinHours: 72}
	rapid.Check(t, func(t *rapid.T) {
		var whole, holes strings.Builder
		for _, b := range []*strings.Builder{&whole, &holes} {
			b.WriteString("time,temp_c,rh\n")
		}
		start := time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)
		n := rapid.IntRange(1, 120).Draw(t, "hours")
		for i := range n {
			row := fmt.Sprintf("%s,%.1f,%.0f\n", start.Add(time.Duration(i)*time.Hour).Format(time.RFC3339),
				rapid.Float64Range(10, 35).Draw(t, "°C"), rapid.Float64Range(20, 90).Draw(t, "%"))
			whole.WriteString(row)
			if i == 0 || rapid.Bool().Draw(t, "kept") {
				holes.WriteString(row)
			}
		}
		hours := func(file string) (c [2]float64) {
			w, _, err := ParseWeather(strings.NewReader(file), WeatherOptions{Unknown: weatherCool})
			if err != nil {
				t.Fatal(err)
			}
			for i, m := range []drying.Model{eggs, snails} {
				r, err := drying.EarliestClear(start, w, start.AddDate(1, 0, 0), m)
				if err != nil {
					t.Fatal(err)
				}
				c[i] = r.Hours
			}
			return c
		}
		a, b := hours(whole.String()), hours(holes.String())
		for i := range a {
			if b[i] < a[i] {
				t.Fatalf("with holes it clears after %v h, whole after %v h", b[i], a[i])
			}
		}
	})
}

func TestParseDailyNormals(t *testing.T) {
	for name, c := range map[string]struct {
		file string
		opt  WeatherOptions
		july MonthNormal
		note string
	}{
		"minimum and maximum": {"month,tmin_c,tmax_c,rh\n7,12,28,60\n", WeatherOptions{}, MonthNormal{Known: true, MinC: 12, MeanC: 20, RHPct: 60}, "no row for January, February"},
		"names, fahrenheit":   {"Month;Low (°F);High (°F);Relative Humidity (%)\nJul;50;86;60,5\n", WeatherOptions{}, MonthNormal{Known: true, MinC: 10, MeanC: 20, RHPct: 60.5}, ""},
		"mean alone":          {"month,tmean_c,rh\nJuly,19,60\n", WeatherOptions{}, MonthNormal{Known: true, MinC: 19, MeanC: 19, RHPct: 60}, "only a mean temperature"},
		"minimum and mean":    {"month,tmin,tmean,rh\n07,12,19,60\n", WeatherOptions{Scale: "c"}, MonthNormal{Known: true, MinC: 12, MeanC: 19, RHPct: 60}, ""},
		"the cooler mean":     {"month,tmin_c,tmax_c,tmean_c,rh\n7,12,28,18,60\n", WeatherOptions{}, MonthNormal{Known: true, MinC: 12, MeanC: 18, RHPct: 60}, ""},
		"a warmer mean":       {"month,tmin_c,tmax_c,tmean_c,rh\n7,12,28,22,60\n", WeatherOptions{}, MonthNormal{Known: true, MinC: 12, MeanC: 20, RHPct: 60}, ""},
		"empty cell":          {"month,tmin_c,tmax_c,rh\n7,12,28,\n", WeatherOptions{}, MonthNormal{}, "no row for"},
	} {
		n, notes, err := ParseDailyNormals(strings.NewReader(c.file), c.opt)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := n.Month[6]; got.Known != c.july.Known || math.Abs(float64(got.MinC-c.july.MinC)) > 1e-9 || math.Abs(float64(got.MeanC-c.july.MeanC)) > 1e-9 || got.RHPct != c.july.RHPct {
			t.Errorf("%s: %+v, want %+v", name, got, c.july)
		}
		if n.Month[0].Known {
			t.Errorf("%s: January came from nowhere", name)
		}
		if c.note != "" && !weatherNoted(notes, c.note) {
			t.Errorf("%s: no note with %q in %v", name, c.note, notes)
		}
	}
	for name, c := range map[string]struct {
		file  string
		line  int
		field string
	}{
		"month":           {"month,tmean_c,rh\n13,10,60\n", 2, "month"},
		"month twice":     {"month,tmean_c,rh\n1,10,60\nJan,11,60\n", 3, "month"},
		"upside down":     {"month,tmin_c,tmax_c,rh\n1,12,10,60\n", 2, "tmin_c"},
		"mean outside":    {"month,tmin_c,tmax_c,tmean_c,rh\n1,2,10,11,60\n", 2, "tmean_c"},
		"above the mean":  {"month,tmin_c,tmean_c,rh\n1,12,10,60\n", 2, "tmin_c"},
		"maximum alone":   {"month,tmax_c,rh\n1,12,60\n", 1, "header"},
		"humidity":        {"month,tmean_c,rh\n1,12,600\n", 2, "rh"},
		"fractions":       {"month,tmean_c,rh\n1,12,0.6\n", 0, "rh"},
		"temperature":     {"month,tmean_c,rh\n1,hot,60\n", 2, "tmean_c"},
		"no unit":         {"month,tmean,rh\n1,12,60\n", 1, "header"},
		"nothing":         {"", 0, "file"},
		"no month at all": {"month,tmean_c,rh\n", 0, "readings"},
	} {
		_, _, err := ParseDailyNormals(strings.NewReader(c.file), WeatherOptions{})
		var bad *WeatherError
		if !errors.As(err, &bad) || bad.Line != c.line || bad.Field != c.field {
			t.Errorf("%s: error %v, want line %d, field %s", name, err, c.line, c.field)
		}
	}
	if _, _, err := ParseDailyNormals(strings.NewReader(""), WeatherOptions{Scale: "K"}); err == nil {
		t.Error("a scale of K was taken")
	}
}

func TestDailyNormalsWeather(t *testing.T) {
	n, _, err := ParseDailyNormals(strings.NewReader("month,tmin_c,tmax_c,rh\n7,12,28,60\n8,11,25,65\n"), WeatherOptions{})
	if err != nil {
		t.Fatal(err)
	}
	denver := weatherZone(t, "America/Denver")
	from := time.Date(2026, 7, 31, 14, 0, 0, 0, denver)
	w := n.Weather(from, from.AddDate(0, 0, 1), weatherCool)
	// 60 % at 20 °C is 1.4030 kPa; saturation at 12 °C is 1.4028 kPa (FAO-56 eq. 11, by hand): dew all night.
	// 65 % at 18 °C is 1.3421 kPa against 1.3128 kPa at 11 °C.
	if got, want := weatherText(w.Spells), "7h 20C 60%, 3h 12C 100%, 9h 11C 100%, 5h 18C 65%"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if !w.Start.Equal(from) || w.Beyond != weatherCool {
		t.Errorf("starts %v, beyond %+v", w.Start, w.Beyond)
	}
	// Dry air does not reach saturation: 30 % at 20 °C is 0.7015 kPa, half of what 12 °C holds.
	dry := DailyNormals{}
	dry.Month[6] = MonthNormal{Known: true, MinC: 12, MeanC: 20, RHPct: 30}
	night := dry.Weather(time.Date(2026, 7, 10, 22, 0, 0, 0, time.UTC), time.Date(2026, 7, 10, 23, 0, 0, 0, time.UTC), weatherCool)
	if got := night.Spells[0].RHPct; math.Abs(got-50.0) > 0.1 {
		t.Errorf("night humidity %v %%, want 50 (FAO-56 eq. 11, by hand)", got)
	}
	// September has no row.
	sept := n.Weather(time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC), time.Date(2026, 9, 1, 6, 0, 0, 0, time.UTC), drying.Spell{})
	if got, want := weatherText(sept.Spells), "6h 0C 100%"; got != want {
		t.Errorf("September: %s, want %s", got, want)
	}
	// Twelve hours of the clock are eleven or thirteen when it changes.
	for _, c := range []struct {
		day  time.Time
		want float64
	}{{time.Date(2026, 3, 7, 21, 0, 0, 0, denver), 11}, {time.Date(2026, 10, 31, 21, 0, 0, 0, denver), 13}} {
		total := 0.0
		for _, s := range n.Weather(c.day, time.Date(c.day.Year(), c.day.Month(), c.day.Day()+1, 9, 0, 0, 0, denver), weatherCool).Spells {
			total += s.Hours
		}
		if total != c.want {
			t.Errorf("night of %v: %v hours, want %v", c.day, total, c.want)
		}
	}
	if w := n.Weather(from, from, weatherCool); len(w.Spells) != 0 {
		t.Errorf("no time at all: %+v", w.Spells)
	}
	if hours := n.Weather(from, from.AddDate(500, 0, 0), weatherCool).End().Sub(from).Hours(); hours > 3653*24 {
		t.Errorf("%v hours expanded", hours)
	}
}

// Two half days at the minimum and the mean never dry faster than a smooth day between minimum and maximum with the same
// moisture in the air.
func TestDailyNormalsAreSlowerThanASmoothDay(t *testing.T) {
	dose := drying.Dose{LastAliveKPaH: math.NaN(), ClearKPaH: 100, MinHours: 1}
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(1, 20).Draw(t, "minimum")
		hi := lo + rapid.Float64Range(0, 20).Draw(t, "range")
		n := DailyNormals{}
		n.Month[6] = MonthNormal{Known: true, MinC: unit.Celsius(lo), MeanC: unit.Celsius((lo + hi) / 2), RHPct: rapid.Float64Range(5, 95).Draw(t, "%")}
		from := time.Date(2026, 7, 10, 9, 0, 0, 0, time.UTC)
		w := n.Weather(from, from.AddDate(0, 0, 1), weatherCool)
		saturation := func(c float64) float64 { return 0.6108 * math.Exp(17.27*c/(c+237.3)) } // FAO-56 eq. 11
		vapour := saturation((lo+hi)/2) * n.Month[6].RHPct / 100
		var smooth []drying.Spell
		for h := range 24 {
			c := (lo+hi)/2 + (hi-lo)/2*math.Cos(2*math.Pi*(float64(h)+0.5-15)/24)
			smooth = append(smooth, drying.Spell{Hours: 1, TempC: unit.Celsius(c), RHPct: min(100, 100*vapour/saturation(c))})
		}
		a, err := dose.Assess(w.Spells)
		if err != nil {
			t.Fatal(err)
		}
		b, err := dose.Assess(smooth)
		if err != nil {
			t.Fatal(err)
		}
		if a.KPaH > b.KPaH+1e-9 {
			t.Fatalf("half days dry %v kPa·h, a smooth day %v", a.KPaH, b.KPaH)
		}
	})
}

func TestParseSteady(t *testing.T) {
	for text, want := range map[string]drying.Spell{
		"20C/50%":               {TempC: 20, RHPct: 50},
		"steady:20C/50%":        {TempC: 20, RHPct: 50},
		" STEADY: 68 °F / 50 %": {TempC: 20, RHPct: 50},
		"-5.5c/80":              {TempC: -5.5, RHPct: 80},
		"140F/0%":               {TempC: 60, RHPct: 0},
		"-58F/100%":             {TempC: -50, RHPct: 100},
	} {
		got, err := ParseSteady(text)
		if err != nil || math.Abs(float64(got.TempC-want.TempC)) > 1e-9 || got.RHPct != want.RHPct {
			t.Errorf("%q: %+v, error %v; want %+v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "20/50%", "20C", "20C50%", "20C/", "/50%", "C/50%", "20K/50%", "61C/50%", "-51C/50%", "20C/101%", "20C/-1%", "20C/0.5", "nanC/50%", "20C/nan%", "20C/50%/3", "x"} {
		got, err := ParseSteady(text)
		var bad *WeatherError
		if !errors.As(err, &bad) || got != (drying.Spell{}) {
			t.Errorf("%q: %+v, error %v", text, got, err)
		}
	}
}

func FuzzParseWeather(f *testing.F) {
	for _, s := range []string{
		"time,temp_c,rh,rain_mm\n2026-07-04T10:00Z,20,50,0\n2026-07-04T14:00Z,21,48,0.2\n",
		"date;time;temp_f;relative humidity (%)\n2026-11-01;01:00;50,5;80\n2026-11-01;01:00;50,5;80\n2026-11-01;01:00;51;80\n",
		"valid\ttmpf\trelh\twet\n2026-03-08 02:30\t50\t80\tno\n",
		"time,temp_c,rh\n2026-07-04T10:00Z,NA,\n2026-07-04T09:00Z,1,2\n\"",
	} {
		f.Add(s, "C", 0.0, 1.0)
	}
	denver := weatherZone(f, "America/Denver")
	f.Fuzz(func(t *testing.T, file, scale string, wetMM, hold float64) {
		opt := WeatherOptions{Location: denver, Scale: scale, Unknown: weatherCool, WetMM: wetMM, HoldH: hold}
		w, notes, err := ParseWeather(strings.NewReader(file), opt)
		if err != nil {
			if len(w.Spells) != 0 || notes != nil || err.Error() == "" {
				t.Fatalf("error %v beside %+v, %v", err, w, notes)
			}
			return
		}
		if err := w.Validate(); err != nil {
			t.Fatalf("unusable weather: %v", err)
		}
		if len(w.Spells) == 0 || w.Start.Year() < 1969 || w.End().Year() > 2201 {
			t.Fatalf("weather from %v to %v, %d spells", w.Start, w.End(), len(w.Spells))
		}
		var hours float64
		for _, s := range w.Spells {
			if !(s.Hours > 0) || s.TempC < -50 || s.TempC > 60 {
				t.Fatalf("spell %+v", s)
			}
			hours += s.Hours
		}
		if span := w.End().Sub(w.Start).Hours(); math.Abs(span-hours) > 1e-6*max(1, hours) {
			t.Fatalf("%v hours of spells from %v to %v", hours, w.Start, w.End())
		}
		for _, n := range notes {
			if n.Text == "" || n.Line < 0 || n.Line > strings.Count(file, "\n")+strings.Count(file, "\r")+1 {
				t.Fatalf("note %+v", n)
			}
		}
		again, _, err := ParseWeather(strings.NewReader(file), opt)
		if err != nil || fmt.Sprint(again) != fmt.Sprint(w) {
			t.Fatalf("read twice: %v, then %v (%v)", w, again, err)
		}
	})
}

func FuzzParseDailyNormals(f *testing.F) {
	f.Add("month,tmin_c,tmax_c,rh\n7,12,28,60\n", "")
	f.Add("Month;Low (°F);High (°F);RH\nJul;50;86;60,5\n", "F")
	f.Add("month,tmean,rh\n1,-40,90\n", "C")
	f.Fuzz(func(t *testing.T, file, scale string) {
		n, _, err := ParseDailyNormals(strings.NewReader(file), WeatherOptions{Scale: scale})
		if err != nil {
			return
		}
		from := time.Date(2026, 1, 1, 13, 30, 0, 0, time.UTC)
		w := n.Weather(from, from.AddDate(1, 0, 0), weatherCool)
		if err := w.Validate(); err != nil {
			t.Fatalf("unusable weather: %v", err)
		}
		if span := w.End().Sub(from); span != 365*24*time.Hour {
			t.Fatalf("a year of %v", span)
		}
		for _, m := range n.Month {
			if m.MinC > m.MeanC {
				t.Fatalf("minimum above the mean: %+v", m)
			}
		}
	})
}

func FuzzParseSteady(f *testing.F) {
	for _, s := range []string{"20C/50%", "steady:68 °F/5%", "-50c/0%", "140f/100", "/"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSteady(text)
		if err != nil {
			if s != (drying.Spell{}) {
				t.Fatalf("error %v beside %+v", err, s)
			}
			return
		}
		if err := s.Validate(); err != nil || s.Hours != 0 || s.Wet || s.TempC < -50 || s.TempC > 60 {
			t.Fatalf("%q gives %+v, %v", text, s, err)
		}
		back, err := ParseSteady(fmt.Sprintf("%vC/%v%%", float64(s.TempC), s.RHPct))
		if err != nil || back != s {
			t.Fatalf("%q gives %+v, and back %+v, %v", text, s, back, err)
		}
	})
}

func ExampleParseWeather() {
	file := `time,temp_f,rh,rain_mm
2026-07-04T10:00-06:00,68,50,0
2026-07-04T11:00-06:00,64.4,90,1.2
2026-07-04T14:00-06:00,77,40,0
`
	weather, notes, err := ParseWeather(strings.NewReader(file), WeatherOptions{Unknown: drying.Spell{TempC: 10, RHPct: 90}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range weather.Spells {
		fmt.Printf("%.0f h at %.0f °C and %.0f %%, wet: %v\n", s.Hours, float64(s.TempC), s.RHPct, s.Wet)
	}
	for _, n := range notes {
		fmt.Println(n)
	}
	// Output:
	// 1 h at 20 °C and 50 %, wet: false
	// 1 h at 18 °C and 90 %, wet: true
	// 2 h at 10 °C and 90 %, wet: false
	// 1 h at 25 °C and 40 %, wet: false
	// line 3: 1 stretch without a reading, 2 h in all, the first after this line: counted as unknown weather
}

func ExampleParseSteady() {
	air, err := ParseSteady("68F/50%")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f °C, %.0f %%\n", float64(air.TempC), air.RHPct)
	_, err = ParseSteady("68/50%")
	fmt.Println(err)
	// Output:
	// 20 °C, 50 %
	// weather: steady air: "68/50%" is not accepted; accepted: a temperature from -50 to 60 °C (or -58 to 140 °F) and a humidity from 0 to 100 %, such as 20C/50% or 68F/50%
}

func ExampleDailyNormals_Weather() {
	normals, _, err := ParseDailyNormals(strings.NewReader("month,tmin_c,tmax_c,rh\n7,12,28,40\n"), WeatherOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	noon := time.Date(2026, time.July, 10, 12, 0, 0, 0, time.UTC)
	for _, s := range normals.Weather(noon, noon.AddDate(0, 0, 1), drying.Spell{}).Spells {
		fmt.Printf("%.0f h at %.0f °C and %.0f %%\n", s.Hours, float64(s.TempC), s.RHPct)
	}
	// Output:
	// 9 h at 20 °C and 40 %
	// 12 h at 12 °C and 67 %
	// 3 h at 20 °C and 40 %
}

func BenchmarkParseWeather90Days(b *testing.B) {
	var file strings.Builder
	file.WriteString("time,temp_c,rh,rain_mm\n")
	start := time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC)
	for i := range 90 * 24 {
		fmt.Fprintf(&file, "%s,%.1f,%d,0\n", start.Add(time.Duration(i)*time.Hour).Format(time.RFC3339), 15+float64(i%10), 40+i%50)
	}
	b.SetBytes(int64(file.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := ParseWeather(strings.NewReader(file.String()), WeatherOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
