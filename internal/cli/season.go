package cli

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart/internal/store"
	"thwart/season"
	"thwart/season/figures"
)

func (a *app) seasonCommand() *cobra.Command {
	var dsn, from, to, launch, partner, by, records, key string
	var all bool
	cmd := &cobra.Command{
		Use:   "season",
		Short: "Say what a season came to, each number with its interval and what it is a share of",
		Long: "Season computes the numbers that the office's pages and the report show. Intervals are at 95 % and rest on the effective number of" +
			" craft, because craft of one shift are alike.\n\n" +
			"With --by it gives one table. With --records it lists the ids of the records behind a figure, with --all those of its denominator.",
		Example: `  thwart season
  thwart season --by launch
  thwart season --records refused
  thwart season --json`,
		Args: args(0, 0, "no argument"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	f := cmd.Flags()
	f.StringVar(&from, "from", "", "first day, such as 2026-05-01; without it the latest season begins")
	f.StringVar(&to, "to", "", "last day, included")
	f.StringVar(&launch, "launch", "", "only this launch, by its id")
	f.StringVar(&partner, "partner", "", "only launches that this partner runs")
	f.StringVar(&by, "by", "", "split by: "+strings.Join(figures.Bys(), ", "))
	f.StringVar(&key, "key", "", "with --records and --by: the row")
	f.StringVar(&records, "records", "", "list the records behind this figure")
	f.BoolVar(&all, "all", false, "with --records: its denominator")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		q := figures.Query{Launch: launch, Partner: partner}
		for _, d := range []struct {
			flag, text string
			to         *season.Day
		}{{"--from", from, &q.From}, {"--to", to, &q.To}} {
			if d.text == "" {
				continue
			}
			day, err := season.ParseDay(d.text)
			if err != nil {
				return usage("%s: %s", d.flag, err)
			}
			*d.to = day
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, true, func(s *store.Store) error {
			book, err := season.Read(ctx, s, season.Options{Zone: time.LoadLocation})
			if err != nil {
				return err
			}
			if records != "" {
				behind, err := figures.Records(book, q, season.SummerHolidays(), records, by, key, all)
				if err != nil {
					return err
				}
				if a.json {
					return a.writeJSON(behind.IDs)
				}
				p := a.print()
				for _, id := range behind.IDs {
					p.line("%s", id)
				}
				p.line("%d records.", len(behind.IDs))
				return nil
			}
			sum, err := figures.Of(book, q, season.SummerHolidays())
			if err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(sum)
			}
			if by != "" {
				return a.seasonTable(sum, by)
			}
			a.seasonWords(sum)
			return nil
		})
	})
	return cmd
}

// figureWords writes a figure as a person reads it.
func figureWords(f figures.Figure) string {
	if !f.Known {
		return "not known"
	}
	i := f.Interval
	switch {
	case f.Unit == figures.UnitShare && i != nil:
		return fmt.Sprintf("%.1f %% (%.1f to %.1f), %d of %d", 100*f.Value, 100*i.Lo, 100*i.Hi, f.X, f.N)
	case f.Unit == figures.UnitShare:
		return fmt.Sprintf("%.1f %%, %d of %d", 100*f.Value, f.X, f.N)
	case f.Unit == figures.UnitCount:
		return fmt.Sprintf("%.0f", f.Value)
	case i != nil:
		return fmt.Sprintf("%.2g %s (%.2g to %.2g)", f.Value, f.Unit, i.Lo, i.Hi)
	}
	return fmt.Sprintf("%.0f %s", f.Value, f.Unit)
}

func (a *app) seasonWords(s *figures.Season) {
	p := a.print()
	p.line("%s to %s, records up to entry %d.", s.From, s.To, s.Cursor)
	if s.Compare == nil {
		p.line("There are no records of the season before to hold it against.")
	}
	p.head("Numbers:")
	for _, f := range s.Figures {
		p.item(2, "-", f.Label+": "+figureWords(f))
	}
	p.head("Records that somebody should look at:")
	for _, d := range s.Doubts {
		p.item(2, "-", fmt.Sprintf("%s: %d of %d looked through", d.Label, d.Count, d.Of))
	}
}

// tableFigures are the columns of a table on a terminal.
var tableFigures = []string{"met", "found", "organism", "clean_drained_dry", "refused"}

func (a *app) seasonTable(s *figures.Season, by string) error {
	t := s.Table(by)
	if len(t.Rows) == 0 {
		return usage("--by: %q splits nothing here; accepted: %s", by, strings.Join(figures.Bys(), ", "))
	}
	p := a.print()
	p.line("%s to %s, by %s.", s.From, s.To, strings.ToLower(t.Label))
	for i := range t.Rows {
		r := &t.Rows[i]
		p.head("%s", r.Name)
		for _, id := range tableFigures {
			if f := r.Get(id); f.Label != "" {
				p.item(2, "-", f.Label+": "+figureWords(f))
			}
		}
	}
	return nil
}
