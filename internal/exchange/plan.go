package exchange

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/refdata"
)

// vocabulary is what words of a file may mean.
type vocabulary struct {
	words map[string]string // usual words, plain, and what they mean
	none  []string          // meanings that are not among the words
}

func (v vocabulary) accepted() []string {
	set := map[string]bool{}
	for _, w := range v.words {
		set[w] = true
	}
	for _, w := range v.none {
		set[w] = true
	}
	out := make([]string, 0, len(set))
	for w := range set {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

func words(groups ...string) vocabulary {
	v := vocabulary{words: map[string]string{}}
	for _, g := range groups {
		meaning, list, _ := strings.Cut(g, ":")
		v.words[plain(meaning)] = meaning
		for _, w := range strings.Split(list, ",") {
			if w = plain(w); w != "" {
				v.words[w] = meaning
			}
		}
	}
	return v
}

var yesNo = words("yes:y,ja,oui,si,true,t,1,x,checked", "no:n,nein,non,false,f,0,unchecked")

// vocabularies are the words usually written. Common practice, no source.
var vocabularies = map[Field]vocabulary{
	FieldPlugsOut: yesNo,
	FieldRefused:  yesNo,
	FieldDirection: words("launching:launch,in,entering,enter,arriving,incoming,put in,pre launch",
		"leaving:out,exiting,exit,departing,leave,outgoing,take out,retrieving", "roadside:road,highway,check station", "other:"),
	FieldOutcome: words("launch:pass,passed,clean,clear,cleared,ok,go,allowed,allowed to launch,released",
		"fix_here:cleaned,hand cleaned,removed,hand removal,drained,fixed,clean on site,fix",
		"wash:decon,decontaminated,decontamination,hot wash,washed,hot water wash",
		"dry:drying,dry time,quarantine,dry hold,standing time,sent to dry",
		"hold:held,denied,not allowed,impound,impounded,refused entry,turned away,failed,fail"),
	FieldFound: words("none:no,n,nothing,0,clean,nil,false,not found", "water:standing water,wet", "mud:sediment,dirt,soil",
		"plant:plants,weed,weeds,vegetation,aquatic plants,plant fragments,milfoil",
		"attached_animal:mussel,mussels,zebra mussel,zebra mussels,quagga,quagga mussel,quagga mussels,attached animals",
		"loose_animal:snail,snails,animal,animals,fish,crayfish,invertebrates", "egg:eggs,seed,seeds,turion,turions",
		"bait:live bait,minnows", "other:debris"),
}

// notSaid are cells that say that nobody knows.
var notSaid = map[string]bool{
	"": true, "unknown": true, "unk": true, "n a": true, "na": true, "not sure": true, "not recorded": true, "not known": true, "null": true,
	"nan": true, "tbd": true, "didn t say": true, "not asked": true,
}

// PlaceNotTold stands for the place of a finding of which a table says only that it was made.
const PlaceNotTold = "not_told"

// ProtocolNotKnown stands for the protocol of an inspection of which nobody wrote down under which it was made.
const ProtocolNotKnown = "not_known@0"

// Name is a record of the programme and what it is called.
type Name struct {
	ID    string
	Names []string
}

// Options are what reading needs besides the file and its mapping.
type Options struct {
	Waters, Launches, People []Name // of the programme, to find ids by
	// Key hashes registrations; needed where the mapping has a column of them. Another key makes other records of the same rows.
	Key []byte
	// Now is the latest time an inspection can have; zero does not check.
	Now time.Time
}

// Level says what became of a cell or row that a report speaks of.
type Level string

// Levels, gravest first.
const (
	LevelRefused   Level = "refused"   // the row is not taken
	LevelDuplicate Level = "duplicate" // the row is there already, further up
	LevelLeftOut   Level = "left_out"  // the row is taken without this value, as not known
	LevelLook      Level = "look"      // taken, but somebody should look
)

// Line is one thing a report has to say.
type Line struct {
	Row      int    `json:"row"`
	Level    Level  `json:"level"`
	Field    Field  `json:"field,omitempty"`
	Value    string `json:"value,omitempty"` // as written; of a registration, nothing
	Accepted string `json:"accepted"`
	Fix      string `json:"fix,omitempty"` // what would make it right
}

// NameAsked is a name that the programme does not know, with the names it may be meant for.
type NameAsked struct {
	Kind string   `json:"kind"` // waters, launches or people: the part of the mapping it belongs in
	Name string   `json:"name"`
	Rows int      `json:"rows"`
	Near []string `json:"near,omitempty"` // names the programme knows, nearest first
	IDs  []string `json:"ids,omitempty"`  // their ids
}

// MaxLines is the most lines a report holds; what is beyond is counted.
const MaxLines = 20_000

// Report says what reading a table came to. Rows = Taken + Refused + Duplicates.
type Report struct {
	Rows       int                     `json:"rows"` // with something in them, the headings not counted
	Taken      int                     `json:"taken"`
	Refused    int                     `json:"refused"`
	Duplicates int                     `json:"duplicates"`
	Shifts     int                     `json:"shifts"` // days of one person at one launch
	NoTime     int                     `json:"noTime"` // rows taken with a date and no time: noon stands
	Counts     map[Field]map[Level]int `json:"counts"` // lines by field, those beyond MaxLines too; field empty = the row
	Lines      []Line                  `json:"lines"`
	LinesLeft  int                     `json:"linesLeft,omitempty"` // beyond MaxLines
	Names      []NameAsked             `json:"names,omitempty"`     // most rows first
	Unused     []string                `json:"unused,omitempty"`    // headings without a field that are not in Ignore
}

// Plan is what a table would add. Nothing of it is kept until the caller puts the entries; shifts come before what belongs
// to them.
type Plan struct {
	Entries []thwart.Entry `json:"-"`
	Report  Report         `json:"report"`
}

// HeaderOf reads a table down to its headings and gives them.
func HeaderOf(t Table, headerRow int) ([]string, error) {
	for {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			return nil, &TableError{"has no row of headings", fmt.Sprintf("headings in row %d", max(headerRow, 1))}
		}
		if err != nil {
			return nil, err
		}
		if row.Number < max(headerRow, 1) {
			continue
		}
		if row.Empty() {
			return nil, &TableError{fmt.Sprintf("has nothing in row %d", row.Number), "the number of the row with the headings in headerRow"}
		}
		return row.Cells, nil
	}
}

// Read turns a table into a plan. It writes nothing and gives the same plan for the same table, mapping and options.
//
// A row becomes an inspection where date, launch and person are sure. Everything else that cannot be read is left out as
// not known, which is always the unsafe side, and said so. A craft class that is not known becomes "other". What was found
// but not understood is kept as a finding of unknown matter.
//
// The id of an inspection comes from its launch, its time and, where the mapping has a key column, the key; otherwise from
// what the cells of class, length, registration, waters, direction, outcome and steward say. Reading the same row again, from
// this file or another, gives the same id. Two rows of one id are one craft: the second is reported and left out. Days on
// site become shifts of no length, because a table of craft says nothing of hours.
//
// The error is of the file or the mapping as a whole; then there is no plan.
func Read(ctx context.Context, t Table, m Mapping, o Options) (Plan, error) {
	if err := m.Validate(); err != nil {
		return Plan{}, err
	}
	if m.Columns[FieldRegistration] != "" && len(o.Key) < MinKeyBytes {
		return Plan{}, thwart.FieldErrors{{Field: "columns.registration", Value: m.Columns[FieldRegistration],
			Accepted: fmt.Sprintf("a key of the programme of at least %d bytes to hash registrations with, or no such column", MinKeyBytes)}}
	}
	zone, err := time.LoadLocation(m.Zone)
	if err != nil {
		return Plan{}, err
	}
	header, err := HeaderOf(t, m.HeaderRow)
	if err != nil {
		return Plan{}, err
	}
	rd := &reader{
		m: m, o: o, zone: zone, from1904: t.Serial1904(), column: map[Field]int{}, rows: map[string]seenRow{}, shifts: map[string]bool{},
		waters: newBook("waters", m.Waters, o.Waters), launches: newBook("launches", m.Launches, o.Launches),
		people: newBook("people", m.People, o.People),
	}
	rd.plan.Report.Counts = map[Field]map[Level]int{}
	if err := rd.findColumns(header); err != nil {
		return Plan{}, err
	}
	for {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return Plan{}, err
		}
		if !row.Empty() {
			rd.read(row)
		}
	}
	for _, b := range []*book{rd.waters, rd.launches, rd.people} {
		for _, asked := range b.asked {
			rd.plan.Report.Names = append(rd.plan.Report.Names, *asked)
		}
	}
	slices.SortFunc(rd.plan.Report.Names, func(a, b NameAsked) int {
		return cmp.Or(-cmp.Compare(a.Rows, b.Rows), strings.Compare(a.Kind, b.Kind), strings.Compare(a.Name, b.Name))
	})
	return rd.plan, nil
}

