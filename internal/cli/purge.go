package cli

import (
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/store"
)

// purgeFields are what a purge can take away, as the report names them.
var purgeFields = []struct{ flag, what string }{
	{"marks", "hashes of registration numbers"},
	{"notes", "free text"},
	{"photos", "records of pictures that belong to no incident"},
}

func (a *app) purgeCommand() *cobra.Command {
	var dsn, by string
	var do bool
	days := make([]int, len(purgeFields))
	cmd := &cobra.Command{
		Use:   "purge",
		Short: "Take away what is older than the programme keeps, and say what",
		Long: "Purge removes private parts of old records for good: the hashes of registrations, free text, pictures. The counts stay:" +
			" craft, findings, verdicts, hours. It says what it would remove; with --do it removes it and keeps a certificate of it" +
			" among the records. Copies made before, by backup or export, are not reached: delete them too.",
		Example: `  thwart purge --marks 400 --notes 800
  thwart purge --marks 400 --notes 800 --do --by "M. Keeper"`,
		Args: args(0, 0, "no argument; what goes is said by flags"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	for i, f := range purgeFields {
		cmd.Flags().IntVar(&days[i], f.flag, 0, f.what+" of records older than so many days; 0 keeps them")
	}
	cmd.Flags().BoolVar(&do, "do", false, "remove it; without this nothing changes")
	cmd.Flags().StringVar(&by, "by", "", "who orders it, for the certificate")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		now := time.Now().UTC()
		before := make([]time.Time, len(days))
		none := true
		for i, d := range days {
			if d < 0 || d > 36525 {
				return usage("--%s: %d is not accepted; accepted: 1 to 36525 days, or 0 to keep all", purgeFields[i].flag, d)
			}
			if d > 0 {
				before[i], none = now.AddDate(0, 0, -d), false
			}
		}
		if none {
			return usage("%s: nothing to remove was named; accepted: --marks, --notes or --photos with a number of days", cmd.CommandPath())
		}
		if do && by == "" {
			return usage("--by: is missing; accepted: who orders the purge, for its certificate")
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, false, func(s *store.Store) error {
			report, err := s.Purge(ctx, thwart.PurgeOrder{MarksBefore: before[0], NotesBefore: before[1], PhotosBefore: before[2], DryRun: !do, By: by, At: now})
			if err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(report)
			}
			a.purged(report)
			return nil
		})
	})
	return cmd
}

func (a *app) purged(r thwart.PurgeReport) {
	p := a.print()
	if r.DryRun {
		p.line("Would be removed (nothing was changed; --do removes it):")
	} else {
		p.line("Removed for good on %s, ordered by %s:", r.At.Format(time.DateOnly), r.By)
	}
	var rows [][]string
	for _, name := range slices.Sorted(maps.Keys(r.Removed)) {
		rows = append(rows, []string{name, strconv.Itoa(r.Removed[name])})
	}
	if rows == nil {
		p.line("  nothing: no record is old enough")
		return
	}
	p.table(2, rows)
}
