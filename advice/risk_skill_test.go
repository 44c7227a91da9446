package advice_test

import (
	"errors"
	"testing"

	"thwart"
	"thwart/advice"
	"thwart/refdata"
)

// What is known of the person changes what a clean look says, and where too little time is best spent.
func TestSkillByClass(t *testing.T) {
	base := readCase(t, "02-wake-boat-from-mussel-water.json")
	with := func(classes ...thwart.SkillOf) thwart.Case {
		cs := base
		cs.Skill.Classes = classes
		return cs
	}
	chance := func(cs thwart.Case) float64 {
		r, err := advice.RiskOf(cs)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range r.ByOrganism {
			if o.Organism == "zebra_mussel" {
				return o.Chance.Mid
			}
		}
		t.Fatal("no zebra mussels in the risk")
		return 0
	}
	poor, good := with(thwart.SkillOf{Class: "small_felt", Alpha: 20, Beta: 80}), with(thwart.SkillOf{Class: "small_felt", Alpha: 95, Beta: 5})
	if p, g := chance(poor), chance(good); p <= g {
		t.Errorf("who finds one in five leaves %v, who finds nearly all %v", p, g)
	}
	prior, _ := refdata.DetectionPriorFor(refdata.SmallFelt, refdata.Steward)
	if same := chance(with(thwart.SkillOf{Class: "small_felt", Alpha: prior.Alpha, Beta: prior.Beta})); same != chance(base) {
		t.Errorf("the published figure written out gives %v, left out %v", same, chance(base))
	}
	detection := func(cs thwart.Case) float64 {
		plan, err := advice.ShortOfTime(cs, 120)
		if err != nil {
			t.Fatal(err)
		}
		return plan.Detection
	}
	if p, g := detection(poor), detection(good); p >= g {
		t.Errorf("in 120 s who finds little finds %v, who finds much %v", p, g)
	}
	var fe thwart.FieldErrors
	if _, err := advice.RiskOf(with(thwart.SkillOf{Class: "moose", Alpha: 1, Beta: 1})); !errors.As(err, &fe) || fe[0].Field != "skill.classes[0].class" {
		t.Errorf("a class nobody knows: %v", err)
	}
	if _, err := advice.RiskOf(with(thwart.SkillOf{Class: "small_felt", Alpha: 0, Beta: 1})); !errors.As(err, &fe) || fe[0].Field != "skill.classes[0].alpha" {
		t.Errorf("a Beta that is none: %v", err)
	}
}
