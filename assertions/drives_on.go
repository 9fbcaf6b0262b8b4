package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// drivesOn asks of a step in which something is lost that the policy lets the board ignore
// whether every command stays what the law says of the values that came last, and where a wheel is lost
// of any speed that the others have.
func (b *branch) drivesOn(k *lossKind, name string) ask {
	if why := b.unsaid(); why != "" {
		return notAsking(name, why)
	}
	return b.since(k, name, func(b *branch, name string, c *onset) Result {
		h, err := b.heldLaw(k, nil)
		if err != nil {
			return unjudged(name, err)
		}
		h.stood = b.stoodBefore(k)
		r := worstMotor(name, func(w plant.Wheel) (Result, error) { return h.farthest(name, w, c) })
		if on, ok := b.goesOn(name, c); ok && on.Verdict.Compare(r.Verdict) > 0 {
			return on
		}
		return r
	})
}

// goesOn judges that not all motors are taken back late in a step in which something is lost that the board may ignore: whichever way
// it then shifts, the motors that it does not lower stand no lower than in the baseline. ok is false where the policy may have
// all of them lowered.
func (b *branch) goesOn(name string, c *onset) (r Result, ok bool) {
	p, in := b.p, readings{e: b.e}
	if c.end < b.s.To || b.s.Throttle != b.base.Throttle || p.SumCap != nil || p.TractionControl != nil || lowersAll(p.Understeer) || lowersAll(p.Oversteer) {
		return r, false
	}
	least, top := measure.Estimate{Value: math.Inf(1)}, measure.Interval{Low: math.Inf(-1), High: math.Inf(-1)}
	for _, w := range plant.Wheels {
		if stood := in.mean(w, b.base); stood.Value < least.Value {
			least = stood
		}
		for _, f := range b.e.frames(w, lastHalf(b.s)) {
			top.Low, top.High = max(top.Low, f.Value-f.Uncertainty), max(top.High, f.Value+f.Uncertainty)
		}
	}
	limit := least.Interval().Low - b.e.deadShift()
	if in.err != nil || math.IsInf(top.High, 0) || p.Cap != nil && limit > p.Cap.Of || !(limit > 0) {
		return r, false
	}
	r = judged(Result{Name: name, Step: b.s.Name, At: b.s.To}, Measurement{Quantity: "highest command of any motor", Unit: "%",
		Estimate: middleOf(top) * percent, Low: top.Low * percent, High: top.High * percent, Limit: AtLeast(limit * percent)})
	why := fmt.Sprintf("all motors were taken back after %s: none was commanded to more than %s, and they stood at %s and more before", c.what, share(top.High), share(least.Value))
	return r.tooNear(why, "the policy's dead_shift"), true
}

// lowersAll says whether a branch of the policy may lower all four motors, as one may of which it says nothing.
func lowersAll(split *law.Split) bool { return split == nil || len(split.Lower) > 3 }

// gainTaken asks whether in time after a loss of the gain trim every command is what the law says of
// the gain that the policy then has the board take, and stays so.
func (b *branch) gainTaken(k *lossKind, l *law.Loss) ask {
	name := b.name(fmt.Sprintf("drives with a gain of %s within %s", share(l.Value), l.Within.Short()))
	if why := b.unsaid(); why != "" {
		return notAsking(name, why)
	}
	return b.since(k, name, func(b *branch, name string, c *onset) Result {
		h, err := b.heldLaw(k, &measure.Interval{Low: l.Value, High: l.Value})
		if err != nil {
			return unjudged(name, err)
		}
		return b.overWithin(&ending{
			lasts: h.differs, control: b.shiftBefore, until: "as with a gain of " + share(l.Value), still: "commanded to %s, which is for another gain,",
			again: "it had been and left it again", over: "it went there", unclear: ", or too near what is allowed,", smooth: true,
		}, name, c, l.Within)
	})
}

// unsaid says why the law says nothing of the commands in the step, "" where it does.
func (b *branch) unsaid() string {
	point := func(x float64) measure.Interval { return measure.Interval{Low: x, High: x} }
	s := b.s
	in := law.Inputs{Steer: point(s.Steer), Speed: point(s.Speed), YawRate: point(s.YawRate), Throttle: point(s.Throttle), Gain: point(s.Gain)}
	for i := range in.Unshifted {
		in.Unshifted[i] = point(s.Throttle)
	}
	if a := b.e.law().At(&in); a.Missing != "" {
		return fmt.Sprintf("the policy has no %s, which says how far the motors go on to be shifted", a.Missing)
	}
	return ""
}