type seenRow struct {
	number int
	sum    [32]byte
}

type reader struct {
	m        Mapping
	o        Options
	zone     *time.Location
	from1904 bool
	column   map[Field]int
	rows     map[string]seenRow
	shifts   map[string]bool
	waters   *book
	launches *book
	people   *book
	plan     Plan

	row     Row
	refused bool
}

func (rd *reader) findColumns(header []string) error {
	var errs thwart.FieldErrors
	used := map[string]bool{}
	for f, want := range rd.m.Columns {
		for i, h := range header {
			if _, had := rd.column[f]; plain(h) == plain(want) && !had {
				rd.column[f] = i
			}
		}
		if _, ok := rd.column[f]; !ok {
			errs = append(errs, thwart.FieldError{Field: "columns." + string(f), Value: clip(want), Accepted: "one of the headings: " + clipList(header)})
		}
		used[plain(want)] = true
	}
	if len(errs) > 0 {
		slices.SortFunc(errs, func(a, b thwart.FieldError) int { return strings.Compare(a.Field, b.Field) })
		return errs
	}
	for _, h := range rd.m.Ignore {
		used[plain(h)] = true
	}
	for _, h := range header {
		if !used[plain(h)] {
			rd.plan.Report.Unused = append(rd.plan.Report.Unused, clip(h))
		}
	}
	return nil
}

