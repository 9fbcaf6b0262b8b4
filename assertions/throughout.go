package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// stampSlack is by how much the time between two commands may be off by their stamps; the check's
// own definition.
const stampSlack = 2 * signal.Microsecond

// LongestGap is the name of what is asked of the time between two commands.
const LongestGap = "updates: longest gap"

// Throughout returns what is asked of the motor lines all through a case, whatever the case is
// about: that its commands are sound, where the policy declares its longest gap
// that they come often enough, and that each is what the policy says. Each is judged by the worst motor, and only where the rig
// itself read well: nothing is made of a stretch that the sampler did not look at.
func Throughout(e *Evidence) []Result {
	if e == nil || e.Trace == nil || len(e.Steps) == 0 {
		return nil
	}
	e = e.screened()
	judge := []func() Result{e.framesSound}
	if e.policy().LongestGap != nil && !e.Steps[0].PowerUp { // until it drives, the board may be silent
		judge = append(judge, e.updates)
	}
	if e.Policy != nil {
		judge = append(judge, e.everyCommand)
	}
	why, all := e.Invalidated()
	return each(judge, func(judge func() Result) Result {
		r := judge()
		if all {
			return unmeasured(r, why+"; play it on a machine that keeps time")
		}
		return r
	})
}

// played returns the evidence of all runs of a case on the board under test.
func (e *Evidence) played() []*Evidence {
	return slices.DeleteFunc(e.runs(), func(one *Evidence) bool { return one == e.NoBoard })
}

// framesSound judges how many of a motor's commands are corrupt or missing.
func (e *Evidence) framesSound() Result {
	const name = "motor frames sound"
	return worstMotor(name, func(w plant.Wheel) (Result, error) {
		var t tally
		for _, one := range e.played() {
			one.tallyOf(w, &t)
		}
		if t.sound+t.bad == 0 {
			s := &e.Steps[len(e.Steps)-1]
			if t.settled > 0 {
				return Result{}, s.undecided("the sampler left a bit open in each of the %d commands of %s that were read, and settled it by the checksum: none can show that it came whole; play it on a machine that reads faster, or declare the bit_tolerance that the board keeps", t.settled, line(w))
			}
			return Result{}, e.silent(w, s)
		}
		r := Result{Name: name, Step: t.step, At: t.first.At}
		n := t.sound + t.bad
		share, allowed := float64(t.bad)/float64(n), 0.0
		what := fmt.Sprintf("share of %d commands of %s that are corrupt or missing", n, w)
		judgedOn := ""
		if t.settled > 0 {
			judgedOn = fmt.Sprintf(", judged on the %.3g %% that leave no bit open", percent*float64(n)/float64(n+t.settled+t.open))
			what += judgedOn
		}
		if declared := e.policy().CorruptFrames; declared != nil && *declared > 0 {
			allowed = *declared
			share = min(share, measure.Wilson(share, float64(n)).Low) // a few of them in a short case tell nothing
			what = fmt.Sprintf("share of commands of %s that surely are corrupt or missing, by %d%s", w, n, judgedOn)
		}
		x := share * percent
		r = judged(r, Measurement{Quantity: what, Unit: "%", Estimate: x, Low: x, High: x, Limit: AtMost(allowed * percent)})
		why := fmt.Sprintf("%d of %d commands of %s are corrupt or missing, the first at %v (%s); the policy allows %s", t.bad, n, w, t.first.At, t.first.Kind, allowedShare(allowed))
		return r.explained(why, why), nil
	})
}

// allowedShare writes what share of its commands may be unsound.
func allowedShare(x float64) string {
	if x == 0 {
		return "none"
	}
	return share(x)
}

// tally counts a motor's commands. Those that the sampler left open tell nothing of what was wrong with them.
type tally struct {
	sound, bad int
	settled    int         // by their checksum, one bit being open: they are not sound, for the checksum is used up
	open       int         // not read at all
	first      trace.Event // of the bad ones
	step       string      // in which that is
}

