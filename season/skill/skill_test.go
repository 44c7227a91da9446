package skill_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thwart"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/practice"
	"thwart/refdata"
	"thwart/season"
	"thwart/season/skill"
)

var (
	world  *demo.World
	book   *season.Book
	report *skill.Report
	once   sync.Once
)

// demoReport is the report on a demo season whose truth is known.
func demoReport(t *testing.T) (*demo.World, *season.Book, *skill.Report) {
	t.Helper()
	once.Do(func() {
		world, book = demotest.Book(demo.Options{Seed: 5, Scale: 0.2})
		var err error
		if report, err = skill.Of(book, skill.Options{Now: world.Last}); err != nil {
			t.Fatal(err)
		}
	})
	if report == nil {
		t.Fatal("no report")
	}
	return world, book, report
}

// The estimates are held against the truth the season was made from: what people really find in the time they take.
func TestAgainstTheTruth(t *testing.T) {
	w, b, r := demoReport(t)
	inside, n := 0, 0
	var shrunk, raw float64
	for _, true1 := range w.Truth.Stewards {
		i := slices.IndexFunc(r.People, func(p skill.PersonSkill) bool { return p.Person == true1.Person })
		if i < 0 {
			continue
		}
		for _, c := range r.People[i].Classes {
			if c.Class == string(refdata.WaterSeen) || c.Planted.N == 0 {
				continue
			}
			// A look that takes Pace times the usual is that much of a full look, up to one and a half.
			want := 1 - math.Pow(1-true1.Finds[refdata.DetectionClass(c.Class)], math.Min(true1.Pace, 1.5))
			k := r.Skill(true1.Person).Classes
			at := slices.IndexFunc(k, func(x thwart.SkillOf) bool { return x.Class == c.Class })
			got := k[at].Alpha / (k[at].Alpha + k[at].Beta)
			shrunk += (got - want) * (got - want)
			raw += (c.Planted.Rate() - want) * (c.Planted.Rate() - want)
			if c.Chance != nil {
				n++
				if c.Chance.Lo <= want && want <= c.Chance.Hi {
					inside++
				}
			}
		}
	}
	if shrunk >= raw {
		t.Errorf("squared error %v, of raw rates %v", shrunk, raw)
	}
	t.Logf("%d of %d named intervals hold the truth; squared error %.3f, raw %.3f; %d trials", inside, n, shrunk, raw, r.Trials)
	if n > 0 && float64(inside) < 0.85*float64(n) {
		t.Errorf("%d of %d intervals hold the truth", inside, n)
	}
	if r.Trials != len(b.Trials) {
		t.Errorf("%d of %d trials counted", r.Trials, len(b.Trials))
	}
}

func TestNothingNamedBelowTen(t *testing.T) {
	_, _, r := demoReport(t)
	named, unnamed := 0, 0
	for _, p := range r.People {
		for _, c := range p.Classes {
			switch {
			case c.Trials < skill.Least && (c.Chance != nil || c.BelowTarget != nil):
				t.Errorf("%s: a chance is named from %d objects", p.Name, c.Trials)
			case c.Trials < skill.Least:
				unnamed++
				if strings.Contains(c.Says, "of 100") {
					t.Errorf("%s: %q", p.Name, c.Says)
				}
			case c.Chance == nil:
				t.Errorf("%s: %d objects and no chance", p.Name, c.Trials)
			default:
				named++
				if !(c.Chance.Lo < c.Chance.Mid && c.Chance.Mid < c.Chance.Hi) || c.Chance.Hi-c.Chance.Lo < 0.05 {
					t.Errorf("%s: %+v", p.Name, c.Chance)
				}
			}
		}
	}
	if named == 0 || unnamed == 0 {
		t.Errorf("%d named, %d not: nothing tested", named, unnamed)
	}
	// By name, never by how well: the order does not depend on the figures.
	if !slices.IsSortedFunc(r.People, func(x, y skill.PersonSkill) int { return strings.Compare(x.Name, y.Name) }) {
		t.Error("people are not listed by name")
	}
}

func TestForOnePerson(t *testing.T) {
	_, _, r := demoReport(t)
	me, other := r.People[0], r.People[1]
	mine := r.For(me.Person)
	b, err := json.Marshal(mine)
	if err != nil {
		t.Fatal(err)
	}
	if len(mine.People) != 1 || mine.People[0].Person != me.Person || strings.Contains(string(b), other.Person) || strings.Contains(string(b), other.Name) {
		t.Errorf("another's figures are in: %s", b)
	}
	if nobody := r.For("x"); len(nobody.People) != 0 {
		t.Error("a stranger sees people")
	}
	if got, want := mine.Skill(me.Person), r.Skill(me.Person); got.Classes[0] != want.Classes[0] {
		t.Error("her own skill differs")
	}
	cs := thwart.Case{Skill: r.Skill("a newcomer")}
	if len(cs.Skill.Classes) != 3 {
		t.Errorf("a newcomer: %+v", cs.Skill)
	}
}

