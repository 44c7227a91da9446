package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
)

// inFile is an error with the file it is about and the schema that describes such files.
type inFile struct {
	file, schema string
	err          error
}

func (e inFile) Error() string { return e.file + ": " + e.err.Error() }
func (e inFile) Unwrap() error { return e.err }

// report writes an error in the house form: the command, what cannot be taken and what is accepted, and the next step.
// Messages begin in lower case and end without a full stop, so that a name and a line number can stand before them.
func (a *app) report(cmd *cobra.Command, err error) {
	if a.width < 40 || a.width > 200 {
		a.width = defaultWidth
	}
	p := printer{w: a.Err, units: a.units, width: a.width}
	name := "thwart"
	if cmd != nil {
		name = cmd.CommandPath()
	}
	var r refusal
	if !errors.As(err, &r) {
		reportUsage(&p, name, err)
		return
	}
	for _, one := range split(r.error) {
		a.reportRefusal(&p, name, one)
	}
}

// reportUsage writes what was wrong with a command line, our own findings or those of the flag parser.
func reportUsage(p *printer, name string, err error) {
	var u usageError
	text, hint, _ := strings.Cut(err.Error(), "\n")
	if errors.As(err, &u) && hint != "" {
		all := strings.Split(u.Error(), "\n")
		p.hang(0, 2, fmt.Sprintf("%s: %d flags cannot be taken", name, len(all)))
		for _, one := range all {
			p.hang(2, 4, one)
		}
		hint = ""
	} else {
		p.hang(0, 2, name+": "+strings.TrimPrefix(text, name+": "))
	}
	if near := strings.Fields(strings.ReplaceAll(hint, "Did you mean this?", "")); len(near) > 0 {
		p.hang(0, 2, "did you mean: "+strings.Join(near, ", ")+"?")
	}
	p.hang(0, 2, "next: "+name+" --help")
}

// split takes joined errors apart, so that each file's refusal is told on its own.
func split(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var out []error
		for _, e := range many.Unwrap() {
			out = append(out, split(e)...)
		}
		return out
	}
	return []error{err}
}

func (a *app) reportRefusal(p *printer, name string, err error) {
	where, schema := "", ""
	var f inFile
	if errors.As(err, &f) {
		where, schema = f.file, f.schema
	}
	var fields thwart.FieldErrors
	if !errors.As(err, &fields) {
		p.hang(0, 2, name+": "+err.Error())
		next := nextStep(name, nil, where, schema)
		if errors.Is(err, fs.ErrNotExist) {
			next = "check the name of the file and the folder you are in"
		}
		p.hang(0, 2, "next: "+next)
		return
	}
	if where != "" {
		where += ": "
	}
	count := fmt.Sprintf("%d fields cannot be taken", len(fields))
	if len(fields) == 1 {
		count = "a field cannot be taken"
	}
	p.hang(0, 2, name+": "+where+count)
	for _, e := range fields {
		p.hang(2, 4, e.Error())
	}
	p.hang(0, 2, "next: "+nextStep(name, fields, strings.TrimSuffix(where, ": "), schema))
}

// nextStep says what to do about a refusal: which list holds the accepted words, or which schema describes the file.
func nextStep(name string, fields thwart.FieldErrors, file, schema string) string {
	const again = ", then run the command again"
	for _, e := range fields {
		last := e.Field[strings.LastIndex(e.Field, ".")+1:]
		switch {
		case last == "place" && file != "" && file != stdinName:
			return "list the places of this craft with: thwart round " + file + again
		case last == "class" || strings.Contains(e.Field, "setup.gear"):
			return "list the craft, spaces and gear with: thwart craft" + again
		case last == "organism" || strings.Contains(e.Field, ".status") || strings.HasPrefix(e.Field, "organisms"):
			return "list the organisms with: thwart organisms" + again
		case last == "protocolId":
			return "list the protocols with: thwart protocols" + again
		}
	}
	if schema != "" {
		return "mend the file (its fields are described by: thwart schema " + schema + ")" + again
	}
	return name + " --help says what is accepted"
}
