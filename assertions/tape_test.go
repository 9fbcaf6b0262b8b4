package assertions_test

import (
	"math"
	"math/rand/v2"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

const ms = signal.Millisecond

// lossPolicy is a policy with every key that these checks read.
func lossPolicy() *law.Policy {
	p := policy()
	noShift := func(within signal.Time) *law.Loss { return &law.Loss{Then: law.LossNoShift, Within: within} }
	p.ThrottleLost, p.SteerLost = &law.Loss{Then: law.LossIdle, Within: 150 * ms}, noShift(150*ms)
	p.YawLost, p.YawFrozen, p.EncoderLost = noShift(100*ms), noShift(100*ms), noShift(100*ms)
	p.GainLost, p.SequenceFrozen = noShift(150*ms), noShift(150*ms)
	p.ReceiverLost, p.ReceiverFlag = &law.Loss{Then: law.LossIdle, Within: 150 * ms}, &law.Loss{Then: law.LossIdle, Within: 150 * ms}
	p.StartWaitsFor = []law.Input{law.InputSteer, law.InputYawRate}
	p.StartAtRest, p.Arms = new(200*ms), law.RecoversAtThrottleIdle
	p.BadChecksum, p.BadPulse, p.Spike, p.Recovers = law.BadChecksumIgnored, law.BadPulseIgnored, new(0.05), law.RecoversByItself
	p.SafeState, p.StartState = law.OutputsIdle, law.OutputsIdle
	p.OutputsTogether, p.Resolution = new(500*signal.Microsecond), new(0.005)
	p.DeadBand = new(0.0)
	p.Response = &law.Response{AtMost: 12 * ms, Quantile: 0.95}
	return p
}

// firmware is a board that lives in time: it sees pulses and frames as they
// come, gives them up when they stay away, and sends a command every 3 ms. Its
// flags are its defects.
type firmware struct {
	policy *law.Policy

	throttleAfter, steerAfter, gainAfter, countAfter, yawAfter, frozenAfter, encoderAfter signal.Time // timeouts; 0: as in newFirmware

	believesChecksum, believesSpike bool
	believesPulse                   bool
	neverRecovers                   bool
	drivesAtOnce                    bool
	neverWaits                      bool // for the throttle or for the car to rest, after power-up
	comesBack                       bool // the shift comes back 250 ms after a loss
	coarse                          float64
	windsUp                         bool
	wraps                           bool
	bends                           bool // shift with the square of the error
	band                            float64
	stagger                         signal.Time
	silentWhenSafe                  bool
	silentAtStart                   bool
	dies                            bool // for good, when yaw is lost

	last func(in *seen, m *[4]float64) // changes the commands before they go out

	null func(throttle float64, random *rand.Rand) ([4]float64, bool)

	started, latched, idled, dead bool
	up, waits                     bool // it was powered up, and waits for the throttle
	wound                         float64
	random                        *rand.Rand
}

func newFirmware(p *law.Policy, change func(*firmware)) *firmware {
	f := &firmware{
		policy: p, throttleAfter: 100 * ms, steerAfter: 100 * ms, gainAfter: 100 * ms, countAfter: 100 * ms, yawAfter: 60 * ms, frozenAfter: 60 * ms, encoderAfter: 50 * ms,
		random: rand.New(rand.NewPCG(7, 7)),
	}
	if change != nil {
		change(f)
	}
	return f
}

// The boards that do nothing.
func silentBoard(f *firmware) {
	f.null = func(float64, *rand.Rand) ([4]float64, bool) { return [4]float64{}, false }
}

func idleBoard(f *firmware) {
	f.null = func(float64, *rand.Rand) ([4]float64, bool) { return [4]float64{}, true }
}

func equalBoard(f *firmware) {
	f.null = func(throttle float64, _ *rand.Rand) ([4]float64, bool) {
		return [4]float64{throttle, throttle, throttle, throttle}, true
	}
}

func randomBoard(f *firmware) {
	f.null = func(_ float64, r *rand.Rand) ([4]float64, bool) {
		return [4]float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}, true
	}
}

