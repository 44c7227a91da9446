package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/advice"
	"thwart/engine/drying"
	"thwart/intake"
)

// stdinName is how a file argument names standard input.
const stdinName = "-"

// caseFlags are the flags of every command that reads a case.
type caseFlags struct {
	protocol    string
	weather     string
	ahead       string
	weatherUnit string
	weatherStep float64
}

func (f *caseFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.protocol, "protocol", "", "judge by this protocol instead of the case's: an id of the library, or a JSON file")
	flags.StringVar(&f.weather, "weather", "", "weather since the craft came out: a CSV file, or steady air such as 20C/50%")
	flags.StringVar(&f.ahead, "ahead", "", "weather expected from the inspection on: a CSV file, or steady air such as 20C/50%")
	flags.Float64Var(&f.weatherStep, "weather-hours", 1, "hours that one line of a weather file stands for, such as 3; what lies between counts as unknown")
	flags.StringVar(&f.weatherUnit, "weather-unit", "", "C or F, for a weather file whose header does not say")
}

// openFile opens a file to read, with an error that begins with its name.
func openFile(name string) (*os.File, error) {
	f, err := os.Open(name)
	var path *os.PathError
	if errors.As(err, &path) {
		return nil, fmt.Errorf("%s cannot be read: %w", name, path.Err)
	}
	return f, err
}

// open gives the bytes of a file, or of standard input.
func (a *app) open(name string) (io.ReadCloser, error) {
	if name != stdinName {
		return openFile(name)
	}
	if a.In == nil {
		return nil, errors.New("there is no standard input")
	}
	return io.NopCloser(a.In), nil
}

// files settles which files a command reads: those named, or standard input where it is not a person at a keyboard.
func (a *app) files(cmd *cobra.Command, args []string) ([]string, error) {
	if len(args) > 0 {
		stdins := 0
		for _, name := range args {
			if name == stdinName {
				stdins++
			}
		}
		if stdins > 1 {
			return nil, usage("%s: - stands for standard input and can be given once", cmd.CommandPath())
		}
		return args, nil
	}
	if f, ok := a.In.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			return nil, usage("%s: no case was given; accepted: a case file such as case.json, or - for standard input", cmd.CommandPath())
		}
	}
	return []string{stdinName}, nil
}

// readCase reads one case and puts the flags' protocol and weather into it.
func (a *app) readCase(name string, f *caseFlags) (thwart.Case, error) {
	r, err := a.open(name)
	if err != nil {
		return thwart.Case{}, err
	}
	defer r.Close()
	shown := name
	if name == stdinName {
		shown = "standard input"
	}
	cs, err := thwart.ReadCase(r)
	if err != nil {
		return thwart.Case{}, inFile{shown, "case", err}
	}
	if err := a.setProtocol(&cs, f.protocol); err != nil {
		return thwart.Case{}, err
	}
	if err := a.setWeather(&cs, f); err != nil {
		return thwart.Case{}, err
	}
	if err := cs.Validate(); err != nil {
		return thwart.Case{}, inFile{shown, "case", err}
	}
	return cs, nil
}

// about ties an answer's error to the file the case came from.
func about(name string, err error) error {
	if err == nil {
		return nil
	}
	if name == stdinName {
		name = "standard input"
	}
	return inFile{name, "case", err}
}

