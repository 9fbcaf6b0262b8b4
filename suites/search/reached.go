package search

import (
	"math"

	"hilrig/assertions"
	"hilrig/rig/trace"
)

// lookEvery is every how many ticks it is looked at what a drive has reached.
const lookEvery = 20

// reachedIn returns what channels and commands came to in a drive, in bins: one number for each
// combination of speed, steer, yaw error and throttle, and of command, gain and motor.
func (s *searcher) reachedIn(e *assertions.Evidence) (all []uint64) {
	seen := map[uint64]bool{}
	note := func(bins ...int) {
		key := uint64(len(bins))
		for _, b := range bins {
			key = key<<9 | uint64(b+256)&511
		}
		if !seen[key] {
			seen[key] = true
			all = append(all, key)
		}
	}
	bin := func(x, width float64) int { return int(math.Floor(x / width)) }
	for from := 0; from < e.Trace.Rows(); from += lookEvery {
		at := func(c trace.Channel) float64 {
			if from >= e.Trace.Length(c) {
				return 0
			}
			return e.Trace.Values(c, from, from+1)[0]
		}
		v, a := at(trace.Speed), at(trace.Steer)
		off := at(trace.YawRate) - s.setup.Car.OnDemand(v, a)
		note(bin(v, 1), bin(a, 5*degrees), bin(off, 30*degrees), bin(at(trace.Throttle), 0.2))
		for c := trace.MotorFrontLeft; c <= trace.MotorRearRight; c++ {
			note(int(c), bin(at(c), 0.05), bin(at(trace.Gain), 0.25))
		}
	}
	return all
}