// seen is what has come to the board's pins by now.
type seen struct {
	now                                signal.Time
	throttle, steer, gain, yaw, anyYaw trace.Sent // the last complete good ones; anyYaw with any checksum
	had                                [3]bool    // throttle, steer, yaw since power-up
	sure                               float64    // the yaw rate that no single frame has changed by a leap
	fresh                              signal.Time
	encoder                            signal.Time // since when an encoder is silent, 0: none is
	count                              signal.Time // since when the frames' counter stands still, 0: it counts
	step                               *assertions.Step
}

// run returns the four commands, and whether any are sent.
func (f *firmware) run(in *seen) ([4]float64, bool) {
	throttle := in.throttle.Value
	lost := in.now-in.throttle.End > f.throttleAfter
	if f.null != nil {
		if lost {
			throttle = 0
		}
		return f.null(throttle, f.random)
	}
	f.started = f.started || in.had[0] && (f.drivesAtOnce || in.had[1] && in.had[2])
	if !f.started {
		return [4]float64{}, !f.silentAtStart
	}
	if !f.neverWaits && !f.drivesAtOnce && f.waiting(in, throttle) {
		return [4]float64{}, !f.silentAtStart
	}
	yaw := in.yaw
	if f.believesChecksum {
		yaw = in.anyYaw
	}
	value := yaw.Value
	if !f.believesSpike && !f.believesChecksum {
		value = in.sure
	}
	yawLost := in.now-yaw.End > f.yawAfter
	if f.dies && yawLost {
		f.dead = true
	}
	if f.dead {
		return [4]float64{}, false
	}
	frozen := in.now-in.fresh > f.frozenAfter
	cause := lost || in.now-in.steer.End > f.steerAfter || in.now-in.gain.End > f.gainAfter || in.count != 0 && in.now-in.count > f.countAfter || yawLost || frozen || in.encoder != 0 && in.now-in.encoder > f.encoderAfter
	since := in.now - max(min(yaw.End, in.fresh), 0)
	if f.comesBack && since > 250*ms {
		cause = false
	}
	if cause {
		f.latched = true
	} else if f.policy.Recovers == law.RecoversByItself && !f.neverRecovers || f.policy.Recovers == law.RecoversAtThrottleIdle && throttle < 0.02 && !f.neverRecovers {
		f.latched = false
	}
	if lost || f.latched && f.idled {
		f.idled = true
		return [4]float64{}, !f.silentWhenSafe
	}
	f.idled = false
	m := f.commands(in.step, throttle, value)
	if f.last != nil {
		f.last(in, &m)
	}
	return m, true
}

// waiting says whether the board still waits for the throttle, or for the car to rest, after power-up.
func (f *firmware) waiting(in *seen, throttle float64) bool {
	s, p := in.step, f.policy
	if s.PowerUp && !f.up {
		f.up, f.waits = true, p.Arms != 0
	}
	if throttle < 0.02 {
		f.waits = false
	}
	return f.waits || s.PowerUp && p.StartAtRest != nil && (s.Speed != 0 || in.now-s.Applied < *p.StartAtRest)
}

// commands are those of a board whose inputs are as said.
func (f *firmware) commands(step *assertions.Step, throttle, yaw float64) [4]float64 {
	s := *step
	s.Throttle, s.YawRate = throttle, yaw
	yawError := s.Demand - s.YawRate
	if f.band > 0 {
		s.YawRate = s.Demand - math.Copysign(max(math.Abs(yawError)-f.band, 0), yawError)
	}
	if f.windsUp {
		f.wound = min(max(f.wound+yawError*0.01, -1), 1)
		if math.Abs(yawError) < 2*deg {
			f.wound *= 0.97
			s.YawRate = s.Demand - f.wound
		}
	}
	if f.bends {
		s.YawRate = s.Demand - yawError*math.Abs(yawError)/(45*deg)
	}
	if f.latched {
		s.YawRate = s.Demand
	}
	p := *f.policy
	if f.wraps {
		p.Floor = new(-1.0)
	}
	m := good(s, &p)
	for i := range m {
		if math.Abs(s.Steer) > p.Cap.SteerAbove {
			m[i] = min(m[i], p.Cap.Of)
		}
		if f.wraps && m[i] < 0 {
			m[i] = 0.92
		}
		if f.coarse > 0 {
			m[i] = math.Floor(m[i]/f.coarse) * f.coarse
		}
	}
	return m
}

