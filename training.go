package thwart

import (
	"fmt"
	"time"

	"thwart/tongue"
)

// MaxPlaces is the largest number of places of one craft that a record may name.
const MaxPlaces = 500

// DrillPlace is one place of a practice craft.
type DrillPlace struct {
	Place    string  `json:"place"`
	Object   bool    `json:"object,omitempty"`   // there was something
	Like     string  `json:"like,omitempty"`     // its detection class
	Answered Answer  `json:"answered,omitempty"` // what the person said of the place; empty: passed over
	Seconds  float64 `json:"seconds,omitempty"`
}

// TopicAsked counts the questions of one topic among those asked.
type TopicAsked struct {
	Topic string `json:"topic"` // such as wash_heat
	Asked int    `json:"asked"`
	Right int    `json:"right"`
}

// Drill is one practice craft on screen, or a round of questions without one, from a seed that makes it again. It is training
// data and counts no craft.
type Drill struct {
	Person         string       `json:"person"`
	Seed           int64        `json:"seed"` // 0 to 2^53 - 1, which JSON's readers hold without loss
	Difficulty     string       `json:"difficulty"`
	Setup          string       `json:"setup"` // craft class
	StartedAt      time.Time    `json:"startedAt"`
	EndedAt        time.Time    `json:"endedAt"`
	Places         []DrillPlace `json:"places"` // none for questions alone
	VerdictGiven   Outcome      `json:"verdictGiven,omitempty"`
	VerdictRight   Outcome      `json:"verdictRight,omitempty"`
	QuestionsAsked int          `json:"questionsAsked,omitempty"`
	QuestionsRight int          `json:"questionsRight,omitempty"`
	Topics         []TopicAsked `json:"topics,omitempty"` // the questions by what they were about; none where nobody wrote it down
	Score          float64      `json:"score"`            // 0 to 100
}

// Validate checks ids, times and counts.
func (d Drill) Validate() error {
	var c check
	c.id("person", d.Person, "a person", false)
	c.within("seed", float64(d.Seed), 0, 1<<53-1, "")
	alone := len(d.Places) == 0 && d.QuestionsAsked > 0
	if !alone {
		c.required("difficulty", d.Difficulty, "how hard it was, in the program's word")
		c.required("setup", d.Setup, "the class of the craft")
	}
	c.text("difficulty", d.Difficulty, 60)
	c.text("setup", d.Setup, 60)
	if d.StartedAt.IsZero() {
		c.fail("startedAt", "", "when it began")
	}
	c.within("endedAt", d.EndedAt.Sub(d.StartedAt).Seconds(), 0, 14400, "s after startedAt")
	if len(d.Places) == 0 && !alone || len(d.Places) > MaxPlaces {
		c.fail("places", len(d.Places), tongue.Say("1 to {n} places; none for questions alone", tongue.Int(MaxPlaces)))
	}
	for i, p := range d.Places {
		f := fmt.Sprintf("places[%d].", i)
		c.required(f+"place", p.Place, "a place of the craft")
		if p.Object {
			c.required(f+"like", p.Like, "what the object stands for")
		}
		c.text(f+"like", p.Like, 60)
		word(&c, f+"answered", p.Answered, []Answer{Yes, No})
		c.within(f+"seconds", p.Seconds, 0, 14400, "s")
	}
	for name, o := range map[string]Outcome{"verdictGiven": d.VerdictGiven, "verdictRight": d.VerdictRight} {
		if o != "" {
			oneOf(&c, name, o, Outcomes...)
		}
	}
	c.within("questionsAsked", float64(d.QuestionsAsked), 0, 1000, "")
	c.within("questionsRight", float64(d.QuestionsRight), 0, float64(d.QuestionsAsked), "of the questions asked")
	d.checkTopics(&c)
	c.within("score", d.Score, 0, 100, "")
	return c.err()
}

func (d *Drill) checkTopics(c *check) {
	if len(d.Topics) == 0 {
		return
	}
	var asked, right int
	seen := map[string]bool{}
	for i, t := range d.Topics {
		f := fmt.Sprintf("topics[%d].", i)
		c.required(f+"topic", t.Topic, "what the questions were about")
		c.text(f+"topic", t.Topic, 60)
		if seen[t.Topic] {
			c.fail(f+"topic", t.Topic, "each topic once")
		}
		seen[t.Topic] = true
		c.within(f+"asked", float64(t.Asked), 1, 1000, "")
		c.within(f+"right", float64(t.Right), 0, float64(t.Asked), "of the questions asked")
		asked, right = asked+t.Asked, right+t.Right
	}
	if asked != d.QuestionsAsked || right != d.QuestionsRight {
		c.fail("topics", tongue.Say("{from} of {to} right", tongue.Int(right), tongue.Int(asked)), "topics that add up to questionsRight of questionsAsked")
	}
}

