package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/store"
)

// defaultStore is the database of a programme that was told of no other.
const defaultStore = "programme.db"

// storeFlag adds --store to a command.
func storeFlag(cmd *cobra.Command, dsn *string) {
	cmd.Flags().StringVar(dsn, "store", defaultStore, "the programme's records: a SQLite file, or a PostgreSQL address such as postgres://user@host/name")
}

// purgesFlag adds --purges to a command.
func purgesFlag(cmd *cobra.Command, path *string) {
	cmd.Flags().StringVar(path, "purges", "", "file in which orders to purge are noted; for SQLite the database's name with .purges, for PostgreSQL purges.jsonl in the server's --dir (default: the former, or none)")
}

// withStore opens the records for one piece of work.
func withStore(ctx context.Context, dsn string, readOnly bool, work func(*store.Store) error) error {
	return withOptions(ctx, dsn, store.Options{ReadOnly: readOnly}, work)
}

func withOptions(ctx context.Context, dsn string, o store.Options, work func(*store.Store) error) (err error) {
	s, err := store.Open(ctx, dsn, o)
	if err != nil {
		return fmt.Errorf("--store: %w", err)
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return work(s)
}

// note adds a line to the trail that the manager reads. The command line knows no account: whoever may write the file may act.
func note(ctx context.Context, s *store.Store, at time.Time, what, about, detail string) error {
	return s.AddAudit(ctx, thwart.Audit{ID: newID(at), At: at.UTC(), Who: "-", What: what, About: about, Detail: detail})
}

func (a *app) backupCommand() *cobra.Command {
	var dsn string
	var dump bool
	cmd := &cobra.Command{
		Use:   "backup file",
		Short: "Copy all records to a file, verified, while the server runs",
		Long: "Backup writes a copy of everything: records, accounts, refusals, audit trail. The server may run on. The copy is read" +
			" back and checked before it appears under its name, and a file that is there is never overwritten. A SQLite programme" +
			" gives a database file, a PostgreSQL programme a dump; with --dump both give a dump, which restore takes into either.",
		Example: "  thwart backup backup-2026-08-02.db",
		Args:    args(1, 1, "the file to write"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	cmd.Flags().BoolVar(&dump, "dump", false, "write a dump, which moves a programme between SQLite and PostgreSQL")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		return withStore(ctx, dsn, true, func(s *store.Store) error {
			write := s.Backup
			if dump {
				write = s.Dump
			}
			report, err := write(ctx, args[0])
			if err != nil {
				return err
			}
			return a.copied("Written and read back", report)
		})
	})
	return cmd
}

func (a *app) restoreCommand() *cobra.Command {
	var dsn, purges string
	cmd := &cobra.Command{
		Use:   "restore file",
		Short: "Make a programme's records anew from a backup",
		Long: "Restore makes the records at --store out of a backup: a new SQLite file, or an empty PostgreSQL database. It writes over" +
			" nothing that is there, checks what it has written, and removes a file that fails. Sessions end: everybody signs in again.\n\n" +
			"What was purged after the backup was made is purged again: orders to purge are also noted in a file beside the records" +
			" (for SQLite, the file's name with .purges). Where the restored file has another name, point --purges at that file.",
		Example: "  thwart restore backup-2026-08-02.db --store restored.db",
		Args:    args(1, 1, "the backup to read"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	purgesFlag(cmd, &purges)
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		report, err := store.Restore(cmd.Context(), args[0], dsn, purges)
		if err != nil {
			return err
		}
		return a.copied("Restored and checked", report)
	})
	return cmd
}

// copied tells what a backup or a restore came to.
func (a *app) copied(what string, r store.Report) error {
	if a.json {
		return a.writeJSON(r)
	}
	p := a.print()
	p.line("%s: %s", what, r.Path)
	var rows [][]string
	for _, name := range slices.Sorted(maps.Keys(r.Rows)) {
		rows = append(rows, []string{name, strconv.FormatInt(r.Rows[name], 10)})
	}
	p.table(2, rows)
	for _, again := range r.Purged {
		p.line("Purged again, as ordered by %s on %s.", again.By, again.At.Format(time.DateOnly))
	}
	a.checked(p, r.Check)
	return nil
}

func (a *app) checkCommand() *cobra.Command {
	var dsn string
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Check that a programme's records hold together",
		Long: "Check recomputes the sum of every record and everything that is read off the records, and names each thing that does not" +
			" agree. It changes nothing and may run beside the server. With --strict it exits with code 3 when anything is wrong.",
		Example: "  thwart check --strict",
		Args:    args(0, 0, "no argument; the records are named by --store"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	a.strictFlag(cmd, "everything holds together")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		ctx := cmd.Context()
		return withStore(ctx, dsn, true, func(s *store.Store) error {
			report, err := s.Check(ctx)
			if err != nil {
				return err
			}
			if a.json {
				err = a.writeJSON(report)
			} else {
				a.checked(a.print(), report)
			}
			if err == nil && a.strict && len(report.Faults) > 0 {
				return notMet{}
			}
			return err
		})
	})
	return cmd
}

func (a *app) checked(p *printer, r thwart.CheckReport) {
	if len(r.Faults) == 0 {
		p.line("%d entries about %d subjects: everything holds together.", r.Entries, r.Subjects)
		return
	}
	p.line("%d entries about %d subjects: %d faults.", r.Entries, r.Subjects, len(r.Faults))
	for _, f := range r.Faults {
		p.item(2, "-", f)
	}
}
