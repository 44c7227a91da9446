package advice

import (
	"slices"

	"thwart"
	"thwart/refdata"
	"thwart/tongue"
	"thwart/unit"
)

// cautionsFor lists what can hurt a person or the craft at a step, to be shown where the hand is: the library's cautions
// for that kind of work, and the limits of the materials it touches. Local law, makers' manuals and licensed practice come
// before all of them.
func (b *builder) cautionsFor(st *thwart.Step) []string {
	var triggers []string
	var hottest *unit.Celsius
	call := func(t ...string) { triggers = append(triggers, t...) }
	switch st.Kind {
	case thwart.StepPrepare:
		if b.verdict.Outcome == thwart.Wash {
			call("prepare")
		} else {
			call("trailer")
		}
	case thwart.StepRemove:
		call("remove")
	case thwart.StepDrain:
		if b.traits.motor {
			call("drain")
		}
	case thwart.StepLook, thwart.StepRelook:
		for _, id := range st.Places {
			if p := b.placeByID(id); p != nil && p.Posture == thwart.PostureUnder {
				call("under")
				break
			}
		}
	case thwart.StepChemical:
		call("chemical")
	case thwart.StepCall:
		if b.in.Refused {
			call("refusal")
		}
	}
	if st.TargetC > 0 {
		t := st.TargetC
		if b.unit != nil && b.unit.OutletC != nil && *b.unit.OutletC > t {
			t = *b.unit.OutletC
		}
		hottest = &t
		call("burner")
		if st.Method == thwart.MethodHighSpray {
			call("high_spray")
			if b.in.Setup.Paint != thwart.PaintNone {
				call("antifouling")
			}
		}
	}
	if st.Kind == thwart.StepEngine {
		call("engine_flush")
		for _, d := range b.traits.drives {
			if d == thwart.DriveUnknown {
				call("sterndrive", "inboard", "inboard_jet")
			}
			call(string(d))
		}
	}
	switch st.Part {
	case thwart.PartBilge:
		call("bilge")
	case thwart.PartTrailer:
		call("trailer")
	}
	var out []string
	for _, c := range refdata.CautionsFor(hottest, triggers...) {
		if c.ID == "moving_rig" && b.in.Setup.Trailer == thwart.TrailerNone {
			continue
		}
		out = append(out, tongue.Data(c.Text))
	}
	return append(out, b.materialLimits(st)...)
}

// materialLimits says what the parts of the craft bear, as far as anybody has published it. Where nobody has, that is said
// too: no known limit is no leave to go higher.
func (b *builder) materialLimits(st *thwart.Step) []string {
	if st.TargetC == 0 {
		return nil
	}
	var out []string
	limits := materialLimitTable()
	for i := range limits {
		m := &limits[i]
		if !b.touches(st, m) {
			continue
		}
		switch {
		case m.Max != nil:
			out = append(out, tongue.Say("{part}: at most {limit}.", tongue.Capital(tongue.Data(m.Item)), limitWords(m)))
		case m.AppliesKind == "part" && m.Quantity == "temperature":
			out = append(out, tongue.Say("{part}: no maker's limit is published. Keep the water close to {temperature}, and ask the owner for the maker's figure.",
				tongue.Capital(tongue.Data(m.Item)), temp(st.TargetC)))
		case m.Avoid == string(st.Method) && m.AppliesKind == "item" && m.ID != "antifouling":
			out = append(out, tongue.Say("Keep high pressure off: {part}.", tongue.Data(m.Item)))
		}
	}
	return out
}

func (b *builder) touches(st *thwart.Step, m *refdata.MaterialLimit) bool {
	switch m.AppliesKind {
	case "part":
		return slices.Contains(m.AppliesTo, string(st.Part))
	case "drive":
		return st.Kind == thwart.StepEngine && m.Max != nil && slices.ContainsFunc(b.traits.drives, func(d thwart.Drive) bool {
			return d == thwart.DriveUnknown || slices.Contains(m.AppliesTo, string(d))
		})
	}
	return st.Method == thwart.MethodHighSpray && m.Avoid == string(thwart.MethodHighSpray)
}

func limitWords(m *refdata.MaterialLimit) string {
	switch m.Unit {
	case "°C":
		return temp(unit.Celsius(*m.Max))
	case "bar":
		return unit.Metric.Pressure(*m.Max) + " (" + unit.US.Pressure(*m.Max) + ")"
	}
	return tongue.Short(*m.Max) + " " + tongue.Data(m.Unit)
}
