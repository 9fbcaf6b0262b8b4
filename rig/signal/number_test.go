package signal_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

func TestRound(t *testing.T) {
	assert.Equal(t, 1.23456789, signal.Round(1.234567891, 9))
	assert.Equal(t, -0.00123, signal.Round(-0.001234, 3))
	assert.Equal(t, 1000.0, signal.Round(999.9999999999, 9))
	assert.False(t, math.Signbit(signal.Round(math.Copysign(0, -1), 9)))
	assert.True(t, math.IsNaN(signal.Round(math.NaN(), 9)))
	assert.True(t, math.IsInf(signal.Round(math.Inf(-1), 9), -1))
	assert.Equal(t, math.MaxFloat64, signal.Round(math.MaxFloat64, 2), "rounding up would overflow")
	rapid.Check(t, func(t *rapid.T) {
		x, digits := rapid.Float64().Draw(t, "x"), rapid.IntRange(1, 17).Draw(t, "digits")
		r := signal.Round(x, digits)
		assert.Equal(t, r, signal.Round(r, digits), "rounding again changes nothing")
		assert.Equal(t, -r, signal.Round(-x, digits))
		if x != 0 && math.Abs(x) > 1e-300 {
			assert.LessOrEqual(t, math.Abs(r/x-1), 5.1*math.Pow(10, -float64(digits)))
		}
	})
}

func TestDigits(t *testing.T) {
	for _, test := range []struct {
		x      float64
		digits int
		want   string
	}{
		{0.5, 3, "0.5"}, {1234.5, 3, "1230"}, {999.96, 4, "1000"}, {-0.001234, 2, "-0.0012"}, {math.Copysign(0, -1), 3, "0"},
		{1.26e-7, 2, "1.3e-07"}, {4e15, 3, "4e+15"}, {math.Inf(1), 3, "+Inf"}, {math.NaN(), 3, "NaN"},
	} {
		assert.Equal(t, test.want, signal.Digits(test.x, test.digits))
	}
}

func TestShort(t *testing.T) {
	for at, want := range map[signal.Time]string{
		0: "0 ms", 23: "23 ns", 4123: "4.12 us", 999_999: "1000 us", 400 * signal.Millisecond: "400 ms",
		1600 * signal.Millisecond: "1.6 s", -5 * signal.Microsecond: "-5 us", 4000 * signal.Second: "4000 s",
	} {
		assert.Equal(t, want, at.Short())
	}
}
