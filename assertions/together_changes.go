package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// fewestTogether is how many changes have to be seen on all motors; the check's own definition.
const fewestTogether = 20

// changeTogether asks of trials of the throttle, which moves all four motors, how far apart the first commands stand that
// carry a change: commands that begin together may still tell of different moments.
func (b *branch) changeTogether() []ask {
	limit := *b.p.OutputsTogether
	name := b.name("changes within " + number(limit.Seconds()*us) + " us")
	switch {
	case b.s.Changed != trace.Throttle:
		return []ask{notAsking(name, "the policy does not have all four motors move with what changes in this step")}
	case b.p.Smoothing != nil:
		return []ask{notAsking(name, "by the policy's smoothing a motor that goes farther is seen to move sooner")}
	}
	return []ask{asking(name, func(b *branch) Result { return b.changesTogether(name, limit) })}
}

// changesTogether judges that by the median of all changes.
func (b *branch) changesTogether(name string, limit signal.Time) Result {
	e, s := b.e, b.s
	if e.Trace == nil {
		return unjudged(name, s.undecided("the case has no trace"))
	}
	all := e.changes(s)
	var moved [4]moves
	for _, w := range plant.Wheels {
		var ok bool
		if moved[w], ok = e.movedBy(w, all); !ok {
			return unjudged(name, e.silent(w, s))
		}
		if !moved[w].plain(moved[w].dead) {
			return unjudged(name, s.undecided("%s does not plainly move with the changes of %s; let it change farther", line(w), s.Changed))
		}
	}
	var apart []float64
	left := 0
	worst := between4{apart: -1}
	for i := range all {
		x, ok := e.motorsApart(&all[i], &moved)
		if !ok {
			left++
			continue
		}
		if apart = append(apart, x.apart.Seconds()); x.apart > worst.apart {
			worst = x
		}
	}
	if len(apart) < fewestTogether {
		r := unjudged(name, s.undecided("%d of %d changes of %s were seen on all four motors; raise trials' count, or sample more steadily", len(apart), len(s.Changes), s.Changed))
		r.LeftOut = left
		return r
	}
	found := measure.ResponseQuantile(apart, 0.5)
	r := judged(Result{Name: name, Step: s.Name, At: worst.at, LeftOut: left}, Measurement{
		Quantity: fmt.Sprintf("time between the first and the last motor to carry a change of %s, median of %d", s.Changed, len(apart)), Unit: "us",
		Estimate: found.Quantile * us, Low: found.Within.Low * us, High: found.Within.High * us, Limit: AtMost(limit.Seconds() * us),
	})
	why := fmt.Sprintf("a change of %s comes to one motor later than to another, most often by %s us, as to %s after %s at %v; %s us are allowed",
		s.Changed, number(found.Quantile*us), plant.Wheels[worst.last], plant.Wheels[worst.first], worst.at, number(limit.Seconds()*us))
	return r.tooNear(why, "the policy's outputs_together")
}

// between4 is how far apart the four motors carry one change.
type between4 struct {
	apart       signal.Time
	first, last int
	at          signal.Time // when the last of them begins
}

// motorsApart returns by how much the last motor carries a change after the first: by the first frame that leaves where a
// motor stood, or by the first that is half way, where that is less. It is false where that was not seen of all of them.
func (e *Evidence) motorsApart(c *change, moved *[4]moves) (x between4, ok bool) {
	x.apart = math.MaxInt64
	for _, half := range [...]bool{false, true} {
		var at [4]signal.Time
		one := between4{}
		for i, w := range plant.Wheels {
			m := &moved[w]
			beyond := m.beyond
			if half {
				beyond = max(m.way()/2, m.beyond)
			}
			last, first, ok := e.leaves(w, c, m, beyond)
			if !ok || e.Late(c.asked, first.End, c.uncertainty) || e.unseenBetween(&last, &first, e.spacing(w)) {
				return x, false
			}
			if at[i] = first.Start; at[i] < at[one.first] {
				one.first = i
			}
			if at[i] > at[one.last] {
				one.last = i
			}
		}
		if one.apart, one.at = at[one.last]-at[one.first], at[one.last]; one.apart < x.apart {
			x = one
		}
	}
	return x, true
}