// stretch makes a step that settles and is observed that long; the tape gives
// it its times.
func stretch(s assertions.Step, settle, observe signal.Time) assertions.Step {
	s.From, s.To = settle, observe
	return s
}

func titled(name string, s assertions.Step) assertions.Step {
	s.Name = name
	return s
}

// under adds faults, their times from the step's beginning, To 0 to its end.
func under(s assertions.Step, faults ...stimulus.Fault) assertions.Step {
	s.Faults = faults
	return s
}

func lost(wire string) stimulus.Fault  { return stimulus.Fault{Kind: stimulus.Lost, Wire: wire} }
func stuck(wire string) stimulus.Fault { return stimulus.Fault{Kind: stimulus.Stuck, Wire: wire} }

// tape plays steps to a firmware. ramps say between which throttles the steps of
// those names go, there, and where they are swept back.
type tape struct {
	firmware *firmware
	ramps    map[string][2]float64
}

func (tp *tape) play(steps ...assertions.Step) *assertions.Evidence {
	e := &assertions.Evidence{Trace: &trace.Trace{Tick: ms, Start: signal.Second}, Policy: tp.firmware.policy, CommandStep: 0.001}
	now := signal.Second
	for _, s := range steps {
		s.Applied, s.From = now, now+s.From
		s.To += s.From
		faults := s.Faults
		s.Faults = nil
		for _, f := range faults {
			f.From += s.Applied
			if f.To == 0 {
				f.To = s.To - s.Applied
			}
			f.To += s.Applied
			s.Faults = append(s.Faults, f)
		}
		e.Steps = append(e.Steps, s)
		now = s.To
	}
	tp.wires(e, now)
	tp.motors(e, now)
	return e
}

func playedAt(e *assertions.Evidence, t signal.Time) *assertions.Step {
	for i := range e.Steps {
		if t < e.Steps[i].To {
			return &e.Steps[i]
		}
	}
	return &e.Steps[len(e.Steps)-1]
}

func faulty(s *assertions.Step, wire string, kind stimulus.FaultKind, t signal.Time) (stimulus.Fault, bool) {
	for _, f := range s.Faults {
		if f.Wire == wire && f.Kind == kind && t >= f.From && t < f.To {
			return f, true
		}
	}
	return stimulus.Fault{}, false
}

func (tp *tape) throttle(s *assertions.Step, t signal.Time) float64 {
	r, ok := tp.ramps[s.Name]
	if !ok {
		return s.Throttle
	}
	x := min(max((t-s.From).Seconds()/(s.To-s.From).Seconds(), 0), 1)
	if s.Swept {
		x = 1 - math.Abs(2*x-1)
	}
	return r[0] + x*(r[1]-r[0])
}

