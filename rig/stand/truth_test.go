package stand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func truthOf(t *testing.T, name string, change ...func(*Settings)) Truth {
	esc, ok := ESCNamed(name)
	require.True(t, ok, name)
	settings := Demo()
	for _, c := range change {
		c(&settings)
	}
	s, err := New(settings, esc)
	require.NoError(t, err)
	return s.Truth()
}

// Locked, an even controller gives half torque at half throttle; at a held speed it does not
// (common practice, no source).
func TestHalfThrottleIsHalfTorqueOnlyLocked(t *testing.T) {
	truth := truthOf(t, "linear", func(s *Settings) { s.Pack.Resistance = 0 })
	share := func(speed float64) float64 { return truth.Torque(0.5, speed, Up) / truth.Torque(1, speed, Up) }
	assert.InDelta(t, 0.5, share(0), 1e-12)
	// CALC: (V/2 - K w) / (V - K w) = (3.7 - 2.46) / (7.4 - 2.46) at 200 rad/s.
	assert.InDelta(t, 1.24/4.94, share(200), 1e-12)
}

// Each controller but the even one differs from it by its own figure.
func TestEachDefectShowsInTruth(t *testing.T) {
	even := truthOf(t, "linear")
	duty := func(name string, command float64, from Direction) float64 {
		return truthOf(t, name).Duty(command, from)
	}
	for _, level := range []float64{0.05, 0.1, 0.5, 0.6, 0.95, 1} {
		assert.InDelta(t, level, even.Duty(level, Up), 1e-12)
		assert.InDelta(t, level, even.Duty(level, Down), 1e-12)
	}
	assert.Zero(t, even.Duty(0.014, Up), "below the start threshold")

	slope := func(name string, from, to float64) float64 {
		return (duty(name, to, Up) - duty(name, from, Up)) / (to - from)
	}
	assert.Greater(t, slope("sharpened", 0.02, 0.1)/slope("sharpened", 0.1, 1), 1.5)
	assert.InDelta(t, 1, duty("sharpened", 1, Up), 1e-12)
	assert.InDelta(t, 0.03, duty("hysteresis", 0.5, Down)-duty("hysteresis", 0.5, Up), 1e-3)
	assert.InDelta(t, 1, duty("saturating", 0.8, Up), 1e-12)
	assert.InDelta(t, 0.5/0.8, duty("saturating", 0.5, Up), 1e-3)
	assert.Equal(t, duty("coarse", 0.5, Up), duty("coarse", 0.51, Up))
	assert.InDelta(t, 0.08, duty("jumping", 0.6, Up)-0.6, 1e-12)
	assert.Greater(t, duty("jumping", 0.6, Up), duty("jumping", 0.65, Up), "not monotone")
	assert.InDelta(t, 0.65, duty("jumping", 0.65, Up), 1e-12)
	assert.Negative(t, duty("reversing_at_idle", 0, Down))
	assert.Zero(t, even.Duty(0, Down))
}

// What turns back by less than the dead band is not followed, and all of what turns back by more.
func TestADeadBandIsOfReversalsAlone(t *testing.T) {
	esc, _ := ESCNamed("wide_dead_band")
	esc = esc.withDefaults()
	m := throttleMap{esc: &esc, ahead: 1}
	for _, tt := range []struct{ command, duty float64 }{
		{0.5, 0.5}, {0.51, 0.51}, {0.50, 0.51}, {0.49, 0.51}, {0.47, 0.47}, {0.46, 0.46}, {0.48, 0.46}, {0.5, 0.5},
	} {
		assert.InDelta(t, tt.duty, m.follow(tt.command), 1e-9, "at %g", tt.command)
	}
}

// Sag, with every watt of the pack in the winding: V_pack I_pack = V_winding I_winding.
func TestThePackGivesWhatTheWindingTakes(t *testing.T) {
	for _, change := range []func(*Settings){
		func(*Settings) {},
		func(s *Settings) { s.Pack.Resistance = 0.1 },
		func(s *Settings) { s.Pack.CurrentLimit = 5 },
	} {
		truth := truthOf(t, "linear", change)
		for _, level := range []float64{0.1, 0.4, 0.7, 1} {
			for _, speed := range []float64{0, 24, 200} {
				current := truth.Current(level, speed, Up)
				if current == 0 {
					continue
				}
				voltage, supply := truth.Supply(level, speed, Up)
				m := truth.motor
				across := m.Resistance*current + m.TorqueConstant*speed
				assert.InEpsilon(t, across*current, voltage*supply, 1e-9, "%g at %g rad/s", level, speed)
				assert.InEpsilon(t, level*current, supply, 1e-9, "the winding takes the pack's current over the duty")
				assert.LessOrEqual(t, voltage, 7.4)
				if limit := truth.circuit.supply; limit > 0 {
					assert.LessOrEqual(t, supply, limit)
				}
				// Ohm's law with the pack's voltage kept.
				want := m.TorqueConstant * (7.4*level - m.TorqueConstant*speed) / m.Resistance
				assert.InEpsilon(t, want, truth.ConstantTorque(level, speed, Up), 1e-9)
			}
		}
	}
}

func TestALimitOfCurrentHolds(t *testing.T) {
	settings := Demo()
	settings.Pack.Resistance = 0.05
	esc, _ := ESCNamed("linear")
	esc.CurrentLimit = 10
	s, err := New(settings, esc)
	require.NoError(t, err)
	truth := s.Truth()
	assert.InDelta(t, 10, truth.Current(1, 0, Up), 1e-12)
	voltage, supply := truth.Supply(1, 0, Up)
	assert.InDelta(t, 0.25*10*10, voltage*supply, 1e-9)
	assert.InDelta(t, 7.4-0.05*supply, voltage, 1e-12)
	assert.Less(t, math.Abs(truth.Current(0.3, 100, Up)), 10.0)
}

// What 5 % of throttle just reaches, and what coasts down in a few seconds.
func TestTheDemoStandReachesItsLowestSpeed(t *testing.T) {
	truth := truthOf(t, "linear")
	assert.Positive(t, truth.Acceleration(0.05, 24*1.03, Up))
	assert.Negative(t, truth.Acceleration(0.04, 24, Up))
	coast := 24 / (truth.Drag(24) / truth.inertia)
	assert.True(t, coast > 2 && coast < 8, "coasts for %g s", coast)
}

func TestNamesOfControllers(t *testing.T) {
	assert.Equal(t, []string{
		"linear", "sharpened", "wide_dead_band", "hysteresis", "saturating", "coarse", "drifting",
		"dropping_telemetry", "jumping", "reversing_at_idle",
	}, ESCs())
	_, ok := ESCNamed("none")
	assert.False(t, ok)
}
