package circuit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// The values against sums done by hand with the laws of Ohm and of a capacitor over a resistor.
func TestTheValuesOfAnAssumedSupply(t *testing.T) {
	v := Work(Supply{})
	assert.True(t, v.Assumed)
	assert.InDelta(t, 25.2, v.Pack, 0)
	assert.InDelta(t, 2400, v.SenseSeries, 0, "24 V at 10 mA, E24")
	assert.InDelta(t, 0.95*(2400+2200)/2200, v.SenseOff, 1e-9)
	assert.InDelta(t, 1.2+2400*(0.001+1.2/2200), v.SenseOn, 1e-9)
	assert.InDelta(t, 130, v.Bleed, 0, "2 s / (1.5 x 4 mF x ln(25.2/1.986)) = 131 ohm")
	assert.InDelta(t, 25.2*25.2/130, v.BleedPower, 1e-9)
	assert.InDelta(t, 1.982, v.Falls.Seconds(), 0.001)
	assert.InDelta(t, 10, v.PreCharge, 0)
	assert.InDelta(t, 1, v.Delay, 0)
	assert.InDelta(t, 63.5, v.PreChargeEnergy, 0.1)
	assert.InDelta(t, 25.2*10/140, v.Left, 1e-9)
	assert.InDelta(t, 25.2*10/140/0.02, v.Inrush, 1e-6)
}

// Whatever is declared: the bleed empties the controllers within 2 s, the pre-charge is over before the
// contactors close, the sense can tell a discharged pack from none.
func TestTheValuesOfAnySupply(t *testing.T) {
	for _, pack := range []float64{6, 8.4, 12.6, 25.2, 33.6, 50.4, 60} {
		for _, c := range []float64{100e-6, 1e-3, 4e-3, 20e-3} {
			v := Work(Supply{Pack: pack, Capacitance: c})
			assert.LessOrEqual(t, v.Falls, 2*signal.Second)
			assert.Greater(t, v.Falls, 1500*signal.Millisecond, "the next value of E24 below is not far")
			left := v.Pack * math.Exp(-v.Falls.Seconds()/margin/(v.Bleed*c))
			assert.InDelta(t, v.SenseOff, left, 1e-6)
			assert.GreaterOrEqual(t, v.Delay, 5*v.PreCharge*c)
			assert.LessOrEqual(t, v.Left, v.Pack/10)
			assert.Less(t, v.SenseOff, 0.3*pack)
			assert.Less(t, v.SenseOn, 0.65*pack, "two thirds of full is an empty pack")
			assert.LessOrEqual(t, (pack-diodeLit)/v.SenseSeries, senseCurrent+1e-12)
		}
	}
	v := Work(Supply{Pack: 25.2, Capacitance: 4e-3, Bleed: 470})
	assert.InDelta(t, 470, v.Bleed, 0, "what is declared stays")
	assert.Greater(t, v.Falls, 7*signal.Second)
}

// IEC 60063, from memory.
func TestE24(t *testing.T) {
	for _, tt := range []struct{ x, below, above float64 }{
		{100, 100, 100}, {101, 100, 110}, {0.95, 0.91, 1.0}, {9.2e3, 9.1e3, 10e3}, {4.7, 4.7, 4.7}, {236e3, 220e3, 240e3}, {1e-3, 1e-3, 1e-3},
	} {
		assert.InEpsilon(t, tt.below, E24(tt.x, false), 1e-9, "%v", tt.x)
		assert.InEpsilon(t, tt.above, E24(tt.x, true), 1e-9, "%v", tt.x)
	}
}

// 50 ms by each sheet's own constant: more than twice the 20 ms that the program may pause by its own
// rules, and even with 20 % less.
func TestEveryMonostableHoldsFor50ms(t *testing.T) {
	for _, m := range Monostables() {
		assert.InDelta(t, 0.050, m.Holds(), 0.003, m.Family)
		assert.Greater(t, 0.8*m.Holds(), 0.036, m.Family)
		assert.NotEmpty(t, m.Source)
	}
	assert.InDelta(t, 240e3, Monostables()[0].R, 1)
	wrong := Monostables()[0]
	wrong.K = 1
	assert.Greater(t, wrong.Holds(), 0.1, "the values of one family are wrong for another")
}

// The current of a coil that drops against a Zener diode ends in a fifth of the time.
func TestAZenerDiodeLetsGoSooner(t *testing.T) {
	assert.InDelta(t, math.Log(1+12/0.7), Release(12, 0), 1e-12)
	assert.InDelta(t, 0.568, Release(12, 15), 0.001)
}