func clipList(list []string) string {
	var out []string
	for i, s := range list {
		if i == 40 {
			out = append(out, "…")
			break
		}
		out = append(out, clip(s))
	}
	return strings.Join(out, ", ")
}

func (rd *reader) cell(f Field) string {
	if i, ok := rd.column[f]; ok && i < len(rd.row.Cells) {
		return rd.row.Cells[i]
	}
	return ""
}

// told gives a cell, empty where it says that nobody knows.
func (rd *reader) told(f Field) string {
	s := rd.cell(f)
	if notSaid[plain(s)] {
		return ""
	}
	return s
}

func (rd *reader) say(level Level, f Field, accepted, fix string) {
	r := &rd.plan.Report
	if r.Counts[f] == nil {
		r.Counts[f] = map[Level]int{}
	}
	r.Counts[f][level]++
	rd.refused = rd.refused || level == LevelRefused
	if len(r.Lines) >= MaxLines {
		r.LinesLeft++
		return
	}
	line := Line{Row: rd.row.Number, Level: level, Field: f, Accepted: accepted, Fix: fix}
	if f != FieldRegistration {
		line.Value = clip(rd.cell(f))
	}
	r.Lines = append(r.Lines, line)
}

// read takes one row: all of it, or nothing.
func (rd *reader) read(row Row) {
	r := &rd.plan.Report
	rd.row, rd.refused = row, false
	r.Rows++
	for _, fault := range row.Faults {
		rd.say(LevelRefused, "", "a row that can be read: "+fault, "mend the row in the spreadsheet")
	}
	if rd.refused {
		r.Refused++
		return
	}
	launch := rd.launch()
	local, timed := rd.start()
	steward := rd.steward()
	if rd.refused {
		r.Refused++
		return
	}
	e := rd.encounter(launch, steward, local)
	at := local.Truncate(time.Second)
	midnight := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, rd.zone)
	shiftID := madeID(midnight, "shift", launch, midnight.Format(time.DateOnly), steward)
	e.Shift = shiftID
	if err := e.Validate(); err != nil {
		rd.sayInvalid(err)
		r.Refused++
		return
	}
	body, err := json.Marshal(e)
	if err != nil {
		rd.say(LevelRefused, "", "values that can be written as JSON: "+err.Error(), "")
		r.Refused++
		return
	}
	id := madeID(at, append([]string{"inspection", launch, at.UTC().Format(time.RFC3339)}, rd.identity(&e)...)...)
	sum := sha256.Sum256(body)
	if old, ok := rd.rows[id]; ok {
		if old.sum == sum {
			rd.say(LevelDuplicate, "", fmt.Sprintf("each craft once; row %d is the same", old.number),
				"nothing to do; if these are two craft, map a column that tells them apart to key")
			r.Duplicates++
			return
		}
		rd.say(LevelRefused, "", fmt.Sprintf("each craft once; row %d is of the same craft and time and says something else", old.number),
			"take out the wrong row; if these are two craft, map a column that tells them apart to key")
		r.Refused++
		return
	}
	rd.rows[id] = seenRow{row.Number, sum}
	if !rd.shifts[shiftID] {
		shift, err := json.Marshal(thwart.Shift{
			Launch: launch, People: []string{steward}, From: midnight, To: &midnight,
			Note: "Made by an import: the hours on site are not known.",
		})
		if err != nil {
			rd.say(LevelRefused, "", "values that can be written as JSON: "+err.Error(), "")
			r.Refused++
			return
		}
		rd.shifts[shiftID] = true
		r.Shifts++
		rd.plan.Entries = append(rd.plan.Entries, entryOf(thwart.KindShift, shiftID, midnight, steward, shift))
	}
	rd.plan.Entries = append(rd.plan.Entries, entryOf(thwart.KindInspection, id, at, steward, body))
	r.Taken++
	if !timed {
		r.NoTime++
	}
}

