package cli

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/store"
)

// purgeFields are what a purge can take away, as the report names them.
var purgeFields = []struct{ flag, what string }{
	{"marks", "hashes of registration numbers"},
	{"notes", "free text"},
	{"photos", "pictures that belong to no incident, and their records"},
	{"trials", "who was in a trial or a drill"},
}

func (a *app) purgeCommand() *cobra.Command {
	var dsn, by, purges string
	var do, retention bool
	days := make([]int, len(purgeFields))
	cmd := &cobra.Command{
		Use:   "purge",
		Short: "Take away what is older than the programme keeps, and say what",
		Long: "Purge removes private parts of old records for good: the hashes of registrations, free text, pictures, who was in a trial or a drill. The counts stay:" +
			" craft, findings, verdicts, hours. It says what it would remove; with --do it removes it and keeps a certificate of it" +
			" among the records. Copies made before, by backup or export, are not reached: delete them too. The order is noted in a file" +
			" beside the records as well, so that restoring an older backup carries it out again.",
		Example: `  thwart purge --marks 400 --notes 800
  thwart purge --marks 400 --notes 800 --do --by "M. Keeper"
  thwart purge --retention --do --by "M. Keeper"`,
		Args: args(0, 0, "no argument; what goes is said by flags"),
	}
	storeFlag(cmd, &dsn)
	purgesFlag(cmd, &purges)
	a.jsonFlag(cmd)
	for i, f := range purgeFields {
		cmd.Flags().IntVar(&days[i], f.flag, 0, f.what+" of records older than so many days; 0 keeps them")
	}
	cmd.Flags().BoolVar(&retention, "retention", false, "as many days as the programme's record says, instead of the flags above")
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
		if none != retention {
			return usage("%s: accepted: at least one of --marks, --notes, --photos, --trials with a number of days, or --retention alone", cmd.CommandPath())
		}
		if do && by == "" {
			return usage("--by: is missing; accepted: who orders the purge, for its certificate")
		}
		ctx := cmd.Context()
		return withOptions(ctx, dsn, store.Options{PurgeNotes: purges}, func(s *store.Store) error {
			order := thwart.PurgeOrder{MarksBefore: before[0], NotesBefore: before[1], PhotosBefore: before[2], TrialsBefore: before[3], At: now}
			if retention {
				p, err := thwart.ProgrammeOf(ctx, s)
				if err != nil {
					return err
				}
				if p.Retention == (thwart.Retention{}) {
					return usage("--retention: the programme's record names no days; accepted: a record with days in its retention")
				}
				order = p.Retention.Order(now)
			}
			order.DryRun, order.By = !do, by
			report, err := s.Purge(ctx, order)
			if err != nil {
				return err
			}
			if do {
				text, err := json.Marshal(report.Removed)
				if err == nil {
					err = note(ctx, s, now, "purge", "", by+": "+string(text))
				}
				if err != nil {
					return err
				}
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
	}
	if rows != nil {
		p.table(2, rows)
	}
	if len(r.Pictures) > 0 {
		p.line("%d pictures: %s", len(r.Pictures), strings.Join(r.Pictures, ", "))
	}
}
