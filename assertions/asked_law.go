package assertions

import (
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// asksLaw asks a law of a step in which the motors are commanded to unshifted with no shift.
type asksLaw func(l *law.Law, s *Step, unshifted [4]Limit) law.Answer

// asMeant asks a law of a step as it is meant.
func (e *Evidence) asMeant(l *law.Law, s *Step, unshifted [4]Limit) law.Answer {
	in := e.meant(s)
	in.Unshifted, in.HasStood = unshifted, false
	return l.At(&in)
}

// sampledEnds is at how many of a window's commands, evenly over it, the law of their mean is
// asked. What noise there is on the wires is averaged over them.
const sampledEnds = 24

// asPlayed returns what asks a law of the mean of a step's commands, by what went out on the wires
// before each. Where the trace does not hold that, the step is taken as it is meant.
func (e *Evidence) asPlayed() asksLaw {
	type played struct {
		history law.History
		ends    []signal.Time
	}
	read := map[*Step]*played{}
	return func(l *law.Law, s *Step, unshifted [4]Limit) law.Answer {
		p := read[s]
		if p == nil {
			p = &played{e.history(s), e.endsIn(s)}
			p.history.SteerOpen = 0 // what was sent is known
			read[s] = p
		}
		p.history.Curve = &law.Curve{Throttle: []float64{0}, Motors: [][4]Limit{unshifted}}
		if a, ok := l.Mean(&p.history, p.ends); ok {
			return a
		}
		return e.asMeant(l, s, unshifted)
	}
}

// endsIn returns the ends of some commands of a step, evenly over its window.
func (e *Evidence) endsIn(s *Step) (ends []signal.Time) {
	for _, w := range plant.Wheels {
		frames := e.frames(w, s)
		for i := 0; i < min(len(frames), sampledEnds); i++ {
			ends = append(ends, frames[i*len(frames)/min(len(frames), sampledEnds)].End)
		}
		if len(ends) > 0 {
			return ends
		}
	}
	return nil
}

// hubs returns the speeds of the four hubs in a step, empty where the car is not known.
func (e *Evidence) hubs(s *Step) (hubs [4]law.Series) {
	if e.Car == nil || e.Trace == nil {
		return hubs
	}
	for i, w := range plant.Wheels {
		rows := rowsOf(e.Trace, e.since(s), e.until(s), trace.WheelFrontLeft+trace.Channel(w))
		hubs[i].Grow(rows.n())
		for k, rate := range rows.of(trace.WheelFrontLeft + trace.Channel(w)) {
			hubs[i].Add(rows.time(k), rate*e.Car.WheelRadius)
		}
	}
	return hubs
}
