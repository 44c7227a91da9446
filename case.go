package thwart

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"thwart/tongue"
	"thwart/unit"
)

// WashUnit is the machine at hand: burner, pump, tank, thermometer.
type WashUnit struct {
	ID              string        `json:"id,omitempty"`
	BurnerKW        float64       `json:"burnerKW,omitempty"`   // heat it burns, from its plate; 0 = not known
	Efficiency      float64       `json:"efficiency,omitempty"` // share of it that reaches the water; 0 = not known
	FlowLPerMin     float64       `json:"flowLPerMin,omitempty"`
	MinFlowLPerMin  float64       `json:"minFlowLPerMin,omitempty"` // below it the burner trips; 0 = not known
	TankL           float64       `json:"tankL,omitempty"`          // water carried or left
	FuelL           float64       `json:"fuelL,omitempty"`          // fuel left
	Fuel            string        `json:"fuel,omitempty"`           // of the library, such as diesel
	SupplyC         *unit.Celsius `json:"supplyC,omitempty"`        // of the cold water
	OutletC         *unit.Celsius `json:"outletC,omitempty"`        // what the gauge reads now; where: ReadAt
	ReadAt          MeasuredAt    `json:"readAt,omitempty"`
	GaugePlusMinusC *float64      `json:"gaugePlusMinusC,omitempty"` // of the thermometer; absent = not known
	Spray           *SprayCheck   `json:"spray,omitempty"`
	PassWidthM      float64       `json:"passWidthM,omitempty"` // width one pass of the wand covers
}

// SprayCheck is the calibration of a unit's spray: two temperatures at two measured distances from the nozzle.
type SprayCheck struct {
	NearM float64      `json:"nearM"`
	NearC unit.Celsius `json:"nearC"`
	FarM  float64      `json:"farM"`
	FarC  unit.Celsius `json:"farC"`
	AirC  unit.Celsius `json:"airC"`
}

// Air is a spell of weather: so many hours of steady air.
type Air struct {
	Hours float64      `json:"hours"`
	TempC unit.Celsius `json:"tempC"`
	RHPct float64      `json:"rhPct"`
	Wet   bool         `json:"wet,omitempty"` // rain, spray or a dunking: the clock starts again
}

// Skill is what is known of the person who looked: found so many of so many planted objects. Zero trials means the
// published figures for trained inspectors stand alone.
type Skill struct {
	Found  int `json:"found"`
	Trials int `json:"trials"`
	// Classes says more for kinds of thing it lists: the whole of what is known there, the published figures and everybody's
	// trials included. It stands instead of Found and Trials.
	Classes []SkillOf `json:"classes,omitempty"`
}

// SkillOf is the chance that this person's full look finds a thing of one detection class, as a Beta(Alpha, Beta)
// distribution.
type SkillOf struct {
	Class string  `json:"class"`
	Alpha float64 `json:"alpha"`
	Beta  float64 `json:"beta"`
}

func (s Skill) validate(c *check, at string) {
	if s.Trials < 0 || s.Found < 0 || s.Found > s.Trials {
		c.fail(strings.TrimSuffix(at, "."), tongue.Say("{from} of {to}", tongue.Int(s.Found), tongue.Int(s.Trials)), "found between 0 and trials")
	}
	seen := map[string]bool{}
	for i, x := range s.Classes {
		f := fmt.Sprintf("%sclasses[%d].", at, i)
		c.required(f+"class", x.Class, "a detection class, such as small_felt")
		if seen[x.Class] {
			c.fail(f+"class", x.Class, "each class once")
		}
		seen[x.Class] = true
		c.within(f+"alpha", x.Alpha, 0.001, 1e6, "")
		c.within(f+"beta", x.Beta, 0.001, 1e6, "")
	}
}

// Case is all that one assessment needs: the inspection, the waters it speaks of, the protocol in force, and what is at
// hand. It is the input file of the command line and the message the phone hands to the engine.
type Case struct {
	Inspection Inspection `json:"inspection"`
	Waters     []Water    `json:"waters"`
	// ProtocolID names a protocol of the library; Protocol gives one whole and wins.
	ProtocolID string    `json:"protocolId,omitempty"`
	Protocol   *Protocol `json:"protocol,omitempty"`
	// Unit at hand; absent = no hot water here.
	Unit *WashUnit `json:"unit,omitempty"`
	// Weather since the craft came out of the water, oldest first, ending at the inspection; empty = not known.
	Weather []Air `json:"weather,omitempty"`
	// Ahead is the weather expected from the inspection on; empty = not known, and the slow drying air of a cool wet
	// spell is used.
	Ahead []Air  `json:"ahead,omitempty"`
	Skill Skill  `json:"skill,omitzero"`
	Seed  uint64 `json:"seed,omitempty"` // of the risk's random draws; the same seed gives the same figures
}

// MaxWeather is the largest number of weather spells a case may carry: two years of hours.
const MaxWeather = 24 * 366 * 2

