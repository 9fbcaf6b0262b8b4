package assertions

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// alike returns the case's steps that hold what the judged one does but for the
// yaw rate, all in one branch of the split, in order of the yaw error's size.
func (b *branch) alike() []*Step {
	var steps []*Step
	want := splitFor(b.p, b.s)
	for i := range b.e.Steps {
		s := &b.e.Steps[i]
		if s.Baseline || !s.sound() || s.Swept || s.Moving || len(s.Changes) > 0 || want == nil || splitFor(b.p, s) != want {
			continue
		}
		if s.Speed == b.s.Speed && s.Steer == b.s.Steer && s.Gain == b.s.Gain && s.Throttle == b.s.Throttle {
			steps = append(steps, s)
		}
	}
	slices.SortStableFunc(steps, func(x, y *Step) int {
		return cmp.Compare(math.Abs(x.Demand-x.YawRate), math.Abs(y.Demand-y.YawRate))
	})
	return steps
}

// proportional asks of the steps of a case that differ in the yaw rate alone whether the commands lie
// on a straight line over it, and how steep that is. The demand, whatever it is, is the same in
// all of them, so that the line tells the size of the shift and nothing else.
func (b *branch) proportional() []ask {
	if !sized(b.p) {
		return b.notAsked("the policy's shift_at does not declare a size that grows in proportion to the yaw error")
	}
	steps := b.alike()
	if len(steps) == 0 {
		return b.notAsked("the policy asks for no shift in this step, or not surely for one branch; hold a yaw error")
	}
	var err error
	if n := b.differentErrors(steps); n < fewestErrors {
		err = b.s.undecided("the steps hold %d different yaw errors; hold at least %d", n, fewestErrors)
	}
	var all []ask
	for _, m := range b.clearlyMoved(steps) {
		line := &shiftLine{corner: m.corner, is: m.is, steps: steps}
		name := b.name(string(m.corner) + " on a line")
		all = append(all, asking(name, func(b *branch) Result { return line.of(b).straight(b, name) }).orUnshown(err))
		steep := b.name(string(m.corner) + " as steep as declared")
		all = append(all, asking(steep, func(b *branch) Result { return line.of(b).steep(b, steep) }).orUnshown(err))
	}
	if len(all) == 0 {
		return b.notAsked("in no step does the policy ask a motor that stays clear of its limits for a clear shift; turn the gain up, or move the throttle away from the limits")
	}
	return all
}

// clearlyMoved lists the motors that in the step with the largest error are clearly shifted, and
// in none may come to a limit.
func (b *branch) clearlyMoved(steps []*Step) (all []side) {
	var said []declared
	for _, s := range steps {
		said = append(said, b.meant(s))
	}
	for _, m := range b.sides(splitFor(b.p, b.s)) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		is, clear := said[len(said)-1].asked(w, b.e.deadShift())
		if !ok || !clear || slices.ContainsFunc(said, func(d declared) bool { return d.perhaps[w] || d.missing != "" }) {
			continue
		}
		all = append(all, side{m.corner, is})
	}
	return all
}

// differentErrors counts the yaw errors that are held in steps and beyond the dead band.
func (b *branch) differentErrors(steps []*Step) int {
	var different []float64
	for _, s := range steps {
		if x := b.acting(s.Demand-s.YawRate) * s.Gain; x != 0 && !slices.Contains(different, x) {
			different = append(different, x)
		}
	}
	return len(different)
}

// shiftLine is a motor's commands over the yaw errors of steps, by a straight line. It is read when the
// first of what is asked of it is judged.
type shiftLine struct {
	corner law.Corner
	is     Sense
	steps  []*Step

	read  bool
	err   error
	wheel plant.Wheel
	x     []float64 // size of the yaw error times the gain, by the policy's own demand
	y     []measure.Estimate
	c     []float64 // of each command in the slope
	slope measure.Estimate
}

// of reads the line of a situation with its trace.
func (l *shiftLine) of(b *branch) *shiftLine {
	if l.read {
		return l
	}
	l.read = true
	in := readings{e: b.e}
	mean := 0.0
	for _, s := range l.steps {
		l.wheel = in.wheel(l.corner, s)
		l.y = append(l.y, in.mean(l.wheel, s))
		l.x = append(l.x, math.Abs(s.Demand-s.YawRate)*s.Gain)
		mean += l.x[len(l.x)-1] / float64(len(l.steps))
	}
	l.err = in.err
	square := 0.0
	for _, x := range l.x {
		square += float64((x - mean) * (x - mean))
	}
	slope := 0.0
	var terms []measure.Term
	for i, x := range l.x {
		l.c = append(l.c, (x-mean)/square)
		slope += float64(l.c[i] * l.y[i].Value)
		terms = append(terms, measure.Term{Of: l.y[i], Slope: l.c[i]})
	}
	l.slope = measure.Combine(slope, terms...)
	return l
}

