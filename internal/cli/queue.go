package cli

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/engine/queue"
	"thwart/season/flows"
	"thwart/season/waiting"
)

func (a *app) queueCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "queue",
		Short: "How long craft wait at a launch or a wash pad, and how many people are enough",
		Long: "Queue answers for a steady stream with closed forms (steady), and for a day at a launch of the programme with the season's fitted" +
			" arrivals and timed looks (day). Where more come than can be served it says that the queue grows without limit.",
		Example: "  thwart queue steady --per-hour 12 --minutes 4\n  thwart queue day --target 10",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return unknownCommand(cmd, args[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.queueSteadyCommand(), a.queueDayCommand())
	return cmd
}

// steadyRow is what so many servers make of a steady stream.
type steadyRow struct {
	Servers     int     `json:"servers"`
	Utilisation float64 `json:"utilisation"`
	Grows       bool    `json:"grows"`
	PWait       float64 `json:"pWait,omitempty"`    // chance to wait, service exponential
	WaitMin     float64 `json:"waitMin,omitempty"`  // mean, service as uneven as given
	ExpoMin     float64 `json:"waitExponentialMin"` // mean, service exponential
	Over        float64 `json:"over,omitempty"`     // chance to wait longer than the target, service exponential
	P95Min      float64 `json:"p95Min,omitempty"`   // service exponential
}

type steadyAnswer struct {
	PerHour   float64     `json:"perHour"`
	Minutes   float64     `json:"minutes"`
	CV2       float64     `json:"cv2"`
	TargetMin float64     `json:"targetMin"`
	Rows      []steadyRow `json:"rows"`
}

func (a *app) queueSteadyCommand() *cobra.Command {
	s := steadyAnswer{}
	var most int
	cmd := &cobra.Command{
		Use:   "steady",
		Short: "Waits of a steady stream: stewards at a launch, bays at a pad",
		Long: "Steady gives the wait for one server and more: Pollaczek-Khinchine (exact, one server) and Allen-Cunneen for the mean with service" +
			" as uneven as given by its squared coefficient of variation (1/12 is uniform from half to one and a half times the mean)," +
			" Erlang C for the chance to wait and the tails, which takes service for exponential and so errs on the long side.",
		Example: "  thwart queue steady --per-hour 4 --minutes 25 --most 3\n  thwart queue steady --per-hour 12 --minutes 4 --cv2 0.083 --json",
		Args:    args(0, 0, "no argument"),
	}
	a.jsonFlag(cmd)
	f := cmd.Flags()
	f.Float64Var(&s.PerHour, "per-hour", 0, "craft that come in an hour")
	f.Float64Var(&s.Minutes, "minutes", 0, "mean minutes a craft takes")
	f.Float64Var(&s.CV2, "cv2", 1, "squared coefficient of variation of those minutes")
	f.Float64Var(&s.TargetMin, "target", 10, "wait in minutes to hold the tail against")
	f.IntVar(&most, "most", 4, "servers at most, 1 to 50")
	cmd.RunE = a.run(func(*cobra.Command, []string) error {
		var errs thwart.FieldErrors
		if !(s.PerHour > 0 && s.PerHour <= 1000) {
			errs = append(errs, thwart.FieldError{Field: "--per-hour", Value: fmt.Sprint(s.PerHour), Accepted: "above 0, up to 1000"})
		}
		if !(s.Minutes > 0 && s.Minutes <= 1440) {
			errs = append(errs, thwart.FieldError{Field: "--minutes", Value: fmt.Sprint(s.Minutes), Accepted: "above 0, up to 1440"})
		}
		if !(s.CV2 >= 0 && s.CV2 <= 100) {
			errs = append(errs, thwart.FieldError{Field: "--cv2", Value: fmt.Sprint(s.CV2), Accepted: "0 to 100"})
		}
		if most < 1 || most > 50 {
			errs = append(errs, thwart.FieldError{Field: "--most", Value: fmt.Sprint(most), Accepted: "1 to 50"})
		}
		if errs != nil {
			return errs
		}
		for c := 1; c <= most; c++ {
			row, err := s.row(c)
			if err != nil {
				return err
			}
			s.Rows = append(s.Rows, row)
		}
		if a.json {
			return a.writeJSON(s)
		}
		printSteady(a.print(), &s)
		return nil
	})
	return cmd
}

func (s *steadyAnswer) row(c int) (steadyRow, error) {
	row := steadyRow{Servers: c, Utilisation: s.PerHour * s.Minutes / 60 / float64(c)}
	x, err := queue.MMC(s.PerHour, 60/s.Minutes, c)
	if errors.Is(err, queue.ErrGrows) {
		row.Grows = true
		return row, nil
	}
	if err != nil {
		return row, err
	}
	row.PWait, row.ExpoMin, row.Over, row.P95Min = x.PWait, 60*x.WaitH, x.Over(s.TargetMin/60), 60*x.Within(0.95)
	mean, err := queue.AllenCunneen(s.PerHour, s.Minutes/60, 1, s.CV2, c)
	row.WaitMin = 60 * mean
	return row, err
}