// heldLaw is the law of a step in which something is lost: each input holds what came last.
type heldLaw struct {
	b       *branch
	law     *law.Law
	history law.History
	gain    *measure.Interval    // that is taken; nil: that which came last
	wheels  *[4]measure.Interval // the hubs' speeds where one of them is lost, m/s
	stood   *[4]Limit            // between what the motors stood before; nil where they need not go on so
}

// stoodBefore returns between what the commands of each motor lay before something was lost, where they have to stay so: a shift
// whose size is not declared, and that does not grow with time either, is the same as long as all that it goes by is. It is nil where
// the law tells the size, and where firmware need not go by the same as before.
func (b *branch) stoodBefore(k *lossKind) *[4]Limit {
	before := b.lastBefore(func(s *Step) bool { return s.sound() && !s.Baseline })
	same := func(s *Step) bool {
		return !s.Moving && !s.Swept && s.Speed == b.s.Speed && s.Steer == b.s.Steer && s.YawRate == b.s.YawRate && s.Throttle == b.s.Throttle && s.Gain == b.s.Gain
	}
	if sized(b.p) || b.p.MayIntegrate() || k.key == "encoder_lost" || before == nil || !same(before) || !same(b.s) {
		return nil
	}
	stood, t := [4]Limit{}, b.e.deadShift()
	for i, w := range plant.Wheels {
		frames := b.e.frames(w, lastHalf(before))
		if len(frames) < fewest {
			return nil
		}
		stood[i] = measure.RangeOf()
		for _, f := range frames {
			stood[i].Include(f.Value-f.Uncertainty-t, f.Value+f.Uncertainty+t)
		}
	}
	return &stood
}

// heldLaw reads what was played for a step in which k is lost. gain, where it is not nil, takes the
// place of the gain that was played.
func (b *branch) heldLaw(k *lossKind, gain *measure.Interval) (*heldLaw, error) {
	h := &heldLaw{b: b, law: b.e.law(), history: b.e.history(b.s), gain: gain}
	if s := b.s; !s.Moving && !s.Swept {
		h.history.Speed = law.Series{}
		h.history.Speed.Add(b.e.since(s), s.Speed)
	}
	var err error
	if h.history.Curve, err = b.baselineCurve(); err != nil {
		return nil, err
	}
	if k.key == "encoder_lost" {
		h.wheels, err = b.wheelsWithout()
	}
	return h, err
}

// baselineCurve returns what the motors are commanded with no shift: as in the baseline, and with
// the throttle from there.
func (b *branch) baselineCurve() (*law.Curve, error) {
	in := readings{e: b.e}
	ends := [2]float64{b.e.Lowest, 1}
	c := &law.Curve{Throttle: ends[:], Motors: make([][4]measure.Interval, len(ends))}
	uncut := b.baselineUncut()
	for i, w := range plant.Wheels {
		m := in.mean(w, b.base)
		for k, x := range ends {
			at := m.Value + (x - b.base.Throttle)
			c.Motors[k][i] = measure.Interval{Low: at - m.Expanded(), High: max(at+m.Expanded(), uncut[i]+(x-b.base.Throttle))}
		}
	}
	return c, in.err
}

// baselineUncut returns the most that each motor is commanded in the baseline where traction control may have cut it there, now
// and then or all the time: with no wheel too fast it goes higher. It is less than any command where that does not hold.
func (b *branch) baselineUncut() (most [4]float64) {
	unshifted := b.e.unshiftedAt(b.base.Throttle)
	for i, may := range b.e.mayCut(b.base) {
		if most[i] = math.Inf(-1); may {
			most[i] = unshifted[i].High
		}
	}
	return most
}

