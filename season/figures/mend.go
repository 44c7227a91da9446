package figures

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"

	"thwart"
)

// Mended is one value of a record that a fix changes, in words.
type Mended struct {
	Field   string `json:"field"`
	Was     string `json:"was"`
	WouldBe string `json:"wouldBe"`
}

const notKnown = "not known"

// Mend proposes a fix for a record that a doubt points at: the body as it would read, and what differs. What cannot be
// believed is taken as not known, or as the stricter answer, so that no fix makes a craft look safer. The body keeps whatever
// this program does not know. A record without what is doubted, and a doubt for which nothing can be proposed, is an error that
// names the field.
func Mend(doubt string, kind thwart.Kind, body json.RawMessage) (json.RawMessage, []Mended, error) {
	d := json.NewDecoder(bytes.NewReader(body))
	d.UseNumber() // numbers go back as they came
	var doc map[string]any
	if err := d.Decode(&doc); err != nil {
		return nil, nil, err
	}
	var out []Mended
	switch {
	case doubt == DoubtRushed && kind == thwart.KindInspection:
		out = mendRound(doc)
	case doubt == DoubtVolumes && kind == thwart.KindWash:
		out = forget(doc, "waterL", "waterL", " L")
	case doubt == DoubtVolumes && kind == thwart.KindInspection:
		for i, f := range each(at(doc, "inspection"), "findings") {
			if v, ok := f["volumeL"].(json.Number); ok && over(v, mostWaterOnL) {
				out = append(out, forget(f, "volumeL", fmt.Sprintf("inspection.findings.%d.volumeL", i), " L")...)
			}
		}
	case doubt == DoubtWetDry && kind == thwart.KindInspection:
		for i, s := range each(at(doc, "verdict"), "standards") {
			if s["standard"] == string(thwart.Dry) && s["met"] == string(thwart.Yes) {
				s["met"] = string(thwart.No)
				out = append(out, Mended{fmt.Sprintf("verdict.standards.%d.met", i), "dry: yes", "dry: no"})
				notAllMet(at(doc, "verdict"))
			}
		}
	default:
		return nil, nil, thwart.FieldErrors{{Field: "mend", Value: doubt, Accepted: fmt.Sprintf(
			"of inspections: %s, %s, %s; of washes: %s", DoubtRushed, DoubtVolumes, DoubtWetDry, DoubtVolumes)}}
	}
	if len(out) == 0 {
		return nil, nil, thwart.FieldErrors{{Field: "mend", Value: doubt, Accepted: "a record that this doubt points at"}}
	}
	fixed, err := json.Marshal(doc)
	return fixed, out, err
}

// mendRound takes every look of a round as not known, and with it what was judged met by that round. What was found stays found,
// what was judged not met stays so, and so does what the craft left with.
func mendRound(doc map[string]any) []Mended {
	in := at(doc, "inspection")
	checks := each(in, "checks")
	if others := at(in, "others"); others != nil {
		checks = append(checks, others)
	}
	looked := 0
	for _, c := range checks {
		if c["looked"] == string(thwart.Yes) {
			looked++
		}
		for _, said := range []string{"looked", "felt", "opened"} {
			delete(c, said)
		}
	}
	if looked == 0 {
		return nil
	}
	out := []Mended{{"inspection.checks", fmt.Sprintf("looked: yes (answers: %d)", looked), "looked, felt, opened: " + notKnown}}
	v := at(doc, "verdict")
	for i, s := range each(v, "standards") {
		if s["met"] == string(thwart.Yes) {
			s["met"] = string(thwart.Unknown)
			out = append(out, Mended{fmt.Sprintf("verdict.standards.%d.met", i), fmt.Sprintf("%v: yes", s["standard"]), fmt.Sprintf("%v: %s", s["standard"], notKnown)})
		}
	}
	if _, ok := v["settled"]; ok {
		v["settled"] = 0
	}
	notAllMet(v)
	return out
}

// notAllMet takes out of a verdict that all was met.
func notAllMet(verdict map[string]any) {
	reasons, ok := verdict["reasons"].([]any)
	if !ok {
		return
	}
	verdict["reasons"] = slices.DeleteFunc(reasons, func(r any) bool {
		m, _ := r.(map[string]any)
		return m["code"] == string(thwart.ReasonAllMet)
	})
}

func forget(of map[string]any, key, field, unit string) []Mended {
	v, ok := of[key]
	if !ok {
		return nil
	}
	delete(of, key)
	return []Mended{{field, fmt.Sprint(v) + unit, notKnown}}
}

func at(doc map[string]any, key string) map[string]any {
	inner, _ := doc[key].(map[string]any)
	return inner
}

func each(doc map[string]any, key string) (out []map[string]any) {
	list, _ := doc[key].([]any)
	for _, v := range list {
		if m, ok := v.(map[string]any); ok {
			out = append(out, m)
		}
	}
	return out
}

func over(v json.Number, limit float64) bool {
	f, err := v.Float64()
	return err == nil && f > limit
}
