// Package traffic estimates how many craft pass from each water to each other in a season, from the craft that were met and
// how much of the season somebody was there to meet them.
//
// The model is a gravity model for counts. Of the λ passages from water i to water j ≠ i in a season,
//
//	log λ_ij = b0 + α log O_i + β log A_j − γ log d_ij
//
// with O what sends craft, A what draws them (areas in hectares, or craft kept there), d the road in kilometres, the share e_j
// of arrivals at j could have been met. Counts are negative binomial with mean e_j·λ_ij and dispersion θ. The share enters as
// an offset, never as a covariate; a water that nobody staffed has no counts at all, not counts of zero; and at a staffed
// water every pair without a record is a count of zero that the fit uses (Potapov et al. 2011, Ecol. Modelling 222:964-972,
// for stochastic gravity models fitted by likelihood).
//
// Craft that go back to the water they left have a model of their own, log λ_jj = r0 + ρ log A_j. Waters outside the region
// send craft and receive none.
//
// [Fit] works from the records that are not zero and sums everything else over all pairs block by block: its cost is that of
// waters², its memory that of the records and one row of distances per worker, beside whatever the distances themselves are
// kept in. The information matrix gives standard errors; [Estimate.Bootstrap] repeats the whole on counts drawn from the fit.
// [Estimate.Flow] predicts, for unstaffed waters too.
//
// The package holds no data, and knows nothing of organisms.
package traffic