func printSteady(p *printer, s *steadyAnswer) {
	p.line("%g an hour, %g minutes each", s.PerHour, s.Minutes)
	rows := [][]string{{"servers", "busy", "mean wait", "95 % wait at most", fmt.Sprintf("over %g min", s.TargetMin)}}
	for _, r := range s.Rows {
		if r.Grows {
			rows = append(rows, []string{fmt.Sprint(r.Servers), percent(r.Utilisation), "queue grows without limit", "", ""})
			continue
		}
		rows = append(rows, []string{fmt.Sprint(r.Servers), percent(r.Utilisation), fmt.Sprintf("%.1f min", r.WaitMin), fmt.Sprintf("%.1f min", r.P95Min), percent(r.Over)})
	}
	p.table(2, rows)
	p.para(0, "The mean is for service as uneven as given; the last two columns take it for exponential and so err on the long side.")
}

func (a *app) queueDayCommand() *cobra.Command {
	var launch, stewards string
	q := waiting.Question{}
	cmd := &cobra.Command{
		Use:   "day",
		Short: "Waits through a day at a launch, by crew, and the smallest crew that keeps them short",
		Long: "Day takes the arrivals fitted to the season and the minutes that looks and washes took, simulates 400 days at a launch for one" +
			" steward and more, and looks for the fewest person-hours that keep the goal.",
		Example: "  thwart queue day --day weekend --target 10\n  thwart queue day --times 2 --stewards 2 --patience 30 --json",
	}
	sub := a.trafficSub(cmd, func(_ context.Context, m *flows.Model, f *trafficFlags) (any, func(*printer), error) {
		q.Seed = f.seed
		for _, text := range strings.Split(stewards, ",") {
			n, err := strconv.Atoi(strings.TrimSpace(text))
			if err != nil {
				return nil, nil, thwart.FieldErrors{{Field: "--stewards", Value: text, Accepted: "one whole number, or one for each hour with commas"}}
			}
			q.Stewards = append(q.Stewards, n)
		}
		if launch != "" {
			book := m.Book()
			for i := range book.Launches {
				if l := &book.Launches[i]; l.Subject == launch || strings.EqualFold(l.Body.Name, launch) {
					q.Launch = l.Subject
				}
			}
			if q.Launch == "" {
				return nil, nil, thwart.FieldErrors{{Field: "--launch", Value: launch, Accepted: "the name or id of a launch of the programme"}}
			}
		}
		r, err := waiting.Answer(m, q)
		return r, func(p *printer) { printWaits(p, r) }, err
	})
	f := sub.Flags()
	f.StringVar(&launch, "launch", "", "name or id of the launch; left out: the busiest")
	f.StringVar(&q.Day, "day", "weekend", "weekday, weekend or holiday")
	f.Float64Var(&q.Times, "times", 1, "as busy as usual")
	f.IntVar(&q.From, "from", 6, "hour of the day at which somebody is there")
	f.IntVar(&q.To, "to", 20, "hour at which nobody is let in any more")
	f.StringVar(&stewards, "stewards", "1", "of the day shown: one number, or one for each hour with commas")
	f.IntVar(&q.Bays, "bays", 0, "wash bays beside the launch")
	f.Float64Var(&q.TargetMin, "target", 10, "wait in minutes that craft should not exceed")
	f.Float64Var(&q.Share, "share", 0.95, "share of those who come that should not")
	f.Float64Var(&q.PatienceMin, "patience", 0, "mean minutes until someone waiting drives away; 0: nobody does")
	f.IntVar(&q.MaxWaiting, "room", 0, "craft that can wait; 0: no limit")
	return sub
}

func printWaits(p *printer, r *waiting.WaitReport) {
	p.line("%s, a usual %s%s", r.Launch.Name, r.Day, times(r.Times))
	p.para(0, r.Sentence)
	p.head("The same crew all day")
	rows := [][]string{{"stewards", "busiest hour", "mean wait", "95 % at most", fmt.Sprintf("over %g min", r.TargetMin), "lost", "overtime"}}
	for _, s := range r.Staffings {
		busy := percent(s.Utilisation)
		if s.Grows {
			busy += " (grows)"
		}
		rows = append(rows, []string{fmt.Sprint(s.Stewards), busy, fmt.Sprintf("%.1f min", s.WaitMin.Mid), fmt.Sprintf("%.0f min", s.P95Min), percent(s.Late.Mid),
			craft(s.Left + s.TurnedAway), fmt.Sprintf("%.0f min", s.OvertimeMin)})
	}
	p.table(2, rows)
	for _, s := range r.Staffings {
		if s.Grows {
			p.item(2, "-", fmt.Sprintf("%d: %s, as long as that hour lasts", s.Stewards, s.Words))
		}
	}
	p.head("Fewest people by hour that keep the goal")
	if r.Why != "" {
		p.para(2, r.Why)
	}
	rows = [][]string{{"hour", "craft", "people", "shown", "its mean wait", "95 % at most"}}
	for h, x := range r.Shown.Hours {
		few := ""
		if len(r.Smallest) > h {
			few = fmt.Sprint(r.Smallest[h])
		}
		rows = append(rows, []string{fmt.Sprintf("%02d:00", x.Hour), fmt.Sprintf("%.1f", r.Rates[h].Arrivals.Mid), few, fmt.Sprint(r.Stewards[h]), fmt.Sprintf("%.1f min", x.WaitMin.Mid),
			fmt.Sprintf("%.0f min", x.P95Min)})
	}
	p.table(2, rows)
	p.head("Taken")
	for _, text := range append(append([]string{}, r.Assumed...), r.Warnings...) {
		p.item(2, "-", text)
	}
}

func times(x float64) string {
	if x == 1 {
		return ""
	}
	return fmt.Sprintf(", %g times as busy", x)
}