// tallyOf counts the commands of a motor in the steps of one run.
func (e *Evidence) tallyOf(w plant.Wheel, t *tally) {
	o := &e.Trace.Motor[w]
	quiet := e.maySilence()
	for i := range e.Steps {
		s := &e.Steps[i]
		from := e.awake(w, s)
		t.sound += o.Count(from, s.To)
		for _, x := range o.EventsBetween(from, s.To) {
			switch x.Kind {
			case trace.Short, trace.Overlong, trace.Corrupt:
			case trace.Settled:
				t.settled++
				t.sound--
				continue
			case trace.Uncertain:
				t.open++
				continue
			case trace.Lost:
				if quiet < len(e.Steps) {
					continue
				}
			default:
				continue
			}
			if e.notSampledIn(x.At-longestFrame, x.At) {
				continue
			}
			if t.bad++; t.bad == 1 {
				t.first, t.step = x, s.Name
			}
		}
	}
}

// longestFrame is how long before its event a command that is corrupt began, at most.
const longestFrame = 5 * signal.Millisecond

// awake returns from when on the commands of a motor in a step count: after a power-up from the end of
// the first, for it cuts one short, and boards bring their lines up as they may.
func (e *Evidence) awake(w plant.Wheel, s *Step) signal.Time {
	if !s.PowerUp {
		return s.Applied
	}
	for _, f := range e.Trace.Motor[w].Between(s.Applied, s.To) {
		if f.Start >= s.Applied {
			return f.End
		}
	}
	return s.To
}

// maySilence returns the number of the first step in which the board may rightly send nothing, and
// from which on it may for a while; the number of steps where there is none.
func (e *Evidence) maySilence() int {
	for i := range e.Steps {
		s := &e.Steps[i]
		if s.PowerUp || !s.sound() && e.policy().SafeState != law.OutputsIdle {
			return i
		}
	}
	return len(e.Steps)
}

// gap is a time between two commands of a motor.
type gap struct {
	length signal.Time
	end    signal.Time
	step   string
}

// updates judges the longest time that a motor went without a command.
func (e *Evidence) updates() Result {
	const name = LongestGap
	limit := *e.policy().LongestGap
	return worstMotor(name, func(w plant.Wheel) (Result, error) {
		var worst gap
		n := 0
		for _, one := range e.played() {
			n += one.gapsOf(w, &worst)
		}
		if n == 0 {
			return Result{}, e.silent(w, &e.Steps[len(e.Steps)-1])
		}
		r := timed(name, "longest time from one command of "+w.String()+" to the next", worst.length-stampSlack, worst.length+stampSlack, limit, &e.Steps[0], worst.end)
		r.Step = worst.step
		why := fmt.Sprintf("%s had no new command for %s up to %v; %s are allowed", w, worst.length.Short(), worst.end, limit.Short())
		return r.tooNear(why, "the policy's longest_gap"), nil
	})
}

// gapsOf finds the longest gap of a motor in the steps of one run, up to that in which it may
// rightly be silent, and returns between how many commands it looked.
func (e *Evidence) gapsOf(w plant.Wheel, worst *gap) (n int) {
	o := &e.Trace.Motor[w]
	last := signal.Time(math.MinInt64)
	for i := range e.maySilence() {
		s := &e.Steps[i]
		for _, at := range commandTimes(o, s) {
			if last > math.MinInt64 && !e.unwatched(w, s, last, at) {
				n++
				if at-last > worst.length {
					*worst = gap{at - last, at, s.Name}
				}
			}
			last = at
		}
		if last > math.MinInt64 && s.To-last > worst.length && !e.unwatched(w, s, last, s.To) {
			*worst = gap{s.To - last, s.To, s.Name} // none came up to the end
		}
	}
	return n
}

// commandTimes returns when commands of a motor came in a step, in order: those to stop, and those to
// its controller, are among them.
func commandTimes(o *trace.Output, s *Step) []signal.Time {
	var all []signal.Time
	for _, f := range o.Between(s.Applied, s.To) {
		all = append(all, f.End)
	}
	for _, x := range o.EventsBetween(s.Applied, s.To) {
		if x.Kind == trace.Stop || x.Kind == trace.Command {
			all = append(all, x.At)
		}
	}
	slices.Sort(all)
	return all
}

// unwatched says whether the rig may have missed a command between two times, or kept the board from
// sending one.
func (e *Evidence) unwatched(w plant.Wheel, s *Step, from, to signal.Time) bool {
	if e.notSampledIn(from, to) {
		return true
	}
	for _, x := range e.Trace.Motor[w].EventsBetween(from, to+1) {
		if x.Kind == trace.Uncertain || x.Kind == trace.Backwards {
			return true
		}
	}
	_, late := e.lateIn(from-lateEffect, to)
	return late
}
