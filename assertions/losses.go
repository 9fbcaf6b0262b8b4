package assertions

import (
	"slices"

	"hilrig/assertions/law"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// lossKind is something that a board may lose.
type lossKind struct {
	key    string // of the policy, and the situation's
	of     func(p *law.Policy) *law.Loss
	played func(faults []stimulus.Fault) bool // whether the faults of a step are this loss
	onset  func(b *branch) (onset, error)     // the last that told the board anything
}

// lossKinds are all that a board may lose. Of what a step's faults are, the first counts.
var lossKinds = []lossKind{
	{"receiver_flag", func(p *law.Policy) *law.Loss { return p.ReceiverFlag }, faulty(isReceiver, stimulus.FailsafeFlag), (*branch).flagSet},
	{"receiver_lost", func(p *law.Policy) *law.Loss { return p.ReceiverLost }, receiverLost, (*branch).receiverSilent},
	{"throttle_lost", func(p *law.Policy) *law.Loss { return p.ThrottleLost }, faulty(named("throttle"), stimulus.Lost), lastGood(named("throttle"), "throttle", trace.SentThrottle)},
	{"steer_lost", func(p *law.Policy) *law.Loss { return p.SteerLost }, faulty(named("steer"), stimulus.Lost), lastGood(named("steer"), "steer", trace.SentSteer)},
	{"gain_lost", func(p *law.Policy) *law.Loss { return p.GainLost }, faulty(named("gain"), stimulus.Lost), lastGood(named("gain"), "gain", trace.SentGain)},
	{"yaw_lost", func(p *law.Policy) *law.Loss { return p.YawLost }, faulty(isSerial, stimulus.Lost, stimulus.WrongChecksum), lastGood(isSerial, "yaw_rate", trace.SentYawRate)},
	{"yaw_frozen", func(p *law.Policy) *law.Loss { return p.YawFrozen }, faulty(isSerial, stimulus.Stuck), (*branch).freeze},
	{"sequence_frozen", func(p *law.Policy) *law.Loss { return p.SequenceFrozen }, faulty(isSerial, stimulus.SequenceStuck), (*branch).counterStill},
	{"encoder_lost", func(p *law.Policy) *law.Loss { return p.EncoderLost }, faulty(isEncoder, stimulus.Lost, stimulus.Stuck), (*branch).silence},
}

// faulty returns what says whether one of a step's faults is of a kind on a wire that is accepted.
func faulty(accepts func(wire string) bool, kinds ...stimulus.FaultKind) func([]stimulus.Fault) bool {
	return func(faults []stimulus.Fault) bool {
		return slices.ContainsFunc(faults, func(f stimulus.Fault) bool { return accepts(f.Wire) && slices.Contains(kinds, f.Kind) })
	}
}

// isReceiver accepts a receiver's channels, and a bus that carries them.
func isReceiver(wire string) bool { return !isEncoder(wire) }

// receiverLost says whether all of a receiver is lost.
func receiverLost(faults []stimulus.Fault) bool {
	return faulty(named("throttle"), stimulus.Lost)(faults) && faulty(named("steer"), stimulus.Lost)(faults)
}

// lastGood returns what finds the last good pulse or frame on a wire before it is lost.
func lastGood(accepts func(wire string) bool, example string, list trace.SentTo) func(b *branch) (onset, error) {
	return func(b *branch) (onset, error) { return b.lossOf(accepts, example, list, stimulus.Lost) }
}

// lossPlayed returns what a step's faults make a board lose, nil where that is none of lossKinds.
func lossPlayed(faults []stimulus.Fault) *lossKind {
	i := slices.IndexFunc(lossKinds, func(k lossKind) bool { return k.played(faults) })
	if i < 0 {
		return nil
	}
	return &lossKinds[i]
}

// LossOf returns what a policy says of what a step's faults make a board lose; nil where it
// says nothing, or they make it lose nothing.
func LossOf(p *law.Policy, faults []stimulus.Fault) *law.Loss {
	if k := lossPlayed(faults); k != nil {
		return k.of(p)
	}
	return nil
}

// LossNamed returns what a policy says of the loss that a situation is about, nil for another one
// and where it says nothing.
func LossNamed(p *law.Policy, of string) *law.Loss {
	for i := range lossKinds {
		if k := &lossKinds[i]; k.key == of {
			return k.of(p)
		}
	}
	return nil
}

// Recovery returns what it takes, by a policy, to drive again once a step's faults are gone: of several losses at once
// the most that one of them takes; 0 where nothing is stopped by them, or the policy does not say.
func Recovery(p *law.Policy, faults []stimulus.Fault) (how law.Recovers) {
	all := lossesPlayed(faults)
	if len(all) == 0 && len(faults) > 0 {
		return p.Recovers
	}
	for _, k := range all {
		how = max(how, k.takes(p, faults))
	}
	return how
}

// MayStaySafe says whether a policy lets a board stay safe until a power cycle once a step's faults are gone: it says
// so, or it has the board stop and does not say what it takes to drive again.
func MayStaySafe(p *law.Policy, faults []stimulus.Fault) bool {
	all := lossesPlayed(faults)
	if len(all) == 0 {
		return len(faults) > 0 && (p.Recovers == 0 || p.Recovers == law.RecoversAtPowerCycle)
	}
	return slices.ContainsFunc(all, func(k *lossKind) bool {
		if how := k.takes(p, faults); how != 0 {
			return how == law.RecoversAtPowerCycle
		}
		l := k.of(p)
		return l == nil || !goesOn(l)
	})
}

// lossesPlayed returns what a step's faults make a board lose: of the receiver as a whole and its single channels that
// which comes first in lossKinds, of what is lost beside it all.
func lossesPlayed(faults []stimulus.Fault) (all []*lossKind) {
	whole := false
	for i := range lossKinds {
		k := &lossKinds[i]
		if !k.played(faults) || whole && k.ofReceiver() {
			continue
		}
		whole = whole || k.key == "receiver_flag" || k.key == "receiver_lost"
		all = append(all, k)
	}
	return all
}

// ofReceiver says whether what is lost comes over a receiver.
func (k *lossKind) ofReceiver() bool {
	return slices.Contains([]string{"receiver_flag", "receiver_lost", "throttle_lost", "steer_lost", "gain_lost"}, k.key)
}

// takes returns what it takes, by a policy, to drive again after a loss; 0 where nothing is stopped by it or the policy
// does not say.
func (k *lossKind) takes(p *law.Policy, faults []stimulus.Fault) law.Recovers {
	if k.of(p) == nil {
		return p.Recovers
	}
	how, _ := k.recovery(p, faults)
	return how
}

// recovery returns what it takes, by a policy that speaks of the loss, to drive again after it: the most that is asked for
// by one of the losses that the faults are together, 0 where nothing is stopped or the policy does not say. with is one
// that asks for more than k itself or may, "" where there is none: what k asks for itself then holds for all.
func (k *lossKind) recovery(p *law.Policy, faults []stimulus.Fault) (how law.Recovers, with string) {
	own := recoversFrom(p, k.of(p))
	if how = own; k.key != "receiver_lost" {
		return how, ""
	}
	for i := range lossKinds { // the pulses of each of its lines are lost as well
		one := &lossKinds[i]
		if l := one.of(p); one.key != k.key && l != nil && one.played(faults) {
			switch also := recoversFrom(p, l); {
			case also > own:
				how, with = max(how, also), one.key
			case also == 0 && !goesOn(l) && own != law.RecoversAtPowerCycle:
				return 0, one.key // the policy does not say: it may be more
			}
		}
	}
	return how, with
}

// recoversFrom returns what it takes to drive again after one loss, 0 where nothing is stopped by it or the policy does
// not say.
func recoversFrom(p *law.Policy, l *law.Loss) law.Recovers {
	if goesOn(l) {
		return 0
	}
	return p.RecoversAfter(l)
}

// goesOn says whether a board drives on after a loss as if nothing were lost, or nearly so.
func goesOn(l *law.Loss) bool {
	return l.Then == law.LossIgnored || l.Then == law.LossHeld
}

// lossSituations are the situations of the losses, by the alphabet.
func lossSituations() []situation {
	var all []situation
	for i := range lossKinds {
		k := &lossKinds[i]
		driven := slices.Contains([]string{"throttle_lost", "receiver_lost", "receiver_flag"}, k.key)
		all = append(all, situation{k.key, !driven, []need{{k.key, func(p *law.Policy) bool { return k.of(p) != nil }}}, func(b *branch) []ask { return b.lost(k) }})
	}
	return all
}

// lost asks after a loss what the policy says of it: that the shift goes away in time, that all
// motors go to the safe state in time, or that the board drives on.
func (b *branch) lost(k *lossKind) []ask {
	l := k.of(b.p)
	if l.Then == law.LossIdle {
		return []ask{b.safeWithin(k, l.Within)}
	}
	if why := b.lostBeside(k, l); why != "" {
		return b.notAsked(why)
	}
	if b.base == nil {
		_, err := b.e.baselineOf(b.s)
		return b.unshown(err)
	}
	why := b.shiftBeforeVanishes()
	if why != "" && l.Then == law.LossValue {
		return b.notAsked(why)
	}
	switch l.Then {
	case law.LossNoShift:
		name, seen := b.name("no shift within "+l.Within.Short()), (*branch).shiftBefore
		if why != "" {
			name, seen = name+", if there was one", (*branch).shiftOrNone
		}
		return []ask{b.since(k, name, func(b *branch, name string, c *onset) Result { return b.noShiftWithin(name, c, l.Within, seen) })}
	case law.LossValue:
		return []ask{b.gainTaken(k, l)}
	case law.LossHeld:
		return []ask{b.drivesOn(k, b.name("drives on with the gain as it was"))}
	}
	return []ask{b.drivesOn(k, b.name("drives on as if nothing were lost"))}
}

// lostBeside says why something else that is lost in the step leaves open what follows on a loss that does not stop the
// motors; "" where nothing does.
func (b *branch) lostBeside(k *lossKind, l *law.Loss) string {
	for _, other := range lossesPlayed(b.s.Faults) {
		if other.key == k.key || other.ofReceiver() && k.ofReceiver() {
			continue
		}
		if o := other.of(b.p); o == nil || o.Then != l.Then && !goesOn(o) {
			return "the policy has the board do something else, or may, for " + other.key + ", which is played with it"
		}
	}
	return ""
}

// since asks something of what follows on the last that told the board anything.
func (b *branch) since(k *lossKind, name string, judge func(b *branch, name string, c *onset) Result) ask {
	return asking(name, func(b *branch) Result {
		c, err := k.onset(b)
		if err != nil {
			return unjudged(name, err)
		}
		return judge(b, name, &c)
	})
}

// flagSet finds the last frame of a receiver's bus without the failsafe flag.
func (b *branch) flagSet() (onset, error) {
	c, err := b.lossOf(isReceiver, "receiver", trace.SentThrottle, stimulus.FailsafeFlag)
	c.what = "the last frame of the receiver without the failsafe flag"
	return c, err
}

// receiverSilent finds the last good pulse on any of a receiver's lines, or the last frame of its bus.
func (b *branch) receiverSilent() (last onset, err error) {
	for list, name := range [...]string{trace.SentSteer: "steer", trace.SentThrottle: "throttle", trace.SentGain: "gain"} {
		if !faulty(named(name), stimulus.Lost)(b.s.Faults) {
			continue // where it is still there, it is no matter: the others are lost
		}
		c, err := b.lossOf(named(name), "receiver", trace.SentTo(list), stimulus.Lost)
		if err != nil {
			return last, err
		}
		if c.at >= last.at {
			last = c
		}
	}
	if last.what == "" { // there is none
		return b.lossOf(named("throttle"), "receiver", trace.SentThrottle, stimulus.Lost)
	}
	last.what = "the last pulse or frame of the receiver"
	return last, nil
}

// counterStill finds the last frame of the yaw-rate sensor whose counter still counted: the one
// before its fault. Where the rig may have begun the fault a frame later, that is left open.
func (b *branch) counterStill() (onset, error) {
	f, end, err := b.faultOn(isSerial, "yaw_rate", stimulus.SequenceStuck)
	if err != nil {
		return onset{}, err
	}
	c := onset{what: "the last frame of " + f.Wire + " with a fresh count", end: end}
	found := false
	for _, x := range b.e.Trace.SentBetween(trace.SentYawRate, f.From-longAgo, f.From+b.e.slack()) {
		if x.Start >= f.From+b.e.slack() {
			break
		}
		if x.Start >= f.From && found {
			c.uncertainty += x.End - c.at
		}
		c.at, found = x.End, true
	}
	if !found {
		return c, b.s.undecided("no frame of %s went out before the fault; let the step before it be played first", f.Wire)
	}
	return c, nil
}
