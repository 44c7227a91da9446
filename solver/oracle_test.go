package solver_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"thwart/engine/mip"
	"thwart/engine/num"
	"thwart/internal/refcheck"
)

// covering is a seeded maximal covering model with uneven costs (Church & ReVelle 1974): weights of the points covered, under
// a budget.
func covering(sites, points int, seed uint64) *mip.Model {
	r := num.Stream(seed, "covering")
	m := mip.New("covering", true)
	type place struct{ x, y float64 }
	at := make([]place, sites)
	var money []mip.Term
	for i := range at {
		at[i] = place{r.Float64(), r.Float64()}
		money = append(money, mip.Term{Var: m.Binary(fmt.Sprint("site ", i), 0), Coef: float64(2 + r.IntN(9))})
	}
	for k := range points {
		p := place{r.Float64(), r.Float64()}
		z := m.Var(fmt.Sprint("point ", k), 0, 1, float64(1+r.IntN(30)), false)
		terms := []mip.Term{{Var: z, Coef: -1}}
		for i, a := range at {
			if (a.x-p.x)*(a.x-p.x)+(a.y-p.y)*(a.y-p.y) < 0.012 {
				terms = append(terms, mip.Term{Var: mip.Var(i), Coef: 1})
			}
		}
		m.AtLeast(fmt.Sprint("cover ", k), 0, terms...)
	}
	m.AtMost("money", float64(sites)/2, money...)
	return m
}

var (
	cbcObjective   = regexp.MustCompile(`Objective value:\s+(\S+)`)
	glpkObjective  = regexp.MustCompile(`Objective:\s+\S+ = (\S+)`)
	otherProgramme = []struct {
		name string
		args func(model, out string) []string
		re   *regexp.Regexp
		file bool // the objective is in the file, not on the terminal
	}{
		{"cbc", func(m, _ string) []string { return []string{m, "ratioGap", "0", "allowableGap", "0", "solve"} }, cbcObjective, false},
		{"glpsol", func(m, out string) []string { return []string{"--lp", m, "--cuts", "-o", out} }, glpkObjective, true},
	}
)

// Other solvers, where they are installed, must find the same optimum of the same file.
func TestOtherSolversAgree(t *testing.T) {
	models := []*mip.Model{covering(40, 200, 1), covering(60, 300, 2)}
	k, _ := knapsack(40, 5)
	models = append(models, k)
	for _, other := range otherProgramme {
		path, err := exec.LookPath(other.name)
		if err != nil {
			t.Logf("NOT CHECKED against %s: not installed (Debian: apt-get install coinor-cbc glpk-utils)", other.name)
			continue
		}
		for i, m := range models {
			dir := t.TempDir()
			in, out := filepath.Join(dir, "model.lp"), filepath.Join(dir, "out")
			var text bytes.Buffer
			if err := m.Write(&text); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(in, text.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			said, err := exec.Command(path, other.args(in, out)...).CombinedOutput()
			if err != nil {
				t.Fatalf("%s: %v\n%s", other.name, err, said)
			}
			if other.file {
				if said, err = os.ReadFile(out); err != nil {
					t.Fatal(err)
				}
			}
			f := other.re.FindSubmatch(said)
			if f == nil {
				t.Fatalf("%s: no objective in\n%s", other.name, said)
			}
			want, err := strconv.ParseFloat(string(f[1]), 64)
			if err != nil {
				t.Fatal(err)
			}
			if want < 0 { // cbc minimises the negative
				want = -want
			}
			refcheck.Near(t, fmt.Sprintf("%s, model %d", other.name, i), solve(t, m, mip.Options{}).Objective, want, 1e-5, "the same file solved by "+other.name)
		}
	}
}
