/* Sine and arc tangent with the bits of plant/portable. Compile without
   contraction: gcc -O2 -ffp-contract=off. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "arctangent_table.h"

#define S1 -1.66666666666666324348e-01
#define S2 8.33333333332248946124e-03
#define S3 -1.98412698298579493134e-04
#define S4 2.75573137070700676789e-06
#define S5 -2.50507602534068634195e-08
#define S6 1.58969099521155010221e-10

#define C1 4.16666666666666019037e-02
#define C2 -1.38888888888741095749e-03
#define C3 2.48015872894767294178e-05
#define C4 -2.75573143513906633035e-07
#define C5 2.08757232129817482790e-09
#define C6 -1.13596475577881948265e-11

#define A1 (-1.0 / 3)
#define A2 (1.0 / 5)
#define A3 (-1.0 / 7)
#define A4 (1.0 / 9)
#define A5 (-1.0 / 11)

#define QUARTER_PI 0x1.921fb54442d18p-1
#define TWO_OVER_PI 0x1.45f306dc9c883p-1
#define HALF_PI1 0x1.921fb54400000p+0
#define HALF_PI2 0x1.0b4611a600000p-34
#define HALF_PI2_TAIL 0x1.3198a2e037073p-69
#define HALF_PI_HI 0x1.921fb54442d18p+0
#define HALF_PI_LO 0x1.1a62633145c07p-54
#define ROUND_SHIFT 0x1.8p52

static inline uint64_t bits_of(double x)
{
	uint64_t b;
	memcpy(&b, &x, sizeof b);
	return b;
}

static inline double of_bits(uint64_t b)
{
	double x;
	memcpy(&x, &b, sizeof x);
	return x;
}

static inline double sine(double x, double y)
{
	double z = x * x, v = z * x;
	double r = S2 + z * (S3 + z * (S4 + z * (S5 + z * S6)));
	return x - ((z * (0.5 * y - v * r) - y) - v * S1);
}

static inline double cosine(double x, double y)
{
	double z = x * x;
	double r = z * (C1 + z * (C2 + z * (C3 + z * (C4 + z * (C5 + z * C6)))));
	double h = 0.5 * z, w = 1 - h;
	return w + (((1 - w) - h) + (z * r - x * y));
}

/* Up to 2^20 quarter turns, which is beyond any angle of the model. */
static inline int64_t reduce(double x, double *r, double *t)
{
	double n = x * TWO_OVER_PI + ROUND_SHIFT - ROUND_SHIFT;
	double u = x - n * HALF_PI1, w = n * HALF_PI2, v = u - w;
	w = n * HALF_PI2_TAIL - ((u - v) - w);
	*r = v - w;
	*t = (v - *r) - w;
	return (int64_t)n;
}

static void sin_cos(double x, double *sin, double *cos)
{
	double r = x, t = 0;
	int64_t q = 0;
	if (fabs(x) > QUARTER_PI)
		q = reduce(x, &r, &t);
	double s = sine(r, t), c = cosine(r, t);
	if (q & 1) {
		double swap = s;
		s = c;
		c = swap;
	}
	*sin = q & 2 ? -s : s;
	*cos = (q + 1) & 2 ? -c : c;
}

static void sin8(double x[8])
{
	for (int i = 0; i < 8; i++) {
		double a = x[i], t = 0;
		int64_t q = 0;
		if (fabs(a) > QUARTER_PI)
			q = reduce(a, &a, &t);
		a = q & 1 ? cosine(a, t) : sine(a, t);
		x[i] = q & 2 ? -a : a;
	}
}

static void atan8(double x[8])
{
	for (int i = 0; i < 8; i++) {
		uint64_t b = bits_of(x[i]), sign = b & (UINT64_C(1) << 63);
		b &= ~(UINT64_C(1) << 63);
		double t = of_bits(b), hi = 0, lo = 0;
		uint64_t k = (b >> 49) - (UINT64_C(0x3fa0000000000000) >> 49);
		if (k < 80) {
			double c = of_bits(b >> 49 << 49 | UINT64_C(1) << 48);
			hi = arctangents[k][0];
			lo = arctangents[k][1];
			t = (t - c) / (1 + t * c);
		} else if (t >= 32) {
			hi = HALF_PI_HI;
			lo = HALF_PI_LO;
			t = -1 / t;
		}
		double z = t * t;
		double p = z * (A1 + z * (A2 + z * (A3 + z * (A4 + z * A5))));
		double a = hi + (t + (lo + t * p));
		x[i] = of_bits(bits_of(a) | sign);
	}
}
