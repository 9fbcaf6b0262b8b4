package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// farCommand is the command of a motor that is farthest outside of what is allowed, and the first that surely is.
type farCommand struct {
	n, outside, open int // how many were looked at, surely lie outside, and may
	far, first       command
}

// command is one of a motor's, held against what is allowed.
type command struct {
	past    float64 // by how much it lies outside, below 0 by how much inside
	frame   trace.Frame
	limit   Limit
	run     *Evidence // in which it is
	step    *Step     // of that run
	history *law.History
	burst   signal.Time // when the first command of those that the law was asked for with it ended
	horizon signal.Time
	since   string // the lapse that counts, "" where there was none
}

// hold holds a command against what is allowed, one of a burst.
func (x *farCommand) hold(c *commands, s *Step, f *trace.Frame, burst signal.Time, allowed Limit, m *meanwhile) {
	past, limit := c.e.pastOf(f, allowed)
	x.n++
	surely := past > f.Uncertainty
	// What is no number is farther than all, and stays so.
	farther := x.n == 1 || !(past-f.Uncertainty <= x.far.past-x.far.frame.Uncertainty || math.IsNaN(x.far.past-x.far.frame.Uncertainty))
	switch {
	case surely:
		x.outside++
	case past > -f.Uncertainty:
		x.open++
	}
	if !farther && !(surely && x.outside == 1) {
		return
	}
	one := command{past: past, frame: *f, limit: limit, run: c.e, step: s, history: c.history, burst: burst, horizon: c.horizon, since: m.since}
	if surely && x.outside == 1 {
		x.first = one
	}
	if farther {
		x.far = one
	}
}

// keys returns the keys of the policy that rule the command out: loosened in one of them, the law would not.
func (x *command) keys(w plant.Wheel) []string {
	p := x.run.policy()
	return slices.DeleteFunc(law.Keys(), func(key string) bool { return !says(p, key) || !x.allowedBy(p.Loosened(key), w) })
}

// allowedBy says whether a policy does not rule out the command.
func (x *command) allowedBy(p law.Policy, w plant.Wheel) bool {
	e := *x.run
	e.Policy = &p
	c := commands{e: &e, l: e.law()}
	h := *x.history
	if c.take(&h) != nil {
		return true // it is not known where the motors stand with no shift
	}
	if x.frame.End >= c.until {
		return true
	}
	m := at(c.lapses, x.frame.End)
	limits, ok := c.limits(x.burst, x.burst+burst, &m)
	past, _ := e.pastOf(&x.frame, limits[w])
	return !ok || past <= x.frame.Uncertainty
}

// told is the command that a sentence tells: the first that surely lies outside, or where none does the farthest.
func (x *farCommand) told() *command {
	if x.outside > 0 {
		return &x.first
	}
	return &x.far
}

// judged judges a motor by the command that is farthest outside.
func (x *farCommand) judged(e *Evidence, w plant.Wheel) (Result, error) {
	switch {
	case x.n == 0 && len(e.Trace.Motor[w].Between(e.Steps[0].Applied, e.Steps[0].To)) == 0:
		return Result{}, e.silent(w, &e.Steps[0])
	case x.n == 0:
		return Result{}, e.Steps[0].undecided("no command came late enough in the case that all was known which it may rest on; play longer")
	}
	far, told := &x.far, x.told()
	f, s := &far.frame, far.step
	if math.IsNaN(far.past) || math.IsNaN(f.Uncertainty) {
		return Result{}, s.blockedAt(Undecided, f.End, "the command of %s at %v is no number", line(w), f.End)
	}
	r := judged(Result{Name: EveryCommand, Step: told.step.Name, At: told.frame.End}, Measurement{
		Quantity: fmt.Sprintf("farthest that one of %d commands of %s went past what is allowed", x.n, w), Unit: "%",
		Estimate: far.past * percent, Low: (far.past - f.Uncertainty) * percent, High: (far.past + f.Uncertainty) * percent, Limit: AtMost(0),
	})
	return r.explained(fmt.Sprintf("%s; so are %d of %d commands, the farthest %s at %v", told.says(w), x.outside, x.n, share(f.Value), f.End),
		fmt.Sprintf("%s; that is known to ±%s only, and %d of %d commands are as near; sample faster", told.says(w), share(f.Uncertainty), x.open, x.n)), nil
}

// says says in words what was commanded and what is allowed.
func (x *command) says(w plant.Wheel) string {
	after := ""
	if x.since != "" {
		after = " and after " + x.since
	}
	return fmt.Sprintf("%s was commanded to %s at %v; of what went out in the %s before%s the policy says %s to %s%s",
		w, share(x.frame.Value), x.frame.End, x.horizon.Short(), after, share(x.limit.Low), share(x.limit.High), x.end(w))
}

// end names the policy's floor or cap where that is the end which a command lies beyond; "" where it is none of them.
func (x *command) end(w plant.Wheel) string {
	p, t := x.run.policy(), x.run.deadShift()
	near := max(x.run.offBy(), x.run.CommandStep) + little
	switch v := x.frame.Value; {
	case p.Floor != nil && v < x.limit.Low && math.Abs(x.limit.Low+t-*p.Floor) <= near && x.allowedBy(p.Loosened("floor"), w):
		return fmt.Sprintf(", for its floor is %s", share(*p.Floor))
	case p.Cap != nil && v > x.limit.High && math.Abs(x.limit.High-t-p.Cap.Of) <= near && x.allowedBy(p.Loosened("cap"), w):
		return fmt.Sprintf(", for its cap is %s", share(p.Cap.Of))
	}
	return ""
}