// isFile tells a protocol's file from its id: ids hold neither a dot nor a slash.
func isFile(protocol string) bool { return strings.ContainsAny(protocol, `./\`) }

func (a *app) setProtocol(cs *thwart.Case, protocol string) error {
	switch {
	case protocol == "":
	case isFile(protocol):
		p, err := a.readProtocol(protocol)
		if err != nil {
			return err
		}
		cs.Protocol, cs.ProtocolID = &p, ""
	default:
		cs.Protocol, cs.ProtocolID = nil, protocol
	}
	return nil
}

// protocol gives a protocol by id or file.
func (a *app) protocol(name string) (thwart.Protocol, error) {
	if isFile(name) || name == stdinName {
		return a.readProtocol(name)
	}
	return advice.ProtocolByID(name)
}

func (a *app) readProtocol(name string) (thwart.Protocol, error) {
	r, err := a.open(name)
	if err != nil {
		return thwart.Protocol{}, err
	}
	defer r.Close()
	p, err := advice.ReadProtocol(r)
	if err != nil {
		return thwart.Protocol{}, inFile{name, "protocol", err}
	}
	return p, nil
}

func (a *app) setWeather(cs *thwart.Case, f *caseFlags) error {
	at := cs.Inspection.StartedAt
	if f.weather != "" {
		w, err := a.weatherOf(f.weather, f, at)
		if err != nil {
			return err
		}
		from := w.Start
		if steady := w.Spells == nil; steady {
			if from, err = latestOut(cs); err != nil {
				return err
			}
		}
		if !from.Before(at) {
			return fmt.Errorf("%s: the weather begins %s, which is not before the inspection at %s; accepted: weather from before the inspection",
				f.weather, stamp(&from), stamp(&at))
		}
		cs.Weather = spells(w.Between(from, at))
	}
	if f.ahead != "" {
		w, err := a.weatherOf(f.ahead, f, at)
		if err != nil {
			return err
		}
		to := w.End()
		if steady := w.Spells == nil; steady {
			to = at.Add(steadyAhead)
		}
		if !to.After(at) {
			return fmt.Errorf("%s: the weather ends %s, which is not after the inspection at %s; accepted: weather expected after it",
				f.ahead, stamp(&to), stamp(&at))
		}
		cs.Ahead = spells(w.Between(at, to))
	}
	return nil
}

// steadyAhead is how far steady air given for the time ahead reaches: past the longest drying time of any rule.
const steadyAhead = 400 * 24 * time.Hour

// latestOut is when the craft last came out of the water: the start of steady past weather.
func latestOut(cs *thwart.Case) (time.Time, error) {
	var latest time.Time
	for i, v := range cs.Inspection.LastWaters {
		if v.OutAt == nil {
			return time.Time{}, thwart.FieldErrors{{
				Field:    fmt.Sprintf("inspection.lastWaters[%d].outAt", i),
				Accepted: "the time it came out, since steady weather counts from then; or a weather file",
			}}
		}
		if v.OutAt.After(latest) {
			latest = *v.OutAt
		}
	}
	if latest.IsZero() {
		return latest, thwart.FieldErrors{{
			Field: "inspection.lastWaters", Accepted: "the last water with the time it came out, since steady weather counts from then",
		}}
	}
	return latest, nil
}

// weatherOf reads weather from a file, or as steady air, which has no spells and is assumed at any time.
func (a *app) weatherOf(text string, f *caseFlags, at time.Time) (drying.Weather, error) {
	if steady := strings.HasPrefix(text, "steady:") || strings.HasSuffix(text, "%"); steady {
		air, err := intake.ParseSteady(text)
		return drying.Weather{Beyond: air}, err
	}
	r, err := a.open(text)
	if err != nil {
		return drying.Weather{}, err
	}
	defer r.Close()
	b, err := io.ReadAll(r)
	if err != nil {
		return drying.Weather{}, fmt.Errorf("%s: %w", text, err)
	}
	w, notes, err := intake.ParseWeather(bytes.NewReader(b), intake.WeatherOptions{Location: at.Location(), Scale: f.weatherUnit, HoldH: f.weatherStep})
	if err != nil {
		return drying.Weather{}, fmt.Errorf("%s: %w", text, err)
	}
	for _, n := range notes {
		a.note("%s: %s", text, n)
	}
	return w, nil
}

func spells(list []drying.Spell) []thwart.Air {
	out := make([]thwart.Air, len(list))
	for i, s := range list {
		out[i] = thwart.Air{Hours: s.Hours, TempC: s.TempC, RHPct: s.RHPct, Wet: s.Wet}
	}
	return out
}
