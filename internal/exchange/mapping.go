package exchange

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // zones must be known on a machine that has none of its own

	"thwart"
)

// Field is something of an inspection that a column can hold.
type Field string

// Fields.
const (
	FieldDate         Field = "date"
	FieldTime         Field = "time"
	FieldEnd          Field = "end_time"
	FieldKey          Field = "key" // a number of the record in the old system: tells two like rows apart
	FieldLaunch       Field = "launch"
	FieldSteward      Field = "steward"
	FieldDirection    Field = "direction"
	FieldClass        Field = "class"
	FieldLength       Field = "length"
	FieldRegistration Field = "registration"
	FieldHomeArea     Field = "home_area"
	FieldLastWater    Field = "last_water"
	FieldLastOut      Field = "last_out" // the date the craft came out of it
	FieldDaysOut      Field = "days_out"
	FieldNextWater    Field = "next_water"
	FieldPlugsOut     Field = "plugs_out"
	FieldFound        Field = "found"
	FieldWaterFound   Field = "water_found" // a volume
	FieldWashTemp     Field = "wash_temp"
	FieldOutcome      Field = "outcome"
	FieldRefused      Field = "refused"
	FieldNote         Field = "note"
)

// Fields lists every field in the order a report speaks of them.
var Fields = []Field{
	FieldDate, FieldTime, FieldEnd, FieldKey, FieldLaunch, FieldSteward, FieldDirection, FieldClass, FieldLength,
	FieldRegistration, FieldHomeArea, FieldLastWater, FieldLastOut, FieldDaysOut, FieldNextWater, FieldPlugsOut, FieldFound,
	FieldWaterFound, FieldWashTemp, FieldOutcome, FieldRefused, FieldNote,
}

// Units says which units bare numbers of a file are in. A unit written in a cell goes before.
type Units struct {
	Length string `json:"length,omitempty"` // m or ft; empty = m
	Temp   string `json:"temp,omitempty"`   // C or F; empty = C
	Volume string `json:"volume,omitempty"` // L or gal (US); empty = L
}

// Mapping says how to read one kind of table. It is a file that a programme keeps beside its old spreadsheets.
type Mapping struct {
	Sheet     string           `json:"sheet,omitempty"`     // of a workbook; empty = the first
	HeaderRow int              `json:"headerRow,omitempty"` // 0 = 1
	Columns   map[Field]string `json:"columns"`             // the heading of the column of each field
	// Dates lists the styles to try, in this order: iso (2026-07-04), ymd (2026/7/4), mdy (7/4/2026), dmy (4/7/2026), text
	// (4 July 2026, Jul 4 2026), serial (46207.5, days as a spreadsheet counts them).
	Dates []string `json:"dates,omitempty"`
	Zone  string   `json:"zone"` // IANA name of the time zone of the times written
	Units Units    `json:"units"`
	// Words turns words of the file into ours, per field; case and blanks around do not matter. The usual words are known.
	Words map[Field]map[string]string `json:"words,omitempty"`
	// Waters, Launches and People turn names of the file into subjects. Names that the programme knows need no line here.
	Waters   map[string]string `json:"waters,omitempty"`
	Launches map[string]string `json:"launches,omitempty"`
	People   map[string]string `json:"people,omitempty"`

	Launch   string `json:"launch,omitempty"`   // subject of the launch of rows that name none
	Steward  string `json:"steward,omitempty"`  // subject of the person to stand for rows that name nobody known
	Protocol string `json:"protocol,omitempty"` // in force at the time, as id@version; empty = not_known@0
	// Ignore lists headings that were looked at and are left out on purpose, such as names and telephone numbers.
	Ignore []string `json:"ignore,omitempty"`
}

// MaxMappingBytes is the largest mapping file.
const MaxMappingBytes = 4 << 20

