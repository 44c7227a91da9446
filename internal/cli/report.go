package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/report"
	"thwart/internal/store"
	"thwart/season"
)

func (a *app) reportCommand() *cobra.Command {
	var dsn, edition, earlier, numbers string
	var o report.Order
	cmd := &cobra.Command{
		Use:   "report file",
		Short: "Write the report of a season as PDF or HTML",
		Long: "Report writes one file, which must not be there yet: a .pdf for paper, or a .html that says the same to a screen and to readers who" +
			" listen. The same records, program, date and seed give the same bytes.\n\n" +
			"  --edition  season   the season book\n" +
			"             board    two pages for a board\n" +
			"             launch   one page for one launch (--launch)\n" +
			"             partner  one page for one partner (--partner)\n\n" +
			"With --numbers the printed numbers are kept as JSON; a later report given them with --earlier tells which of them have changed.",
		Example: `  thwart report season.pdf
  thwart report board.html --edition board --made 2026-10-12 --numbers numbers.json`,
		Args: args(1, 1, "the file to write, ending in .pdf or .html"),
	}
	storeFlag(cmd, &dsn)
	f := cmd.Flags()
	f.StringVar(&edition, "edition", string(report.Whole), "which report: season, board, launch, partner")
	f.StringVar(&o.Language, "language", "en", "language of the words and numbers: en, es, fr")
	f.StringVar(&o.From, "from", "", "first day, such as 2026-05-01; without it the latest season begins")
	f.StringVar(&o.To, "to", "", "last day, included")
	f.StringVar(&o.Launch, "launch", "", "the launch of a launch's page, by its id")
	f.StringVar(&o.Partner, "partner", "", "the partner of a partner's page")
	f.StringVar(&o.Made, "made", "", "date of the report, such as 2026-10-12; today where it is left out")
	f.BoolVar(&o.Letter, "letter", false, "North American paper instead of A4")
	f.Uint64Var(&o.Seed, "seed", 1, "seed of what is estimated by drawing")
	f.StringVar(&earlier, "earlier", "", "numbers of an earlier report, to tell what changed")
	f.StringVar(&numbers, "numbers", "", "keep the printed numbers in this file")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		ending := strings.ToLower(filepath.Ext(args[0]))
		if ending != ".pdf" && ending != ".html" {
			return usage("%s: the ending is not known; accepted: .pdf, .html", args[0])
		}
		o.Edition, o.Units = report.Edition(edition), string(a.units)
		if earlier != "" {
			in, err := openFile(earlier)
			if err != nil {
				return err
			}
			defer in.Close() //nolint:errcheck // it was only read
			if o.Earlier, err = report.ReadPublished(in); err != nil {
				return inFile{earlier, "", err}
			}
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, true, func(s *store.Store) error {
			book, err := season.Read(ctx, s, season.Options{Zone: time.LoadLocation})
			if err != nil {
				return err
			}
			demo, err := invented(ctx, s)
			if err != nil {
				return err
			}
			in, err := report.Prepare(ctx, book, o, a.version, demo, time.Now(), nil)
			if err != nil {
				return err
			}
			made, err := report.Write(in)
			if err != nil {
				return err
			}
			body := made.PDF
			if ending == ".html" {
				body = []byte(made.HTML)
			}
			if err := newFile(args[0], func(f *os.File) error { _, err := f.Write(body); return err }); err != nil {
				return err
			}
			if numbers != "" {
				if err := newFile(numbers, func(f *os.File) error { return made.Numbers.Write(io.Writer(f)) }); err != nil {
					return err
				}
			}
			p := a.print()
			p.line("%s: %s.", args[0], made.Title)
			if o.Earlier != nil {
				p.line("%s", fmt.Sprintf("%d numbers differ from the report of %s.", len(report.Changes(o.Earlier, made.Numbers)), o.Earlier.Made))
			}
			return nil
		})
	})
	return cmd
}

// invented reports whether a programme's own record is one of the demo's.
func invented(ctx context.Context, s *store.Store) (bool, error) {
	page, err := s.Subjects(ctx, thwart.SubjectQuery{Kind: thwart.KindProgramme, Limit: 1})
	return err == nil && len(page.Items) > 0 && page.Items[0].Origin == thwart.OriginDemo, err
}
