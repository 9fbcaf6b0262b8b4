package suites

import (
	"hilrig/assertions"
	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

const (
	// rollIn is how long the first step of a case takes to reach its values from those of the rest.
	rollIn = file.RollIn
	// rollPart is how long its yaw rate goes straight on.
	rollPart = 5 * signal.Millisecond
	// tail is what is played after the last window, so that the frames that end
	// in it are captured.
	tail = 10 * signal.Millisecond
)

// programmer builds the program of one case.
type programmer struct {
	program stimulus.Program
	steps   []assertions.Step
	at      signal.Time    // where the next step begins
	draw    portable.Noise // the moments of trials
	grid    signal.Time    // longest frame of the serial sensors
	// demand returns the yaw rate in rad/s that is asked for at a speed in m/s and a steer angle
	// in rad, with the slip of the wheels; nil: the policy declares none.
	demand func(speed, steer float64, slip *[4]float64) float64
}

// programOf returns the program of a case, and its steps with their times
// counted from the program's start. draw gives the moments of trials, grid the
// longest frame of the serial sensors. demand is that of [programmer].
func programOf(c *file.Case, rest stimulus.Values, draw portable.Noise, grid signal.Time, demand func(speed, steer float64, slip *[4]float64) float64) (*stimulus.Program, []assertions.Step) {
	b := &programmer{draw: draw, grid: grid, demand: demand}
	for i := range c.Steps {
		b.step(&c.Steps[i], i == 0 && !c.PowerUp, rest)
	}
	if c.PowerUp && len(b.steps) > 0 {
		b.steps[0].PowerUp = true
	}
	b.program.Length = b.at + tail
	if c.Closed && len(c.Steps) > 0 {
		b.program.Closed, b.program.Release = true, c.Steps[0].Settle
	}
	return &b.program, b.steps
}

// step adds one step.
func (b *programmer) step(s *file.Step, roll bool, rest stimulus.Values) {
	p, v, at := &b.program, &s.Values, b.at
	if roll {
		b.rollIn(v, rest, &s.Slip)
	} else {
		p.Speed.Hold(at, v.Speed)
		p.YawRate.Hold(at, v.YawRate)
		p.Steer.Hold(at, v.Steer)
	}
	p.Throttle.Hold(at, v.Throttle)
	p.Gain.Hold(at, v.Gain)
	for w, rate := range s.Wheels {
		switch {
		case rate != nil:
			b.wheel(w).Hold(at, *rate)
		case p.Wheels[w] != nil: // an override that is over
			p.Wheels[w].Add(at, stimulus.Absent{})
		}
	}
	b.slip(&s.Slip)
	for _, m := range s.Shapes {
		if t := b.track(m.Channel); t != nil {
			t.Add(at, m.Shape)
		}
	}
	out := s.Meant(at)
	b.trials(s.Trials, &out)
	b.sweep(s.Sweep, &out)
	b.at = out.To
	b.disturb(s, &out)
	b.steps = append(b.steps, out)
}

// rollIn takes speed and steering together from those of the rest to v, and the yaw rate along
// what the policy demands for them: nothing on the way asks for a shift that a board could
// remember. Only then is the yaw rate that of v.
func (b *programmer) rollIn(v *stimulus.Values, rest stimulus.Values, slip *[4]float64) {
	p := &b.program
	p.Speed.Hold(0, rest.Speed)
	p.Speed.RampTo(0, rollIn, v.Speed)
	p.Steer.Hold(0, rest.Steer)
	p.Steer.RampTo(0, rollIn, v.Steer)
	p.YawRate.Hold(0, rest.YawRate)
	if b.demand == nil {
		p.YawRate.RampTo(0, rollIn, v.YawRate)
		return
	}
	off := rest.YawRate - b.demand(rest.Speed, rest.Steer, slip) // what the rest has of a yaw error, which fades
	for at := rollPart; at <= rollIn; at += rollPart {
		left := 1 - at.Seconds()/rollIn.Seconds()
		p.YawRate.RampTo(at-rollPart, rollPart, b.demand(p.Speed.At(at), p.Steer.At(at), slip)+float64(off*left))
	}
	p.YawRate.Hold(rollIn, v.YawRate)
}

// wheel returns the track of a wheel's override; before its first segment the
// hub rule holds.
func (b *programmer) wheel(w int) *stimulus.Track {
	if b.program.Wheels[w] == nil {
		b.program.Wheels[w] = new(stimulus.Track)
		if b.at > 0 {
			b.program.Wheels[w].Add(0, stimulus.Absent{})
		}
	}
	return b.program.Wheels[w]
}

// slip holds the slip of the wheels from a step on.
func (b *programmer) slip(slip *[4]float64) {
	for w, x := range slip {
		t := &b.program.Slip[w]
		switch {
		case *t != nil:
			(*t).Hold(b.at, x)
		case x != 0:
			*t = new(stimulus.Track)
			(*t).Hold(0, 0)
			(*t).Hold(b.at, x)
		}
	}
}

// track returns the track of a channel, nil where a program has none.
func (b *programmer) track(c trace.Channel) *stimulus.Track {
	if c >= trace.WheelFrontLeft && c <= trace.WheelRearRight {
		return b.wheel(int(c - trace.WheelFrontLeft))
	}
	p := &b.program
	return map[trace.Channel]*stimulus.Track{
		trace.Speed: &p.Speed, trace.YawRate: &p.YawRate, trace.Steer: &p.Steer, trace.Throttle: &p.Throttle, trace.Gain: &p.Gain,
	}[c]
}

// trials adds a series of changes, each at a drawn moment and after a drawn
// move of the frame grids.
func (b *programmer) trials(t *file.Trials, out *assertions.Step) {
	if t == nil {
		return
	}
	track := b.track(t.Channel)
	spread := file.TrialSpread(b.grid)
	at := out.From
	for i := range t.Count {
		wait := t.Interval + b.drawn(spread)
		b.program.Moves = append(b.program.Moves, stimulus.GridMove{At: at + wait/2, By: b.drawn(b.grid)})
		at += wait
		track.Hold(at, t.Levels[(i+1)%2])
		out.Changes = append(out.Changes, at)
	}
	out.To = at + t.Interval
}

// drawn returns a time in [0, below), even over it; 0 where below is 0.
func (b *programmer) drawn(below signal.Time) signal.Time {
	if below <= 0 {
		return 0
	}
	return signal.Time(b.draw.Uint64() % uint64(below))
}

// sweep takes a channel to the other end and back within the step's window.
func (b *programmer) sweep(s *file.Sweep, out *assertions.Step) {
	if s == nil {
		return
	}
	half := (out.To - out.From) / 2
	track := b.track(s.Channel)
	track.Hold(out.Applied, s.From)
	track.Add(out.From, stimulus.Ramp{From: s.From, To: s.To, Over: half})
	track.Add(out.From+half, stimulus.Ramp{From: s.To, To: s.From, Over: half})
}

// disturb adds the step's signal faults and bumps.
func (b *programmer) disturb(s *file.Step, out *assertions.Step) {
	for _, f := range s.Faults {
		f.From += out.Applied
		if f.To == 0 {
			f.To = out.To
		} else {
			f.To += out.Applied
		}
		b.program.Faults = append(b.program.Faults, f)
		out.Faults = append(out.Faults, f)
	}
	for _, bump := range s.Bumps {
		bump.From += out.Applied
		bump.To += out.Applied
		b.program.Bumps = append(b.program.Bumps, bump)
	}
}

// place moves the times of steps from the program's to the run's.
func place(steps []assertions.Step, start signal.Time) {
	for i := range steps {
		s := &steps[i]
		s.Applied += start
		s.From += start
		s.To += start
		for j := range s.Changes {
			s.Changes[j] += start
		}
		for j := range s.Faults {
			s.Faults[j].From += start
			s.Faults[j].To += start
		}
	}
}
