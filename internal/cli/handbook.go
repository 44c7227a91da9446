package cli

import (
	"bytes"
	"os"
	"time"

	"github.com/spf13/cobra"

	"thwart/internal/handbook"
)

func (a *app) handbookCommand() *cobra.Command {
	var protocol, on string
	var classes []string
	var seed uint64
	cmd := &cobra.Command{
		Use:   "handbook file.pdf",
		Short: "Print the field guide and lesson sheets from craft, organisms and a protocol",
		Long: "Handbook writes a PDF: what the protocol asks for, a sheet for each craft class with its drawing and its walk, what it may" +
			" be, and a lesson sheet of questions with its answers. All of it is made from the library and the protocol, so it changes" +
			" when those do. A file that is there is never overwritten.",
		Example: "  thwart handbook guide.pdf --protocol minnesota --class runabout",
		Args:    args(1, 1, "the file to write"),
	}
	a.jsonFlag(cmd)
	cmd.Flags().StringVar(&protocol, "protocol", "own-rules", "a protocol of the library (list them with: thwart protocols), or a protocol file")
	cmd.Flags().StringVar(&on, "on", "2026-04-20", "the day printed on it")
	cmd.Flags().StringArrayVar(&classes, "class", nil, "a craft class; repeat for each; left out: five common ones")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "of the lesson's questions")
	cmd.RunE = a.run(func(_ *cobra.Command, args []string) error {
		day, err := time.Parse(time.DateOnly, on)
		if err != nil {
			return usage("--on: %q is no day; accepted: a date such as 2026-04-20", on)
		}
		p, err := a.protocol(protocol)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := handbook.Write(&b, handbook.Options{Protocol: p, Classes: classes, Units: a.units, Made: day, Seed: seed}); err != nil {
			return err
		}
		f, err := os.OpenFile(args[0], os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			return err
		}
		if _, err := f.Write(b.Bytes()); err != nil {
			f.Close()
			return err
		}
		if err := f.Close(); err != nil {
			return err
		}
		if a.json {
			return a.writeJSON(map[string]any{"file": args[0], "bytes": b.Len()})
		}
		a.print().line("Written: %s", args[0])
		return nil
	})
	return cmd
}