// records makes a book of a few records written by hand.
type records struct {
	t *testing.T
	b *season.Builder
	n int64
}

func (r *records) add(kind thwart.Kind, body thwart.Body) string {
	r.t.Helper()
	r.n++
	id := thwart.MakeID(at.Add(time.Duration(r.n)*time.Second), [10]byte{9: byte(r.n), 8: byte(r.n >> 8)})
	raw, err := json.Marshal(body)
	if err != nil {
		r.t.Fatal(err)
	}
	if err := body.Validate(); err != nil {
		r.t.Fatalf("%s: %v", kind, err)
	}
	if err := r.b.Add(thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: kind, MadeAt: at, Origin: thwart.OriginOffice, Body: raw}, Cursor: r.n}); err != nil {
		r.t.Fatal(err)
	}
	return id
}

var at = time.Date(2026, 7, 4, 9, 0, 0, 0, time.UTC)

// lookers are two people, and craft that they look at.
func lookers(t *testing.T) (r *records, ann, bea string, look func(who string, findings ...thwart.Finding) string) {
	r = &records{t: t, b: season.New(season.Options{})}
	ann = r.add(thwart.KindPerson, &thwart.Person{Name: "A", Roles: []thwart.Role{thwart.RoleSteward}})
	bea = r.add(thwart.KindPerson, &thwart.Person{Name: "B", Roles: []thwart.Role{thwart.RoleSteward}})
	water := r.add(thwart.KindWater, &thwart.WaterBody{Name: "W"})
	launch := r.add(thwart.KindLaunch, &thwart.Ramp{Name: "L", Water: water, Lanes: 1})
	shift := r.add(thwart.KindShift, &thwart.Shift{Launch: launch, People: []string{ann}, From: at})
	look = func(who string, findings ...thwart.Finding) string {
		return r.add(thwart.KindInspection, &thwart.Encounter{Shift: shift, Protocol: "own-rules@1", Inspection: thwart.Inspection{
			Launch: launch, Direction: "launching", Steward: who, StartedAt: at, LastWaters: []thwart.Visit{}, Findings: findings,
			Setup: thwart.Setup{Class: "runabout", Drives: []thwart.Drive{thwart.DriveUnknown}, Spaces: []thwart.Space{}, Gear: []string{}},
		}})
	}
	return r, ann, bea, look
}

func plant(place string, removed thwart.Removed) thwart.Finding {
	return thwart.Finding{Place: place, Matter: thwart.MatterPlant, Removed: removed}
}

// A mark that a second look does not find is a false alarm or a miss: it is counted, of nobody, and told from ten on.
func TestUnconfirmedMarks(t *testing.T) {
	r, ann, bea, look := lookers(t)
	again := func(found thwart.Answer) skill.ClassSkill {
		r.add(thwart.KindSecondLook, &thwart.SecondLook{Encounter: look(ann, plant("tow.jack", thwart.RemovedNone)), Person: bea, At: at, Blind: thwart.Yes,
			Places: []thwart.SecondPlace{{Place: "tow.jack", Found: found, Like: "plants_seen"}}})
		rep, err := skill.Of(r.b.Book(), skill.Options{Now: at})
		if err != nil {
			t.Fatal(err)
		}
		return rep.Classes[slices.IndexFunc(rep.Classes, func(c skill.ClassSkill) bool { return c.Class == "plants_seen" })]
	}
	if c := again(thwart.Yes); !strings.HasPrefix(c.Alarms, "One mark was looked at again: too few") {
		t.Error(c.Alarms)
	}
	if c := again(thwart.Yes); !strings.HasPrefix(c.Alarms, "2 marks were looked at again: too few") {
		t.Error(c.Alarms)
	}
	for range 4 {
		again(thwart.Yes)
	}
	for range 2 {
		again(thwart.No)
	}
	c := again("") // could not look
	if c.Unconfirmed.X != 2 || c.Unconfirmed.N != 8 || !strings.Contains(c.Alarms, "too few") {
		t.Errorf("%+v %s", c.Unconfirmed, c.Alarms)
	}
	again(thwart.Yes)
	if c = again(thwart.Yes); c.Unconfirmed.X != 2 || c.Unconfirmed.N != 10 || !strings.Contains(c.Alarms, "Of 10 marks looked at again 2") {
		t.Errorf("%+v %s", c.Unconfirmed, c.Alarms)
	}
	if strings.Contains(c.Alarms, ann) {
		t.Error("somebody is named")
	}
}

