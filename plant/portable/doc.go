// Package portable has the elementary functions and the random numbers that
// the plant, the stimulus and the rig compute with. They give the same bits on
// every architecture, so that a run in virtual time is repeatable everywhere.
//
// The functions of the standard library's math differ in the last bit between
// architectures: some have assembly, and where the processor can multiply and
// add in one operation the compiler may fuse a product into a sum. Here, every
// product that is added or subtracted is rounded first, by an explicit float64
// conversion, which the language forbids to fuse. Sqrt, Abs, Floor, Mod and
// Copysign of math are exact everywhere and are used as they are.
//
// All functions are accurate to one unit in the last place. [Atan8] and [Sin8]
// work on eight values at once with the bits of [Atan] and [Sin]; they save the
// calls where many are due, as in the tyre model.
//
// [Noise] is a small generator of random numbers: a value, not a pointer to
// shared state, with a named stream for each place that draws.
//
// # Units and signs
//
// Angles are in radians. Special cases (infinities, NaN, signed zeros) are
// those of math.
//
// # Time
//
// Nothing here knows time.
//
// # Sources
//
// Sine, cosine, tangent, exponential and logarithm: polynomials of K. C. Ng and
// others, fdlibm (Sun Microsystems, 1993; freely distributable with this
// notice), e_exp.c, e_log.c, k_sin.c, k_cos.c, k_tan.c. Reduction of large
// angles: M. Payne and R. Hanek, "Radian reduction for trigonometric
// functions", SIGNUM Newsletter 18, 1983. Random numbers: G. Steele, D. Lea,
// C. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014;
// G. Marsaglia and T. A. Bray, "A convenient method for generating normal
// variables", SIAM Review 6, 1964.
package portable
