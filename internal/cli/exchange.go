package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
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
	var t exchange.Table
	switch strings.ToLower(filepath.Ext(name)) {
	case ".csv", ".tsv", ".txt":
		t, err = exchange.OpenCSV(f)
	case ".xlsx":
		var info os.FileInfo
		if info, err = f.Stat(); err == nil {
			t, err = exchange.OpenXLSX(f, info.Size(), sheet)
		}
	default:
		err = usage("%s: the ending is not known; accepted: .csv, .tsv, .txt, .xlsx", name)
	}
	if err != nil {
		f.Close() //nolint:errcheck // it was only read
		return nil, nil, err
	}
	return t, f, nil
}

// sampleEvery spreads the rows that a mapping is guessed from over the whole table.
const sampleEvery = 25

func (a *app) guessMapping(name, zone string) error {
	t, f, err := openTable(name, "")
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // it was only read
	defer t.Close() //nolint:errcheck // likewise
	header, err := exchange.HeaderOf(t, 0)
	if err != nil {
		return err
	}
	var sample []exchange.Row
	for n := 0; ; n++ {
		row, err := t.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if n < sampleEvery || n%sampleEvery == 0 {
			sample = append(sample, row)
		}
	}
	m := exchange.Guess(header, sample)
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
		if o.Key, err = os.ReadFile(keyFile); err != nil {
			return exchange.Plan{}, fmt.Errorf("%s cannot be read: %w", keyFile, errors.Unwrap(err))
		}
		o.Key = bytes.TrimSpace(o.Key)
	}
	if o.Waters, err = names(ctx, s, thwart.KindWater, func(w thwart.WaterBody) []string { return append([]string{w.Name}, w.Also...) }); err != nil {
		return exchange.Plan{}, err
	}
	if o.Launches, err = names(ctx, s, thwart.KindLaunch, func(r thwart.Ramp) []string { return []string{r.Name} }); err != nil {
		return exchange.Plan{}, err
	}
	if o.People, err = names(ctx, s, thwart.KindPerson, func(p thwart.Person) []string { return []string{p.Name} }); err != nil {
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

// names lists what the subjects of a kind are called.
func names[T any](ctx context.Context, s *store.Store, kind thwart.Kind, called func(T) []string) ([]exchange.Name, error) {
	var out []exchange.Name
	for q := (thwart.SubjectQuery{Kind: kind, Limit: 1000}); ; {
		page, err := s.Subjects(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, one := range page.Items {
			var body T
			if err := json.Unmarshal(one.Body, &body); err != nil {
				return nil, fmt.Errorf("%s %s: %w", kind, one.Subject, err)
			}
			out = append(out, exchange.Name{ID: one.Subject, Names: called(body)})
		}
		if q.After = page.Next; q.After == "" {
			return out, nil
		}
	}
}

func (a *app) settlePlan(ctx context.Context, s *store.Store, plan exchange.Plan, keep bool) error {
	var receipt *exchange.Receipt
	if keep {
		r, err := plan.Keep(ctx, s, time.Now())
		if err != nil {
			return err
		}
		receipt = &r
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

// exports lists what export can write, in the order of its help.
func exports() []string {
	return append([]string{"archive", "lines", "water-map", "launch-map", "description"}, exchange.Tables...)
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
		if !slices.Contains(exports(), args[0]) {
			return usage("%s: %q cannot be exported; accepted: %s", cmd.CommandPath(), args[0], strings.Join(exports(), ", "))
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

// export writes one file whole or not at all.
func (a *app) export(ctx context.Context, s *store.Store, what, name string, edition exchange.Edition) (said string, err error) {
	if _, err := os.Lstat(name); err == nil {
		return "", fmt.Errorf("%s is there already; accepted: the name of a new file", name)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".thwart-export-*")
	if err != nil {
		return "", err
	}
	defer os.Remove(f.Name()) //nolint:errcheck // it is gone when all went well
	defer f.Close()           //nolint:errcheck // closed below when all went well
	switch what {
	case "archive":
		var m exchange.Manifest
		m, err = exchange.WriteArchive(ctx, f, s, time.Now(), "thwart "+a.version)
		said = fmt.Sprintf("%d entries", m.Entries)
	case "lines":
		var n int64
		n, err = exchange.WriteLines(ctx, f, s)
		said = fmt.Sprintf("%d entries", n)
	case "water-map":
		said, err = counted(exchange.WriteWaters(ctx, f, s))
	case "launch-map":
		said, err = counted(exchange.WriteLaunches(ctx, f, s))
	case "description":
		said, err = "columns of the tables", exchange.WriteDictionary(f)
	default:
		said, err = counted(exchange.WriteTable(ctx, f, s, what, edition))
	}
	if err != nil {
		return "", err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return "", err
	}
	// A link, unlike a rename, fails where somebody has written the name in the meantime.
	return said, os.Link(f.Name(), name)
}

func counted(n int, err error) (string, error) { return fmt.Sprintf("%d rows", n), err }

func (a *app) loadCommand() *cobra.Command {
	var dsn string
	cmd := &cobra.Command{
		Use:   "load archive",
		Short: "Add a whole-programme archive to a programme's records",
		Long: "Load reads an archive that export wrote, checks all of it, and adds what is not yet there. Loading it again changes" +
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
			if a.json {
				return a.writeJSON(receipt)
			}
			a.print().line("%d entries in the archive. Added: %d; already there: %d; refused: %d.", m.Entries, receipt.Stored, receipt.Had, receipt.Refused)
			return nil
		})
	})
	return cmd
}
