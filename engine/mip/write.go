package mip

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// Write writes the model in the CPLEX LP format with short names of its own (x0, x1, …, r0, r1, …), because the format's
// names allow fewer characters than people do. A row open on one side only is written once; one with two different limits
// twice.
func (m *Model) Write(w io.Writer) error {
	b := bufio.NewWriter(w)
	sense := "Minimize"
	if m.Maximise {
		sense = "Maximize"
	}
	fmt.Fprintf(b, "%s\n obj:", sense)
	n := 0
	for i, v := range m.Vars {
		if v.Cost != 0 {
			n = term(b, n, v.Cost, i)
		}
	}
	if n == 0 && len(m.Vars) > 0 {
		fmt.Fprint(b, " 0 x0")
	}
	fmt.Fprint(b, "\nSubject To\n")
	for i, r := range m.Rows {
		writeRow(b, i, r)
	}
	fmt.Fprint(b, "Bounds\n")
	for i, v := range m.Vars {
		fmt.Fprintf(b, " %s <= x%d <= %s\n", limit(v.Lo), i, limit(v.Hi))
	}
	fmt.Fprint(b, "General\n")
	for i, v := range m.Vars {
		if v.Integer {
			fmt.Fprintf(b, " x%d\n", i)
		}
	}
	fmt.Fprint(b, "End\n")
	return b.Flush()
}

func term(b *bufio.Writer, n int, coef float64, i int) int {
	if n > 0 && n%8 == 0 {
		fmt.Fprint(b, "\n ")
	}
	fmt.Fprintf(b, " %+.17g x%d", coef, i)
	return n + 1
}

func writeRow(b *bufio.Writer, i int, r Constraint) {
	side := func(suffix, op string, limit float64) {
		fmt.Fprintf(b, " r%d%s:", i, suffix)
		for n, t := range r.Terms {
			term(b, n, t.Coef, int(t.Var))
		}
		fmt.Fprintf(b, " %s %.17g\n", op, limit)
	}
	switch {
	case len(r.Terms) == 0:
	case r.Lo == r.Hi:
		side("", "=", r.Lo)
	default:
		if !math.IsInf(r.Hi, 1) {
			side("", "<=", r.Hi)
		}
		if !math.IsInf(r.Lo, -1) {
			side("l", ">=", r.Lo)
		}
	}
}

func limit(v float64) string {
	if math.IsInf(v, 0) {
		return fmt.Sprintf("%cinf", "-+"[map[bool]int{true: 1}[v > 0]])
	}
	return fmt.Sprintf("%.17g", v)
}
