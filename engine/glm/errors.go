package glm

import (
	"fmt"
	"strings"
)

// RankError says that a column tells nothing that the columns before it do not tell.
type RankError struct{ Column string }

func (e *RankError) Error() string {
	return fmt.Sprintf("%s: it is constant zero or a combination of the covariates before it, so its effect cannot be told from theirs; leave it out", e.Column)
}

// SeparationError says that no finite estimate exists: along a combination of the named columns the likelihood rises for ever,
// as when every row of a group has a count of zero.
type SeparationError struct {
	Columns []string
	Rows    int // rows whose fitted value runs to a limit
}

func (e *SeparationError) Error() string {
	return fmt.Sprintf("%s: the data separate: %d rows are explained perfectly and the effect would be infinite; join groups or leave it out",
		strings.Join(e.Columns, ", "), e.Rows)
}

// ConvergenceError says that the steps did not settle.
type ConvergenceError struct {
	Steps int
	What  string
}

func (e *ConvergenceError) Error() string {
	return fmt.Sprintf("the fit did not settle in %d steps: %s", e.Steps, e.What)
}
