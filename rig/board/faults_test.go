package board_test

import (
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// faultCase measures one number that a seeded fault changes.
type faultCase struct {
	change  func(s *board.Settings)
	measure func(w *world) float64
	healthy float64
	faulty  float64
	within  float64
}

// onDemand is the yaw rate in deg/s demanded at 4 m/s and 8 degrees.
var onDemand = demand(4, 8)

// understeer holds 30 deg/s of understeer to the left, which raises rear right
// and lowers front left by 4 %.
func understeer(w *world) [4]float64 { return hold(w, 8, onDemand-30) }

// oversteer holds 30 deg/s of oversteer to the left, which raises front right
// and lowers rear right by 4 %.
func oversteer(w *world) [4]float64 { return hold(w, 8, onDemand+30) }

// after goes on for a time and returns a motor's share at its end.
func after(w *world, length signal.Time, motor int) float64 {
	w.run(length)
	return w.last()[motor]
}

// changesOfASlowThrottle counts the changes of a command while the throttle rises for 1.6 s.
func changesOfASlowThrottle(w *world) (changes float64) {
	w.run(200 * ms)
	begun := len(w.pulses[fl])
	for i := range 160 {
		w.throttleTo(0.2 + float64(i)/500)
		w.run(10 * ms)
	}
	for i, p := range w.pulses[fl][begun:] {
		if p.share() != w.pulses[fl][begun+i-1].share() {
			changes++
		}
	}
	return changes
}

var faultCases = map[string]faultCase{
	"checksum_unchecked": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.badChecksum, w.yaw = true, onDemand-30
		return after(w, 50*ms, rr)
	}, 0.4, 0.44, 0.003},
	"coarse_command": {nil, func(w *world) float64 {
		w.throttleTo(0.419)
		w.run(200 * ms)
		return w.mean()[fl]
	}, 0.419, 0.40, 0.001},
	"degrees_for_radians": {nil, func(w *world) float64 { return hold(w, 8, onDemand)[rr] }, 0, 0.52, 0.003},
	"drives_at_once": {nil, func(w *world) float64 {
		w.yawLost = true
		w.throttleTo(0.4)
		return after(w, 400*ms, fl)
	}, 0, 0.4, 0.001},
	"encoder_dead": {nil, func(w *world) float64 { return hold(w, 8, onDemand)[fr] },
		0, 0.08 * (onDemand - demand(3, 8)) / 60, 0.003},
	"encoder_loss_unnoticed": {nil, func(w *world) float64 {
		w.encoderLost[fl] = true
		return hold(w, 8, demand(3, 8)-30)[rr]
	}, 0, 0.04, 0.003},
	"frozen_believed": {nil, func(w *world) float64 {
		w.noise = 0
		return understeer(w)[rr]
	}, 0, 0.04, 0.003},
	"gain_ignored": {nil, func(w *world) float64 {
		w.gain = 1000 * us
		return understeer(w)[rr]
	}, 0, 0.04, 0.003},
	"left_right":     {nil, func(w *world) float64 { return understeer(w)[rl] }, 0, 0.04, 0.003},
	"motors_unequal": {nil, func(w *world) float64 { return hold(w, 8, onDemand)[fr] }, 0, -0.02, 0.003},
	"never_recovers": {nil, func(w *world) float64 {
		understeer(w)
		w.yawLost = true
		w.run(200 * ms)
		w.yawLost = false
		return after(w, 200*ms, rr)
	}, 0.44, 0.4, 0.003},
	"no_cap": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.throttleTo(1)
		return after(w, 100*ms, rl)
	}, 0.92, 1, 0.0001},
	"no_standstill": {nil, func(w *world) float64 {
		w.throttleTo(0.4)
		w.yaw = 30
		return after(w, 400*ms, fr)
	}, 0.4, 0.44, 0.003},
	"one_branch": {nil, func(w *world) float64 { return oversteer(w)[fr] }, 0.04, 0, 0.003},
	"opposite_understeer": {nil, func(w *world) float64 { return hold(w, 2, -30)[rr] },
		-0.08 * (demand(4, 2) + 30) / 60, 0.08 * (demand(4, 2) + 30) / 60, 0.003},
	"outputs_staggered": {nil, func(w *world) float64 {
		w.run(100 * ms)
		return (w.pulses[rr][20].start - w.pulses[fl][20].start).Seconds()
	}, 0, 900e-6, 1e-9},
	"oversteer_pair": {nil, func(w *world) float64 { return oversteer(w)[fr] }, 0.04, -0.04, 0.003},
	"partner_stays": {nil, func(w *world) float64 {
		understeer(w)
		w.throttleTo(0.95)
		return after(w, 100*ms, fl)
	}, 0.88, 0.92, 0.003},
	"reverse_shifts": {nil, func(w *world) float64 {
		w.straight(-4)
		w.throttleTo(0.4)
		w.steerTo(8)
		w.yaw = -onDemand + 30
		return after(w, 400*ms, rr)
	}, 0.4, 0.44, 0.003},
	"slow_filter": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.yaw = onDemand - 30
		return after(w, 40*ms, rr)
	}, 0.44, 0.415, 0.008},
	"slow_loop": {func(s *board.Settings) { s.LoopPeriod = 40 * ms }, changesOfASlowThrottle, 40, 20, 1},
	"spike_believed": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		begun := len(w.pulses[fr])
		w.yaw += 400
		w.run(5 * ms)
		w.yaw -= 400
		w.run(50 * ms)
		most := 0.0
		for _, p := range w.pulses[fr][begun:] {
			most = max(most, p.share())
		}
		return most
	}, 0.4, 0.92, 0.003},
	"steer_held": {nil, func(w *world) float64 {
		understeer(w)
		w.steer = 0
		return after(w, 200*ms, rr)
	}, 0.4, 0.44, 0.003},
	"steer_sign": {nil, func(w *world) float64 { return hold(w, 8, onDemand)[fl] }, 0, 0.08 * 2 * onDemand / 60, 0.003},
	"sum_lost":   {nil, func(w *world) float64 { return understeer(w)[fl] }, -0.04, 0, 0.003},
	"throttle_held": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.throttle = 0
		return after(w, 200*ms, rl)
	}, 0, 0.4, 0.001},
	"turn_from_other": {nil, func(w *world) float64 { return hold(w, 2, -30)[fl] }, 0, 0.08 * (demand(4, 2) + 30) / 60, 0.003},
	"wrap_below_zero": {nil, func(w *world) float64 {
		understeer(w)
		w.throttleTo(0.02)
		return after(w, 100*ms, fl)
	}, 0, 0.92, 0.0001},
	"wrong_wheelbase": {nil, func(w *world) float64 { return hold(w, 8, onDemand)[rr] },
		0, 0.08 * (4*8/(0.75*0.330+0.0028*16) - onDemand) / 60, 0.003},
	"yaw_held": {nil, func(w *world) float64 {
		understeer(w)
		w.yawLost = true
		return after(w, 200*ms, rr)
	}, 0.4, 0.44, 0.003},
	"yaw_sign": {nil, func(w *world) float64 { return understeer(w)[rr] }, 0.04, -0.08 * (onDemand + onDemand - 30) / 60, 0.003},
}

