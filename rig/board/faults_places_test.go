package board_test

import "hilrig/rig/board"

// at goes on at a speed in m/s, a throttle, a steer angle and a yaw rate in degrees, and returns the
// shares less the throttle at its end.
func at(w *world, speed, throttle, steer, yaw float64) [4]float64 {
	w.straight(speed)
	w.throttleTo(throttle)
	w.steerTo(steer)
	w.yaw = yaw
	w.run(300 * ms)
	m := w.mean()
	for i := range m {
		m[i] -= throttle
	}
	return m
}

// shiftAt holds 30 deg/s of understeer to the left, which raises rear right by 4 %.
func shiftAt(speed, throttle float64) func(w *world) float64 {
	return func(w *world) float64 { return at(w, speed, throttle, 8, demand(speed, 8)-30)[rr] }
}

// unevenAt holds 30 deg/s of understeer by a speed that is the mean of uneven wheels.
func unevenAt(speed float64) func(w *world) float64 {
	return func(w *world) float64 {
		w.throttleTo(0.4)
		uneven(demand(speed, 8) - 30)(w)
		w.run(300 * ms)
		return w.mean()[rr] - 0.4
	}
}

// placeCases are those of the faults at places.
var placeCases = map[string]faultCase{
	"cap_always": {nil, func(w *world) float64 { return 1 + at(w, 4, 1, 0, 0)[fl] }, 1, 0.92, 0.0001},
	"cap_late":   {nil, func(w *world) float64 { return 1 + at(w, 4, 1, 4, demand(4, 4))[rl] }, 0.92, 1, 0.0001},
	"count_jitters": {nil, func(w *world) float64 {
		at(w, 4, 0.4, 8, demand(4, 8)-30)
		least, most := 1.0, 0.0
		for _, p := range w.pulses[rr][len(w.pulses[rr])-60:] {
			least, most = min(least, p.share()), max(most, p.share())
		}
		return most - least
	}, 0.002, 0.035, 0.015},
	"count_wraps": {nil, func(w *world) float64 { // 12072 counts a second
		at(w, 4, 0.4, 8, demand(4, 8)-30)
		w.run(3 * 1000 * ms)
		least := 1.0
		for _, p := range w.pulses[rr][200:] {
			least = min(least, p.share())
		}
		return least
	}, 0.439, 0.4, 0.003},
	"gap_in_power":         {nil, shiftAt(6, 0.7), 0.04, 0, 0.003},
	"gap_in_speed":         {nil, shiftAt(10, 0.4), 0.04, 0, 0.003},
	"gap_in_throttle":      {nil, shiftAt(4, 0.65), 0.04, 0, 0.003},
	"reversed_in_power":    {nil, func(w *world) float64 { return at(w, 6, 0.7, 8, demand(6, 8)-30)[rl] }, 0, 0.04, 0.003},
	"reversed_in_speed":    {nil, func(w *world) float64 { return at(w, 10, 0.4, 8, demand(10, 8)-30)[rl] }, 0, 0.04, 0.003},
	"reversed_in_throttle": {nil, func(w *world) float64 { return at(w, 4, 0.65, 8, demand(4, 8)-30)[rl] }, 0, 0.04, 0.003},
	"slow_loop_fast": {func(s *board.Settings) { s.LoopPeriod = 40 * ms }, func(w *world) float64 {
		w.straight(7)
		return changesOfASlowThrottle(w)
	}, 40, 20, 1},
	"speed_clipped": {nil, func(w *world) float64 { return at(w, 20, 0.4, 8, demand(20, 8))[rr] }, 0, 0.08 * (demand(10, 8) - demand(20, 8)) / 60, 0.003},
	// The wheels go at 4, 5, 2 and 3 m/s, by their mean at 3.5.
	"speed_of_one_axle":  {nil, unevenAt(3.5), 0.04, 0.04 + 0.08*(demand(4.5, 8)-demand(3.5, 8))/60, 0.003},
	"speed_of_one_wheel": {nil, unevenAt(3.5), 0.04, 0.04 + 0.08*(demand(5, 8)-demand(3.5, 8))/60, 0.003},
	"standstill_fifth":   {nil, func(w *world) float64 { return at(w, 0.3, 0.4, 25, 2)[rr] }, 0, 0.08 * (demand(0.3, 25) - 2) / 60, 0.003},
	"standstill_twice":   {nil, func(w *world) float64 { return at(w, 0.8, 0.4, 25, demand(0.8, 25)-30)[rr] }, 0.04, 0, 0.003},
	"steer_clipped":      {nil, func(w *world) float64 { return at(w, 4, 0.4, 27, demand(4, 27))[fr] }, 0, 0.08 * (demand(4, 27) - demand(4, 22)) / 60, 0.003},
	"steer_dead_zone":    {nil, func(w *world) float64 { return at(w, 8, 0.4, 1.3, demand(8, 1.3))[fr] }, 0, 0.08 * demand(8, 1.3) / 60, 0.003},
	"yaw_clipped":        {nil, func(w *world) float64 { return at(w, 8, 0.4, 24, 290)[rr] }, 0.08 * (demand(8, 24) - 290) / 60, 0.08 * (demand(8, 24) - 250) / 60, 0.003},
	"yaw_wraps":          {nil, func(w *world) float64 { return at(w, 8, 0.4, 24, 270)[fr] }, 0, 0.92 - 0.4, 0.003}, // opposite lock, as far as the cap
	"yaw_zeroed_driving": {nil, func(w *world) float64 {
		w.run(200 * ms)
		w.straight(4)
		w.yaw = 12
		w.run(5 * 1000 * ms)
		return at(w, 4, 0.4, 8, demand(4, 8))[rr]
	}, 0, 0.08 * 12 / 60, 0.003},
}