// Parts of a curriculum.
const (
	PartReading  = "reading"
	PartDrills   = "drills"
	PartObserved = "observed" // craft inspected under the eyes of a trainer
)

// CurriculumPart is one thing to have done.
type CurriculumPart struct {
	Name       string   `json:"name"` // short, unique within the curriculum
	What       string   `json:"what"` // reading, drills or observed
	Words      string   `json:"words,omitempty"`
	Pages      []string `json:"pages,omitempty"`      // to read
	Drills     int      `json:"drills,omitempty"`     // how many in a row
	Difficulty string   `json:"difficulty,omitempty"` // at least
	Score      float64  `json:"score,omitempty"`      // each at least, 0 to 100
	Boats      int      `json:"boats,omitempty"`      // to be observed
	Months     int      `json:"months,omitempty"`     // until it must be done again; 0 = as the whole
}

// Curriculum is what a person of the programme learns before a certificate. The manager edits it.
type Curriculum struct {
	Name   string           `json:"name"`
	For    string           `json:"for"` // inspect, wash, train
	Words  string           `json:"words,omitempty"`
	Parts  []CurriculumPart `json:"parts"`
	Months int              `json:"months"` // that a certificate of the whole lasts
}

// Validate checks names and limits.
func (x Curriculum) Validate() error {
	var c check
	c.required("name", x.Name, "what the curriculum is called")
	c.text("name", x.Name, MaxLine)
	oneOf(&c, "for", x.For, "inspect", "wash", "train")
	c.text("words", x.Words, MaxNote)
	c.within("months", float64(x.Months), 1, 120, "months")
	if len(x.Parts) == 0 || len(x.Parts) > 50 {
		c.fail("parts", len(x.Parts), "1 to 50 parts")
	}
	seen := map[string]bool{}
	for i, p := range x.Parts {
		f := fmt.Sprintf("parts[%d].", i)
		c.required(f+"name", p.Name, "a short name")
		c.text(f+"name", p.Name, 60)
		if seen[p.Name] {
			c.fail(f+"name", p.Name, "a name that no other part has")
		}
		seen[p.Name] = true
		oneOf(&c, f+"what", p.What, PartReading, PartDrills, PartObserved)
		c.text(f+"words", p.Words, MaxNote)
		if len(p.Pages) > 50 {
			c.fail(f+"pages", len(p.Pages), "at most 50 pages")
		}
		for k, page := range p.Pages {
			c.text(fmt.Sprintf("%spages[%d]", f, k), page, MaxLine)
		}
		least := func(what string) float64 { // of what the part is about there must be one
			if p.What == what {
				return 1
			}
			return 0
		}
		c.within(f+"drills", float64(p.Drills), least(PartDrills), 500, "drills")
		c.within(f+"boats", float64(p.Boats), least(PartObserved), 500, "craft")
		c.within(f+"score", p.Score, 0, 100, "")
		c.within(f+"months", float64(p.Months), 0, 120, "months")
	}
	return c.err()
}

// Certified says that a person has done a curriculum, or a part of it, and until when that counts.
type Certified struct {
	Person      string   `json:"person"`
	Curriculum  string   `json:"curriculum"`
	Part        string   `json:"part,omitempty"` // empty = the whole
	Certificate          // what for, from, until, by whom
	Evidence    []string `json:"evidence,omitempty"` // subjects of drills and inspections, or words
}

// Validate checks ids and dates.
func (x Certified) Validate() error {
	var c check
	c.id("person", x.Person, "a person", false)
	c.id("curriculum", x.Curriculum, "a curriculum", false)
	c.text("part", x.Part, 60)
	x.Certificate.validate(&c, "")
	if x.From.IsZero() {
		c.fail("from", "", "the day from which it counts")
	}
	c.required("by", x.By, "who stands for it")
	if len(x.Evidence) > 500 {
		c.fail("evidence", len(x.Evidence), "at most 500")
	}
	for i, e := range x.Evidence {
		c.text(fmt.Sprintf("evidence[%d]", i), e, MaxLine)
	}
	return c.err()
}