// TestEveryFaultDoesWhatItSays measures the same number on the healthy and on
// the faulty board.
func TestEveryFaultDoesWhatItSays(t *testing.T) {
	for _, f := range board.Faults() {
		t.Run(f.Name, func(t *testing.T) {
			c, ok := faultCases[f.Name]
			if !ok {
				c, ok = placeCases[f.Name]
			}
			require.True(t, ok, "the fault has no case here")
			assert.InDelta(t, c.healthy, c.measure(builtIn(t, c.change)), c.within, "healthy board")
			assert.InDelta(t, c.faulty, c.measure(withFault(t, f.Name, c.change)), c.within, "faulty board")
		})
	}
}

func TestFaultsAreSortedAndSayWhatTheyAre(t *testing.T) {
	faults := board.Faults()
	assert.True(t, sort.SliceIsSorted(faults, func(i, j int) bool { return faults[i].Name < faults[j].Name }))
	assert.Len(t, faults, len(faultCases)+len(placeCases))
	for _, f := range faults {
		assert.Regexp(t, `^[A-Z].*\.$`, f.Sentence, f.Name)
		assert.NotEmpty(t, f.Key, f.Name)
	}
	faults[0].Name = "changed"
	assert.NotEqual(t, "changed", board.Faults()[0].Name, "the slice is the caller's")
}

func TestWithFaultNamesTheBoard(t *testing.T) {
	s, err := board.WithFault(board.Bramble(), "no_cap")
	require.NoError(t, err)
	b, err := board.NewBuiltIn(s, layout(), 1)
	require.NoError(t, err)
	assert.Equal(t, "built-in:no_cap", b.Name())
	s, err = board.WithFault(s, "yaw_sign")
	require.NoError(t, err)
	b, err = board.NewBuiltIn(s, layout(), 1)
	require.NoError(t, err)
	assert.Equal(t, "built-in:no_cap+yaw_sign", b.Name())

	_, err = board.WithFault(board.Bramble(), "nocap")
	assert.EqualError(t, err, `seeded fault "nocap" is unknown; nearest are no_cap, cap_late, slow_loop`)
}