// ReadMapping reads a mapping file. Fields that do not exist are refused, so that a slip of the pen is seen.
func ReadMapping(r io.Reader) (Mapping, error) {
	d := json.NewDecoder(io.LimitReader(r, MaxMappingBytes))
	d.DisallowUnknownFields()
	var m Mapping
	if err := d.Decode(&m); err != nil {
		return Mapping{}, fmt.Errorf("the mapping file cannot be read: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return Mapping{}, errors.New("the mapping file goes on after its end; accepted: one JSON object")
	}
	return m, m.Validate()
}

var protocolID = regexp.MustCompile(`^[a-z0-9_.-]+@[0-9]+$`)

// Validate checks everything that can be checked without the table.
func (m Mapping) Validate() error {
	var errs thwart.FieldErrors
	fail := func(field, value, accepted string) {
		errs = append(errs, thwart.FieldError{Field: field, Value: clip(value), Accepted: accepted})
	}
	one := func(field, value string, accepted ...string) {
		if !slices.Contains(accepted, value) {
			fail(field, value, strings.TrimPrefix(strings.Join(accepted, ", "), ", "))
		}
	}
	for f := range m.Columns {
		if !slices.Contains(Fields, f) {
			fail("columns", string(f), join(Fields))
		}
	}
	if m.Columns[FieldDate] == "" {
		fail("columns.date", "", "the heading of the column with the date")
	}
	if m.Columns[FieldLaunch] == "" && m.Launch == "" {
		fail("launch", "", "the id of a launch, or a column for it in columns.launch")
	}
	if m.HeaderRow < 0 || m.HeaderRow > 1000 {
		fail("headerRow", fmt.Sprint(m.HeaderRow), "the number of the row with the headings, 1 to 1000")
	}
	for i, d := range m.Dates {
		one(fmt.Sprintf("dates[%d]", i), d, DateStyles...)
	}
	if _, err := time.LoadLocation(m.Zone); err != nil || m.Zone == "" || m.Zone == "Local" {
		fail("zone", m.Zone, "the IANA name of a time zone, such as America/Chicago")
	}
	one("units.length", m.Units.Length, "", "m", "ft")
	one("units.temp", m.Units.Temp, "", "C", "F")
	one("units.volume", m.Units.Volume, "", "L", "gal")
	for f, words := range m.Words {
		if !slices.Contains(Fields, f) {
			fail("words", string(f), join(Fields))
			continue
		}
		v, ok := vocabularies[f]
		for from, to := range words {
			if ok && !slices.Contains(v.accepted(), to) {
				fail(fmt.Sprintf("words.%s[%q]", f, clip(from)), to, strings.Join(v.accepted(), ", "))
			}
		}
	}
	for name, ids := range map[string]map[string]string{"waters": m.Waters, "launches": m.Launches, "people": m.People} {
		for from, to := range ids {
			if to != "" && !thwart.IsID(to) {
				fail(fmt.Sprintf("%s[%q]", name, clip(from)), to, "the id of a record of the programme; empty = leave out")
			}
		}
	}
	for name, id := range map[string]string{"launch": m.Launch, "steward": m.Steward} {
		if id != "" && !thwart.IsID(id) {
			fail(name, id, "the id of a record of the programme")
		}
	}
	if m.Protocol != "" && !protocolID.MatchString(m.Protocol) {
		fail("protocol", m.Protocol, "a protocol as id@version")
	}
	if len(errs) == 0 {
		return nil
	}
	slices.SortFunc(errs, func(a, b thwart.FieldError) int { return strings.Compare(a.Field, b.Field) })
	return errs
}

func join[T ~string](words []T) string {
	s := make([]string, len(words))
	for i, w := range words {
		s[i] = string(w)
	}
	return strings.Join(s, ", ")
}

// headings are words that head a column of a field, as a lower-case pattern over the heading with everything but letters
// and digits taken out. The first field that fits wins, so the narrow ones come first.
var headings = []struct {
	field Field
	like  *regexp.Regexp
}{
	{FieldLastOut, regexp.MustCompile(`^(date)?(lastout|dateout|leftwater|lastlaunched|whenlast|datelastused|lastuse(d)?date)`)},
	{FieldDaysOut, regexp.MustCompile(`^days?(out|since|dry|outofwater)`)},
	{FieldLastWater, regexp.MustCompile(`^(last|previous|prev|prior|origin|from)(water|waterbody|lake|body|launch|location)|^(comingfrom|wherefrom|lastwaterbody)`)},
	{FieldNextWater, regexp.MustCompile(`^(next|destination|dest|to)(water|waterbody|lake|body)?$|^(goingto|whereto)`)},
	{FieldEnd, regexp.MustCompile(`^(end|finish|stop|out)time|^timeout$|^ended`)},
	{FieldDate, regexp.MustCompile(`^(date|day|inspectiondate|surveydate|dateofinspection|datum|when|timestamp|datetime|startdate)`)},
	{FieldTime, regexp.MustCompile(`^(time|start|hour|intime|timein|clock|starttime)`)},
	{FieldKey, regexp.MustCompile(`^(record|form|sheet|survey|inspection)?(id|no|nr|number|recordno|formno)$`)},
	{FieldWashTemp, regexp.MustCompile(`temp`)},
	{FieldWaterFound, regexp.MustCompile(`^(water|standingwater|volume|residualwater)(found|volume|amount|l|gal|gallons|litres|liters)?$`)},
	{FieldLength, regexp.MustCompile(`length|^loa|^ft$|^feet$|boatsize`)},
	{FieldRegistration, regexp.MustCompile(`^reg|registration|hullnumber|boatnumber|^cfnumber|bownumber`)},
	{FieldHomeArea, regexp.MustCompile(`zip|postal|postcode`)},
	{FieldClass, regexp.MustCompile(`(boat|craft|vessel|watercraft)(type|class|kind)?$|^type$|^class$`)},
	{FieldLaunch, regexp.MustCompile(`launch|ramp|^site|^access|location|landing|^station`)},
	{FieldSteward, regexp.MustCompile(`steward|inspector|staff|^by$|surveyor|monitor|employee`)},
	{FieldDirection, regexp.MustCompile(`direction|enteringleaving|entering|inout|inorout|^way`)},
	{FieldPlugsOut, regexp.MustCompile(`plug`)},
	{FieldRefused, regexp.MustCompile(`refus|declin`)},
	{FieldOutcome, regexp.MustCompile(`outcome|result|disposition|action|decision|verdict`)},
	{FieldFound, regexp.MustCompile(`found|finding|ais|invasive|weeds|plants|hitchhiker|organism|mussels`)},
	{FieldNote, regexp.MustCompile(`note|comment|remark`)},
}

// personal heads a column of somebody's name or how to reach them: such a column is proposed to be left out.
var personal = regexp.MustCompile(`(owner|boater|customer|driver|captain|first|last|sur|full)name|^name$|owner$|boater$|phone|mobile|cell|e?mail|address|street|birth|licen[cs]eplate|plate|^vin$|signature`)

// ofPerson reports whether a heading is of a boater's name or how to reach one.
func ofPerson(heading string) bool {
	key := headingKey(heading)
	return personal.MatchString(key) && !strings.Contains(key, "water") && !strings.Contains(key, "inspector") && !strings.Contains(key, "steward")
}

func headingKey(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, strings.ToLower(s))
}

