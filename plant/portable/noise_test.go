package portable

import (
	"hash/fnv"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestNoiseVectors has the first five numbers of SplitMix64 from state 1234567, as
// commonly quoted for S. Vigna's public-domain splitmix64.c; from memory.
func TestNoiseVectors(t *testing.T) {
	n := Noise{state: 1234567}
	for i, want := range []uint64{
		6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821,
	} {
		assert.Equal(t, want, n.Uint64(), "number %d", i)
	}
}

// TestNoiseStreams pins the numbers of named streams; the streams are this
// package's own, their hash is FNV-1a of the standard library.
func TestNoiseStreams(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed, name := rapid.Uint64().Draw(t, "seed"), rapid.String().Draw(t, "stream")
		h := fnv.New64a()
		h.Write([]byte(name))
		want := Noise{state: mix(mix(seed+golden) ^ h.Sum64())}
		require.Equal(t, want, NewNoise(seed, name))
	})
	n := NewNoise(1, "yaw_rate")
	var first [3]uint64
	for i := range first {
		first[i] = n.Uint64()
	}
	assert.Equal(t, [3]uint64{0xa41c1096c88b8c6f, 0xda7a6990ed9a3890, 0xd797d55ab130d589}, first, "%#x", first)
	assert.Equal(t, 0.3580475186710846, n.Norm())
}

// TestNoiseIndependent correlates neighbouring seeds and streams: of 10000 pairs,
// the correlation has a standard deviation of 0.01.
func TestNoiseIndependent(t *testing.T) {
	const count = 10_000
	streams := []Noise{NewNoise(1, "a"), NewNoise(2, "a"), NewNoise(1, "b"), NewNoise(0, ""), {}}
	for i := range streams {
		for j := range i {
			a, b := streams[i], streams[j]
			sum := 0.0
			for range count {
				sum += 12 * (a.Float64() - 0.5) * (b.Float64() - 0.5)
			}
			assert.InDelta(t, 0, sum/count, 0.045, "streams %d and %d", i, j)
		}
	}
}

// TestNoiseSuccessive correlates each number with the one before and the one before
// that: of a million, the correlation has a standard deviation of 0.001.
func TestNoiseSuccessive(t *testing.T) {
	const count = 1_000_000
	for name, draw := range map[string]func(*Noise) float64{
		"even":   func(n *Noise) float64 { return math.Sqrt(12) * (n.Float64() - 0.5) },
		"normal": (*Noise).Norm,
	} {
		n := NewNoise(10, name)
		var lag1, lag2 float64
		a, b := draw(&n), draw(&n)
		for range count {
			c := draw(&n)
			lag1 += b * c / count
			lag2 += a * c / count
			a, b = b, c
		}
		assert.InDelta(t, 0, lag1, 0.005, name)
		assert.InDelta(t, 0, lag2, 0.005, name)
	}
}

// TestMoments holds mean, variance, skewness and kurtosis to those of the even and
// the normal distribution, within five standard deviations of a sample's.
func TestMoments(t *testing.T) {
	const count = 1_000_000
	tests := []struct {
		name                 string
		draw                 func(*Noise) float64
		mean, variance, kurt float64
	}{
		{"even", (*Noise).Float64, 0.5, 1.0 / 12, 1.8},
		{"normal", (*Noise).Norm, 0, 1, 3},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := NewNoise(7, tt.name)
			var m [5]float64
			sd := math.Sqrt(tt.variance)
			for range count {
				x := (tt.draw(&n) - tt.mean) / sd
				p := x
				for k := 1; k < 5; k++ {
					m[k] += p / count
					p *= x
				}
			}
			// Standard deviations of a sample's moments are at most sqrt(E x^2k / count).
			assert.InDelta(t, 0, m[1], 5e-3, "mean")
			assert.InDelta(t, 1, m[2], 5*math.Sqrt2*1e-3, "variance")
			assert.InDelta(t, 0, m[3], 5*math.Sqrt(15)*1e-3, "skewness")
			assert.InDelta(t, tt.kurt, m[4], 5*math.Sqrt(96)*1e-3, "kurtosis")
		})
	}
}

// TestNormDistribution compares the shares beyond 1, 2 and 3 standard deviations with
// those of the normal distribution, 1 - erf(k/sqrt 2).
func TestNormDistribution(t *testing.T) {
	const count = 1_000_000
	n := NewNoise(8, "tails")
	var beyond [4]float64
	for range count {
		x := math.Abs(n.Norm())
		for k := 1; k < 4; k++ {
			if x > float64(k) {
				beyond[k]++
			}
		}
	}
	for k := 1; k < 4; k++ {
		p := math.Erfc(float64(k) / math.Sqrt2)
		assert.InDelta(t, p, beyond[k]/count, 5*math.Sqrt(p/count), "beyond %d", k)
	}
}

func TestNoiseRange(t *testing.T) {
	n := NewNoise(9, "range")
	for range 100_000 {
		x := n.Float64()
		require.True(t, x >= 0 && x < 1, "%v", x)
	}
}

func TestNoAllocations(t *testing.T) {
	x := [8]float64{-3, -2, -1, 0, 1, 2, 3, 4}
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		n := NewNoise(1, "stream")
		x[0] = n.Norm() + n.Float64() + Sin(x[1]*1e9) + Exp(x[2]) + Log(4) + Atan(x[3]/x[4]) + Tan(x[5])
		Atan8(&x)
		Sin8(&x)
	}))
}
