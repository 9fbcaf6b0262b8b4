package suites_test

import (
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// breach is one way in which a board does not keep a key of its policy: it keeps another policy, or is
// itself another.
type breach struct {
	key, way string
	// policy makes it of the policy that the board is to keep; false where this policy cannot be broken so.
	policy func(p *law.Policy, l *lot) bool
	// board makes it of the board that keeps the policy p; false where this board cannot break it so.
	board func(b *board.Settings, p *law.Policy) bool
	// breaks says whether a board that keeps is, and not was, breaks what is declared of was; nil: the law says
	// it, by the commands.
	breaks func(declared *suites.Setup, was, is *law.Policy) bool
}

// beyond is by how many tolerances a number is off.
const beyond = 1.5

// always is for a breach that no declared tolerance hides.
func always(*suites.Setup, *law.Policy, *law.Policy) bool { return true }

// unbreakable are the keys of a policy that no breach is drawn of, each with the reason.
var unbreakable = map[string]string{
	"dead_shift":     "it says below what a shift counts as none, and asks nothing by itself",
	"smoothing":      "it allows the board time; a board that takes more breaks response, or is late after a loss",
	"corrupt_frames": "the built-in board sends no corrupt frames",
	"drives_better":  "no drawn law has it: whether a car drives better goes with the car, and not with the board alone",
}

// another takes a word to another one of its kind.
func another[W law.Word](word *W, l *lot, not ...W) bool {
	if *word == 0 {
		return false
	}
	var others []W
	for i := range (*word).Words() {
		w := W(i + 1)
		fits := w != *word
		for _, x := range not {
			fits = fits && w != x
		}
		if fits {
			others = append(others, w)
		}
	}
	if len(others) == 0 {
		return false
	}
	*word = pick(l, others...)
	return true
}

// word is a breach by another word.
func word[W law.Word](key string, of func(p *law.Policy) *W, not ...W) breach {
	return breach{key: key, way: "another word", policy: func(p *law.Policy, l *lot) bool { w := of(p); return w != nil && another(w, l, not...) }}
}

// off returns a factor that is off by one and a half times a tolerance, to either side.
func off(within float64, l *lot) float64 {
	if l.coin() {
		return 1 + beyond*within
	}
	return 1 / (1 + beyond*within)
}

var breaches = append([]breach{
	{key: "demand", way: "a number", breaks: demandTells, policy: func(p *law.Policy, l *lot) bool {
		d := *p.Demand
		by := off(d.Within, l)
		d.Wheelbase, d.UndersteerGradient, d.Within = d.Wheelbase/by, d.UndersteerGradient/by, 0
		p.Demand = &d
		return true
	}},
	{key: "demand", way: "the steering's rate is fed forward the wrong way round", breaks: swingsAsk("steer_rate"), policy: func(p *law.Policy, _ *lot) bool {
		d := *p.Demand
		d.SteerRate = -d.SteerRate
		p.Demand = &d
		return d.SteerRate != 0
	}},
	{key: "shift_at", way: "the derivative goes the wrong way round", breaks: swingsAsk("derivative"), policy: func(p *law.Policy, _ *lot) bool {
		at := *p.ShiftAt
		at.DerivativeTime = -at.DerivativeTime
		p.ShiftAt = &at
		return at.DerivativeTime != 0
	}},
	word("demand", func(p *law.Policy) *law.SpeedFrom { d := *p.Demand; p.Demand = &d; return &d.SpeedFrom }),
	word("turn_from", func(p *law.Policy) *law.TurnFrom { return &p.TurnFrom }),
	word("opposite_lock", func(p *law.Policy) *law.OppositeLock { return &p.OppositeLock }, law.OppositeLockShare),
	{key: "opposite_lock_share", way: "twice it, or half", policy: func(p *law.Policy, l *lot) bool {
		p.OppositeLockShare *= pick(l, 0.5, 2)
		return p.OppositeLockShare <= 1
	}},
	{key: "shift_at", way: "its size", policy: func(p *law.Policy, l *lot) bool {
		at := *p.ShiftAt
		at.Is, at.Within = at.Is*off(at.Within, l), 0
		p.ShiftAt = &at
		return true
	}},
	{key: "shift_at", way: "its bound", policy: func(p *law.Policy, _ *lot) bool {
		at := *p.ShiftAt
		at.Most *= 1 + beyond*at.Within
		p.ShiftAt = &at
		return at.Most > 0 && at.Most <= 1
	}},
	{key: "dead_band", way: "8 deg/s wider", policy: func(p *law.Policy, _ *lot) bool {
		p.DeadBand = new(*p.DeadBand + 8*math.Pi/180)
		return p.ShiftAt == nil || *p.DeadBand < p.ShiftAt.Error
	}},
	{key: "dead_band", way: "none", policy: func(p *law.Policy, _ *lot) bool {
		was := *p.DeadBand
		p.DeadBand = new(0.0)
		return was > 0
	}},
	{key: "straight", way: "none", policy: func(p *law.Policy, _ *lot) bool { p.Straight = nil; return true }},
	{key: "gain_steps", way: "none", policy: func(p *law.Policy, _ *lot) bool { p.GainSteps = nil; return true }},
	{key: "sum", way: "an axle moves by half", breaks: sumsDiffer, policy: func(p *law.Policy, l *lot) bool {
		for _, s := range []**law.Split{&p.Understeer, &p.Oversteer} {
			if *s != nil {
				half := **s
				half.Front = 0.5
				*s = &half
			}
		}
		return true
	}},
	{key: "cap", way: "5 % higher", policy: func(p *law.Policy, _ *lot) bool {
		c := *p.Cap
		c.Of = min(c.Of+0.05, 1)
		p.Cap = &c
		return true
	}},
	{key: "cap", way: "from 6 deg more on", policy: func(p *law.Policy, _ *lot) bool {
		c := *p.Cap
		c.SteerAbove += 6 * math.Pi / 180
		p.Cap = &c
		return true
	}},
	word("cap", func(p *law.Policy) *law.CapCut { c := *p.Cap; p.Cap = &c; return &c.Cut }),
	{key: "sum_cap", way: "none", policy: func(p *law.Policy, _ *lot) bool { p.SumCap = nil; return true }},
	{key: "floor", way: "at the lowest command", policy: func(p *law.Policy, _ *lot) bool {
		was := *p.Floor
		p.Floor = new(0.0)
		return was > 0
	}},
	word("at_the_limit", func(p *law.Policy) *law.AtTheLimit { return &p.AtTheLimit }),
	word("at_the_cap", func(p *law.Policy) *law.AtTheLimit { return &p.AtTheCap }),
	word("at_the_floor", func(p *law.Policy) *law.AtTheLimit { return &p.AtTheFloor }),
	{key: "traction_control", way: "from a share that is too small on", breaks: always, policy: func(p *law.Policy, _ *lot) bool {
		p.TractionControl = new(*p.TractionControl / beyond / 1.4) // the law has a fifth about it, and the board stays within
		return true
	}},
	{key: "standstill", way: "none", policy: func(p *law.Policy, _ *lot) bool { p.Standstill = nil; return true }},
	{key: "braking", way: "a shift", breaks: always, policy: func(p *law.Policy, _ *lot) bool { p.Braking = 0; return true }},
	word("reverse", func(p *law.Policy) *law.Reverse { return &p.Reverse }),
	{key: "throttle_curve", way: "a curve", board: func(b *board.Settings, p *law.Policy) bool {
		b.ThrottleBend = 0.3
		return p.ThrottleCurve == law.ThrottleCurveNone
	}},
	{key: "loop_rate", way: "too slow", board: func(b *board.Settings, p *law.Policy) bool {
		b.LoopPeriod = signal.FromSeconds(beyond / *p.LoopRate)
		return true
	}},
	{key: "response", way: "too late", board: func(b *board.Settings, p *law.Policy) bool {
		late := signal.Time(float64(p.Response.AtMost) * (beyond - 0.5))
		b.Shaping.Delay = [4]signal.Time{late, late, late, late}
		return late < 50*b.LoopPeriod
	}},
	{key: "longest_gap", way: "a motor is left out for longer", board: func(b *board.Settings, p *law.Policy) bool {
		every := b.OutputPeriod
		if b.Shaping.FramePerLoop {
			every = b.LoopPeriod
		}
		b.Shaping.Every[1] = int(beyond*p.LongestGap.Seconds()/every.Seconds()) + 1
		return b.Shaping.Every[1] <= 1000
	}},
	{key: "recovers", way: "another word", policy: func(p *law.Policy, l *lot) bool { return another(&p.Recovers, l) }, breaks: func(declared *suites.Setup, _, _ *law.Policy) bool {
		for _, loss := range lossesOf(&declared.Car.Policy) {
			if stops(loss) && loss.Recovers == 0 {
				return true
			}
		}
		return false
	}},
	{key: "safe_state", way: "the other word", breaks: func(declared *suites.Setup, _, _ *law.Policy) bool {
		for _, loss := range lossesOf(&declared.Car.Policy) {
			if loss != nil && loss.Then == law.LossIdle {
				return true
			}
		}
		return false
	}, policy: func(p *law.Policy, l *lot) bool { return another(&p.SafeState, l) }},
	{key: "start", way: "the other word", breaks: startTells, policy: func(p *law.Policy, l *lot) bool { return another(&p.StartState, l) }},
	{key: "start_waits_for", way: "drives without", board: func(b *board.Settings, p *law.Policy) bool {
		for _, in := range p.StartWaitsFor {
			b.StartsWithout.Steer = b.StartsWithout.Steer || in == law.InputSteer
			b.StartsWithout.Gain = b.StartsWithout.Gain || in == law.InputGain
			b.StartsWithout.Yaw = b.StartsWithout.Yaw || in == law.InputYawRate
		}
		stops := func(l *law.Loss) bool { return l != nil && l.Then == law.LossIdle } // what it stops for it cannot drive without
		waits := p.Arms != 0 || p.StartAtRest != nil                                  // for something else, all the while
		return !waits && b.StartsWithout.Yaw && !stops(p.YawLost)
	}},
	{key: "start_at_rest", way: "drives at once", breaks: always, policy: func(p *law.Policy, _ *lot) bool { p.StartAtRest = nil; return true }},
	{key: "arms", way: "drives without", breaks: always, policy: func(p *law.Policy, _ *lot) bool { p.Arms = 0; return true }},
	{key: "outputs_together", way: "one after the other", board: func(b *board.Settings, p *law.Policy) bool {
		return withFault(b, "outputs_staggered") && b.OutputPeriod > 900*signal.Microsecond // else there is no room for it
	}},
	{key: "motors_equal_within", way: "one stands apart", board: func(b *board.Settings, p *law.Policy) bool {
		b.Trim = [4]float64{3: -beyond * *p.MotorsEqualWithin / 0.4} // at 40 % throttle
		return true
	}},
	{key: "resolution", way: "too coarse", board: func(b *board.Settings, p *law.Policy) bool { b.Step = beyond * *p.Resolution; return true }},
	{key: "bad_checksum", way: "believed", board: func(b *board.Settings, _ *law.Policy) bool { return withFault(b, "checksum_unchecked") }},
	{key: "bad_pulse", way: "believed", board: func(b *board.Settings, _ *law.Policy) bool { return withFault(b, "short_pulse_believed") }},
	{key: "spike", way: "believed", board: func(b *board.Settings, p *law.Policy) bool {
		return withFault(b, "spike_believed") && movedInAFrame(b) > *p.Spike // else the board keeps what is declared, though it believes the spike
	}},
}, append(splitBreaches(), lossBreaches()...)...)

// swingsAsk says whether a situation in which something swings is asked by what is declared.
func swingsAsk(of string) func(declared *suites.Setup, _, _ *law.Policy) bool {
	return func(declared *suites.Setup, _, _ *law.Policy) bool {
		for _, suite := range declared.Suites {
			for i := range suite.Cases {
				c := &suite.Cases[i]
				for k := range c.Expect {
					check, ok := c.Expect[k].Check.(assertions.PolicyBranch)
					if ok && check.Of == of && slices.ContainsFunc(c.Planned(k, declared.Car, declared.Bench), func(p assertions.Planned) bool { return p.Asked }) {
						return true
					}
				}
			}
		}
		return false
	}
}

// demandTells says whether a wrong demand comes out at all: by where the sense of the shift changes, which takes both branches
// to be declared, the demand to lie beyond its tolerance and no motor that traction control may cut, for that hides the sense;
// or else by some command for which the law leaves no room.
func demandTells(declared *suites.Setup, was, is *law.Policy) bool {
	p := &declared.Car.Policy
	asked := file.LawOn(p, declared.Bench)
	senses := func(in *law.Inputs, a, b *law.Answer) bool {
		apart := a.Branch == law.Understeer && b.Branch == law.Oversteer || a.Branch == law.Oversteer && b.Branch == law.Understeer
		return apart && asked.MayCut(in) == [4]bool{}
	}
	return p.Understeer != nil && p.Oversteer != nil && differ(declared, was, is, senses) || commandsDiffer(declared, was, is)
}

// startTells says whether the board has to wait for something after power-up during which the policy says what its lines
// carry: an input that it may not drive without or, at idle, for the throttle to be let go.
func startTells(declared *suites.Setup, _, _ *law.Policy) bool {
	p := &declared.Car.Policy
	waits := slices.ContainsFunc([]*law.Loss{p.SteerLost, p.ReceiverLost, p.YawLost}, func(l *law.Loss) bool {
		return l != nil && l.Then == law.LossIdle
	})
	waits = waits || slices.Contains(p.StartWaitsFor, law.InputYawRate) || slices.Contains(p.StartWaitsFor, law.InputSteer)
	return waits || p.Arms != 0 && p.StartState == law.OutputsIdle
}

// readsAsStanding says whether a loss of an encoder, answered by no shift or ignored, comes to the same by two policies, and
// at once: a board that goes by the slowest wheel takes a car for standing of which an encoder is silent.
func readsAsStanding(was, is *law.Policy) bool {
	none := func(p *law.Policy) bool {
		then := p.EncoderLost.Then
		return (then == law.LossNoShift || then == law.LossIgnored) && p.Demand.SpeedFrom == law.SpeedFromSlowest && p.Standstill != nil
	}
	return none(was) && none(is)
}

// slowestFrames is how long the slowest sensor of a drawn bench takes from one frame to the next, s.
const slowestFrames = 1 / 100.0

// movedInAFrame returns the most, share of range, that a board moves a motor from one frame of the yaw rate to the next,
// for all that a board's command may change at once goes through its slew.
func movedInAFrame(b *board.Settings) float64 {
	if !(b.Shaping.Slew > 0) {
		return 1
	}
	return min(b.Shaping.Slew*slowestFrames, 1)
}

// withFault switches a seeded fault on.
func withFault(b *board.Settings, name string) bool {
	faulty, err := board.WithFault(*b, name)
	*b = faulty
	return err == nil
}

// splitBreaches are those of the two branches.
func splitBreaches() (all []breach) {
	for key, of := range map[string]func(p *law.Policy) **law.Split{
		"understeer": func(p *law.Policy) **law.Split { return &p.Understeer },
		"oversteer":  func(p *law.Policy) **law.Split { return &p.Oversteer },
	} {
		change := func(way string, do func(s *law.Split)) {
			all = append(all, breach{key: key, way: way, policy: func(p *law.Policy, _ *lot) bool {
				other := **of(p)
				do(&other)
				*of(p) = &other
				return true
			}})
		}
		change("raised and lowered are exchanged", func(s *law.Split) { s.Raise, s.Lower = s.Lower, s.Raise })
		change("no motor moves", func(s *law.Split) { s.Raise, s.Lower = nil, nil })
		change("none is lowered", func(s *law.Split) { s.Lower = nil })
	}
	return all
}

// stops says whether a board stops something after a loss, from which it has to recover.
func stops(l *law.Loss) bool {
	return l != nil && l.Then != law.LossIgnored && l.Then != law.LossHeld
}

// lossBreaches are those of what a board does when a wire fails.
func lossBreaches() (all []breach) {
	for _, x := range []struct {
		key string
		of  func(p *law.Policy) **law.Loss
	}{
		{"throttle_lost", func(p *law.Policy) **law.Loss { return &p.ThrottleLost }}, {"steer_lost", func(p *law.Policy) **law.Loss { return &p.SteerLost }},
		{"gain_lost", func(p *law.Policy) **law.Loss { return &p.GainLost }}, {"receiver_lost", func(p *law.Policy) **law.Loss { return &p.ReceiverLost }},
		{"receiver_flag", func(p *law.Policy) **law.Loss { return &p.ReceiverFlag }}, {"yaw_lost", func(p *law.Policy) **law.Loss { return &p.YawLost }},
		{"yaw_frozen", func(p *law.Policy) **law.Loss { return &p.YawFrozen }}, {"sequence_frozen", func(p *law.Policy) **law.Loss { return &p.SequenceFrozen }},
		{"encoder_lost", func(p *law.Policy) **law.Loss { return &p.EncoderLost }},
	} {
		change := func(way string, do func(loss *law.Loss, l *lot) bool, breaks func(declared *suites.Setup, was, is *law.Policy) bool) {
			all = append(all, breach{key: x.key, way: way, breaks: breaks, policy: func(p *law.Policy, l *lot) bool {
				other := **x.of(p)
				ok := do(&other, l)
				*x.of(p) = &other
				return ok
			}})
		}
		change("another ending", func(loss *law.Loss, l *lot) bool {
			words := []law.LossThen{law.LossNoShift, law.LossIdle, law.LossIgnored}
			if x.key == "receiver_lost" || x.key == "throttle_lost" && loss.Then == law.LossIdle {
				words = []law.LossThen{law.LossIgnored, law.LossIdle}
			}
			was := *loss
			loss.Then, loss.Recovers = pick(l, words...), 0
			if loss.Within == 0 {
				loss.Within = 200 * signal.Millisecond
			}
			return loss.Then != was.Then && !sameGainAs(&was, loss)
		}, func(declared *suites.Setup, was, is *law.Policy) bool {
			return notMasked(x.key)(declared, was, is) && !(x.key == "encoder_lost" && readsAsStanding(was, is))
		})
		change("too late", func(loss *law.Loss, _ *lot) bool {
			loss.Within = signal.Time((float64(loss.Within)*beyond + haste) / (1 - 0.15)) // the board stays so far within
			return stops(loss)
		}, func(declared *suites.Setup, was, is *law.Policy) bool {
			loss := *x.of(was)
			return notMasked(x.key)(declared, was, is) && !(x.key == "encoder_lost" && readsAsStanding(was, is)) && (loss.Then != law.LossValue || gainTells(&declared.Car.Policy, loss.Value)) && float64(loss.Within)*(beyond-1) > smoothed(&declared.Car.Policy)
		})
		change("another recovery", func(loss *law.Loss, l *lot) bool { return stops(loss) && another(&loss.Recovers, l) }, notMasked(x.key))
	}
	return all
}

// sameGainAs says whether what follows on a lost gain comes to the same.
func sameGainAs(was, is *law.Loss) bool {
	none := func(l *law.Loss) bool { return l.Then == law.LossNoShift || l.Then == law.LossValue && l.Value == 0 }
	held := func(l *law.Loss) bool { return l.Then == law.LossIgnored || l.Then == law.LossHeld }
	return none(was) && none(is) || held(was) && held(is)
}

// gainTells says whether the law has some motor commanded otherwise at a gain than at a full one.
func gainTells(p *law.Policy, gain float64) bool {
	l := law.New(p, law.Scale{})
	for _, x := range operatingPoints(p) {
		x.Gain = 1
		in := l.Inputs(x, law.Identity())
		full := l.At(&in)
		x.Gain = gain
		in = l.Inputs(x, law.Identity())
		other := l.At(&in)
		for i := range full.Commands {
			if apart(full.Commands[i], other.Commands[i]) {
				return true
			}
		}
	}
	return false
}

// haste is by how much sooner, ns, a board may answer a loss than it has to: it leaves its loop, its outputs and
// its command the time that they take at most.
const haste = float64(15 * signal.Millisecond)

// smoothed returns the time, ns, that a policy's smoothing allows on top of that of a loss: a filter is followed to
// half of what counts as none, which from full range is at most 6 of its time constants.
func smoothed(p *law.Policy) float64 {
	if p.Smoothing == nil {
		return 0
	}
	return 6*float64(p.Smoothing.Filter) + float64(p.Smoothing.FullRangeIn)
}

// lossesOf lists what a policy says of each loss, nil where it says nothing.
func lossesOf(p *law.Policy) []*law.Loss {
	return []*law.Loss{p.ThrottleLost, p.SteerLost, p.GainLost, p.ReceiverLost, p.ReceiverFlag, p.YawLost, p.YawFrozen, p.SequenceFrozen, p.EncoderLost}
}

// notMasked says of a loss of all of a receiver's pulses that nothing of them is answered by itself before, which would
// stand for it.
func notMasked(key string) func(declared *suites.Setup, was, is *law.Policy) bool {
	return func(_ *suites.Setup, was, _ *law.Policy) bool {
		return key != "receiver_lost" || !stops(was.ThrottleLost) && !stops(was.SteerLost) && !stops(was.GainLost)
	}
}
