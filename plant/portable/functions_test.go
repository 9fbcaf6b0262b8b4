package portable

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// function is one function with its counterpart in math and in full precision, and
// how its inputs are drawn.
type function struct {
	name    string
	f, math func(float64) float64
	precise func(float64) *big.Float
	draw    func(*rand.Rand) float64
}

func spread(limit float64) func(*rand.Rand) float64 {
	return func(r *rand.Rand) float64 { return (2*r.Float64() - 1) * limit }
}

// decades draws a number of either sign, evenly in its logarithm.
func decades(low, high float64) func(*rand.Rand) float64 {
	return func(r *rand.Rand) float64 {
		x := math.Exp(math.Log(low) + r.Float64()*(math.Log(high)-math.Log(low)))
		if r.Uint64()&1 == 0 {
			return -x
		}
		return x
	}
}

func positive(draw func(*rand.Rand) float64) func(*rand.Rand) float64 {
	return func(r *rand.Rand) float64 { return math.Abs(draw(r)) }
}

// cosine1 is the cosine of one value.
func cosine1(x float64) float64 {
	_, c := SinCos(x)
	return c
}

var functions = []function{
	{"sin", Sin, math.Sin, preciseSin, spread(10)},
	{"sin, small", Sin, math.Sin, preciseSin, decades(1e-12, 1)},
	{"sin, many turns", Sin, math.Sin, preciseSin, spread(1e7)},
	{"sin, large", Sin, math.Sin, preciseSin, decades(1e6, 1e300)},
	{"cos", cosine1, math.Cos, preciseCos, spread(10)},
	{"cos, large", cosine1, math.Cos, preciseCos, decades(1e6, 1e300)},
	{"tan", Tan, math.Tan, preciseTan, spread(10)},
	{"tan, large", Tan, math.Tan, preciseTan, decades(1e6, 1e300)},
	{"atan", Atan, math.Atan, preciseAtan, decades(1e-9, 1e9)},
	{"atan, middle", Atan, math.Atan, preciseAtan, spread(3)},
	{"exp", Exp, math.Exp, preciseExp, spread(700)},
	{"exp, small", Exp, math.Exp, preciseExp, spread(1)},
	{"log", Log, math.Log, preciseLog, positive(decades(1e-300, 1e300))},
	{"log, near 1", Log, math.Log, preciseLog, func(r *rand.Rand) float64 { return 0.9 + 0.2*r.Float64() }},
}

// TestAgainstMath holds each function to one unit in the last place on a million
// inputs. Where math differs by more than a unit, the value in full precision
// decides, because math itself is off for large angles and some tangents.
func TestAgainstMath(t *testing.T) {
	count := 1_000_000
	if testing.Short() || underRace {
		count = 20_000
	}
	for _, fn := range functions {
		t.Run(fn.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(1, 2))
			decided := 0
			for range count {
				x := fn.draw(r)
				got, want := fn.f(x), fn.math(x)
				if got == want || math.Nextafter(got, want) == want {
					continue
				}
				if decided++; decided > 100 {
					continue // large angles: enough of them decided
				}
				if d := off(got, fn.precise(x)); d > 1 {
					require.Failf(t, "more than one unit off", "%s(%v) = %v, off by %.3f units", fn.name, x, got, d)
				}
			}
		})
	}
}

// TestAgainstPrecise holds each function to one unit in the last place of the value
// in full precision.
func TestAgainstPrecise(t *testing.T) {
	count := 1000
	if testing.Short() || underRace {
		count = 100
	}
	for _, fn := range functions {
		t.Run(fn.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(3, 4))
			worst := 0.0
			for range count {
				x := fn.draw(r)
				d := off(fn.f(x), fn.precise(x))
				require.LessOrEqual(t, d, 1.0, "%s(%v)", fn.name, x)
				worst = max(worst, d)
			}
			t.Logf("worst %.3f units", worst)
		})
	}
}