func TestSecondLooks(t *testing.T) {
	r, ann, bea, look := lookers(t)
	// A finds two plants and takes one off. B, not knowing, finds the one left and another that A missed.
	first := look(ann, plant("hull.keel", thwart.RemovedAll), plant("tow.winch", thwart.RemovedNone))
	second := look(bea, plant("tow.winch", thwart.RemovedNone), plant("tow.jack", thwart.RemovedNone))
	r.add(thwart.KindSecondLook, &thwart.SecondLook{Encounter: first, Other: second, Person: bea, At: at, Blind: thwart.Yes})
	// And a second look place by place, where B finds a mussel that A did not.
	r.add(thwart.KindSecondLook, &thwart.SecondLook{Encounter: look(ann), Person: bea, At: at, Blind: thwart.Yes,
		Places: []thwart.SecondPlace{{Place: "hull.keel", Found: thwart.Yes, Like: "small_felt"}, {Place: "tow.jack", Found: thwart.No}}})
	rep, err := skill.Of(r.b.Book(), skill.Options{Now: at})
	if err != nil {
		t.Fatal(err)
	}
	count := func(person, class string) (found, trials int) {
		for _, p := range rep.People {
			for _, c := range p.Classes {
				if p.Person == person && c.Class == class {
					return c.Double.X, c.Double.N
				}
			}
		}
		return -1, -1
	}
	for _, x := range []struct {
		person, class string
		found, trials int
	}{{ann, "plants_seen", 1, 2}, {bea, "plants_seen", 1, 1}, {ann, "small_felt", 0, 1}, {bea, "small_felt", 0, 0}} {
		if f, n := count(x.person, x.class); f != x.found || n != x.trials {
			t.Errorf("%s %s: %d of %d, want %d of %d", x.person, x.class, f, n, x.found, x.trials)
		}
	}
	for _, c := range rep.Classes {
		if c.Class == "plants_seen" && (c.Double == nil || c.Double.First != 1 || c.Double.Second != 2 || c.Double.Both != 1) {
			t.Errorf("two looks: %+v", c.Double)
		}
	}
}

func TestPractiseAndDue(t *testing.T) {
	r := &records{t: t, b: season.New(season.Options{})}
	ann := r.add(thwart.KindPerson, &thwart.Person{Name: "A", Roles: []thwart.Role{thwart.RoleSteward}})
	r.add(thwart.KindPerson, &thwart.Person{Name: "B", Roles: []thwart.Role{thwart.RoleSteward}})
	for d := range 4 {
		start := at.AddDate(0, 0, -20+5*d)
		drill := thwart.Drill{Person: ann, Seed: int64(d), Difficulty: "3", Setup: "runabout", StartedAt: start, EndedAt: start.Add(4 * time.Minute), Score: 80}
		for k := range 5 {
			a := thwart.Yes
			if k == 0 {
				a = thwart.No // it is always the trailer that is missed
			}
			place := "hull.keel"
			if k == 0 {
				place = "trailer.bunks"
			}
			drill.Places = append(drill.Places, thwart.DrillPlace{Place: place, Object: true, Like: "plants_seen", Answered: a})
			drill.Places = append(drill.Places, thwart.DrillPlace{Place: "tow.hitch", Answered: thwart.No})
		}
		r.add(thwart.KindDrill, &drill)
	}
	rep, err := skill.Of(r.b.Book(), skill.Options{Now: at})
	if err != nil {
		t.Fatal(err)
	}
	a, b := rep.People[0], rep.People[1]
	if a.Drills != 4 || a.Due == nil || a.Screen == nil || a.Screen.Hits.X != 16 || a.Screen.Hits.N != 20 || a.Screen.Alarms.N != 20 {
		t.Errorf("A: %+v", a)
	}
	if !b.DueNow || b.Due != nil {
		t.Errorf("B never practised: %+v", b)
	}
	if len(a.Practise) == 0 || a.Practise[0].Class != "plants_seen" || a.Practise[0].Found != 0 || a.Practise[0].Trials != 4 {
		t.Errorf("what to practise: %+v", a.Practise)
	}
	if a.Classes[0].Trials != 0 || a.Classes[0].Screen.N != 20 {
		t.Errorf("practice counts for the field: %+v", a.Classes[0])
	}
	if len(a.Questions) != 0 || len(a.QuestionsSay) != 0 {
		t.Errorf("no question was asked: %+v", a)
	}
	if due := rep.DueThisWeek(); len(due) == 0 || due[0].Person != b.Person && due[0].Person != a.Person {
		t.Errorf("due: %+v", due)
	}
	if _, err := skill.Of(r.b.Book(), skill.Options{Now: at, Target: 2}); err == nil {
		t.Error("a target of 2 is taken")
	}
}

