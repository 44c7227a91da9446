package cli

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/store"
	"thwart/season"
	"thwart/season/flows"
)

// trafficFlags say how traffic is estimated.
type trafficFlags struct {
	dsn, roads string
	detour     float64
	seed       uint64
	holidays   []string
	top        int
	noEffort   bool
}

func (a *app) trafficCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "traffic",
		Short: "Where the risk comes from: passages, arrivals and risky passages of a season",
		Long: "Traffic estimates, from the craft that were met and the hours that were staffed, how many craft pass from each water to each" +
			" other in the season, when they arrive, and how many of them carry something alive. Launches that nobody staffed are predicted." +
			" Every number has its interval, and what the records cannot carry is said in words.",
		Example: `  thwart traffic fit
  thwart traffic flows --top 10
  thwart traffic sources --organism zebra_mussel`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.trafficFitCommand(), a.trafficFlowsCommand(), a.trafficSourcesCommand(), a.trafficArrivalsCommand(), a.trafficDeclareCommand(),
		a.trafficBootstrapCommand())
	return cmd
}

// trafficSub makes one of the commands: answer fills JSON and prints text from the fitted model.
func (a *app) trafficSub(cmd *cobra.Command, answer func(ctx context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error)) *cobra.Command {
	var f trafficFlags
	cmd.Args = args(0, 0, "no argument; the records are named by --store")
	storeFlag(cmd, &f.dsn)
	a.jsonFlag(cmd)
	flags := cmd.Flags()
	flags.StringVar(&f.roads, "roads", "", "road distances: a CSV with the headings from, to, km; waters by name or id")
	flags.Float64Var(&f.detour, "detour", flows.DefaultDetour, "how much longer roads are than straight lines, where no road distance is given")
	flags.Uint64Var(&f.seed, "seed", 1, "seed of the draws")
	flags.StringArrayVar(&f.holidays, "holiday", nil, "a holiday beside those of the summer, such as 2026-08-03; may be given again")
	flags.IntVar(&f.top, "top", 20, "how many rows are listed, the largest first")
	flags.BoolVar(&f.noEffort, "no-effort", false, "leave the hours staffed out: wrong, and here to show by how much")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		if f.top < 1 || f.top > 5000 {
			return usage("--top: %d is not accepted; accepted: 1 to 5000 rows", f.top)
		}
		ctx := cmd.Context()
		return withStore(ctx, f.dsn, true, func(s *store.Store) error {
			book, err := season.Read(ctx, s, season.Options{Zone: time.LoadLocation})
			if err != nil {
				return err
			}
			opt, err := f.options(book)
			if err != nil {
				return err
			}
			m, err := flows.New(book, opt)
			if err != nil {
				return err
			}
			out, print, err := answer(ctx, m, &f)
			if err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(out)
			}
			print(a.print())
			return nil
		})
	})
	return cmd
}

func (f *trafficFlags) options(book *season.Book) (flows.Options, error) {
	opt := flows.Options{Detour: f.detour, Seed: f.seed, NoEffort: f.noEffort}
	calendar := season.SummerHolidays()
	calendar.Days = map[season.Day]bool{}
	for _, text := range f.holidays {
		d, err := season.ParseDay(text)
		if err != nil {
			return opt, thwart.FieldErrors{{Field: "--holiday", Value: text, Accepted: "a date such as 2026-07-04"}}
		}
		calendar.Days[d] = true
	}
	opt.Calendar = &calendar
	if f.roads == "" {
		return opt, nil
	}
	file, err := openFile(f.roads)
	if err != nil {
		return opt, err
	}
	defer file.Close()
	roads, err := readRoads(file, book)
	if err != nil {
		return opt, inFile{file: f.roads, err: err}
	}
	opt.RoadKM = func(from, to string) (float64, bool) {
		km, ok := roads[[2]string{from, to}]
		return km, ok
	}
	return opt, nil
}

// readRoads reads road distances. A pair that is given one way only counts for both.
func readRoads(r io.Reader, book *season.Book) (map[[2]string]float64, error) {
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 || len(rows[0]) != 3 || strings.ToLower(strings.Join(rows[0], ",")) != "from,to,km" {
		return nil, thwart.FieldErrors{{Field: "headings", Value: firstRow(rows), Accepted: "from, to, km"}}
	}
	given, out := map[[2]string]bool{}, map[[2]string]float64{}
	var errs thwart.FieldErrors
	for i, row := range rows[1:] {
		line := fmt.Sprintf("line %d: ", i+2)
		from, ok1 := waterNamed(book, row[0])
		to, ok2 := waterNamed(book, row[1])
		km, err := strconv.ParseFloat(strings.TrimSpace(row[2]), 64)
		switch {
		case !ok1:
			errs = append(errs, thwart.FieldError{Field: line + "from", Value: row[0], Accepted: "the name or id of one water of the programme"})
		case !ok2:
			errs = append(errs, thwart.FieldError{Field: line + "to", Value: row[1], Accepted: "the name or id of one water of the programme"})
		case err != nil || !(km > 0 && km < 20000):
			errs = append(errs, thwart.FieldError{Field: line + "km", Value: row[2], Accepted: "kilometres above 0"})
		default:
			given[[2]string{from, to}] = true
			out[[2]string{from, to}] = km
			if !given[[2]string{to, from}] {
				out[[2]string{to, from}] = km
			}
		}
	}
	if errs != nil {
		return nil, errs
	}
	return out, nil
}

