package board_test

import "maps"

func init() {
	maps.Copy(faultCases, map[string]faultCase{
		"frame_too_high": {nil, func(w *world) float64 {
			hold(w, 8, onDemand)
			return w.highest(400*ms, fl)
		}, 0.4, 0.48, 0.002},
		"recovery_overshoot": {nil, func(w *world) float64 {
			understeer(w)
			w.yawLost = true
			w.run(200 * ms)
			w.yawLost = false
			return w.highest(200*ms, rr)
		}, 0.44, 0.52, 0.003},
		"zero_at_branch": {nil, func(w *world) float64 {
			understeer(w)
			begun := len(w.pulses[fl])
			oversteer(w)
			least := 1.0
			for _, p := range w.pulses[fl][begun:] {
				least = min(least, p.share())
			}
			return least
		}, 0.36, 0, 0.003},
	})
}
