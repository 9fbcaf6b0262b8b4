package suites

import (
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// aim is where changes tell most of the loop's turns. Where the motor frames come more seldom than the loop turns, a
// change is carried by the next frame whatever the loop does, unless it comes near the turn that this frame shows:
// drawn anywhere, it tells nothing in all but one of so many trials as there are turns in a frame. The
// frames' clock is known from the last trials, so that the changes of the next can be put where that turn may be.
type aim struct {
	frame, every    float64     // s of the bench's time: when one motor frame began, and from frame to frame
	nearest, widest float64     // s: how long before a frame changes are put at least and at most
	starts          signal.Time // when the next play starts
	sent, period    signal.Time // when a frame of what carries the changes began, and from one to the next
	takes           signal.Time // from its beginning to its end, where it takes effect
}

// aimMargin is by how much of the loop's period changes may miss where its turn is taken to be, either way.
const aimMargin = 0.1

// aim returns where to put the changes of the next trials; nil where each tells something, or frames and what carries
// the changes are not known well enough to say.
func (t *trials) aim(period signal.Time) *aim {
	sent := t.e.Trace.Sent[trace.SentYawRate]
	if t.channel != trace.YawRate || period <= 0 || len(sent) == 0 {
		return nil
	}
	tr, step, last := t.e.Trace, &t.e.Steps[0], sent[len(sent)-1]
	for i := range t.found.Motors {
		m := &t.found.Motors[i]
		p, ok := m.Parts()
		frame, every, even := grid(tr.Motor[m.Motor].Between(step.From, step.To))
		if !ok || !even || !(p.LoopWithin.Low > 0) {
			continue
		}
		a := aim{
			frame: frame, every: every, sent: last.Start, period: period, takes: last.End - last.Start,
			nearest: max(p.Delay-float64(aimMargin*p.Loop), 0), widest: p.Delay + float64((1+aimMargin)*p.Loop),
			starts: tr.Start + signal.Time(tr.Length(trace.Speed))*tr.Tick,
		}
		if a.widest-a.nearest < every {
			return &a
		}
		return nil
	}
	return nil
}

// grid returns when the last of frames began and the time from one to the next, s; even is false where they do
// not come as evenly as a timer has them, or some are missing.
func grid(frames []trace.Frame) (last, every float64, even bool) {
	n := len(frames) - 1
	if n < fewestTimed {
		return 0, 0, false
	}
	first := frames[0].Start
	last = frames[n].Start.Seconds()
	every = (frames[n].Start - first).Seconds() / float64(n)
	for i := range frames {
		if off := (frames[i].Start - first).Seconds() - float64(float64(i)*every); math.Abs(off) > 0.02*every {
			return last, every, false
		}
	}
	return last, every, true
}

// wait returns how long a change waits for what carries it to begin, that is asked for at a time of the program before
// any grid is moved, and with each that is moved along.
func (a *aim) wait(asked signal.Time) signal.Time {
	w := (a.sent - a.starts - asked) % a.period
	if w < 0 {
		w += a.period
	}
	return w
}

// later returns by how much later a change, asked for at a time of the program and waiting so long, has to come to be
// where it tells something; it is drawn evenly there.
func (a *aim) later(b *programmer, asked, wait signal.Time) signal.Time {
	effect := (a.starts + asked + wait + a.takes).Seconds()
	ahead := math.Mod(a.frame-effect, a.every) // to a frame
	want := a.nearest + b.drawn(signal.FromSeconds(a.widest-a.nearest)).Seconds()
	by := math.Mod(ahead-want, a.every)
	if by < 0 {
		by += a.every
	}
	return signal.FromSeconds(by)
}