// wires fills what was sent: pulses every 10 ms, yaw frames every 5 ms with the
// sensor's noise of a least significant bit.
func (tp *tape) wires(e *assertions.Evidence, end signal.Time) {
	random := rand.New(rand.NewPCG(1, 2))
	bad := map[signal.Time]int{}
	for t := e.Trace.Start + 1100*signal.Microsecond; t < end; t += 10 * ms {
		s := playedAt(e, t)
		if _, is := faulty(s, "throttle", stimulus.Lost, t); !is {
			x := tp.throttle(s, t)
			_, flagged := faulty(s, "throttle", stimulus.FailsafeFlag, t)
			if f, is := faulty(s, "throttle", stimulus.BadPulse, t); is && bad[f.From] < max(1, f.Frames) {
				bad[f.From]++
				x, flagged = (f.Width-ms).Seconds()*1e3, true
			}
			e.Trace.Sent[trace.SentThrottle] = append(e.Trace.Sent[trace.SentThrottle], trace.Sent{Start: t, End: t + ms + signal.FromSeconds(x*1e-3), Value: x, Bad: flagged})
		}
		if _, is := faulty(s, "gain", stimulus.Lost, t); !is {
			e.Trace.Sent[trace.SentGain] = append(e.Trace.Sent[trace.SentGain], trace.Sent{Start: t, End: t + 1500*signal.Microsecond, Value: s.Gain})
		}
		if _, is := faulty(s, "steer", stimulus.Lost, t); !is {
			e.Trace.Sent[trace.SentSteer] = append(e.Trace.Sent[trace.SentSteer], trace.Sent{Start: t, End: t + 1500*signal.Microsecond, Value: s.Steer})
		}
	}
	spikes := map[signal.Time]int{}
	list := &e.Trace.Sent[trace.SentYawRate]
	for t := e.Trace.Start + 300*signal.Microsecond; t < end; t += 5 * ms {
		s := playedAt(e, t)
		if _, is := faulty(s, "yaw_serial", stimulus.Lost, t); is {
			continue
		}
		x := trace.Sent{Start: t, End: t + 600*signal.Microsecond, Value: s.YawRate + 0.0625*deg*math.Round(random.NormFloat64())}
		if _, is := faulty(s, "yaw_serial", stimulus.Stuck, t); is {
			x.Value = (*list)[len(*list)-1].Value
		}
		if f, is := faulty(s, "yaw_serial", stimulus.Spike, t); is && spikes[f.From] < max(1, f.Frames) {
			spikes[f.From]++
			x.Value += f.By
		}
		_, x.Bad = faulty(s, "yaw_serial", stimulus.WrongChecksum, t)
		*list = append(*list, x)
	}
}

// motors lets the firmware answer, every 3 ms.
func (tp *tape) motors(e *assertions.Evidence, end signal.Time) {
	var in seen
	var at [4]int
	for t := e.Trace.Start + 700*signal.Microsecond; t < end; t += 3 * ms {
		in.now, in.step = t, playedAt(e, t)
		take := func(k int, list trace.SentTo, each func(trace.Sent)) {
			for sent := e.Trace.Sent[list]; at[k] < len(sent) && sent[at[k]].End <= t; at[k]++ {
				each(sent[at[k]])
			}
		}
		take(0, trace.SentThrottle, func(x trace.Sent) {
			if !x.Bad || tp.firmware.believesPulse {
				in.throttle, in.had[0] = x, true
			}
		})
		take(3, trace.SentGain, func(x trace.Sent) { in.gain = x })
		take(1, trace.SentSteer, func(x trace.Sent) { in.steer, in.had[1] = x, true })
		take(2, trace.SentYawRate, func(x trace.Sent) {
			if x.Value != in.anyYaw.Value {
				in.fresh = x.End
			}
			in.anyYaw = x
			if !x.Bad {
				if !in.had[2] || math.Abs(x.Value-in.sure) <= 250*deg || math.Abs(x.Value-in.yaw.Value) <= 100*deg {
					in.sure = x.Value
				}
				in.yaw, in.had[2] = x, true
			}
		})
		in.encoder, in.count = 0, 0
		for _, f := range in.step.Faults {
			if f.Kind == stimulus.SequenceStuck && t >= f.From {
				in.count = f.From
			}
			if f.Wire == "rear_left" && t >= f.From {
				in.encoder = f.From
			}
		}
		m, sends := tp.firmware.run(&in)
		for w := range m {
			if !sends {
				continue
			}
			start := t + tp.firmware.stagger*signal.Time(w)
			e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{
				Start: start, End: start + ms + signal.FromSeconds(m[w]*1e-3), Value: m[w], Uncertainty: 0.0005,
			})
		}
	}
}
