package assertions

import (
	"fmt"
	"math"
	"strings"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

const (
	// asDeclared is the share of its commands that a motor has to give as the policy
	// declares, in all and where a shift is declared. The check's own definition: a
	// declared response is a quantile, so that a few commands may come late.
	asDeclared = 0.98
	// fewestShifted is how many commands of a motor with a declared shift are enough to be
	// judged by themselves: by fewer than 196, all of them as declared, Wilson's interval
	// still reaches below asDeclared.
	fewestShifted = 200
	// askedAtLeast is the share of all commands that have to have a declared shift before a
	// drive shows anything: a board that shifts nothing would follow a calm one as well.
	askedAtLeast = 0.01
	// SteerOpen is what the timing of a receiver pulse and a slack about its centre leave
	// open of the steering that firmware takes, rad; common practice, no source.
	SteerOpen = 0.004
)

// followsLog asks of a drive whose inputs move whether each motor's commands are, all
// along, what the law says of what was played. A command is as declared when it lies between
// the least and the most that the law has for it, give or take the shift that counts as none
// and what the sampler left open.
func (b *branch) followsLog() []ask {
	switch p := b.p; {
	case p.Demand == nil:
		return b.notAsked("the policy has no demand")
	case p.ShiftAt == nil || !(p.ShiftAt.Error > 0) || !(p.ShiftAt.Gain > 0):
		return b.notAsked("the policy's shift_at declares no size")
	case p.Understeer == nil && p.Oversteer == nil:
		return b.notAsked("the policy has neither understeer nor oversteer")
	case p.ThrottleCurve == law.ThrottleCurveCalibrated && b.e.NoCurve != "":
		return b.notAsked(b.e.NoCurve)
	case len(b.s.Faults) > 0:
		return b.unshown(b.s.undecided("the wires have faults in this step, and what is declared for a drive is declared for sound ones; judge a step without"))
	}
	played := &followedDrive{} // shared by what is asked, and read once
	all := asks(plant.Wheels[:], func(w plant.Wheel) ask {
		return asking(b.name(w.String()), func(b *branch) Result { return played.of(b).asDeclared(w) })
	})
	name, never := b.name("a shift is asked for"), b.neverClear()
	switch {
	case b.p.Integrates():
		return append(all, notAsking(name, "of a shift that gathers with time the policy asks for no certain size at any moment"))
	case never != "":
		return append(all, notAsking(name, never))
	case b.s.Calm:
		return append(all, notAsking(name, "the policy asks for a clear shift too rarely in this drive"))
	}
	return append(all, asking(name, func(b *branch) Result { return played.of(b).shiftAsked() }))
}

// neverClear says why the law asks no motor for a clear shift whatever is played in the step; "" where
// it may.
func (b *branch) neverClear() string {
	surely := func(s *law.Split) bool { return s != nil && !s.Varies }
	switch {
	case !sized(b.p):
		return "the policy's shift_at declares no size in proportion to the yaw error, so that no shift is for sure"
	case !surely(b.p.Understeer) && !surely(b.p.Oversteer):
		return "the shares of the motors vary, so that no shift of a single one is for sure"
	}
	return b.gainOpen()
}

// gainOpen says why it is open whether there is any gain in the step; "" where it is not.
func (b *branch) gainOpen() string {
	in := b.e.meant(b.s)
	if a := b.e.firmware(*b.p).law.At(&in); a.Open&law.GainOpen == 0 {
		return ""
	}
	return "by the policy's gain_steps a gain of " + share(b.s.Gain) + " may be none"
}

// followedDrive is a drive that is read when the first of what is asked of it is judged.
type followedDrive struct {
	follower *follower
	motors   [4]followed
	errs     [4]error
}

// of reads the drive of a situation with its trace.
func (d *followedDrive) of(b *branch) *followedDrive {
	if d.follower != nil {
		return d
	}
	d.follower = &follower{branch: *b}
	err := d.follower.prepare()
	for i := range d.motors {
		if d.errs[i] = err; err == nil {
			d.motors[i], d.errs[i] = d.follower.motor(i)
		}
	}
	return d
}

// asDeclared judges the share of a motor's commands that are as declared: of all, and of those
// with a declared shift where they are enough, by the worse of the two.
func (d *followedDrive) asDeclared(w plant.Wheel) Result {
	f, m := d.follower, &d.motors[w]
	if err := d.errs[w]; err != nil {
		return unjudged(f.name(w.String()), err)
	}
	r := f.share(w, "", &m.all)
	if len(m.shifted.good) >= fewestShifted {
		if shifted := f.share(w, " where shifted", &m.shifted); shifted.Verdict.Compare(r.Verdict) > 0 {
			return shifted
		}
	}
	return r
}

// shiftAsked judges whether the drive asks for a shift often enough.
func (d *followedDrive) shiftAsked() Result {
	f := d.follower
	name := f.name("a shift is asked for")
	shifted, all := 0, 0
	for i := range d.motors {
		shifted += len(d.motors[i].shifted.good)
		all += len(d.motors[i].all.good)
		if err := d.errs[i]; err != nil {
			return unjudged(name, err)
		}
	}
	least := max(fewestShifted, askedAtLeast*float64(all))
	n := float64(shifted)
	r := judged(Result{Name: name, Step: f.s.Name, At: f.s.From}, Measurement{
		Quantity: fmt.Sprintf("of %d commands those with a clear declared shift", all), Estimate: n, Low: n, High: n, Limit: AtLeast(least),
	})
	if r.Verdict == Fail { // it is the drive's fault and not the board's
		return unjudged(name, f.s.undecided("the policy declares a clear shift for %d of %d commands only, so that a board which shifts nothing would do as well; play a livelier drive, or turn the gain up", shifted, all))
	}
	return r
}

// follower is a drive being followed.
type follower struct {
	branch
	law     *law.Law
	history law.History
}

// followed is what became of one motor's commands.
type followed struct {
	all, shifted judgedFrames
}

// judgedFrames are commands with whether each is as declared.
type judgedFrames struct {
	good  []bool
	worst float64 // how far outside the farthest lies, share of range
	frame trace.Frame
	limit Limit // what was declared for it
}

func (j *judgedFrames) add(f trace.Frame, l Limit) {
	away := max(l.Low-f.Value, f.Value-l.High)
	j.good = append(j.good, away <= 0)
	if len(j.good) == 1 || away > j.worst {
		j.worst, j.frame, j.limit = away, f, l
	}
}

// motor holds one motor's commands against what is declared.
func (f *follower) motor(i int) (m followed, err error) {
	w := plant.Wheels[i]
	frames := f.e.frames(w, f.s)
	if len(frames) == 0 {
		return m, f.e.silent(w, f.s)
	}
	for _, frame := range frames {
		if math.IsNaN(frame.Value) || math.IsNaN(frame.Uncertainty) {
			return m, f.s.blockedAt(Undecided, frame.End, "the command of %s at %v is no number", line(w), frame.End)
		}
		a, ok := f.law.Frame(&f.history, frame.End)
		if !ok || a.Missing != "" {
			continue
		}
		slack := f.e.deadShift() + frame.Uncertainty
		limit := between(a.Commands[i].Low-slack, a.Commands[i].High+slack)
		m.all.add(frame, limit)
		if u := a.Unshifted[i]; u.High < limit.Low || u.Low > limit.High {
			m.shifted.add(frame, limit)
		}
	}
	if len(m.all.good) < fewest {
		err = f.s.undecided("the policy declares nothing for what is played in this step; play something that it does")
	}
	return m, err
}

// share judges how large a share of a motor's commands is as declared.
func (f *follower) share(w plant.Wheel, where string, j *judgedFrames) Result {
	part, i := measure.ShareOf(j.good)
	worst := fmt.Sprintf("all within by %s of range", share(-j.worst))
	if j.worst > 0 {
		worst = fmt.Sprintf("farthest outside by %s of range at %v", share(j.worst), j.frame.End)
	}
	limit := AtLeast(asDeclared)
	r := judged(Result{Name: f.name(w.String() + where), Step: f.s.Name, At: j.frame.End}, Measurement{
		Unit: "%", Quantity: fmt.Sprintf("share of %d commands of %s%s that are as declared (%s)", len(j.good), w, where, worst),
		Estimate: part * percent, Low: i.Low * percent, High: i.High * percent,
		Limit: between(limit.Low*percent, limit.High),
	})
	switch {
	case !r.Measured():
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("%s of %d commands of %s%s are not what the policy declares for what was played in the %s before: at %v it commanded %s, declared is %s to %s",
			share(1-part), len(j.good), w, where, f.law.Horizon(&f.history).Short(), j.frame.End, share(j.frame.Value), share(j.limit.Low), share(j.limit.High))
	case r.Verdict == Undecided:
		r.Why = fmt.Sprintf("the share lies too near %s to be decided by so few commands, or by commands that go wrong in so few places; play a longer drive (%s)", share(asDeclared), strings.TrimSpace(worst))
	}
	return r
}
