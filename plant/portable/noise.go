package portable

import "math"

// Noise is one stream of random numbers. The zero value is the stream of state
// 0; [NewNoise] makes streams that do not resemble each other. A copy goes on
// where the original stands. It is not for secrets, and one value is not for
// several goroutines.
type Noise struct {
	state  uint64
	spare  float64 // the second number of a pair of normal ones
	spared bool
}

// NewNoise returns the stream of that name under the seed: the same numbers for
// the same pair, on every machine.
func NewNoise(seed uint64, stream string) Noise {
	h := uint64(14695981039346656037) // FNV-1a, 64 bits
	for i := range len(stream) {
		h = (h ^ uint64(stream[i])) * 1099511628211
	}
	return Noise{state: mix(mix(seed+golden) ^ h)}
}

const golden = 0x9e3779b97f4a7c15 // 2^64 over the golden ratio, odd

// mix spreads every bit of z over all bits (SplitMix64's finalizer).
func mix(z uint64) uint64 {
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Uint64 returns 64 random bits.
func (n *Noise) Uint64() uint64 {
	n.state += golden
	return mix(n.state)
}

// Float64 returns a number evenly spread over 0 (included) to 1 (excluded), a
// multiple of 2^-53.
func (n *Noise) Float64() float64 {
	return float64(n.Uint64()>>11) * 0x1p-53
}

// Norm returns a normal number of mean 0 and standard deviation 1, by the polar
// method.
func (n *Noise) Norm() float64 {
	if n.spared {
		n.spared = false
		return n.spare
	}
	for {
		// Odd multiples of 2^-53 in -1..1: never 0, and symmetric.
		x := float64(int64(n.Uint64())>>11|1) * 0x1p-52
		y := float64(int64(n.Uint64())>>11|1) * 0x1p-52
		s := float64(x*x) + float64(y*y)
		if s >= 1 {
			continue
		}
		f := math.Sqrt(-2 * Log(s) / s)
		n.spare, n.spared = y*f, true
		return x * f
	}
}