func entryOf(kind thwart.Kind, id string, at time.Time, person string, body []byte) thwart.Entry {
	return thwart.Entry{ID: id, Kind: kind, Subject: id, MadeAt: at, Origin: thwart.OriginImport, Person: person, Body: body}
}

func (rd *reader) sayInvalid(err error) {
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) {
		rd.say(LevelRefused, "", err.Error(), "")
		return
	}
	for _, f := range fields {
		rd.say(LevelRefused, "", f.Error(), "")
	}
}

// madeID makes a UUID version 7 (RFC 9562, section 5.7) out of a time and what the record is of, so that the same record
// has the same id wherever it is made. The 74 bits that are random elsewhere are of a SHA-256: among a million records made
// at one millisecond, the chance that two share an id is 3e-11.
func madeID(at time.Time, parts ...string) string {
	h := sha256.New()
	h.Write([]byte("thwart import 1"))
	for _, p := range parts {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(p)))
		h.Write(n[:])
		h.Write([]byte(p))
	}
	return thwart.MakeID(at, [10]byte(h.Sum(nil)))
}

// identity is what tells a craft from the others at the same launch and time.
func (rd *reader) identity(e *thwart.Encounter) []string {
	if key := plain(rd.cell(FieldKey)); key != "" {
		return []string{"key", key}
	}
	var parts []string
	for _, f := range []Field{FieldClass, FieldLength, FieldLastWater, FieldNextWater, FieldDirection, FieldOutcome, FieldSteward} {
		s := plain(rd.cell(f))
		if x, u, ok := number(rd.cell(f)); ok {
			s = fmt.Sprintf("%g %s", x, u) // 18 and 18.0 are one
		}
		parts = append(parts, string(f), s)
	}
	if e.Mark != nil {
		parts = append(parts, string(FieldRegistration), e.Mark.Hash)
	}
	return parts
}

func (rd *reader) launch() string {
	name := rd.told(FieldLaunch)
	if name == "" {
		if rd.m.Launch == "" {
			rd.say(LevelRefused, FieldLaunch, "the name of a launch of the programme", "write it in, or give the mapping a launch for rows without")
		}
		return rd.m.Launch
	}
	id, near, ok := rd.launches.find(name)
	if !ok || id == "" {
		rd.say(LevelRefused, FieldLaunch, "the name of a launch of the programme", rd.launches.propose(name, near))
	}
	return id
}

func (rd *reader) steward() string {
	name := rd.told(FieldSteward)
	if name != "" {
		id, near, ok := rd.people.find(name)
		if ok && id != "" {
			return id
		}
		if !ok {
			level := LevelLeftOut
			if rd.m.Steward == "" {
				level = LevelRefused
			}
			rd.say(level, FieldSteward, "the name of a person of the programme", rd.people.propose(name, near))
			return rd.m.Steward
		}
	}
	if rd.m.Steward == "" {
		rd.say(LevelRefused, FieldSteward, "the name of a person of the programme", "give the mapping a steward to stand for rows that name nobody")
	}
	return rd.m.Steward
}

// start gives when the inspection began in the zone of the file, and whether a time of day was written.
func (rd *reader) start() (at time.Time, timed bool) {
	x, seconds, timed, ok := rd.date(FieldDate, LevelRefused)
	if !ok {
		return time.Time{}, false
	}
	if s := rd.told(FieldTime); s != "" {
		sec, good := parseClock(s)
		switch {
		case good:
			seconds, timed = sec, true
		case !timed:
			rd.say(LevelLeftOut, FieldTime, "a time of day such as 09:30 or 9:30 am", "noon stands until it is written in")
		}
	}
	if !timed {
		seconds = 12 * 3600
	}
	at = time.Date(x.y, time.Month(x.m), x.d, 0, 0, seconds, 0, rd.zone)
	if !rd.o.Now.IsZero() && at.After(rd.o.Now.Add(24*time.Hour)) {
		rd.say(LevelRefused, FieldDate, "a date that has been", "")
	}
	return at, timed
}

