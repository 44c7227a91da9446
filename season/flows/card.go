package flows

import (
	"fmt"
	"math"

	"thwart/engine/num"
	"thwart/engine/traffic"
	"thwart/season"
)

// ModelCoefficient is one number of the model.
type ModelCoefficient struct {
	Name     string  `json:"name"`
	Words    string  `json:"words"`
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	Lo       float64 `json:"lo" doc:"lower end of the 95 % interval"`
	Hi       float64 `json:"hi"`
}

// ModelCard says what was fitted, on what, how well, and what it cannot say.
type ModelCard struct {
	From         season.Day         `json:"from"`
	To           season.Day         `json:"to"`
	Cursor       int64              `json:"cursor" doc:"of the records: the last entry that was taken in"`
	Model        string             `json:"model" doc:"the equation"`
	RecordsUsed  RecordsUsed        `json:"use"`
	Roads        string             `json:"roads" doc:"where distances come from"`
	Coefficients []ModelCoefficient `json:"coefficients"`
	Weather      WeatherUsed        `json:"weather" doc:"in the arrivals, and so in the share of them that was met"`
	Theta        *float64           `json:"theta,omitempty" doc:"dispersion: variance = mean + mean²/θ; absent where counts vary no more than Poisson counts"`
	Pairs        int                `json:"pairs" doc:"of which a count was possible"`
	Positive     int                `json:"positive" doc:"of these, with a count above zero"`
	Craft        float64            `json:"craft" doc:"met that came from another water"`
	LogLik       float64            `json:"logLikelihood"`
	AIC          float64            `json:"aic"`
	BIC          float64            `json:"bic"`
	Forms        []ModelForm        `json:"forms" doc:"the same data under other forms, to compare"`
	Fit          *GoodnessOfFit     `json:"fit,omitempty"`
	Held         *HeldOutTest       `json:"heldOut,omitempty"`
	Warnings     []Caveat           `json:"warnings"`
	CannotSay    []string           `json:"cannotSay"`
}

// ModelForm is a model form compared by information criteria: smaller is better.
type ModelForm struct {
	Name string  `json:"name"`
	AIC  float64 `json:"aic,omitempty"`
	BIC  float64 `json:"bic,omitempty"`
	Note string  `json:"note,omitempty" doc:"why there is no number"`
	Used bool    `json:"used,omitempty"`
}

const equation = "log passages(i→j) = intercept + origin·log area(i) + pull·log area(j) − distance·log km(i, j); counts are negative binomial with mean " +
	"effort(j) × passages; craft that go back: log passages(j→j) = return intercept + return size·log area(j)"

// Card makes the model card. It fits the comparisons and refits on a part of the season, which takes a few times as long as
// the fit.
func (m *Model) Card() ModelCard {
	c := ModelCard{From: m.first, To: m.first + season.Day(m.days-1), Cursor: m.book.Cursor, Model: equation, RecordsUsed: m.use, Weather: m.weather, CannotSay: cannotSay,
		Roads: fmt.Sprintf("straight lines on the ellipsoid × %.2f", m.opt.Detour), Coefficients: []ModelCoefficient{}, Forms: []ModelForm{}}
	if m.opt.RoadKM != nil {
		c.Roads = "by road, as supplied; where not, " + c.Roads
	}
	if f := m.fit; m.why == nil {
		c.Coefficients, _ = m.Coefficients()
		if !math.IsInf(f.Theta, 1) {
			c.Theta = &f.Theta
		}
		c.Pairs, c.Positive, c.Craft, c.LogLik, c.AIC, c.BIC = f.Pairs, f.Positive, f.Craft, f.LogLik, f.AIC, f.BIC
		c.Forms = m.forms()
		c.Fit = m.goodness()
		c.Held = m.heldOut()
	}
	c.Warnings = m.warnings
	if h := c.Held; h != nil && h.Note == "" && !h.Better {
		c.Warnings = append(c.Warnings[:len(c.Warnings):len(c.Warnings)], Caveat{Code: "no_better", Text: "On the weeks held out the model was no better than spreading craft evenly or by distance alone: do not rank waters by it."})
	}
	return c
}

var words = [...]string{
	"passages between two waters of 1 ha, 1 km apart, in logarithms", "by how much per cent passages grow when the water they come from is 1 % larger",
	"by how much per cent passages grow when the water they go to is 1 % larger", "by how much per cent passages shrink when the road is 1 % longer",
}

// Coefficients gives the fitted numbers, and θ with its 95 % interval (zero where counts vary no more than Poisson counts).
func (m *Model) Coefficients() (list []ModelCoefficient, theta num.Interval) {
	if m.why != nil {
		return nil, num.Interval{}
	}
	f := m.fit
	for k, name := range traffic.Names {
		list = append(list, coefficient(name, words[k], f.Coef[k], f.SE[k]))
	}
	if r := f.Return; r != nil {
		list = append(list,
			coefficient("return intercept", "craft that come back to a water of 1 ha, in logarithms", r.Intercept, r.InterceptSE),
			coefficient("return size", "by how much per cent they grow when the water is 1 % larger", r.Size, r.SizeSE))
	}
	if !math.IsInf(f.Theta, 1) {
		half := math.Exp(1.959964 * f.LogThetaSE)
		theta = num.Interval{Lo: f.Theta / half, Mid: f.Theta, Hi: f.Theta * half}
	}
	return list, theta
}

func coefficient(name, words string, b, se float64) ModelCoefficient {
	return ModelCoefficient{Name: name, Words: words, Estimate: b, SE: se, Lo: b - 1.959964*se, Hi: b + 1.959964*se}
}
