package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

const (
	// windsUpFor is how long a yaw error has to be held for a shift that gathers without a bound to have gone so far beyond
	// what is commanded that it shows; common practice, no source.
	windsUpFor = 4 * signal.Second
	// windsBackAfter is how long after the error has turned round a shift that gathers may still stand where it was:
	// firmware may bound what it gathers somewhat wider than what it commands. Common practice, no source.
	windsBackAfter = 2 * signal.Second
)

// windsBack asks of a step whose yaw error is as large as that of the step before, and of the other sense, that a
// shift which gathers with time has gone back: firmware that bounds what it commands, and not what it gathers, goes on as
// before for as long as it has gathered too much.
func (b *branch) windsBack() []ask {
	long := b.lastBefore(func(*Step) bool { return true })
	switch {
	case long == nil || long.Baseline || !long.sound():
		return b.unshown(b.s.undecided("no step before this one holds a yaw error; add one that does for some seconds"))
	case b.yawErrorOf(long)*b.yawError() >= 0:
		return b.unshown(b.s.undecided("the yaw error is %s deg/s in this step and %s deg/s in %q; hold one of the other sense", degrees(b.yawError()), degrees(b.yawErrorOf(long)), long.Name))
	case long.To-long.Applied < windsUpFor:
		return b.unshown(long.undecided("%q holds the yaw error for %s, too short for a wind-up; let it be %s", long.Name, (long.To - long.Applied).Short(), windsUpFor.Short()))
	case b.s.To-b.s.Applied < windsBackAfter+signal.Second/2:
		return b.unshown(b.s.undecided("the error is held for %s the other way, and a shift may take %s to go back; hold it longer", (b.s.To - b.s.Applied).Short(), (windsBackAfter + signal.Second/2).Short()))
	case long.Throttle != b.s.Throttle:
		return b.unshown(b.s.undecided("this step holds another throttle than %q; hold the same", long.Name))
	case math.Abs(b.yawErrorOf(long)) > math.Abs(b.yawError())*errorsAlike: // where a point of the policy is
		return b.notAsked(fmt.Sprintf("the yaw error of %s deg/s is smaller than that of %s deg/s in %q, so that what has gathered goes back more slowly than it came", degrees(b.yawError()), degrees(b.yawErrorOf(long)), long.Name))
	}
	before := *b
	before.s = long
	was, is := before.meant(long), b.meant(b.s)
	switch {
	case was.missing != "" || is.missing != "":
		return b.notAsked("the policy has no " + was.missing + is.missing)
	case !before.gathered() || !b.gathered():
		return b.notAsked("by the policy's tolerances the shift need not have gathered to a clear one")
	case was.perhaps != [4]bool{} || is.perhaps != [4]bool{}:
		return b.notAsked("by the policy a motor may come to its limit, so that more may have gathered than it shows")
	case b.lagging() > windsBackAfter/2:
		return b.notAsked("what the policy declares of smoothing is as slow as a shift that has gathered too much")
	}
	var all []ask
	for _, m := range b.sides(nil) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		if !ok {
			continue
		}
		m.is = was.mayGo(w)
		if never, ok := against(m.is); !ok || is.mayGo(w) != never {
			continue
		}
		name := b.name(string(m.corner) + " no longer " + string(m.is))
		all = append(all, asking(name, func(b *branch) Result { return b.wentBack(name, m, w, long) }))
	}
	if len(all) == 0 {
		return b.notAsked("by the policy no motor surely goes the other way when the yaw error turns round")
	}
	return all
}

// errorsAlike times the error of one step is the most that of another counts as no larger for.
const errorsAlike = 1.1

// yawErrorOf returns demand less yaw rate of a step in rad/s.
func (b *branch) yawErrorOf(s *Step) float64 { return s.Demand - s.YawRate }

// lagging returns how long what the policy declares of smoothing takes.
func (b *branch) lagging() signal.Time {
	if s := b.p.Smoothing; s != nil {
		return s.Lasts()
	}
	return 0
}

// wentBack judges that every command of a motor late in the step lies to the other side of every one late in the step before.
func (b *branch) wentBack(name string, m side, w plant.Wheel, long *Step) Result {
	was, err := b.commandsFrom(w, long, long.To-signal.Second/2)
	if err != nil {
		return unjudged(name, err)
	}
	is, err := b.commandsFrom(w, b.s, b.s.Applied+windsBackAfter)
	if err != nil {
		return unjudged(name, err)
	}
	limit, _ := limitOf(Lowered, b.e.deadShift())
	if m.is == Lowered {
		limit, _ = limitOf(Raised, b.e.deadShift())
	}
	away := between(is.Low-was.High, is.High-was.Low)
	est := measure.Estimate{Value: middleOf(away), Systematic: away.Width() / 4} // of which the interval is twice that to either side
	r := found(name, "how far "+called(m.corner, w)+" went back", est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s was %s while the yaw error was held for %s, and %s after the error has turned round it has not gone back: it went from %s to %s, as where the firmware's integral is not bounded with what it commands (wind-up)",
		called(m.corner, w), m.is, (long.To-long.Applied).Short(), windsBackAfter.Short(), share(middleOf(was)), share(middleOf(is))), b.e.orCopy("hold both steps for longer", "that holds both steps for longer"))
}

// commandsFrom returns between what the commands of a motor lie in a step from a time on.
func (b *branch) commandsFrom(w plant.Wheel, s *Step, from signal.Time) (all Limit, err error) {
	part := *s
	part.From = max(s.From, from)
	frames := b.e.frames(w, &part)
	if len(frames) < fewest {
		return all, b.e.silent(w, &part)
	}
	all = measure.RangeOf()
	for _, f := range frames {
		if math.IsNaN(f.Value) || math.IsNaN(f.Uncertainty) {
			return all, s.blockedAt(Undecided, f.End, "the command of %s at %v is no number", line(w), f.End)
		}
		all.Include(f.Value-f.Uncertainty, f.Value+f.Uncertainty)
	}
	return all, nil
}

// windsBackNeeds is what the policy has to hold for it.
var windsBackNeeds = []need{
	{"shift_at that grows: integrating up to most", func(p *law.Policy) bool { return p.Integrates() && p.ShiftAt.Most > 0 }},
	needDemand, needUnderOversteer,
}
