// Package measure is the numerics of the checks: what a series of readings
// says about a quantity, with what uncertainty, and what that decides.
//
// [Describe] sums a series up: mean, sample deviation and lag-1
// autocorrelation, stable against cancellation. [MeanOf] turns a series into
// an [Estimate] of its mean. An estimate keeps two standard uncertainties
// apart: Statistical falls as more samples are taken (Type A of the GUM), Systematic
// does not (Type B: resolution, what the sampler left open); [MeanOfSteps] estimates
// the mean of values that are read in steps. [Combine]
// propagates estimates through a linear or linearised model. An estimate's
// [Interval] holds the quantity with a confidence of 95.45 %, and
// [Interval.Against] decides with a guard band whether the quantity keeps a
// limit. [Quantile] and [QuantileInterval] do the same for quantiles, from
// order statistics alone. [LineOf] finds where a quantity passes through
// nothing, [ShareOf] how large a share of a series is as it should be,
// [MeanOfRepeats] and [Improvement] what repeated drives come to, and [StepResponseOf] how a
// response to a step goes. A [Fitter] finds the angular acceleration of a shaft from the times of its
// encoder's edges, and how it answers a step, by [PolynomialOf] and least squares.
// [IndependentLine], [TerminalLine] and [ZeroBasedLine] are the straight
// lines that linearity is taken from, [Isotonic] the closest values that rise, and [Relative.Bound]
// says by Monte Carlo what a largest deviation comes to.
//
// # Units and signs
//
// The package knows no units: results are in the unit of what was passed.
//
// # Autocorrelation
//
// Successive frames of a motor command are not independent: the board filters
// its sensors. A first-order autoregressive series of n values with lag-1
// coefficient r carries as much about its mean as
//
//	n_eff = n (1 - r)/(1 + r)
//
// independent ones, and about its variance as n (1 - r^2)/(1 + r^2). Both are
// kept within 1 and n: a negative coefficient is not trusted to make the
// series better than independent. The sample's coefficient is low by about
// (1 + 4 r)/n, which is added before it is used, and with it, where it is positive, r times
// its own deviation sqrt((1 - r^2)/n). Where the correlation at lag 2 is below r^2, as of
// commands that are each sent several times, the correlations are taken to fall by their own
// ratio from there, so that n_eff = n/(1 + 2 r/(1 - ratio)). By simulation, intervals of
// nominally 95.45 % then hold the mean in 92 % of cases or more, up to r = 0.9.
//
// # Sources
//
// JCGM 100:2008 (GUM), clauses 4.2, 4.3.7, 5.1.2, F.2.2.1, G.4 and G.6.
// JCGM 101:2008 (GUM supplement 1), propagation of distributions by Monte Carlo.
// JCGM 106:2012, clause 8, guard bands.
// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12 and 7.2.6.2.
// G. V. Bayley, J. M. Hammersley, The "effective" number of independent
// observations in an autocorrelated time series, J. R. Stat. Soc. Suppl. 8
// (1946): the effective numbers.
// F. H. C. Marriott, J. A. Pope, Bias in the estimation of autocorrelations,
// Biometrika 41 (1954): the bias of the coefficient.
package measure