// TestHardAngles has the float64 that lies nearest to a multiple of pi/2, relative to
// the multiple (J.-M. Muller, Elementary Functions, 2nd ed. 2006, section 9.4, from
// memory), and others that reduce badly.
func TestHardAngles(t *testing.T) {
	for _, x := range []float64{
		math.Ldexp(6381956970095103, 797), math.Pi, math.Pi / 2, 3 * math.Pi / 2, 355, 1e22,
		math.MaxFloat64, 0x1p20 * math.Pi / 2, 0x1p19*math.Pi/2 + 1e-9, 5.319372648326541e+255,
		413441.44719405076, 826882.8943881015, 321307.9594422229, 1285231.8377688916, 871790.3905748408, // worst below 2^20 quarter turns
		math.Nextafter(math.Pi/4, 1), math.Pi / 4, math.Nextafter(math.Pi/4, 0), math.Pi / 4 * 3,
	} {
		s, c := preciseSinCos(x)
		for _, sign := range []float64{1, -1} {
			assert.LessOrEqual(t, off(sign*Sin(sign*x), s), 1.0, "sin(%v)", sign*x)
			assert.LessOrEqual(t, off(cosine1(sign*x), c), 1.0, "cos(%v)", sign*x)
			assert.LessOrEqual(t, off(sign*Tan(sign*x), preciseTan(x)), 1.0, "tan(%v)", sign*x)
		}
	}
}

// TestPublished has values from the tables of M. Abramowitz and I. Stegun,
// Handbook of Mathematical Functions, 1964: 4.6 sine and cosine, 4.4 exponential, 4.2
// logarithm; digits from memory.
func TestPublished(t *testing.T) {
	tests := []struct {
		name string
		got  float64
		want string
	}{
		{"sin 1", Sin(1), "0.84147 09848 07896 50665"},
		{"cos 1", cosine1(1), "0.54030 23058 68139 71740"},
		{"e", Exp(1), "2.71828 18284 59045 23536"},
		{"ln 2", Log(2), "0.69314 71805 59945 30942"},
		{"ln 10", Log(10), "2.30258 50929 94045 68402"},
		{"pi/4", Atan(1), "0.78539 81633 97448 30962"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.LessOrEqual(t, off(tt.got, digitsOf(tt.want)), 1.0)
		})
	}
}

// TestSpecial holds infinities, NaN, zeros and extremes to those of math.
func TestSpecial(t *testing.T) {
	values := []float64{0, math.Copysign(0, -1), 1, -1, math.Inf(1), math.Inf(-1), math.NaN(),
		710, -746, -740, 1e-30, -1e-3}
	for _, fn := range []function{
		{name: "sin", f: Sin, math: math.Sin}, {name: "cos", f: cosine1, math: math.Cos}, {name: "tan", f: Tan, math: math.Tan},
		{name: "atan", f: Atan, math: math.Atan}, {name: "exp", f: Exp, math: math.Exp}, {name: "log", f: Log, math: math.Log},
	} {
		for _, x := range values {
			same(t, fn.math(x), fn.f(x), "%s(%v)", fn.name, x)
		}
	}
}

// TestSubnormal has what math itself gets wrong on some architectures.
func TestSubnormal(t *testing.T) {
	for _, x := range []float64{math.SmallestNonzeroFloat64, 5e-310, 0x1p-1022, 1e-307} {
		assert.LessOrEqual(t, off(Log(x), preciseLog(x)), 1.0, "log(%v)", x)
		assert.Equal(t, x, Sin(x))
		assert.Equal(t, x, Tan(x))
		assert.Equal(t, x, Atan(x))
	}
	assert.LessOrEqual(t, off(Exp(-700), preciseExp(-700)), 1.0)
	assert.Equal(t, math.SmallestNonzeroFloat64, Exp(-745))
}

// same requires two values within one unit in the last place, the sign of zero
// included.
func same(t *testing.T, want, got float64, msg string, args ...any) {
	t.Helper()
	if math.IsNaN(want) {
		assert.True(t, math.IsNaN(got), append([]any{msg}, args...)...)
		return
	}
	ok := got == want && math.Signbit(got) == math.Signbit(want) || math.Nextafter(got, want) == want && want != 0
	if !ok {
		assert.Failf(t, "differs from math", msg+": got %v, want %v", append(args, got, want)...)
	}
}

// TestTogether holds the functions on several values to the bits of those on one.
func TestTogether(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, draw := range []func(*rand.Rand) float64{spread(10), spread(1), decades(1e-300, 1e300)} {
		for range 10_000 {
			var x [8]float64
			for i := range x {
				x[i] = draw(r)
			}
			x[r.IntN(8)] = []float64{0, math.Inf(1), math.NaN(), 1}[r.IntN(4)]
			a, s := x, x
			Atan8(&a)
			Sin8(&s)
			for i, v := range x {
				require.Equal(t, math.Float64bits(Atan(v)), math.Float64bits(a[i]), "atan %v", v)
				require.Equal(t, math.Float64bits(Sin(v)), math.Float64bits(s[i]), "sin %v", v)
			}
			sin, _ := SinCos(x[0])
			require.Equal(t, math.Float64bits(Sin(x[0])), math.Float64bits(sin))
		}
	}
}
