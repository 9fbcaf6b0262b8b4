package board

import (
	"fmt"

	"hilrig/rig/signal"
)

// Timing is how a firmware's timing departs from even timers of its own. The zero value
// stands for even timers.
type Timing struct {
	// LoopJitter is by which share of LoopPeriod a turn of the loop comes early or late
	// after the last, evenly spread, 0 to 0.5: what one turn is late, all that follow are too.
	LoopJitter float64
	// LateOneIn makes one turn in so many, drawn, come late by LateBy, the turns after it in
	// time again; 0: none.
	LateOneIn int
	LateBy    signal.Time // above 0 and below LoopPeriod where LateOneIn is given
	// CountWindow, where it is above 0, has the wheels' speeds worked out from the counts
	// of whole windows: at the first turn that comes so long after the last such, or later.
	CountWindow signal.Time
	// ReceiverEvery and YawEvery, where they are above 1, have steering, throttle and gain, or the yaw rate, read at one
	// turn in so many alone, as by a slower task.
	ReceiverEvery, YawEvery int
	// Turned, where it is not nil, is called with the bench's time of each turn.
	Turned func(at signal.Time)
}

// check returns an error that names the first constant out of its range.
func (t *Timing) check(s *Settings) error {
	for _, c := range []struct {
		name     string
		value    float64
		from, to float64
	}{
		{"LoopJitter", t.LoopJitter, 0, 0.5},
		{"LateOneIn", float64(t.LateOneIn), 0, 1e9},
		{"LateBy", t.LateBy.Seconds(), 0, s.LoopPeriod.Seconds() - 1e-6},
		{"CountWindow", t.CountWindow.Seconds(), 0, 1},
		{"ReceiverEvery", float64(t.ReceiverEvery), 0, 1000},
		{"YawEvery", float64(t.YawEvery), 0, 1000},
	} {
		if !(c.value >= c.from && c.value <= c.to) {
			return fmt.Errorf("board settings: Timing.%s is %v; it has to lie from %v to %v (SI units)", c.name, c.value, c.from, c.to)
		}
	}
	shortest := signal.Time(float64(s.LoopPeriod)*(1-t.LoopJitter)) - t.LateBy
	if longest := s.Output.longest(s.MotorIdle, s.MotorFull); s.Shaping.FramePerLoop && shortest < longest+10*signal.Microsecond {
		return fmt.Errorf("board settings: with Shaping.FramePerLoop the shortest turn, %v, is too short for a frame of %v; make LoopPeriod longer", shortest, longest)
	}
	return nil
}

// turning says when the loop turns.
type turning struct {
	planned signal.Time // the present turn, before it was made late
}

// after returns when the next turn comes, after one that was planned for t.planned.
func (t *turning) after(s *Settings, period signal.Time, r *random) signal.Time {
	if j := s.Timing.LoopJitter; j > 0 {
		period += signal.Time(float64(float64(period) * j * (float64(2*float64(r.share())) - 1)))
	}
	t.planned += period
	if n := s.Timing.LateOneIn; n > 0 && r.next()%uint64(n) == 0 {
		return t.planned + s.Timing.LateBy
	}
	return t.planned
}

// slower is what a task last read that is slower than the loop.
type slower struct {
	turns int // since it did
	read  situation
}

// last returns what the task last read at one turn in so many, the present situation where it reads at each.
func (t *slower) last(every int, x *situation) *situation {
	if every <= 1 {
		return x
	}
	if t.turns == 0 {
		t.read = *x
	}
	t.turns = (t.turns + 1) % every
	return &t.read
}

// share returns a number spread evenly over 0 to 1.
func (r *random) share() float64 { return float64(r.next()>>11) / (1 << 53) }

// countWindow works out the wheel's speed in rad/s from the counts of a whole window.
func (e *encoder) countWindow(now, window signal.Time, radPerCount float64) float64 {
	if span := now - e.readAt; span >= window {
		e.speed = float64(e.count-e.readCount) * radPerCount / span.Seconds()
		e.readCount, e.readAt = e.count, now
	}
	return e.speed
}