func TestStandings(t *testing.T) {
	r := &records{t: t, b: season.New(season.Options{})}
	ann := r.add(thwart.KindPerson, &thwart.Person{Name: "A", Roles: []thwart.Role{thwart.RoleSteward}})
	bea := r.add(thwart.KindPerson, &thwart.Person{Name: "B", Roles: []thwart.Role{thwart.RoleTechnician}, Certificates: []thwart.Certificate{
		{For: "inspect", From: at.AddDate(-1, 0, 10), Expires: at.AddDate(0, 0, 10), By: "elsewhere"},
	}})
	course := r.add(thwart.KindCurriculum, &thwart.Curriculum{Name: "Inspecting", For: "inspect", Months: 12, Parts: []thwart.CurriculumPart{
		{Name: "read", What: thwart.PartReading, Pages: []string{"field guide"}},
		{Name: "drills", What: thwart.PartDrills, Drills: 2, Difficulty: "2", Score: 70},
		{Name: "boats", What: thwart.PartObserved, Boats: 3, Months: 6},
	}})
	drill := func(days int, difficulty string, score float64) {
		start := at.AddDate(0, 0, days)
		r.add(thwart.KindDrill, &thwart.Drill{Person: ann, Difficulty: difficulty, Setup: "runabout", StartedAt: start, EndedAt: start.Add(time.Minute), Score: score,
			Places: []thwart.DrillPlace{{Place: "hull.keel"}}})
	}
	drill(-9, "3", 90)
	drill(-8, "3", 40) // breaks the row
	drill(-7, "2", 75)
	drill(-6, "1", 99) // too easy to count
	part := func(person, name string, from time.Time) {
		r.add(thwart.KindCertificate, &thwart.Certified{Person: person, Curriculum: course, Part: name,
			Certificate: thwart.Certificate{For: "inspect", From: from, Expires: from.AddDate(1, 0, 0), By: "M"}})
	}
	part(ann, "read", at.AddDate(0, -1, 0))
	part(ann, "boats", at.AddDate(0, -7, 0)) // six months are over
	b := r.b.Book()
	all := skill.Standings(b, at)
	if len(all) != 2 {
		t.Fatalf("%d standings", len(all))
	}
	a := all[0].Curricula[0]
	if a.Complete || a.Done != 1 || !a.Parts[0].Done || a.Parts[1].Have != 1 || a.Parts[1].Done || a.Parts[2].Done {
		t.Errorf("A: %+v", a)
	}
	if all[0].Certificates[0].State != "none" || all[1].Certificates[0].State != "soon" {
		t.Errorf("certificates: %+v, %+v", all[0].Certificates, all[1].Certificates)
	}
	drill(-5, "2", 70)
	part(ann, "boats", at.AddDate(0, -1, 0))
	b = r.b.Book()
	if all = skill.Standings(b, at); !all[0].Curricula[0].Complete {
		t.Errorf("A has done all: %+v", all[0].Curricula[0])
	}
	index := func(id string) int32 {
		return int32(slices.IndexFunc(b.People, func(p season.Person) bool { return p.Subject == id }))
	}
	if ok, why := skill.May(b, index(ann), "inspect", at, at.Add(8*time.Hour)); ok || why == "" {
		t.Error("a curriculum that is done is not yet a certificate")
	}
	r.add(thwart.KindCertificate, &thwart.Certified{Person: ann, Curriculum: course, Certificate: thwart.Certificate{For: "inspect", From: at, Expires: at.AddDate(1, 0, 0), By: "M"}})
	b = r.b.Book()
	for _, x := range []struct {
		person  string
		purpose string
		from    time.Time
		want    bool
	}{
		{ann, "inspect", at, true}, {ann, "inspect", at.Add(-time.Hour), false}, {ann, "wash", at, false}, {bea, "inspect", at, true},
		{bea, "inspect", at.AddDate(0, 0, 10).Add(-2 * time.Hour), false}, {bea, "wash", at, false},
	} {
		if ok, why := skill.May(b, index(x.person), x.purpose, x.from, x.from.Add(4*time.Hour)); ok != x.want || ok == (why != "") {
			t.Errorf("%+v: %v, %q", x, ok, why)
		}
	}
}

