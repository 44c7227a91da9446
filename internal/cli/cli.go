// Package cli holds the commands of thwart: what a person types, reads and pipes.
//
// It is wiring and words. Files and flags become records, package advice answers, and a printer sets the answer in the
// reader's units. No rule of the trade stands here. Use [Main] to run one command line, and [Root] to walk the commands,
// as the reference pages do.
//
// An answer is composed whole before a byte of it is written, so a command that fails writes nothing to standard output.
package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thwart/unit"
)

// Exit codes. See the help topic exit-codes.
const (
	ExitAnswered = 0 // the question was answered, whatever the answer
	ExitRefused  = 1 // the input could not be taken
	ExitUsage    = 2 // the command line itself was wrong
	ExitNotMet   = 3 // with --strict: answered, and the answer is not launch or met
)

// Streams are the ends of the pipes a command reads from and writes to.
type Streams struct {
	In       io.Reader
	Out, Err io.Writer
}

// Main runs one command line and returns its exit code. Commands that go on until they are told to stop end with ctx.
func Main(ctx context.Context, args []string, s Streams, version string) int {
	a := newApp(s, version)
	a.width = widthOf(os.Getenv("COLUMNS"))
	root := a.root()
	root.SetArgs(args)
	cmd, err := root.ExecuteContextC(ctx)
	var not notMet
	var part answered
	if err == nil || errors.As(err, &not) || errors.As(err, &part) {
		if _, werr := a.out.WriteTo(s.Out); werr != nil {
			fmt.Fprintf(s.Err, "thwart: the answer could not be written: %v\n", werr)
			return ExitRefused
		}
	}
	switch {
	case err == nil:
		return ExitAnswered
	case errors.As(err, &not):
		return ExitNotMet
	}
	a.report(cmd, err)
	var r refusal
	if errors.As(err, &r) {
		return ExitRefused
	}
	return ExitUsage
}

// Root gives the whole tree of commands, to be read and not run.
func Root() *cobra.Command { return newApp(Streams{Out: io.Discard, Err: io.Discard}, "").root() }

// app is one run: its streams, the flags that every command shares, and the answer so far.
type app struct {
	Streams
	version string
	out     bytes.Buffer

	unitsText string
	width     int
	json      bool
	strict    bool
	full      bool

	units unit.System // of unitsText, once a command runs
}

func newApp(s Streams, version string) *app {
	return &app{Streams: s, version: version, width: defaultWidth}
}

const defaultWidth = 96

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "thwart",
		Short: "Judge craft for aquatic invasive species, plan their treatment, prove a wash, keep the season's records",
		Long: "Thwart answers the questions of a watercraft inspection: may this craft launch, what is it owed, where does the round" +
			" go, was the wash hot enough for long enough, when is it dry. These answers come from one case file, read no clock and" +
			" no network, and are the same for the same case. Whatever is not known is taken as the worst it could be. Thwart also" +
			" keeps a programme's records and serves them to phones and browsers (serve).",
		Example: `  thwart assess case.json
  thwart round --class wake_boat
  thwart wash trace.csv --part hull --method high_spray --measured contact --protocol regional-minimum`,
		Version:       a.version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetIn(a.In)
	root.SetOut(a.Out)
	root.SetErr(a.Err)
	root.SetVersionTemplate("thwart {{.Version}}\n")
	flags := root.PersistentFlags()
	flags.StringVar(&a.unitsText, "units", "metric", "units of the answer: metric or us")
	flags.IntVar(&a.width, "width", a.width, "columns that text may take, 40 to 200")
	root.AddGroup(
		&cobra.Group{ID: "craft", Title: "One craft:"},
		&cobra.Group{ID: "heat", Title: "Heat:"},
		&cobra.Group{ID: "library", Title: "The library:"},
		&cobra.Group{ID: "programme", Title: "The programme's records:"},
	)
	grouped := func(id string, cmds ...*cobra.Command) {
		for _, c := range cmds {
			c.GroupID = id
			root.AddCommand(c)
		}
	}
	grouped("craft", a.assessCommand(), a.roundCommand(), a.verdictCommand(), a.riskCommand(), a.treatCommand(), a.dryCommand(), a.drillCommand())
	grouped("heat", a.washCommand(), a.heatCommand())
	grouped("library", a.craftCommand(), a.organismsCommand(), a.protocolsCommand(), a.sourcesCommand(), a.handbookCommand())
	grouped("programme", a.serveCommand(), a.importCommand(), a.exportCommand(), a.publishCommand(), a.loadCommand(), a.backupCommand(), a.restoreCommand(), a.unpackCommand(), a.checkCommand(), a.purgeCommand(), a.skillCommand(),
		a.trafficCommand(), a.queueCommand(), a.spreadCommand())
	grouped("programme", a.paperCommand(), a.receiptCommand(), a.planCommand(), a.rosterCommand(), a.seasonCommand(), a.reportCommand())
	root.AddCommand(a.schemaCommand(), a.versionCommand())
	root.AddCommand(topics()...)
	root.SetHelpCommand(helpCommand(root))
	fold(root)
	return root
}