// date reads a date, with the time of day where one is written behind it.
func (rd *reader) date(f Field, level Level) (x day, seconds int, timed, ok bool) {
	s := rd.told(f)
	const accepted = "a date such as 2026-07-04"
	if s == "" {
		if level == LevelRefused {
			rd.say(level, f, accepted, "")
		}
		return day{}, 0, false, false
	}
	styles := rd.m.Dates
	if len(styles) == 0 {
		styles = []string{"iso", "ymd", "text", "serial"}
	}
	if slices.Contains(styles, "serial") {
		if x, seconds, ok := serial(s, rd.from1904); ok {
			return x, seconds, seconds != 0, true
		}
	}
	// 2026-07-04T14:30:00Z and the like say their own offset: the moment counts, not the face of the clock.
	for _, layout := range []string{time.RFC3339, "2006-01-02 15:04:05Z07:00", "2006-01-02T15:04Z07:00"} {
		if at, err := time.Parse(layout, strings.ToUpper(s)); err == nil {
			at = at.In(rd.zone)
			x = day{at.Year(), int(at.Month()), at.Day()}
			return x, at.Hour()*3600 + at.Minute()*60 + at.Second(), true, x.ok()
		}
	}
	text := s
	if m := dateThen.FindStringSubmatch(strings.ToLower(s)); m != nil && m[3] == "" {
		if sec, good := parseClock(m[2]); good {
			text, seconds, timed = m[1], sec, true
		}
	}
	found := readings(text)
	for _, style := range styles {
		if x, ok := found[style]; ok {
			return x, seconds, timed, true
		}
	}
	mdy, a := found["mdy"]
	dmy, b := found["dmy"]
	asked := slices.Contains(styles, "mdy") || slices.Contains(styles, "dmy")
	switch {
	case !asked && (a && !b || a && mdy == dmy):
		return mdy, seconds, timed, true
	case !asked && b && !a:
		return dmy, seconds, timed, true
	case a && b:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the month stands first, %s if the day does: put mdy or dmy into dates", mdy.text(), dmy.text()))
	case a:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the month stands first: put mdy into dates, after dmy", mdy.text()))
	case b:
		rd.say(level, f, accepted, fmt.Sprintf("%s if the day stands first: put dmy into dates, after mdy", dmy.text()))
	default:
		rd.say(level, f, accepted, "")
	}
	return day{}, 0, false, false
}

func (x day) text() string {
	return time.Date(x.y, time.Month(x.m), x.d, 0, 0, 0, 0, time.UTC).Format("2 January 2006")
}

// word reads a cell of a closed vocabulary.
func (rd *reader) word(f Field) string {
	s := rd.told(f)
	if s == "" {
		return ""
	}
	v := vocabularies[f]
	if meaning, ok := lookup(rd.m.Words[f], v, s); ok {
		return meaning
	}
	rd.say(LevelLeftOut, f, strings.Join(v.accepted(), ", "), rd.wordFix(f, s, v))
	return ""
}

func lookup(own map[string]string, v vocabulary, s string) (string, bool) {
	for from, to := range own {
		if plain(from) == plain(s) {
			return to, true
		}
	}
	meaning, ok := v.words[plain(s)]
	return meaning, ok
}

func (rd *reader) wordFix(f Field, s string, v vocabulary) string {
	best, least := "", 3
	known := make([]string, 0, len(v.words))
	for w := range v.words {
		known = append(known, w)
	}
	slices.Sort(known)
	for _, w := range known {
		if d := slips(plain(s), w); d < least && d*3 <= len(w) {
			best, least = v.words[w], d
		}
	}
	if best != "" {
		return fmt.Sprintf("%s? then put it into words.%s", best, f)
	}
	return fmt.Sprintf("say in words.%s what it means", f)
}

