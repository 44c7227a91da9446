// Package glm fits generalised linear models: counts, proportions and measurements explained by covariates.
//
// [Fit] fits one family with one link by iteratively reweighted least squares (McCullagh & Nelder 1989, section 2.5).
// [FitNegBin] adds the dispersion θ of the negative binomial in its NB2 form, variance μ + μ²/θ. [FitZeroInflated] and
// [FitHurdle] are for counts with more zeros than either allows.
//
// Every answer carries standard errors from the information matrix; [Result.Robust] gives sandwich errors that hold when the
// variance was assumed wrongly, by cluster where rows belong together.
//
// What cannot be fitted is an error that says why, never a number that is not one: [RankError] where a column is a combination
// of others, [SeparationError] where the data push a coefficient to infinity, [ConvergenceError] where the steps do not
// settle, and a [thwart/engine/num.RangeError] for a bad input. Counts that vary no more than Poisson counts are no error:
// the θ of [FitNegBin] is then +Inf and the fit is the Poisson fit.
//
// The package holds no data and draws no numbers. Matrices are dense: it is for up to some hundred thousand rows and some
// dozen columns.
package glm
