package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart/internal/exchange"
	"thwart/internal/store"
)

func (a *app) importCommand() *cobra.Command {
	var dsn, mapping, keyFile, zone string
	var keep bool
	cmd := &cobra.Command{
		Use:   "import table",
		Short: "Read a CSV or XLSX table of inspections, first without keeping anything",
		Long: "Import reads a table row by row by a mapping: which heading is which field, how dates are written, in which units. It" +
			" reports every row that cannot be taken and why, and keeps nothing; with --keep it adds what could be taken. Running it" +
			" again adds nothing twice.\n\n" +
			"Without --mapping it prints a mapping guessed from the headings, to be corrected by hand: the time zone is never guessed," +
			" nor is day-first against month-first where the rows do not settle it.",
		Example: `  thwart import old-season.csv --zone America/Chicago
  thwart import old-season.csv --mapping mapping.json
  thwart import old-season.csv --mapping mapping.json --keep`,
		Args: args(1, 1, "one table, .csv or .xlsx"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	flags := cmd.Flags()
	flags.StringVar(&mapping, "mapping", "", "the mapping, a JSON file")
	flags.StringVar(&zone, "zone", "", "time zone of the times in the table, for a guessed mapping, such as America/Chicago")
	flags.StringVar(&keyFile, "key-file", "", "file with the programme's registration key, needed where the table has registration numbers")
	flags.BoolVar(&keep, "keep", false, "add what could be taken")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		if mapping == "" {
			if keep {
				return usage("--keep: needs --mapping; a guessed mapping is for a person to correct first")
			}
			return a.guessMapping(args[0], zone)
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, !keep, func(s *store.Store) error {
			plan, err := readPlan(ctx, s, args[0], mapping, keyFile)
			if err != nil {
				return err
			}
			return a.settlePlan(ctx, s, plan, keep)
		})
	})
	return cmd
}

// openTable opens a table by the ending of its name.
func openTable(name, sheet string) (exchange.Table, io.Closer, error) {
	f, err := openFile(name)
	if err != nil {
		return nil, nil, err
	}
	info, err := f.Stat()
	var t exchange.Table
	if err == nil {
		t, err = exchange.OpenTable(f, info.Size(), name, sheet)
	}
	if err != nil {
		f.Close() //nolint:errcheck // it was only read
		return nil, nil, err
	}
	return t, f, nil
}

func (a *app) guessMapping(name, zone string) error {
	t, f, err := openTable(name, "")
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // it was only read
	defer t.Close() //nolint:errcheck // likewise
	m, err := exchange.GuessTable(t)
	if err != nil {
		return err
	}
	m.Zone = zone
	return a.writeJSON(m)
}

// readPlan reads a table against the records of a programme.
func readPlan(ctx context.Context, s *store.Store, name, mapping, keyFile string) (exchange.Plan, error) {
	mf, err := openFile(mapping)
	if err != nil {
		return exchange.Plan{}, err
	}
	defer mf.Close() //nolint:errcheck // it was only read
	m, err := exchange.ReadMapping(mf)
	if err != nil {
		return exchange.Plan{}, inFile{mapping, "", err}
	}
	o := exchange.Options{Now: time.Now()}
	if keyFile != "" {
		key, err := os.ReadFile(keyFile)
		if err != nil {
			return exchange.Plan{}, fmt.Errorf("%s cannot be read: %w", keyFile, errors.Unwrap(err))
		}
		o.Key = exchange.OneKey(bytes.TrimSpace(key))
	}
	if err := o.LearnNames(ctx, s); err != nil {
		return exchange.Plan{}, err
	}
	t, f, err := openTable(name, m.Sheet)
	if err != nil {
		return exchange.Plan{}, err
	}
	defer f.Close() //nolint:errcheck // it was only read
	defer t.Close() //nolint:errcheck // likewise
	return exchange.Read(ctx, t, m, o)
}

func (a *app) settlePlan(ctx context.Context, s *store.Store, plan exchange.Plan, keep bool) error {
	var receipt *exchange.Receipt
	if keep {
		now := time.Now()
		if err := note(ctx, s, now, "import", "", plan.Report.Summary()); err != nil {
			return err
		}
		kept, err := plan.Keep(ctx, s, now)
		if err != nil {
			return err
		}
		receipt = &kept
	}
	if a.json {
		return a.writeJSON(struct {
			Report  exchange.Report   `json:"report"`
			Receipt *exchange.Receipt `json:"receipt,omitempty"`
		}{plan.Report, receipt})
	}
	var text strings.Builder
	if err := plan.Report.WriteText(&text); err != nil {
		return err
	}
	p := a.print()
	for l := range strings.Lines(text.String()) {
		l = strings.TrimRight(l, " \n")
		in := len(l) - len(strings.TrimLeft(l, " "))
		if len(l) <= p.width {
			p.line("%s", l) // a table keeps its columns
			continue
		}
		p.hang(in, in+2, l[in:])
	}
	if receipt == nil {
		p.head("Nothing was kept. With --keep, what was taken is added.")
		return nil
	}
	p.head("Added: %d entries; already there: %d; refused: %d.", receipt.Stored, receipt.Had, receipt.Refused)
	for _, w := range receipt.Why {
		p.item(2, "-", w.ID+": "+w.Errors.Error())
	}
	return nil
}

