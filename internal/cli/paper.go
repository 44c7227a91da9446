package cli

import (
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/paper"
	"thwart/internal/store"
)

// formNames are the forms as they are called on the command line.
var formNames = map[string]thwart.SheetForm{"boat": thwart.SheetBoat, "tally": thwart.SheetTally, "wash": thwart.SheetWash}

func (a *app) paperCommand() *cobra.Command {
	var dsn, protocol, size, on string
	var specimen bool
	var o paper.Options
	cmd := &cobra.Command{
		Use:   "paper form file.pdf",
		Short: "Print forms to fill in by hand when no phone works: boat sheet, tally sheet, wash card",
		Long: "Paper writes a PDF of blank forms, made from a protocol and from the walk that the phone shows, with the same fields, stops and numbers in the" +
			" same order, so that a sheet is keyed in from top to bottom. The file must not be there yet.\n\n" +
			"  boat   one boat: what was asked, looked at and found (--class)\n" +
			"  tally  boats that were met and not looked at, hour by hour\n" +
			"  wash   one wash: steps, targets, cautions, room for temperatures and times\n\n" +
			"Every sheet has a number with a check character. The numbers are taken from the programme's records (--store) and noted there before anything" +
			" is printed, so that none is printed twice. With --specimen one sheet without a number is printed, and no records are needed.",
		Example: `  thwart paper boat boats.pdf --class runabout --count 40 --protocol own.json
  thwart paper wash card.pdf --specimen --protocol regional-minimum --units us --paper letter`,
		Args: args(2, 2, "the form (boat, tally, wash) and the file to write"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	f := cmd.Flags()
	f.StringVar(&protocol, "protocol", "own-rules", "a protocol of the library (list them with: thwart protocols), or a protocol file")
	f.StringVar(&o.Class, "class", "", "craft class whose walk stands on the boat sheet")
	f.IntVar(&o.Count, "count", 20, "how many sheets")
	f.StringVar(&size, "paper", "a4", "size of the paper: a4 or letter")
	f.StringVar(&on, "made", "", "day of printing, such as 2026-04-20; today where it is left out")
	f.StringVar(&o.Name, "name", "", "the programme's name, printed below the title")
	f.BoolVar(&specimen, "specimen", false, "one sheet without a number, to look at or to train with")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) (err error) {
		var ok bool
		if o.Form, ok = formNames[args[0]]; !ok {
			return usage("%s: there is no such form; accepted: boat, tally, wash", args[0])
		}
		if o.Paper, ok = paper.Sizes[size]; !ok {
			return usage("--paper: %q is not known; accepted: a4, letter", size)
		}
		if o.Made, err = time.Parse(time.DateOnly, cmp.Or(on, time.Now().Format(time.DateOnly))); err != nil {
			return usage("--made: %q is no day; accepted: a date such as 2026-04-20", on)
		}
		if o.Protocol, err = a.protocol(protocol); err != nil {
			return err
		}
		o.Units = a.units
		if err := o.Check(); err != nil {
			return err
		}
		if _, err := os.Lstat(args[1]); err == nil { // before numbers are taken for sheets that would not be written
			return fmt.Errorf("%s is there already; accepted: the name of a new file", args[1])
		}
		if specimen {
			return a.printed(args[1], o)
		}
		return withStore(cmd.Context(), dsn, false, func(s *store.Store) error {
			now := time.Now().UTC().Truncate(time.Second)
			block, err := paper.Claim(cmd.Context(), s, thwart.Sheets{
				Form: o.Form, Count: o.Count, Class: o.Class, Protocol: o.Protocol.ID + "@" + o.Protocol.Version, At: now,
			}, func(body json.RawMessage) thwart.Kept {
				id := newID(now)
				return thwart.Kept{Entry: thwart.Entry{ID: id, Subject: id, Kind: thwart.KindSheets, MadeAt: now, Origin: thwart.OriginOffice,
					App: "thwart " + a.version, Body: body}, ReceivedAt: now}
			})
			if err != nil {
				return err
			}
			o.First = block.First
			return a.printed(args[1], o)
		})
	})
	return cmd
}

// printed writes the file and says what stands in it.
func (a *app) printed(name string, o paper.Options) error {
	if err := newFile(name, func(f *os.File) error { return paper.Write(f, o) }); err != nil {
		return err
	}
	first, last := "", ""
	if o.First > 0 {
		first, last = thwart.SheetNumber(o.Form, o.First), thwart.SheetNumber(o.Form, o.First+o.Count-1)
	}
	if a.json {
		return a.writeJSON(map[string]any{"file": name, "form": o.Form, "first": first, "last": last})
	}
	if first == "" {
		a.print().line("%s: a specimen without a number.", name)
		return nil
	}
	a.print().line("%s: %d sheets, %s to %s.", name, o.Count, first, last)
	return nil
}