func (rd *reader) encounter(launch, steward string, at time.Time) thwart.Encounter {
	class := rd.class()
	e := thwart.Encounter{Protocol: cmp.Or(rd.m.Protocol, ProtocolNotKnown)}
	in := &e.Inspection
	in.Launch, in.Steward, in.StartedAt = launch, steward, at
	in.Direction = rd.word(FieldDirection)
	in.Setup = thwart.Setup{
		Class: class.ID, LengthM: rd.length(class), Drives: []thwart.Drive{thwart.DriveUnknown}, Spaces: []thwart.Space{}, Gear: []string{},
	}
	for _, s := range class.Spaces { // which of them it had nobody wrote down
		in.Setup.Spaces = append(in.Setup.Spaces, thwart.Space{Kind: thwart.SpaceKind(s.Kind), Count: thwart.CountUnknown})
	}
	in.PlugsOut = thwart.Answer(rd.word(FieldPlugsOut))
	in.LastWaters = rd.lastWaters(at)
	in.NextWater = rd.water(FieldNextWater)
	in.Refused = rd.word(FieldRefused) == "yes"
	in.Findings = rd.findings()
	in.EndedAt = rd.end(at)
	in.Note = rd.note()
	if o := rd.word(FieldOutcome); o != "" {
		e.Override = &thwart.Override{Outcome: thwart.Outcome(o), By: steward, Why: "as written in the imported table"}
	}
	if s := rd.told(FieldRegistration); s != "" {
		if m := MarkOf(s, rd.o.Key); m.Hash != "" {
			e.Mark = &m
		}
	}
	if s := rd.told(FieldHomeArea); s != "" {
		if postal.MatchString(s) {
			e.HomeArea = strings.ToUpper(s)
		} else {
			rd.say(LevelLeftOut, FieldHomeArea, "a postal area of at most 10 letters and digits, never an address", "")
		}
	}
	return e
}