// Guess proposes a mapping from the headings and rows below them; some hundred rows from all over the table are plenty, the
// first ones may all be of one week. It is a start for a person to correct, never taken without being shown: headings it knows nothing of stay out, columns of names, addresses and
// numbers to call are listed in Ignore. Zone stays empty, which no
// reader takes: a table never says where its clock hung.
func Guess(header []string, sample []Row) Mapping {
	m := Mapping{Columns: map[Field]string{}}
	taken := map[int]bool{}
	for i, h := range header {
		if ofPerson(h) {
			m.Ignore = append(m.Ignore, h)
			taken[i] = true
		}
	}
	column := map[Field]int{}
	for _, x := range headings {
		for i, h := range header {
			if _, had := column[x.field]; !had && !taken[i] && x.like.MatchString(headingKey(h)) {
				column[x.field], taken[i] = i, true
				m.Columns[x.field] = h
			}
		}
	}
	values := func(f Field) (out []string) {
		i, ok := column[f]
		for _, r := range sample {
			if ok && i < len(r.Cells) && r.Cells[i] != "" {
				out = append(out, r.Cells[i])
			}
		}
		return out
	}
	m.Dates = guessDates(append(values(FieldDate), values(FieldLastOut)...))
	// A median above 12 is no length of trailered craft in metres; one above 45 no wash in °C but at the very top.
	m.Units.Length = guessUnit(header, column, FieldLength, values(FieldLength), "m", "ft", 12)
	m.Units.Temp = guessUnit(header, column, FieldWashTemp, values(FieldWashTemp), "C", "F", 90)
	m.Units.Volume = guessUnit(header, column, FieldWaterFound, values(FieldWaterFound), "L", "gal", 1e9)
	return m
}

func guessUnit(header []string, column map[Field]int, f Field, values []string, metric, us string, above float64) string {
	i, ok := column[f]
	if !ok {
		return ""
	}
	words := strings.FieldsFunc(strings.ToLower(header[i]), func(r rune) bool { return (r < 'a' || r > 'z') && r != '°' })
	for _, w := range words {
		switch strings.TrimPrefix(w, "°") {
		case "ft", "feet", "foot", "f", "fahrenheit", "gal", "gallons", "gallon":
			return us
		case "m", "metres", "meters", "c", "celsius", "l", "litres", "liters":
			return metric
		}
	}
	var xs []float64
	for _, v := range values {
		if x, unitSaid, ok := number(v); ok && unitSaid == "" {
			xs = append(xs, x)
		}
	}
	slices.Sort(xs)
	if len(xs) > 0 && xs[len(xs)/2] > above {
		return us
	}
	return metric
}
