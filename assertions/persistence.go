package assertions

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// persistence is how long a motor's frames go on to be what they should not.
type persistence struct {
	wheel     plant.Wheel
	low, high signal.Time // since the onset: the end of the last frame that surely is so, of the first that surely is not
	at        signal.Time // the end of that last frame, 0 where there is none
	value     float64     // of that frame
	back      bool        // it had ended before
}

// persistenceOf measures frames, which follow on c. wrong says of a frame whether it
// surely, and whether it perhaps is what it should not be.
func (c *onset) persistenceOf(frames []trace.Frame, w plant.Wheel, wrong func(f trace.Frame) (surely, perhaps bool)) persistence {
	l := persistence{wheel: w}
	over := false // a frame was as it should
	open := true  // no frame was, since the last that perhaps was not
	for _, f := range frames {
		surely, perhaps := wrong(f)
		if surely {
			l.low, l.at, l.value = f.End-c.at, f.End, f.Value
			l.back = l.back || over
		}
		switch {
		case perhaps:
			open = true
		case open:
			l.high, open, over = f.End-c.at, false, true
		}
	}
	if open {
		l.high = max(c.end-c.at, l.low)
	}
	l.high += c.uncertainty
	return l
}

// worse says whether l lasts longer than other.
func (l *persistence) worse(other *persistence) bool {
	if l.low != other.low {
		return l.low > other.low
	}
	return l.high > other.high
}

// decides says what would decide whether something is over within a limit that lies between what is known of that.
func (l *persistence) decides(c *onset, limit signal.Time) string {
	if l.high >= c.end-c.at {
		return "quieten what makes the commands spread, or leave more room in the policy's dead_shift"
	}
	return fmt.Sprintf("leave more than %s more time in the policy, or have commands that come more often", (l.high - limit).Short())
}

// watched reports a stretch that is too short to show whether limit is kept.
func (b *branch) watched(c *onset, limit signal.Time) error {
	if c.end-c.at > limit+limit/2 {
		return nil
	}
	return b.s.undecided("the step goes on for %s after %s, and %s are allowed; %s", max(c.end-c.at, 0).Short(), c.what, limit.Short(), b.e.orCopy("observe at least twice as long", "that observes at least twice as long"))
}

// recentSpacing returns how far a motor's frames usually stand apart, by those of the
// last quarter of a second before t; 0 where there are too few.
func (e *Evidence) recentSpacing(w plant.Wheel, t signal.Time) signal.Time {
	frames := e.Trace.Motor[w].Between(t-250*signal.Millisecond, t)
	if len(frames) < fewest {
		return 0
	}
	return (frames[len(frames)-1].End - frames[0].End) / signal.Time(len(frames)-1)
}

// quiet is how many of the usual distances have to go by without a frame for a
// line to count as silent.
const quiet = 10

// stopped reports a motor that sent commands before t and none at the end of
// the stretch that ends at end.
func (e *Evidence) stopped(w plant.Wheel, t, end signal.Time, s *Step) error {
	frames := e.Trace.Motor[w].Before(end, 1)
	if len(frames) == 0 || e.recentSpacing(w, t) == 0 {
		return e.silent(w, s)
	}
	last := frames[0].End
	if end-last <= quiet*e.recentSpacing(w, t) {
		return nil
	}
	return s.blockedAt(Fail, last, "%s sent its last command at %v, and the step goes on to %v", line(w), last, end)
}

// timed returns the judged result of something that took low to high.
func timed(name, quantity string, low, high, limit signal.Time, s *Step, at signal.Time) Result {
	const ms = 1000
	if at == 0 {
		at = s.From
	}
	return judged(Result{Name: name, Step: s.Name, At: at}, Measurement{
		Quantity: quantity, Unit: "ms",
		Estimate: (low.Seconds() + high.Seconds()) / 2 * ms, Low: low.Seconds() * ms, High: high.Seconds() * ms,
		Limit: AtMost(limit.Seconds() * ms),
	})
}