// The team's chances name nobody, are those of somebody the report does not know, and are silent below ten.
func TestTeam(t *testing.T) {
	_, b, r := demoReport(t)
	team, err := skill.Team(b)
	if err != nil {
		t.Fatal(err)
	}
	unknown := r.Skill("nobody")
	for _, c := range r.Classes {
		i := slices.IndexFunc(team.Classes, func(k thwart.SkillOf) bool { return k.Class == c.Class })
		if (i >= 0) != (c.Trials >= skill.Least) {
			t.Errorf("%s: %d trials, told %t", c.Class, c.Trials, i >= 0)
		}
		if i >= 0 && !slices.Contains(unknown.Classes, team.Classes[i]) {
			t.Errorf("%s: %+v is not what is expected of a newcomer", c.Class, team.Classes[i])
		}
	}
	if len(team.Classes) == 0 {
		t.Error("a season of planted objects tells nothing")
	}
	few := *b
	few.Trials, few.SecondLooks, few.Encounters = b.Trials[:skill.Least-1], nil, nil
	if team, err = skill.Team(&few); err != nil || len(team.Classes) != 0 {
		t.Errorf("nine objects tell %+v %v", team, err)
	}
}

// What the report keeps of a person's practice says the same as its page.
func TestMemorySaysTheSameAsThePage(t *testing.T) {
	w, _, r := demoReport(t)
	for i := range r.People {
		p := &r.People[i]
		week, err := r.Memory(p.Person).Week(w.Last)
		if err != nil {
			t.Fatal(err)
		}
		if week.DueNow != p.DueNow || week.DueWeek != p.DueWeek || (week.Due == nil) != (p.Due == nil) || len(week.Practise) != len(p.Practise) {
			t.Errorf("%s: %+v, the page %v %v %+v", p.Name, week, p.Due, p.DueNow, p.Practise)
		}
	}
	if m := r.Memory("nobody"); len(m.Learned)+len(m.Weak) != 0 || m.Target != r.Target {
		t.Errorf("of nobody: %+v", m)
	}
}

// Questions are due topic by topic, and say nothing of finding: who only answers questions is no inspector.
func TestQuestionsAreDueByTopic(t *testing.T) {
	r := &records{t: t, b: season.New(season.Options{})}
	ann := r.add(thwart.KindPerson, &thwart.Person{Name: "A", Roles: []thwart.Role{thwart.RoleSteward}})
	max := r.add(thwart.KindPerson, &thwart.Person{Name: "M", Roles: []thwart.Role{thwart.RoleManager}})
	asked := func(person string, days int, topics ...thwart.TopicAsked) {
		start := at.AddDate(0, 0, -days)
		d := thwart.Drill{Person: person, StartedAt: start, EndedAt: start.Add(2 * time.Minute), Places: []thwart.DrillPlace{}, Topics: topics}
		for _, x := range topics {
			d.QuestionsAsked, d.QuestionsRight = d.QuestionsAsked+x.Asked, d.QuestionsRight+x.Right
		}
		r.add(thwart.KindDrill, &d)
	}
	asked(ann, 30, thwart.TopicAsked{Topic: "wash_heat", Asked: 4, Right: 1}, thwart.TopicAsked{Topic: "drained", Asked: 2, Right: 2})
	asked(ann, 1, thwart.TopicAsked{Topic: "drained", Asked: 2, Right: 2})
	asked(max, 2, thwart.TopicAsked{Topic: "verdict", Asked: 1, Right: 0})
	rep, err := skill.Of(r.b.Book(), skill.Options{Now: at})
	if err != nil {
		t.Fatal(err)
	}
	if len(rep.People) != 1 || rep.Questions.Traces != 1 || rep.Recall.Traces != 0 || rep.Drills != 0 {
		t.Fatalf("%d people, %d traces of questions, %d of finding, %d practice craft", len(rep.People), rep.Questions.Traces, rep.Recall.Traces, rep.Drills)
	}
	a := rep.People[0]
	if len(a.Questions) != 2 || a.Questions[0].Topic != "wash_heat" || !a.Questions[0].DueNow || a.Questions[1].DueNow {
		t.Errorf("%+v", a.Questions)
	}
	if len(a.QuestionsSay) == 0 || !strings.Contains(a.QuestionsSay[0], "how hot a wash has to be: due since") {
		t.Errorf("%v", a.QuestionsSay)
	}
	if m := rep.Memory(max); len(m.Topics) != 1 || m.Topics[0].Wrong != 1 {
		t.Errorf("what the manager was asked is not remembered: %+v", m)
	}
	for _, topic := range practice.Topics {
		if skill.TopicWords[topic] == "" {
			t.Errorf("%s has no words", topic)
		}
	}
}