var postal = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 -]{1,9}$`)

func (rd *reader) class() refdata.CraftClass {
	other, _ := refdata.CraftClassByID("other") // the library is held to having it by a test
	s := rd.told(FieldClass)
	if s == "" {
		if _, mapped := rd.column[FieldClass]; mapped {
			rd.say(LevelLook, FieldClass, "a class of craft; taken as other", "")
		}
		return other
	}
	for from, to := range rd.m.Words[FieldClass] {
		if plain(from) == plain(s) {
			s = to
		}
	}
	c, err := refdata.FindCraftClass(s)
	if err == nil {
		return c
	}
	fix := "say in words.class which it is"
	var unknown *refdata.UnknownName
	if errors.As(err, &unknown) && len(unknown.Near) > 0 {
		fix = strings.Join(unknown.Near, " or ") + "? then put it into words.class"
	}
	rd.say(LevelLook, FieldClass, "a class of craft of the library; taken as other", fix)
	return other
}

// amount reads a number of a field in metric, and whether its unit was written beside it. ok is false where there is none.
func (rd *reader) amount(f Field, unitOf string) (x float64, said, ok bool) {
	s := rd.told(f)
	if s == "" {
		return 0, false, false
	}
	x, u, good := number(s)
	if !good {
		rd.say(LevelLeftOut, f, "a number, with its unit if it is not "+unitOf, "")
		return 0, false, false
	}
	return metric(x, cmp.Or(u, unitOf)), u != "", true
}

// length is left out where it fits the class only in the other unit: somebody wrote feet under metres or metres under feet.
func (rd *reader) length(c refdata.CraftClass) float64 {
	own, other := "m", "ft"
	if rd.m.Units.Length == "ft" {
		own, other = other, own
	}
	x, said, ok := rd.amount(FieldLength, own)
	if !ok {
		return 0
	}
	const slack = 1.3 // how far a craft may be beyond the usual of its class before somebody should look
	fits := func(v float64) bool { return v >= c.MinLengthM/slack && v <= c.MaxLengthM*slack }
	if fits(x) {
		return x
	}
	raw, _, _ := number(rd.told(FieldLength))
	if swapped := metric(raw, other); !said && fits(swapped) {
		rd.say(LevelLeftOut, FieldLength, fmt.Sprintf("%.1f to %.1f m for this class", c.MinLengthM, c.MaxLengthM),
			fmt.Sprintf("%g %s = %.2f m? then write the unit into the cell, or set units.length to %s", raw, other, swapped, other))
		return 0
	}
	if x < thwart.MinLengthM || x > thwart.MaxLengthM {
		rd.say(LevelLeftOut, FieldLength, fmt.Sprintf("%g to %g m", thwart.MinLengthM, thwart.MaxLengthM), "")
		return 0
	}
	rd.say(LevelLook, FieldLength, fmt.Sprintf("usually %.1f to %.1f m for this class; taken as %.2f m", c.MinLengthM, c.MaxLengthM, x), "")
	return x
}

func (rd *reader) water(f Field) string {
	name := rd.told(f)
	if name == "" || plain(name) == "none" {
		return ""
	}
	id, near, ok := rd.waters.find(name)
	if !ok {
		rd.say(LevelLeftOut, f, "the name of a water of the programme; taken as not known", rd.waters.propose(name, near))
	}
	return id
}

func (rd *reader) lastWaters(at time.Time) []thwart.Visit {
	v := thwart.Visit{Water: rd.water(FieldLastWater)}
	if x, seconds, timed, ok := rd.date(FieldLastOut, LevelLeftOut); ok {
		if !timed {
			seconds = 86399 // the day is sure, its end the unsafe side
		}
		out := time.Date(x.y, time.Month(x.m), x.d, 0, 0, seconds, 0, rd.zone)
		day := time.Date(x.y, time.Month(x.m), x.d, 0, 0, 0, 0, rd.zone)
		switch {
		case !out.After(at):
			v.OutAt = &out
		case !timed && !day.After(at):
			v.OutAt = &at
		default:
			rd.say(LevelLeftOut, FieldLastOut, "a date not after the inspection", "")
		}
	}
	if n, _, ok := rd.amount(FieldDaysOut, ""); ok && v.OutAt == nil {
		if n >= 0 && n <= 36500 {
			out := at.Add(-time.Duration(n * 24 * float64(time.Hour))).Truncate(time.Second)
			v.OutAt = &out
			if n > 365 {
				rd.say(LevelLook, FieldDaysOut, "usually at most 365 days; taken", "")
			}
		} else {
			rd.say(LevelLeftOut, FieldDaysOut, "0 to 36500 days", "")
		}
	}
	if v.Water == "" && v.OutAt == nil {
		return []thwart.Visit{}
	}
	return []thwart.Visit{v}
}

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

func (rd *reader) end(at time.Time) *time.Time {
	s := rd.told(FieldEnd)
	if s == "" {
		return nil
	}
	const accepted = "a time of day within 4 hours after the start"
	seconds, ok := parseClock(s)
	if !ok {
		rd.say(LevelLeftOut, FieldEnd, accepted, "")
		return nil
	}
	end := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, seconds, 0, rd.zone)
	if d := end.Sub(at); d < 0 || d > 4*time.Hour {
		rd.say(LevelLeftOut, FieldEnd, accepted, "")
		return nil
	}
	return &end
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

// hideLast takes the value out of the line said last, because it is what was to be hidden.
func (rd *reader) hideLast() {
	if n := len(rd.plan.Report.Lines); n > 0 && rd.plan.Report.Lines[n-1].Row == rd.row.Number && rd.plan.Report.Lines[n-1].Field == FieldNote {
		rd.plan.Report.Lines[n-1].Value = ""
	}
}

// reach are e-mail addresses and telephone numbers (seven digits and more, in groups).
var reach = regexp.MustCompile(`[\w.+-]+@[\w-]+\.[\w.-]+|\+?\(?\d{3}\)?[ .-]?\d{3}[ .-]?\d{4}|\+\d[\d -]{7,14}\d|\b\d{3}[-.]\d{4}\b`)

func withoutPersons(s string) (text string, removed bool) {
	text = reach.ReplaceAllString(s, "[taken out]")
	return text, text != s
}

// book finds records of the programme by the names in a file.
type book struct {
	kind  string
	own   map[string]string // plain name: id, of the mapping
	known map[string]string // plain name: id, of the programme; empty id = the name is of several
	said  map[string]string // plain name: as the programme writes it
	asked map[string]*NameAsked
}

func newBook(kind string, own map[string]string, known []Name) *book {
	b := &book{kind: kind, own: map[string]string{}, known: map[string]string{}, said: map[string]string{}, asked: map[string]*NameAsked{}}
	for name, id := range own {
		b.own[plain(name)] = id
	}
	for _, k := range known {
		for _, name := range append([]string{k.ID}, k.Names...) {
			p := plain(name)
			if old, had := b.known[p]; had && old != k.ID {
				b.known[p] = ""
				continue
			}
			b.known[p], b.said[p] = k.ID, name
		}
	}
	return b
}

// maxAsked is how many names that are not known are looked for among those that are: comparing takes time, and a file with
// more has the wrong column.
const maxAsked = 1000

// near is a name that may be meant.
type near struct {
	name, id string
	slips    int
}

// find gives the id of a name; ok with an empty id where the mapping says to leave it out. Names are never guessed: what is
// only similar is proposed.
func (b *book) find(name string) (id string, similar []near, ok bool) {
	p := plain(name)
	if id, ok := b.own[p]; ok {
		return id, nil, true
	}
	if id := b.known[p]; id != "" {
		return id, nil, true
	}
	if a := b.asked[p]; a != nil {
		a.Rows++
		for i := range a.Near {
			similar = append(similar, near{name: a.Near[i], id: a.IDs[i]})
		}
		return "", similar, false
	}
	if len(b.asked) >= maxAsked {
		return "", nil, false
	}
	short := withoutKinds(p)
	for k, id := range b.known {
		if id == "" || plain(id) == k {
			continue
		}
		s := withoutKinds(k)
		d := slips(p, k)
		if s != "" && short != "" {
			d = min(d, slips(short, s))
			if len(short) >= 4 && len(s) >= 4 && (strings.Contains(s, short) || strings.Contains(short, s)) {
				d = min(d, 1)
			}
		}
		if d <= 1+len(short)/4 {
			similar = append(similar, near{name: b.said[k], id: id, slips: d})
		}
	}
	slices.SortFunc(similar, func(x, y near) int {
		return cmp.Or(cmp.Compare(x.slips, y.slips), strings.Compare(x.name, y.name), strings.Compare(x.id, y.id))
	})
	similar = similar[:min(len(similar), 3)]
	a := &NameAsked{Kind: b.kind, Name: clip(name), Rows: 1}
	for _, s := range similar {
		a.Near, a.IDs = append(a.Near, s.name), append(a.IDs, s.id)
	}
	b.asked[p] = a
	return "", similar, false
}

// withoutKinds takes out words that say only what kind of place it is, because people leave them away.
func withoutKinds(p string) string {
	return strings.Join(slices.DeleteFunc(strings.Fields(p), func(w string) bool {
		switch w {
		case "lake", "lac", "lk", "reservoir", "res", "pond", "river", "flowage", "the", "launch", "ramp", "landing", "access", "public", "boat":
			return true
		}
		return false
	}), " ")
}

func (b *book) propose(name string, similar []near) string {
	if len(similar) == 0 {
		return fmt.Sprintf("add it to the programme, or put %q with an id into %s", clip(name), b.kind)
	}
	var names []string
	for _, s := range similar {
		names = append(names, fmt.Sprintf("%s (%s)", s.name, s.id))
	}
	return fmt.Sprintf("%s? then put %q with that id into %s", strings.Join(names, " or "), clip(name), b.kind)
}

// WriteText prints a report for a person.
func (r *Report) WriteText(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%d rows: %d taken, %d refused, %d duplicates; %d days on site\n", r.Rows, r.Taken, r.Refused, r.Duplicates, r.Shifts)
	if r.NoTime > 0 {
		fmt.Fprintf(&b, "%d rows have a date and no time of day; noon stands for it\n", r.NoTime)
	}
	if len(r.Unused) > 0 {
		fmt.Fprintf(&b, "columns left out: %s\n", clipList(r.Unused))
	}
	for _, f := range append([]Field{""}, Fields...) {
		for _, level := range []Level{LevelRefused, LevelDuplicate, LevelLeftOut, LevelLook} {
			if n := r.Counts[f][level]; n > 0 {
				fmt.Fprintf(&b, "  %-12s %-10s %d\n", cmp.Or(f, "(row)"), level, n)
			}
		}
	}
	for _, n := range r.Names {
		fmt.Fprintf(&b, "not known to the programme (%s): %q in %d rows", n.Kind, n.Name, n.Rows)
		if len(n.Near) > 0 {
			fmt.Fprintf(&b, "; meant for %s?", strings.Join(n.Near, " or "))
		}
		b.WriteByte('\n')
	}
	for _, l := range r.Lines {
		fmt.Fprintf(&b, "row %d", l.Row)
		if l.Field != "" {
			fmt.Fprintf(&b, ", %s", l.Field)
		}
		if l.Value != "" {
			fmt.Fprintf(&b, " %q", l.Value)
		}
		fmt.Fprintf(&b, ": %s; accepted: %s", strings.ReplaceAll(string(l.Level), "_", " "), l.Accepted)
		if l.Fix != "" {
			fmt.Fprintf(&b, " — %s", l.Fix)
		}
		b.WriteByte('\n')
	}
	if r.LinesLeft > 0 {
		fmt.Fprintf(&b, "and %d lines more\n", r.LinesLeft)
	}
	_, err := w.Write(b.Bytes())
	return err
}