func (a *app) exportCommand() *cobra.Command {
	var dsn, edition string
	cmd := &cobra.Command{
		Use:   "export what file",
		Short: "Write a programme's records in open form",
		Long: "Export writes one file, which must not be there yet:\n\n" +
			"  archive       the whole programme as a zip that load takes\n" +
			"  lines         every entry with its history, one JSON object a line\n" +
			"  water-map     waters as GeoJSON (RFC 7946)\n" +
			"  launch-map    launches as GeoJSON\n" +
			"  description   what the columns of the tables mean, as a JSON table schema\n" +
			"  " + strings.Join(exchange.Tables, ", ") + "\n" +
			"                one table as CSV (RFC 4180)",
		Example: `  thwart export archive programme.zip
  thwart export inspections inspections.csv`,
		Args: args(2, 2, "what to write and the file to write it to"),
	}
	storeFlag(cmd, &dsn)
	cmd.Flags().StringVar(&edition, "edition", string(exchange.EditionExchange), "how cells of a CSV table are written: exchange, as they are; spreadsheet, made safe to open in one")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		if !slices.Contains(exchange.Exports, args[0]) {
			return usage("%s: %q cannot be exported; accepted: %s", cmd.CommandPath(), args[0], strings.Join(exchange.Exports, ", "))
		}
		if e := exchange.Edition(edition); e != exchange.EditionExchange && e != exchange.EditionSpreadsheet {
			return usage("--edition: %q is not known; accepted: %s, %s", edition, exchange.EditionExchange, exchange.EditionSpreadsheet)
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, true, func(s *store.Store) error {
			said, err := a.export(ctx, s, args[0], args[1], exchange.Edition(edition))
			if err != nil {
				return err
			}
			a.print().line("%s: %s", args[1], said)
			return nil
		})
	})
	return cmd
}

// newFile writes one file whole or not at all. It touches nothing that is there.
func newFile(name string, write func(*os.File) error) error {
	if _, err := os.Lstat(name); err == nil {
		return fmt.Errorf("%s is there already; accepted: the name of a new file", name)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".thwart-export-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) //nolint:errcheck // it is gone when all went well
	defer f.Close()           //nolint:errcheck // closed below when all went well
	if err := write(f); err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	// A link, unlike a rename, fails where somebody has written the name in the meantime.
	return os.Link(f.Name(), name)
}

func (a *app) export(ctx context.Context, s *store.Store, what, name string, edition exchange.Edition) (said string, err error) {
	err = newFile(name, func(f *os.File) error {
		said, err = exchange.Write(ctx, f, s, exchange.Order{What: what, Edition: edition, Planted: true, At: time.Now(), App: "thwart " + a.version})
		return err
	})
	return said, err
}

func (a *app) loadCommand() *cobra.Command {
	var dsn string
	cmd := &cobra.Command{
		Use:   "load archive",
		Short: "Add a whole-programme archive to a programme's records",
		Long: "Load reads an archive that export wrote, checks all of it, the organisms that waters name too, and adds what is not yet there. Loading it again changes" +
			" nothing. Accounts and sessions are not in an archive: they stay with their installation (see backup).",
		Example: "  thwart load programme.zip --store second.db",
		Args:    args(1, 1, "one archive"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		f, err := openFile(args[0])
		if err != nil {
			return err
		}
		defer f.Close() //nolint:errcheck // it was only read
		info, err := f.Stat()
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, false, func(s *store.Store) error {
			m, receipt, err := exchange.LoadArchive(ctx, f, info.Size(), s)
			if err != nil {
				return err
			}
			if err := note(ctx, s, time.Now(), "load", "", fmt.Sprintf("an archive of %d entries: %d added", m.Entries, receipt.Stored)); err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(receipt)
			}
			a.print().line("%d entries in the archive. Added: %d; already there: %d; refused: %d.", m.Entries, receipt.Stored, receipt.Had, receipt.Refused)
			if m.Pictures > 0 {
				a.print().line("%d pictures in the archive. Added: %d.", m.Pictures, receipt.Pictures)
			}
			return nil
		})
	})
	return cmd
}
