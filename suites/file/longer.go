package file

import (
	"cmp"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// afterLimit is for how long at least is observed what follows on a loss, in the times that the
// policy allows.
const afterLimit = 2

// longer lets the steps of a case last as long as what is judged in them may take by the policy
// and the bench: after a loss twice the time that is allowed, as much after it is over, after a power-up
// until the board is ready, and of signs of life until what was before is out of the commands. What the
// file writes is the least.
func (b *caseBuilder) longer(c *Case) {
	if b.car == nil || c.Closed {
		return
	}
	b.outlast(c)
	for _, x := range c.Expect {
		check, ok := x.Check.(assertions.PolicyBranch)
		if !ok {
			continue
		}
		i := len(c.Steps) - 1
		if check.Step != "" {
			i = slices.IndexFunc(c.Steps, func(s Step) bool { return s.Name == check.Step })
		}
		if i < 0 {
			continue
		}
		c.Steps[i].observeFor(b.lossLasts(c, check.Of, i))
		if slices.Contains(ofStart, check.Of) {
			b.untilReady(c, i)
		}
		if check.Of == "start" {
			b.letGo(&c.Steps[i])
		}
		if check.Of == "start_at_rest" && !c.expectsIn(c.Steps[i].Name, i+1 == len(c.Steps), "arms") {
			b.idleWhileItRests(&c.Steps[i])
		}
	}
}

const (
	// letGoFor is for how long the throttle is let go in a step of a power-up, longer than firmware asks of an idle throttle
	// before it arms; common practice, no source.
	letGoFor = 1500 * signal.Millisecond
	// letGoIn is the time that the throttle takes from where it stands to idle, and back.
	letGoIn = 100 * signal.Millisecond
)

// letGo lets the throttle go once in a step of a power-up, and come again, where a board arms by that: it then waits for nothing
// but what else the policy has it wait for.
func (b *caseBuilder) letGo(s *Step) {
	if b.car.Policy.Arms != law.RecoversAtThrottleIdle || !s.holds() {
		return
	}
	ready, up := s.Settle+s.Observe, s.Values.Throttle
	s.Shapes = append(s.Shapes, Moving{trace.Throttle, stimulus.Table{
		Times:  []signal.Time{0, ready, ready + letGoIn, ready + letGoIn + letGoFor, ready + 2*letGoIn + letGoFor},
		Values: []float64{up, up, 0, 0, up},
	}})
	s.Observe += ready + 2*letGoIn + letGoFor
}

// idleWhileItRests holds the throttle at idle in a step of a power-up at rest, where a board arms by that, until shortly before the
// rest that the policy has it wait for is over, by the fastest clock that it may have: a board that rests for less is then armed, and
// has the time to be seen to drive.
func (b *caseBuilder) idleWhileItRests(s *Step) {
	p, v := &b.car.Policy, &s.Values
	if p.Arms != law.RecoversAtThrottleIdle || p.StartAtRest == nil || b.bench == nil || !s.holds() || v.Speed != 0 || v.YawRate != 0 {
		return
	}
	over := assertions.RestOver(*p.StartAtRest)
	up := over - min(letGoIn+forgets(p, b.bench), over/2)
	s.Shapes = append(s.Shapes, Moving{trace.Throttle, stimulus.Table{
		Times: []signal.Time{0, up, up + letGoIn}, Values: []float64{0, 0, v.Throttle},
	}})
}

// outlast lets every step of a case of signs of life settle until what went before it is out of the commands, however
// slowly they go through what smooths them.
func (b *caseBuilder) outlast(c *Case) {
	showsLife := func(x Expectation) bool {
		check, ok := x.Check.(assertions.PolicyBranch)
		return ok && slices.Contains(ofLife, check.Of)
	}
	if b.bench == nil || c.PowerUp || !slices.ContainsFunc(c.Expect, showsLife) {
		return
	}
	least := forgets(&b.car.Policy, b.bench)
	for i := range c.Steps {
		if s := &c.Steps[i]; s.holds() && len(s.Faults) == 0 {
			s.Settle = max(s.Settle, least)
		}
	}
}

// lossLasts returns how long step i of a case has to last for a situation of a loss, or of what
// follows when a loss is over, to show there; 0 for another one.
func (b *caseBuilder) lossLasts(c *Case, of string, i int) signal.Time {
	p := &b.car.Policy
	loss := assertions.LossNamed(p, of)
	switch of {
	case "bad_checksum":
		loss = p.YawLost
	case "recovers":
		for k := range i {
			if faults := c.Steps[k].Faults; len(faults) > 0 {
				loss = assertions.LossOf(p, faults)
			}
		}
	}
	if loss == nil || loss.Within == 0 {
		return 0
	}
	// A board whose watchdog resets it while something is lost has booted by then, and has to wait all the same.
	boots := signal.Time(0)
	if r := cmp.Or(loss.Recovers, p.Recovers); of == "recovers" && b.bench != nil && (r == law.RecoversAtThrottleIdle || r == law.RecoversAtPowerCycle) {
		boots = b.bench.Board.ReadyAfter + settle
	}
	allowed := loss.Within
	if x := p.Smoothing; x != nil && loss.Then != law.LossIgnored && loss.Then != law.LossHeld { // which may hold up what follows
		allowed += x.Lasts()
	}
	return max(afterLimit*allowed+50*signal.Millisecond, boots) // the last good frame comes before
}

// untilReady lets the board boot in step i, that of its power-up, and once more in the step that
// follows, should it have waited for something.
func (b *caseBuilder) untilReady(c *Case, i int) {
	ready := signal.Time(0)
	if b.bench != nil {
		ready = b.bench.Board.ReadyAfter
	}
	if rest := b.car.Policy.StartAtRest; rest != nil {
		ready += byItsClock(*rest)
	}
	s := &c.Steps[i]
	s.observeFor(ready + s.Settle + settle)
	if i+1 < len(c.Steps) {
		next := &c.Steps[i+1]
		if next.holds() {
			next.Settle = max(next.Settle, ready)
		}
	}
}

// observeFor lets a step last at least so long, settling included.
func (s *Step) observeFor(length signal.Time) {
	if s.holds() {
		s.Observe = max(s.Observe, length-s.Settle)
	}
}

// holds says whether all that is played in a step is held, so that it may last longer.
func (s *Step) holds() bool { return len(s.Shapes) == 0 && s.Trials == nil && s.Sweep == nil }

// ofLife are the situations in which a board shows that it answers at all, and how.
var ofLife = []string{"answers_throttle", "answers_too_little", "answers_too_much", "throttle_curve"}

// ofStart are the situations of a board that is switched on.
var ofStart = []string{"start", "start_at_rest", "arms"}

// ofSome are further situations of which many policies ask nothing in cases that ask nothing else.
var ofSome = []string{"recovers", "loop_rate", "demand_side", "winds_back", "derivative", "steer_rate"}

// withoutPolicy marks the expectations, of losses, of a power-up, of the loop rate, of the demand's side, of what has gathered and of swings, of a case for cars with any
// policy by which this one asks nothing.
func (b *caseBuilder) withoutPolicy(c *Case) {
	if !b.anyPolicy || b.car == nil || b.bench == nil {
		return
	}
	var e *assertions.Evidence
	own := false // the expectations are those of the other variants as well
	for i := range c.Expect {
		check, ok := c.Expect[i].Check.(assertions.PolicyBranch)
		if !ok || c.Expect[i].NotAsked != "" || !slices.Contains(ofFaults, check.Of) && !slices.Contains(ofStart, check.Of) && !slices.Contains(ofSome, check.Of) {
			continue
		}
		if e == nil {
			e = c.meant(b.car, b.bench)
		}
		planned := assertions.Plan(check, e)
		if slices.ContainsFunc(planned, func(p assertions.Planned) bool { return p.Asked }) {
			continue
		}
		if !own {
			c.Expect, own = slices.Clone(c.Expect), true
		}
		c.Expect[i].NotAsked = planned[0].Why
	}
}