// straight judges the largest distance of a command from the line, which its own tolerance bounds.
func (l *shiftLine) straight(b *branch, name string) Result {
	if l.err != nil {
		return unjudged(name, l.err)
	}
	n := float64(len(l.y))
	meanX, meanY := 0.0, 0.0
	for i := range l.y {
		meanX, meanY = meanX+l.x[i]/n, meanY+l.y[i].Value/n
	}
	far := measure.Estimate{}
	at := 0
	for j := range l.y {
		var terms []measure.Term
		for i := range l.y {
			k := -1/n - float64(l.c[i]*(l.x[j]-meanX))
			if i == j {
				k++
			}
			terms = append(terms, measure.Term{Of: l.y[i], Slope: k})
		}
		off := l.y[j].Value - meanY - float64(l.slope.Value*(l.x[j]-meanX))
		if j == 0 || !(math.Abs(off) <= math.Abs(far.Value)) {
			far, at = measure.Combine(off, terms...), j
		}
	}
	allowed := max(b.p.ShiftAt.Within*b.largestOf(l.steps), b.e.deadShift())
	limit := measure.Within(0, allowed)
	s := l.steps[at]
	r := found(name, "largest distance of "+string(l.corner)+" from a straight line", far, nil, limit, s)
	return r.explained(fmt.Sprintf("%s stands at %s in %q, %s from the line through its commands over the yaw rate; %s are allowed", l.corner, share(l.y[at].Value), s.Name, share(far.Value), share(allowed)),
		b.e.remedy(far, limit, s.To-s.From, percent, " %"))
}

// largestOf returns the largest shift that the policy declares in steps.
func (b *branch) largestOf(steps []*Step) (most float64) {
	for _, s := range steps {
		at := *b
		at.s = s
		if x, ok := at.expected(); ok {
			most = max(most, x)
		}
	}
	return most
}

// steep judges how steep the line is, by the shift that it has from an error of none to that at which the policy
// declares one.
func (l *shiftLine) steep(b *branch, name string) Result {
	if l.err != nil {
		return unjudged(name, l.err)
	}
	at := b.p.ShiftAt
	whole := at.Error * at.Gain
	est := measure.Combine(l.slope.Value*whole, measure.Term{Of: l.slope, Slope: whole})
	limit := l.declares(b)
	r := found(name, fmt.Sprintf("shift of %s over %s deg/s at a gain of %s, by its line", l.corner, degrees(at.Error), share(at.Gain)), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("by its line over the yaw rate %s moves by %s ± %s for %s deg/s at a gain of %s, whatever the demand; the policy declares %s, within %s: %s to %s", l.corner, share(est.Value), share(est.Expanded()),
		degrees(at.Error), share(at.Gain), share(at.Is), share(at.Within), share(limit.Low), share(limit.High)),
		b.e.remedy(est, limit, b.s.To-b.s.From, percent, " %"))
}

// declares returns the least and the most that the line may come to, by the same sum: the
// shares of the split, the ways of taking the speed, which changes with the yaw rate, and the ways
// of counting the error with a dead band.
func (l *shiftLine) declares(b *branch) Limit {
	at, whole := b.p.ShiftAt, b.p.ShiftAt.Error*b.p.ShiftAt.Gain
	all := measure.RangeOf()
	for _, p := range b.e.demands() {
		for _, band := range b.bands() {
			sum := 0.0
			for i, s := range l.steps {
				yawError := math.Abs(b.e.demandBy(&p, s) - s.YawRate)
				sum += float64(l.c[i] * (max(yawError-band, 0) * s.Gain))
			}
			all.Include(sum * whole * (at.Is / ((at.Error - band) * at.Gain)))
		}
	}
	if split := splitFor(b.p, b.s); split != nil {
		k := split.ShareOf(l.wheel)
		if all.Low, all.High = all.Low*k, all.High*k; split.Varies {
			all.Low, all.High = 0, 2*all.High
		}
	}
	limit := between(all.Low*(1-at.Within), all.High*(1+at.Within))
	if l.is == Lowered {
		limit = between(-limit.High, -limit.Low)
	}
	return limit
}

// bands are what a yaw error may be counted from: 0, or the edge of the dead band.
func (b *branch) bands() []float64 {
	if band := b.p.DeadBand; band != nil && *band > 0 && *band < b.p.ShiftAt.Error {
		return []float64{0, *band}
	}
	return []float64{0}
}
