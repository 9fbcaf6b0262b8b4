package portable

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestBits folds the bits of many results of each function into one number that
// must be the same on every architecture and with every choice of instructions. The
// numbers are this package's own; they change only when a function is changed.
func TestBits(t *testing.T) {
	tests := []struct {
		name string
		f    func(float64) float64
		want uint64
	}{
		{"sin", Sin, 0x3664c5e2818e7dee},
		{"cos", cosine1, 0x1bda8564c4be53dd},
		{"tan", Tan, 0x530aa589b58bc987},
		{"atan", Atan, 0x7d6b463eb9a63c44},
		{"exp", Exp, 0x7b49089e90b05499},
		{"log", func(x float64) float64 { return Log(math.Abs(x)) }, 0xc2713f97107ce593},
		{"sin, large", func(x float64) float64 { return Sin(x * 0x1p300) }, 0xc82306c95aa6ca3e},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := NewNoise(1, "bits")
			var h uint64
			for range 50_000 {
				x := 40 * (n.Float64() - 0.5)
				h = mix(h ^ math.Float64bits(tt.f(x)))
			}
			assert.Equal(t, tt.want, h, "%#x", h)
		})
	}
}
