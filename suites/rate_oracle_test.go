package suites

import (
	"math"
	"slices"

	"hilrig/plant"
	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// oracle is a board of which all instants are known, without noise: what a motor's response
// to the changes of hilrig rate truly is, by the definition alone. It shares no code with
// board, rig or checks; its numbers are those of a long run over all phases (CALC).
type oracle struct {
	s    board.Settings
	dead float64 // the dead shift
	// Digital frames are as long as that; 0: pulses.
	length signal.Time
}

const oraclePhases = 60 // of the loop, and of the frames, each

// shiftOf returns how far a motor goes in the turn to the left of hilrig rate, in which the
// yaw rate falls to half of the demand: the policy of Bramble.
func (o *oracle) shiftOf(w plant.Wheel) float64 {
	v := rateValues()
	demand := v.Speed * v.Steer / (o.s.Wheelbase + o.s.UndersteerGradient*v.Speed*v.Speed)
	shift := demand / 2 / o.s.ShiftError * o.s.ShiftIs * v.Gain / o.s.ShiftGain
	switch w {
	case plant.RearRight:
		return shift
	case plant.FrontLeft:
		return -shift
	}
	return 0
}

// times returns how long a motor's answers take, s, over all phases and both ways.
func (o *oracle) times(w plant.Wheel) (took []float64) {
	for way := range 2 {
		for i := range oraclePhases {
			for j := range oraclePhases {
				took = append(took, o.answer(w, way == 0, (float64(i)+0.5)/oraclePhases, (float64(j)+0.5)/oraclePhases))
			}
		}
	}
	slices.Sort(took)
	return took
}

// framesEvery returns the time from one of a motor's frames to the next, s.
func (o *oracle) framesEvery(w plant.Wheel) float64 {
	x := &o.s.Shaping
	if x.FramePerLoop {
		return o.s.LoopPeriod.Seconds()
	}
	return o.s.OutputPeriod.Seconds() * float64(max(x.Every[w], 1))
}

// median returns the true median of a motor's response, s.
func (o *oracle) median(w plant.Wheel) float64 {
	took := o.times(w)
	return (took[len(took)/2-1] + took[len(took)/2]) / 2
}

// answer plays one change, at time 0, to a board whose loop and frames stand at these shares
// of their periods.
func (o *oracle) answer(w plant.Wheel, away bool, loopAt, frameAt float64) float64 {
	x := &o.s.Shaping
	loop, frame := o.s.LoopPeriod.Seconds(), o.framesEvery(w)
	// The share of the change that the yaw rate and the command have come to.
	from, to := 0.4, 0.4+o.shiftOf(w)
	if !away {
		from, to = to, from
	}
	yaw, command := 0.0, from
	type turn struct{ at, command float64 }
	turns := []turn{{math.Inf(-1), from}}
	frames := 0
	latch := func(at float64) (end float64, left bool) {
		value := from
		for _, t := range turns {
			if t.at <= at-x.Delay[w].Seconds()+1e-12 {
				value = t.command
			}
		}
		length := 1e-3 * (1 + value)
		if o.length > 0 {
			length = o.length.Seconds()
		}
		return at + length, math.Abs(value-from) > o.dead
	}
	part := func(lag signal.Time) float64 { return loop / (loop + lag.Seconds()) }
	for k := 0; ; k++ {
		at := (loopAt + float64(k)) * loop
		for !x.FramePerLoop && (frameAt+float64(frames))*frame < at {
			if end, left := latch((frameAt + float64(frames)) * frame); left {
				return end
			}
			frames++
		}
		yaw += (1 - yaw) * part(x.YawLag)
		next := from + yaw*(to-from)
		next = command + (next-command)*part(x.CommandLag)
		if x.Slew > 0 {
			next = min(max(next, command-x.Slew*loop), command+x.Slew*loop)
		}
		command = next
		turns = append(turns, turn{at, command})
		if x.FramePerLoop {
			if end, left := latch(at); left {
				return end
			}
		}
		if at > 10 {
			return math.Inf(1)
		}
	}
}