// helpWidth is what help texts are folded to.
const helpWidth = 80

// fold breaks the long help texts into lines. A paragraph that is already laid out in lines stays as it is.
func fold(cmd *cobra.Command) {
	paragraphs := strings.Split(cmd.Long, "\n\n")
	for i, text := range paragraphs {
		if !strings.Contains(text, "\n") {
			paragraphs[i] = strings.Join(wrap(text, helpWidth, helpWidth), "\n")
		}
	}
	cmd.Long = strings.Join(paragraphs, "\n\n")
	for _, sub := range cmd.Commands() {
		fold(sub)
	}
}

// widthOf reads the width a shell exports, and falls back on one that fits any terminal and a printed page.
func widthOf(columns string) int {
	if n, err := strconv.Atoi(columns); err == nil && n >= 40 && n <= 200 {
		return min(n, 100)
	}
	return defaultWidth
}

// run turns a command's work into a RunE: it settles the shared flags first and marks what goes wrong afterwards as a
// refusal of the input rather than a slip of the command line.
func (a *app) run(work func(cmd *cobra.Command, args []string) error) func(*cobra.Command, []string) error {
	return func(cmd *cobra.Command, args []string) error {
		var err error
		if a.units, err = unit.ParseSystem(a.unitsText); err != nil {
			return usage("--units: %q is not a system of units; accepted: metric, us", a.unitsText)
		}
		if a.width < 40 || a.width > 200 {
			return usage("--width: %d is not accepted; accepted: 40 to 200 columns", a.width)
		}
		err = work(cmd, args)
		var u usageError
		var n notMet
		if err == nil || errors.As(err, &u) || errors.As(err, &n) {
			return err
		}
		return refusal{err}
	}
}

// print gives a printer onto the answer.
func (a *app) print() *printer {
	return &printer{w: &a.out, units: a.units, width: a.width, full: a.full}
}

// jsonFlag adds --json to a command.
func (a *app) jsonFlag(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&a.json, "json", false, "write the answer as JSON, always in metric units")
}

// strictFlag adds --strict to a command.
func (a *app) strictFlag(cmd *cobra.Command, unless string) {
	cmd.Flags().BoolVar(&a.strict, "strict", false, "exit with code 3 unless "+unless)
}

// fullFlag adds --full to a command.
func (a *app) fullFlag(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&a.full, "full", false, "name every place, not only the first few")
}

// note tells the reader something beside the answer, so that a pipe carries the answer alone.
func (a *app) note(format string, args ...any) {
	p := printer{w: a.Err, units: a.units, width: a.width}
	p.hang(0, 2, "note: "+fmt.Sprintf(format, args...))
}

// usageError is a slip of the command line.
type usageError struct{ error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// refusal is an input that cannot be taken.
type refusal struct{ error }

func (r refusal) Unwrap() error { return r.error }

// notMet is an answer that --strict does not accept. It has no message: the answer stands on standard output.
type notMet struct{}

func (notMet) Error() string { return "answered, and not launch or met" }

// unknownCommand names the commands that are spelt nearly like what was typed.
func unknownCommand(cmd *cobra.Command, typed string) error {
	cmd.SuggestionsMinimumDistance = 2
	if near := cmd.SuggestionsFor(typed); len(near) > 0 {
		return usage("%q is not a command; did you mean %s?", typed, strings.Join(near, " or "))
	}
	return usage("%q is not a command; accepted: those that thwart --help lists", typed)
}

// args wraps an argument check so that its message says what to write instead.
func args(least, most int, accepted string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) < least || (most >= 0 && len(args) > most) {
			return usage("%s: %d arguments are not accepted; accepted: %s", cmd.CommandPath(), len(args), accepted)
		}
		return nil
	}
}

// oneOf lists words for a message.
func oneOf[T ~string](words []T) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return strings.Join(out, ", ")
}
