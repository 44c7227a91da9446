package cli

import (
	"fmt"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"thwart/advice"
	"thwart/refdata"
	"thwart/schema"
)

func (a *app) schemaCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "schema [" + strings.Join(schema.Names(), "|") + "]",
		Short: "The JSON Schema of a file or an answer",
		Long: "Schema prints the published description of a file that thwart reads (case, protocol) or of an answer it writes with" +
			" --json (assessment, proof), as JSON Schema 2020-12. An editor that knows schemas can check and complete a case with it.",
		Example: `  thwart schema
  thwart schema case`,
		Args:      args(0, 1, strings.Join(schema.Names(), ", ")),
		ValidArgs: schema.Names(),
	}
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			for _, name := range schema.Names() {
				fmt.Fprintln(&a.out, name)
			}
			return nil
		}
		text, ok := schema.Get(args[0])
		if !ok {
			return usage("%q is not accepted; accepted: %s", args[0], strings.Join(schema.Names(), ", "))
		}
		a.out.Write(text)
		return nil
	})
	return cmd
}

// versions is what made an answer.
type versions struct {
	Version string `json:"version"` // of this program
	Go      string `json:"go"`
	Engine  string `json:"engine"` // changes whenever an answer to the same case may change
	Data    string `json:"data"`   // of the data library: the first digits of a hash of all its tables
}

func (a *app) versionCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "version",
		Short: "The versions of program, engine and data",
		Long: "Version names the program, the engine (it changes whenever an answer to the same case may change) and the data library" +
			" (a hash of its tables). Every answer carries the last two, so that it can be computed again.",
		Example: "  thwart version --json",
		Args:    args(0, 0, "no argument"),
	}
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(*cobra.Command, []string) error {
		v := versions{a.version, strings.TrimPrefix(runtime.Version(), "go"), advice.EngineVersion, refdata.Version()}
		if a.json {
			return a.writeJSON(v)
		}
		a.print().table(0, [][]string{{"thwart", v.Version}, {"engine", v.Engine}, {"data", v.Data}, {"go", v.Go}})
		return nil
	})
	return cmd
}

// ExitCode is one exit code with its meaning.
type ExitCode struct {
	Code    int
	Means   string
	Example string
}

// ExitCodes lists every code the program ends with.
var ExitCodes = []ExitCode{
	{ExitAnswered, "The question was answered, whatever the answer.", "a verdict of HOLD without --strict"},
	{ExitRefused, "The input could not be taken. Nothing was written to standard output, except by assess with several files, which answers" +
		" the files it could take.", "a case with an unknown field; a file that is not there"},
	{ExitUsage, "The command line itself was wrong.", "an unknown flag; a temperature without a scale in US units"},
	{ExitNotMet, "Answered, with --strict, and the answer is not the good one: not launch (assess, verdict), not met (wash).",
		"assess --strict on a craft that has to be washed"},
}

// topics are the pages of help that belong to no command.
func topics() []*cobra.Command {
	var codes strings.Builder
	codes.WriteString("Thwart ends with one of these codes.\n")
	for _, c := range ExitCodes {
		fmt.Fprintf(&codes, "\n  %d  %s\n     For example: %s.\n", c.Code, strings.Join(wrap(c.Means, 80, 80), "\n     "), c.Example)
	}
	codes.WriteString("\nMessages go to standard error. The answer goes to standard output, whole or not at all.")
	return []*cobra.Command{
		{Use: "exit-codes", Short: "What the exit codes mean", Long: codes.String()},
		{Use: "amounts", Short: "How temperatures and other amounts are written", Long: amountsHelp},
	}
}

const amountsHelp = "Amounts in flags carry their unit: 60C or 140F, 15L/min or 4gal/min, 150L or 40gal, 6.5m or 21ft, 3bar or" +
	" 45psi, 60kW or 205000BTU/h, 130s or 2min. A space before the unit is allowed in quotes.\n\n" +
	"A bare number is metric: --in 60 is 60 °C. With --units us a bare number is refused, because it could be either, and a" +
	" wash at 60 °F kills nothing. A bare time is in seconds.\n\n" +
	"Case and protocol files are always metric, with the unit in the name of the field (tempC, flowLPerMin), and so are answers" +
	" in JSON. --units changes only what is shown to a person."

// helpCommand shows the help of a command or topic, and says so where there is none of that name.
func helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [command or topic]",
		Short: "Help about a command or a topic",
		RunE: func(_ *cobra.Command, args []string) error {
			cmd, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return usage("there is no command or topic %q; accepted: those that thwart --help lists", strings.Join(args, " "))
			}
			cmd.InitDefaultHelpFlag()
			return cmd.Help()
		},
	}
}

// Names lists the commands a person can run, subcommands after their command, as "heat tank".
func Names() []string {
	var names []string
	var walk func(c *cobra.Command, path string)
	walk = func(c *cobra.Command, path string) {
		for _, sub := range c.Commands() {
			name := strings.TrimSpace(path + " " + sub.Name())
			if sub.Runnable() && !slices.Contains([]string{"help", "completion"}, sub.Name()) {
				names = append(names, name)
			}
			walk(sub, name)
		}
	}
	walk(Root(), "")
	return names
}