// Validate checks the whole case and reports every field that cannot be taken.
func (cs Case) Validate() error {
	var c check
	cs.Inspection.validate(&c, "inspection.")
	ids := map[string]bool{}
	for i, w := range cs.Waters {
		f := fmt.Sprintf("waters[%d].", i)
		c.required(f+"id", w.ID, "a short id, unique in the file")
		if ids[w.ID] {
			c.fail(f+"id", w.ID, "an id used once")
		}
		ids[w.ID] = true
		word(&c, f+"others", w.Others, WaterStatuses)
		for o, s := range w.Status {
			word(&c, f+"status."+o, s, WaterStatuses)
		}
		if w.MaxTempC != nil {
			c.within(f+"maxTempC", float64(*w.MaxTempC), -2, 45, "°C")
		}
	}
	for i, v := range cs.Inspection.LastWaters {
		if v.Water != "" && !ids[v.Water] {
			c.fail(fmt.Sprintf("inspection.lastWaters[%d].water", i), v.Water, "the id of a water in waters, or leave it out for unknown")
		}
	}
	if cs.Protocol != nil {
		if err := cs.Protocol.Validate(); err != nil {
			var fe FieldErrors
			if errors.As(err, &fe) {
				for _, e := range fe {
					e.Field = "protocol." + e.Field
					c.errs = append(c.errs, e)
				}
			}
		}
	}
	if cs.Unit != nil {
		cs.Unit.validate(&c, "unit.")
	}
	for name, list := range map[string][]Air{"weather": cs.Weather, "ahead": cs.Ahead} {
		if len(list) > MaxWeather {
			c.fail(name, len(list), tongue.Say("at most {n} spells", tongue.Int(MaxWeather)))
			continue
		}
		for i, a := range list {
			f := fmt.Sprintf("%s[%d].", name, i)
			c.within(f+"hours", a.Hours, 0, 24*3660, "hours")
			c.within(f+"tempC", float64(a.TempC), -50, 60, "°C")
			c.within(f+"rhPct", a.RHPct, 0, 100, "%")
		}
	}
	cs.Skill.validate(&c, "skill.")
	return c.err()
}

func (u WashUnit) validate(c *check, at string) {
	if !u.ReadAt.known() {
		c.fail(at+"readAt", u.ReadAt, "contact, exit, contact_or_exit, soak, nozzle, inlet, unknown")
	}
	c.within(at+"burnerKW", u.BurnerKW, 0, 1000, "kW")
	c.within(at+"efficiency", u.Efficiency, 0, 1, "(a share)")
	c.within(at+"flowLPerMin", u.FlowLPerMin, 0, 500, "L/min")
	c.within(at+"minFlowLPerMin", u.MinFlowLPerMin, 0, 500, "L/min")
	c.within(at+"tankL", u.TankL, 0, 100000, "L")
	c.within(at+"fuelL", u.FuelL, 0, 10000, "L")
	if u.GaugePlusMinusC != nil {
		c.within(at+"gaugePlusMinusC", *u.GaugePlusMinusC, 0, 10, "°C")
	}
	c.within(at+"passWidthM", u.PassWidthM, 0, 2, "m")
	for name, t := range map[string]*unit.Celsius{"supplyC": u.SupplyC, "outletC": u.OutletC} {
		if t != nil && !(*t >= 0 && *t <= 100) {
			text := "a water temperature between 0 and 100 °C"
			if *t > 100 && *t <= 212 {
				text += fmt.Sprintf("; did you mean %s (%g °F)?", unit.Metric.Temp(unit.FromFahrenheit(float64(*t))), float64(*t))
			}
			c.fail(at+name, float64(*t), text)
		}
	}
}

// MaxCaseBytes is the largest case file that is read.
const MaxCaseBytes = 8 << 20

// ReadCase reads one case from JSON, refuses fields it does not know by name, and validates it.
func ReadCase(r io.Reader) (Case, error) {
	var cs Case
	if err := ReadJSON(r, MaxCaseBytes, &cs); err != nil {
		return Case{}, err
	}
	return cs, cs.Validate()
}

// ReadJSON decodes one JSON value of at most limit bytes into v. Unknown fields, trailing text and oversize input are
// errors that say what was wrong and where.
func ReadJSON(r io.Reader, limit int64, v any) error {
	b, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return fmt.Errorf("reading: %w", err)
	}
	if int64(len(b)) > limit {
		return fmt.Errorf("the file is larger than %d bytes", limit)
	}
	d := json.NewDecoder(strings.NewReader(string(b)))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return explainJSON(err, b)
	}
	if _, err := d.Token(); err != io.EOF {
		return fmt.Errorf("there is text after the end of the JSON value, at byte %d", d.InputOffset())
	}
	return nil
}

// explainJSON turns the decoder's errors into the form all of our errors have.
func explainJSON(err error, b []byte) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case len(strings.TrimSpace(string(b))) == 0:
		return errors.New("the file is empty; accepted: one JSON object")
	case errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("the JSON breaks off on line %d", 1+strings.Count(strings.TrimSpace(string(b)), "\n"))
	case errors.As(err, &syntax):
		line := 1 + strings.Count(string(b[:min(int(syntax.Offset), len(b))]), "\n")
		return fmt.Errorf("line %d is not JSON: %s", line, syntax)
	case errors.As(err, &kind):
		return FieldErrors{{Field: kind.Field, Value: kind.Value, Accepted: "a " + kindName(kind.Type.String())}}
	case strings.HasPrefix(err.Error(), "json: unknown field "):
		name := strings.Trim(strings.TrimPrefix(err.Error(), "json: unknown field "), `"`)
		return FieldErrors{{Field: name, Value: name, Accepted: "only the fields of the schema (see: thwart schema)"}}
	}
	return err
}

func kindName(goType string) string {
	switch {
	case strings.HasSuffix(goType, "float64"), strings.HasSuffix(goType, "Celsius"):
		return "number"
	case strings.Contains(goType, "int"):
		return "whole number"
	case goType == "bool":
		return "true or false"
	case strings.HasPrefix(goType, "[]"):
		return "list"
	case strings.HasPrefix(goType, "string"):
		return "text in quotes"
	}
	return "value of the kind the schema gives (see: thwart schema)"
}