func firstRow(rows [][]string) string {
	if len(rows) == 0 {
		return ""
	}
	return strings.Join(rows[0], ", ")
}

// waterNamed finds a water by id or by name, as long as only one has it.
func waterNamed(book *season.Book, text string) (id string, ok bool) {
	text = strings.TrimSpace(text)
	for i := range book.Waters {
		w := &book.Waters[i]
		if w.Subject == text {
			return text, true
		}
		if strings.EqualFold(w.Body.Name, text) {
			if ok {
				return "", false
			}
			id, ok = w.Subject, true
		}
	}
	return id, ok
}

func (a *app) trafficFitCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "fit",
		Short: "The model card: what was fitted, on what, how well, and what it cannot say",
		Long: "Fit estimates a gravity model for counts: passages from one water to another by the size of both and the road between them," +
			" with the hours staffed as offset. It compares simpler forms, tests itself on every fourth week of the season, and says what" +
			" does not fit.",
		Example: "  thwart traffic fit\n  thwart traffic fit --json",
	}
	return a.trafficSub(cmd, func(_ context.Context, m *flows.Model, _ *trafficFlags) (any, func(*printer), error) {
		c := m.Card()
		return c, func(p *printer) { printCard(p, &c) }, nil
	})
}

func (a *app) trafficFlowsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "flows",
		Short: "Passages between waters in the season",
		Long: "Flows lists the pairs of waters with the most passages, and how many craft each water receives and sends. A pair that was" +
			" watched is drawn to its own count; one that was not is the model's.",
		Example: "  thwart traffic flows --top 10",
	}
	return a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		r, err := m.Flows(f.top)
		return r, func(p *printer) { printFlows(p, &r, f.top) }, err
	})
}

func (a *app) trafficSourcesCommand() *cobra.Command {
	var organism string
	cmd := &cobra.Command{
		Use:   "sources",
		Short: "Risky passages: which waters they come from and which launches they reach",
		Long: "Sources chains passages with the waters an organism lives in, the chance that a craft carries it (published, then updated" +
			" by the programme's own finds), how much is alive on arrival, and what looks find.",
		Example: "  thwart traffic sources --organism eurasian_watermilfoil --top 5",
	}
	cmd.Flags().StringVar(&organism, "organism", "", "one organism of the library; left out: all that any water holds")
	return a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		opt := flows.RiskOptions{Top: f.top}
		if organism != "" {
			if err := knownOrganism(organism); err != nil {
				return nil, nil, err
			}
			opt.Organisms = []string{organism}
		}
		r, err := m.Risk(opt)
		return r, func(p *printer) { printSources(p, &r, f.top) }, err
	})
}

func (a *app) trafficArrivalsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "arrivals",
		Short:   "When craft arrive: by launch, hour, day type and month",
		Long:    "Arrivals estimates the season's craft at every launch, drawn to the region where few hours were staffed, and the shape of the day and the season.",
		Example: "  thwart traffic arrivals --top 10",
	}
	return a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		r := m.Arrivals()
		return r, func(p *printer) { printArrivals(p, &r, f.top) }, nil
	})
}

func (a *app) trafficDeclareCommand() *cobra.Command {
	var water, organism string
	cmd := &cobra.Command{
		Use:   "declare",
		Short: "What changes if one more water is declared infested",
		Long: "Declare works out the risky passages that one water would add if an organism lived in it, and where they would go. Nothing is" +
			" declared by asking: the records stay as they are.",
		Example: `  thwart traffic declare --water "Grindle Pond" --organism zebra_mussel`,
	}
	cmd.Flags().StringVar(&water, "water", "", "name or id of the water")
	cmd.Flags().StringVar(&organism, "organism", "", "an organism of the library, such as zebra_mussel")
	return a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		if water == "" || organism == "" {
			return nil, nil, usage("--water and --organism: both are needed; such as --water \"Grindle Pond\" --organism zebra_mussel")
		}
		id, ok := waterNamed(m.Book(), water)
		if !ok {
			return nil, nil, thwart.FieldErrors{{Field: "--water", Value: water, Accepted: "the name or id of one water of the programme"}}
		}
		d, err := m.Declare(id, organism)
		return d, func(p *printer) { printDeclaration(p, &d, f.top) }, err
	})
}

func (a *app) trafficBootstrapCommand() *cobra.Command {
	var n int
	cmd := &cobra.Command{
		Use:   "bootstrap",
		Short: "Check the model's errors by fitting counts drawn from it",
		Long: "Bootstrap draws the season's counts from the fitted model again and again and fits each anew (a parametric bootstrap). Its" +
			" errors should agree with those the model gives; where they do not, trust the larger.",
		Example: "  thwart traffic bootstrap --replicates 40",
	}
	cmd.Flags().IntVar(&n, "replicates", 200, "how often, 20 to 5000")
	return a.trafficSub(cmd, func(ctx context.Context, m *flows.Model, _ *trafficFlags) (any, func(*printer), error) {
		if n < 20 || n > 5000 {
			return nil, nil, usage("--replicates: %d is not accepted; accepted: 20 to 5000", n)
		}
		r, err := m.Bootstrap(ctx, n, nil)
		if errors.Is(err, context.Canceled) {
			return nil, nil, errors.New("interrupted; nothing was kept")
		}
		return r, func(p *printer) { printBootstrap(p, &r) }, err
	})
}
