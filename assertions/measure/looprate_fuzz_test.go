package measure_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/measure"
)

// FuzzUpdatePeriod: whatever a wire brought, there is an answer or an error, and
// no number of it is none.
func FuzzUpdatePeriod(f *testing.F) {
	frames, _ := loop{period: 4e-3, output: 3e-3, step: 0.001, seconds: 2}.run(rand.New(rand.NewPCG(1, 1)))
	var seed []byte
	for _, a := range frames {
		seed = binary.LittleEndian.AppendUint16(seed, uint16(a.Value*1000))
		seed = binary.LittleEndian.AppendUint16(seed, 3000)
	}
	f.Add(seed, 0.001, 0.0, false)
	f.Add(seed, 0.02, 0.3, true)
	f.Add(make([]byte, 400), 0.001, 0.0, true)
	f.Add([]byte("a command that makes no sense"), 1e-300, 1e300, true)
	f.Fuzz(func(t *testing.T, data []byte, step, uncertainty float64, staircase bool) {
		in := played(2)
		in.Staircase = staircase
		var frames []measure.Answer
		at := 0.1
		for ; len(data) >= 4 && len(frames) < 300; data = data[4:] {
			at += float64(binary.LittleEndian.Uint16(data[2:])) * 1e-6
			v := float64(int16(binary.LittleEndian.Uint16(data))) / 1000
			if v == -32.768 {
				v = math.NaN()
			}
			frames = append(frames, measure.Answer{At: at, Value: v, Uncertainty: uncertainty})
		}
		u, err := measure.UpdatePeriod(in, frames, step)
		if err != nil {
			return
		}
		for _, x := range []float64{u.Period, u.Within.Low, u.Within.High, u.Lag} {
			assert.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%+v", u)
		}
		assert.LessOrEqual(t, u.Within.Low, u.Period)
		assert.GreaterOrEqual(t, u.Within.High, u.Period)
	})
}
