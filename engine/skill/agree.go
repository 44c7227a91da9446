package skill

import (
	"fmt"
	"math"

	"thwart/engine/num"
)

// Agreement is how often two people say the same, and how much of that chance does not explain.
type Agreement struct {
	Seen   float64 `json:"seen"`   // share of cases with the same answer
	Chance float64 `json:"chance"` // the share expected of people who answer at random at their own rates
	Value  float64 `json:"value"`  // (Seen − Chance)/(1 − Chance)
	// SE0 is the standard error of Value if there were no agreement beyond chance; 0 where it is not computed.
	SE0   float64 `json:"se0,omitempty"`
	Cases int     `json:"cases"`
}

// square checks a table of how often one person said i and the other k.
func square(table [][]int) (total float64, rows, columns []float64, err error) {
	q := len(table)
	if q < 2 {
		return 0, nil, nil, &num.RangeError{Field: "table", Value: float64(q), Accepted: "at least 2 answers"}
	}
	rows, columns = make([]float64, q), make([]float64, q)
	for i, row := range table {
		if len(row) != q {
			return 0, nil, nil, &num.RangeError{Field: fmt.Sprintf("table[%d]", i), Value: float64(len(row)), Accepted: fmt.Sprintf("%d columns, as many as rows", q)}
		}
		for k, n := range row {
			if n < 0 {
				return 0, nil, nil, &num.RangeError{Field: fmt.Sprintf("table[%d][%d]", i, k), Value: float64(n), Accepted: "0 or more cases"}
			}
			total += float64(n)
			rows[i] += float64(n)
			columns[k] += float64(n)
		}
	}
	if total == 0 {
		return 0, nil, nil, num.ErrNoTrials
	}
	return total, rows, columns, nil
}

func agreed(table [][]int) (sum float64) {
	for i := range table {
		sum += float64(table[i][i])
	}
	return sum
}

// Cohen gives kappa for two people: Cohen 1960 (Educ. Psychol. Meas. 20:37-46), with the standard error under chance alone of
// Fleiss, Cohen & Everitt 1969 (Psychol. Bull. 72:323-327). Where nearly all answers are one and the same it falls towards 0 however well they agree: show
// [AC1] beside it. Two people who both gave one answer throughout have none, and are refused.
func Cohen(table [][]int) (Agreement, error) {
	n, rows, columns, err := square(table)
	if err != nil {
		return Agreement{}, err
	}
	a := Agreement{Seen: agreed(table) / n, Cases: int(n)}
	var skew float64
	for i := range rows {
		r, c := rows[i]/n, columns[i]/n
		a.Chance += r * c
		skew += r * c * (r + c)
	}
	if a.Chance == 1 {
		return Agreement{}, &num.RangeError{Field: "table", Value: 1, Accepted: "more than one answer: with one alone there is nothing to agree on"}
	}
	a.Value = (a.Seen - a.Chance) / (1 - a.Chance)
	a.SE0 = math.Sqrt(math.Max(0, a.Chance+a.Chance*a.Chance-skew)/n) / (1 - a.Chance)
	return a, nil
}

// AC1 gives Gwet's coefficient, which holds where one answer is far commoner than the others: Gwet 2008 (Br. J. Math. Stat.
// Psychol. 61:29-48).
func AC1(table [][]int) (Agreement, error) {
	n, rows, columns, err := square(table)
	if err != nil {
		return Agreement{}, err
	}
	a := Agreement{Seen: agreed(table) / n, Cases: int(n)}
	for i := range rows {
		p := (rows[i] + columns[i]) / (2 * n)
		a.Chance += p * (1 - p) / float64(len(rows)-1)
	}
	a.Value = (a.Seen - a.Chance) / (1 - a.Chance)
	return a, nil
}

// Fleiss gives kappa for many people: table[case][answer] counts who gave the answer; every case has the same number of
// answers, two or more. Fleiss 1971 (Psychol. Bull. 76:378-382).
func Fleiss(table [][]int) (Agreement, error) {
	if len(table) == 0 {
		return Agreement{}, num.ErrNoTrials
	}
	var raters int
	for _, k := range table[0] {
		raters += k
	}
	if raters < 2 {
		return Agreement{}, &num.RangeError{Field: "table[0]", Value: float64(raters), Accepted: "at least 2 answers to each case"}
	}
	share := make([]float64, len(table[0]))
	a := Agreement{Cases: len(table)}
	for i, row := range table {
		var sum, pairs int
		if len(row) != len(share) {
			return Agreement{}, &num.RangeError{Field: fmt.Sprintf("table[%d]", i), Value: float64(len(row)), Accepted: fmt.Sprintf("%d answers", len(share))}
		}
		for k, n := range row {
			if n < 0 {
				return Agreement{}, &num.RangeError{Field: fmt.Sprintf("table[%d][%d]", i, k), Value: float64(n), Accepted: "0 or more"}
			}
			sum += n
			pairs += n * (n - 1)
			share[k] += float64(n)
		}
		if sum != raters {
			return Agreement{}, &num.RangeError{Field: fmt.Sprintf("table[%d]", i), Value: float64(sum), Accepted: fmt.Sprintf("%d answers, as for the first case", raters)}
		}
		a.Seen += float64(pairs) / float64(raters*(raters-1)) / float64(len(table))
	}
	for _, s := range share {
		p := s / float64(raters*len(table))
		a.Chance += p * p
	}
	if a.Chance == 1 {
		return Agreement{}, &num.RangeError{Field: "table", Value: 1, Accepted: "more than one answer: with one alone there is nothing to agree on"}
	}
	a.Value = (a.Seen - a.Chance) / (1 - a.Chance)
	return a, nil
}
