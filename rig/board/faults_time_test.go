package board_test

import (
	"maps"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

func init() { maps.Copy(faultCases, faultCasesInTime) }

// aged plays as if the board had run for longer by a time.
func (w *world) aged(by signal.Time) *world {
	w.board.(*board.BuiltIn).Age(by)
	return w
}

// highest returns the highest share that a motor is sent while the world goes on for a time.
func (w *world) highest(length signal.Time, motor int) (most float64) {
	begun := len(w.pulses[motor])
	w.run(length)
	for _, p := range w.pulses[motor][begun:] {
		most = max(most, p.share())
	}
	return most
}

// longestGap returns the longest time in ms between the beginnings of two pulses of a motor while the world goes on
// for a time.
func (w *world) longestGap(length signal.Time, motor int) (longest float64) {
	begun := len(w.pulses[motor])
	w.run(length)
	for i, p := range w.pulses[motor][begun:] {
		if i > 0 {
			longest = max(longest, float64(p.start-w.pulses[motor][begun+i-1].start)/float64(ms))
		}
	}
	return longest
}

// later returns by how many ms a motor leaves a share of 30 % after another as the throttle is raised.
func (w *world) later(motor, other int) float64 {
	hold(w, 8, onDemand)
	w.throttleTo(0.3)
	w.run(100 * ms)
	begun := [4]int{len(w.pulses[fl]), len(w.pulses[fr]), len(w.pulses[rl]), len(w.pulses[rr])}
	w.throttleTo(0.5)
	w.run(100 * ms)
	at := func(m int) signal.Time {
		for _, p := range w.pulses[m][begun[m]:] {
			if p.share() > 0.4 {
				return p.start
			}
		}
		return 0
	}
	return float64(at(motor)-at(other)) / float64(ms)
}

// lost holds understeer and takes one input away.
func lost(lose func(w *world)) func(w *world) float64 {
	return func(w *world) float64 {
		understeer(w)
		lose(w)
		return after(w, 200*ms, rr)
	}
}

// thenUndersteer returns the share of a motor that is raised, after something else was driven.
func thenUndersteer(first func(w *world)) func(w *world) float64 {
	return func(w *world) float64 {
		hold(w, 8, onDemand)
		first(w)
		w.run(200 * ms)
		return 0.4 + understeer(w)[rr]
	}
}

var faultCasesInTime = map[string]faultCase{
	"counter_ignored": {nil, lost(func(w *world) {
		w.corrupt = sameCount
	}), 0.4, 0.44, 0.003},
	"gain_loss_full":     {nil, lost(func(w *world) { w.gain = 0 }), 0.4, 0.48, 0.003},
	"latched_by_full":    {nil, thenUndersteer(func(w *world) { w.throttleTo(1) }), 0.44, 0.4, 0.003},
	"latched_by_reverse": {nil, thenUndersteer(func(w *world) { w.straight(-2) }), 0.44, 0.4, 0.003},
	"loop_stalls": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		longest, changed := signal.Time(0), signal.Time(0)
		for i := range 150 { // a new throttle every 10 ms
			w.throttleTo(0.2 + float64(i)/500)
			begun := len(w.pulses[fl])
			before := w.last()[fl]
			w.run(10 * ms)
			for _, p := range w.pulses[fl][begun:] {
				if p.share() != before {
					if changed > 0 {
						longest = max(longest, p.start-changed)
					}
					before, changed = p.share(), p.start
				}
			}
		}
		return float64(longest) / float64(ms)
	}, 12, 63, 6},
	"micros_overflow": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.aged(1<<32*us - w.now)
		w.throttleTo(0.2)
		return after(w, 200*ms, fl)
	}, 0.2, 0.4, 0.002},
	"millis_overflow": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.aged(1<<16*ms - w.now - 53*ms)
		begun := len(w.pulses[fl])
		w.run(100 * ms)
		least := 1.0
		for _, p := range w.pulses[fl][begun:] {
			least = min(least, p.share())
		}
		return least
	}, 0.4, 0, 0.002},
	"motor_half_rate": {nil, func(w *world) float64 { w.run(100 * ms); return w.longestGap(300*ms, fr) }, 3, 6, 1e-6},
	"rear_late":       {nil, func(w *world) float64 { return w.later(rr, fl) }, 0, 4.5, 1.6}, // by one or two frames of 3 ms
	"rear_very_late":  {nil, func(w *world) float64 { return w.later(rr, fl) }, 0, 12, 1.6},
	"recovery_kick": {nil, func(w *world) float64 {
		understeer(w)
		w.yawLost = true
		w.run(200 * ms)
		w.yawLost = false
		return w.highest(200*ms, fl)
	}, 0.4, 1, 0.001},
	"resets_at_full": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.throttleTo(1)
		return w.longestGap(1500*ms, fl)
	}, 3, 205, 5},
	"shift_gone_later": {nil, func(w *world) float64 {
		w.aged(300 * signal.Second)
		return understeer(w)[rr]
	}, 0.04, 0, 0.003},
	"short_pulse_believed": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.steer = 300 * us
		w.run(10 * ms)
		w.steerTo(8)
		return w.highest(30*ms, fl)
	}, 0.4, 0.92, 0.003},
	"slow_release": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.throttleTo(0)
		return after(w, 120*ms, fl)
	}, 0, 0.18, 0.03},
	"slow_speed_filter": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.run(2 * signal.Second)
		w.straight(6)
		w.yaw = demand(6, 8)
		return after(w, 100*ms, fr)
	}, 0.4, 0.4 + 0.08*(demand(6, 8)-demand(4.8, 8))/60, 0.003},
	"updates_pause": {nil, func(w *world) float64 { return w.longestGap(1200*ms, fl) }, 3, 22.5, 1.6},
	"yaw_inverts_later": {nil, func(w *world) float64 {
		w.aged(400 * signal.Second)
		return understeer(w)[rr]
	}, 0.04, -0.08 * (onDemand + onDemand - 30) / 60, 0.003},
	"yaw_loss_masks": {nil, func(w *world) float64 {
		hold(w, 8, onDemand)
		w.yawLost, w.throttle = true, 0
		return after(w, 300*ms, rl)
	}, 0, 0.4, 0.001},
}
