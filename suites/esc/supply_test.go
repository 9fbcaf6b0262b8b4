package esc_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/suites/demo"
	"hilrig/suites/esc"
	"hilrig/suites/record"
)

// What is declared of a supply at full throttle alone is enough for figures at constant voltage: their intervals hold
// the stand's truth in closed form, from which a supply that falls by a tenth bends the readings away.
func TestADeclaredFallGivesFiguresAtConstantVoltage(t *testing.T) {
	long(t)
	text := string(demo.NewStand("any").Data)
	for _, one := range []struct{ esc, drop string }{{"linear", "0.08 V"}, {"linear", "0.8 V"}, {"sharpened", "0.8 V"}} {
		t.Run(one.esc+" "+one.drop, func(t *testing.T) {
			for seed := uint64(1); seed <= fallSeeds; seed++ {
				s := &esc.Setup{Stand: parsed(t, edited(t, text, "sag_at_full: 0.08 V", "sag_at_full: "+one.drop)), ESC: one.esc, Seed: seed}
				out := run(t, s)
				require.Len(t, out.Sets, 2)
				for _, c := range out.Result.Suites[0].Cases {
					assert.NotEqual(t, record.Skipped, c.Verdict, c.Why)
				}
				x := over(out.Sets[1])
				y := truthOf(t, s, x, 60, true)
				f := figure(out, 1, characteristic.KeyIndependent)
				line, ok := measure.IndependentLine(x, y)
				require.True(t, ok)
				most := 0.0
				for i := range x {
					most = max(most, y[i]-line.Y(x[i]), line.Y(x[i])-y[i])
				}
				want := most / measure.RangeOf(y...).Width()
				assert.True(t, f.Low <= want && want <= f.High, "seed %d: %.5f is not in %.5f to %.5f", seed, want, f.Low, f.High)
				if strings.HasPrefix(one.drop, "0.8") && one.esc == "linear" {
					assert.Greater(t, figure(out, 0, characteristic.KeyIndependent).Low, f.High, "as measured it is distorted by the supply")
				}
			}
		})
	}
}

// Without drag the motor's current is not known, of which the fall at part throttle is made.
func TestADeclaredFallNeedsDrag(t *testing.T) {
	long(t)
	text := edited(t, string(demo.NewStand("any").Data), "coast: freewheels", "coast: brakes", "count: 21 # guessed: levels", "count: 11")
	out := run(t, &esc.Setup{Stand: parsed(t, text), Seed: 1})
	c := out.Result.Suites[0].Cases[1]
	assert.Equal(t, record.Skipped, c.Verdict)
	assert.Contains(t, c.Why, "drag, which takes a part of the current, is not known: the controller brakes at idle")
}