// wheelsWithout returns the speeds of the four hubs in m/s, that of a wheel whose encoder is lost
// from none to the most of all: firmware that leaves it out goes by the others, and for firmware that
// believes its line, which is still, the wheel stands. A wheel with a broken line may as well turn back.
func (b *branch) wheelsWithout() (*[4]measure.Interval, error) {
	var v [4]float64
	for i := range v {
		rows := rowsOf(b.e.Trace, b.s.From, b.s.From+2*b.e.slack(), trace.WheelFrontLeft+trace.Channel(i))
		rates := rows.of(trace.WheelFrontLeft + trace.Channel(i))
		if len(rates) == 0 {
			return nil, b.s.undecided("the trace does not hold the wheels' speeds")
		}
		v[i] = rates[0]
	}
	mean := (v[plant.RearLeft] + v[plant.RearRight]) / 2 // the rear hubs' mean is the car's speed
	if !(math.Abs(mean) > 0) {
		return nil, b.s.undecided("the car stands still in this step, so that no wheel could be missed; play a speed")
	}
	all := measure.RangeOf()
	var hubs [4]measure.Interval
	for i := range v {
		v[i] *= b.s.Speed / mean
		all.Include(v[i])
		hubs[i] = measure.RangeOf(v[i])
	}
	for i := range hubs {
		lost, broken := b.s.encoderFault(i)
		if lost {
			hubs[i] = all
			hubs[i].Include(0)
		}
		if broken { // the other line's edges count to and fro
			hubs[i].Include(-all.High)
		}
	}
	return &hubs, nil
}

// encoderFault says whether a wheel's encoder is lost in a step, and whether that is by a line of it which
// is broken.
func (s *Step) encoderFault(wheel int) (lost, broken bool) {
	at := func(wire string) bool { return onWheel(wire, signal.Wheels[wheel]) }
	return faulty(at, stimulus.Lost, stimulus.Stuck)(s.Faults), faulty(at, stimulus.Stuck)(s.Faults)
}

// allowed returns what the law allows a motor to be commanded by the end of a frame.
func (h *heldLaw) allowed(w plant.Wheel, end signal.Time) (Limit, error) {
	in, ok := h.law.Over(&h.history, end)
	if !ok {
		return Limit{}, h.b.s.undecided("the trace does not hold what was played, so that nothing can be declared for it")
	}
	if h.gain != nil {
		in.Gain = *h.gain
	}
	if h.wheels != nil {
		in.Wheels, in.HasWheels = *h.wheels, true
		for i := range in.Silent {
			in.Silent[i], _ = h.b.s.encoderFault(i)
		}
	}
	a, t := h.law.At(&in), h.b.e.deadShift()
	limit := between(a.Commands[w].Low-t, a.Commands[w].High+t)
	if h.stood != nil {
		stood := h.stood[w]
		if low, high := max(limit.Low, stood.Low), min(limit.High, stood.High); low < high {
			return between(low, high), nil
		}
	}
	return limit, nil
}

// farthest judges the command of a motor since an onset that is farthest past what is allowed.
func (h *heldLaw) farthest(name string, w plant.Wheel, c *onset) (Result, error) {
	b := h.b
	if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
		return Result{}, err
	}
	far, limit, past := trace.Frame{Value: math.NaN(), End: b.s.From}, Limit{}, math.Inf(-1)
	for _, f := range b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s) {
		l, err := h.allowed(w, f.End)
		if err != nil {
			return Result{}, err
		}
		if x := max(l.Low-f.Value, f.Value-l.High); !(x <= past) {
			far, limit, past = f, l, x
		}
	}
	r := judged(Result{Name: name, Step: b.s.Name, At: far.End}, Measurement{
		Quantity: "farthest that a command went past what is allowed, " + w.String(), Unit: "%",
		Estimate: past * percent, Low: (past - far.Uncertainty) * percent, High: (past + far.Uncertainty) * percent, Limit: AtMost(0),
	})
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after %s; of what came last the policy says %s to %s",
		w, share(far.Value), far.End, (far.End - c.at).Short(), c.what, share(limit.Low), share(limit.High))
	if h.stood != nil {
		why += ", no farther from where it stood before than counts as none"
	}
	return r.tooNear(why, "the policy's dead_shift"), nil
}

// differs measures how long after an onset a motor is commanded otherwise than is allowed.
func (h *heldLaw) differs(w plant.Wheel, c *onset) (persistence, error) {
	b := h.b
	if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
		return persistence{}, err
	}
	var err error
	l := c.persistenceOf(b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s), w, func(f trace.Frame) (surely, perhaps bool) {
		limit, e := h.allowed(w, f.End)
		if e != nil {
			err = e
		}
		past := max(limit.Low-f.Value, f.Value-limit.High)
		return !(past-f.Uncertainty <= 0), !(past+f.Uncertainty <= 0)
	})
	return l, err
}
