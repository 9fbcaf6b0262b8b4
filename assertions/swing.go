package assertions

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// The needs of what a swing is asked of.
var (
	needDerivative = need{"shift_at with a derivative_time", func(p *law.Policy) bool { return p.ShiftAt != nil && p.ShiftAt.DerivativeTime > 0 }}
	needSteerRate  = need{"demand with a steer_rate", func(p *law.Policy) bool { return p.Demand != nil && p.Demand.SteerRate > 0 }}
)

// derivative asks of a case whose steps have the yaw rate swing, each faster than the one before, how far the commands swing with
// it, and how far ahead or behind. A derivative of the yaw error makes a swing the larger and takes it the farther ahead the
// faster it goes. What the firmware rests its commands on may be as late as the law looks back, or any mean over that; this takes a
// swing back and makes it smaller, and never larger. So the swings of all firmware that keeps the policy, whatever it has of
// delays, filters and means and however large its shifts are, are sums of those of such delays: those of firmware without the
// derivative, or with it the wrong way round, are none where the policy leaves room to tell.
func (b *branch) derivative() []ask { return b.leadIn(trace.YawRate, "shift_at") }

// steerRate asks the same of what is fed forward of the steering, which swings.
func (b *branch) steerRate() []ask { return b.leadIn(trace.Steer, "demand") }

// leadIn asks it of a case in which a channel swings.
func (b *branch) leadIn(c trace.Channel, key string) []ask {
	w := &swings{branch: *b, of: c}
	if w.find(); len(w.all) < fewestSwings {
		return b.unshown(b.s.undecided("the case has %d steps in which the %s alone swings about the same value; give it %d, each faster than the one before, like {sine: 5 deg, at: 4 Hz, about: 8 deg}", len(w.all), spoken(c), fewestSwings))
	}
	if why := w.prepare(); why != "" {
		return b.notAsked(why)
	}
	name := b.name("the commands swing as declared")
	a := asking(name, func(b *branch) Result {
		played := &swings{branch: *b, of: c}
		played.find()
		played.prepare()
		return played.judged(name)
	}).of(key)
	a.only = []string{key}
	return []ask{a}
}

// spoken returns a channel in words.
func spoken(c trace.Channel) string {
	if c == trace.YawRate {
		return "yaw rate"
	}
	return "steering"
}

// fewestSwings is at how many frequencies a swing is read at least: one that tells how far the commands go, and two.
const fewestSwings = 3

// swings are the steps of a case in which a channel swings, and what by the policy the commands swing by.
type swings struct {
	branch
	of     trace.Channel
	all    []oneSwing    // slowest first
	wheels []plant.Wheel // those that the branch moves
	parts  []float64     // what each counts, so that all swing alike: 1 over its share, below 0 where it is lowered
	varies bool          // the shares do
	lead   float64       // s, that the policy declares
	back   signal.Time   // how far before its end what a command rests on may lie
	slope  float64       // how far a command goes with the channel when that is slow, shares per unit, by the policy
	may    [][]float64   // swings that the policy allows, of which sums are allowed as well: of each step the real and the imaginary part
	moved  float64       // by how much the demand goes with the yaw rate, since the speed that the firmware takes may
	slack  float64       // how far off those may lie all the same, in times their own size
}

// oneSwing is a step in which a channel swings.
type oneSwing struct {
	step *Step
	rate float64 // rad/s
	by   float64
}

// find lists the steps of the case that swing as the judged one does, the slowest first.
func (w *swings) find() {
	for i := range w.e.Steps {
		s := &w.e.Steps[i]
		x := s.Swing
		if x == nil || x.Of != w.of || !(x.At > 0) || x.By == 0 || !s.sound() || s.Speed != w.s.Speed || s.Gain != w.s.Gain || s.Throttle != w.s.Throttle || w.about(s) != w.about(w.s) {
			continue
		}
		w.all = append(w.all, oneSwing{s, 2 * math.Pi * x.At, x.By})
	}
	slices.SortStableFunc(w.all, func(a, b oneSwing) int { return cmp.Compare(a.rate, b.rate) })
}

// about returns what the channel swings about in a step.
func (w *swings) about(s *Step) float64 {
	if w.of == trace.Steer {
		return s.Steer
	}
	return s.YawRate
}

// valuesASwing is how many values a wire has to bring in each swing for that to be read.
const valuesASwing = 5

// plainChange is by how many times what the timing of a pulse leaves open the steering has to change, where it goes fastest, from one value to the
// next: firmware takes smaller changes for none.
const plainChange = 1.3

// prepare works out from the policy and the steps as they are meant what the commands may swing by; why says why nothing is asked.
func (w *swings) prepare() (why string) {
	p, s := w.p, w.s
	split := splitFor(p, s)
	switch {
	case p.MayIntegrate():
		return "the policy's shift gathers with time, so that how far ahead or behind it swings tells nothing of what it goes by"
	case !(p.ShiftAt.Error > 0) || !(p.ShiftAt.Gain > 0):
		return "the policy's shift_at declares no size"
	case split == nil || !(s.Speed > 0):
		return "the policy asks for no shift in this step, or not surely for one branch"
	}
	if why := w.gainOpen(); why != "" {
		return why
	}
	frame := w.e.Apart.Yaw
	if w.lead = p.ShiftAt.DerivativeTime; w.of == trace.Steer {
		w.lead, frame = p.Demand.SteerRate, w.e.Apart.Steer
	}
	w.varies = split.Varies
	w.back = w.e.law().Late() + w.e.Apart.Slowest
	for _, m := range moving(split) {
		if wheel, ok := m.corner.Wheel(s.Turn(p)); ok {
			sign := map[Sense]float64{Raised: 1, Lowered: -1}[m.is]
			w.wheels, w.parts = append(w.wheels, wheel), append(w.parts, sign/split.ShareOf(wheel))
		}
	}
	if why := w.slopes(); why != "" {
		return why
	}
	w.all = slices.DeleteFunc(w.all, func(x oneSwing) bool {
		if float64(x.rate)*frame.Seconds()*valuesASwing > 2*math.Pi {
			why = cmp.Or(why, fmt.Sprintf("the %s comes too seldom, every %s, to swing fast", spoken(w.of), frame.Short()))
			return true
		}
		if w.of == trace.Steer && math.Abs(x.by)*x.rate*frame.Seconds() < plainChange*SteerOpen {
			why = cmp.Or(why, fmt.Sprintf("the steering comes so often, every %s, that it hardly changes from one value to the next", frame.Short()))
			return true
		}
		left := w.leaves(x)
		why = cmp.Or(why, left)
		return left != ""
	})
	if len(w.all) < fewestSwings {
		return why
	}
	if why := w.reading(); why != "" {
		return why
	}
	if w.may = w.allowed(1); !w.tells() {
		return fmt.Sprintf("the policy and the wires let the board go by what is up to %s old, and in that a lead of %s that is left out or goes the wrong way hides", w.back.Short(), signal.FromSeconds(w.lead).Short())
	}
	return ""
}

// A derivative goes through a low-pass that lasts no longer than its own time, or than some turns of the loop, or it is the difference of
// two values that stand no farther apart; common practice, no source.
const (
	filteredTurns = 4
	filterSteps   = 4
)

// leads returns what so many times the declared lead, and the declared filter of the commands or less of it, may multiply a swing of some
// rate by, each way of having them in the same place for all rates.
func (w *swings) leads(rate, times float64) (all []complex128) {
	filter := 0.0
	if x := w.p.Smoothing; x != nil {
		filter = x.Filter.Seconds()
	}
	for _, part := range []float64{0, 0.5, 1} {
		for _, x := range w.unfiltered(rate, times) {
			all = append(all, x/complex(1, rate*filter*part))
		}
		if filter == 0 {
			break
		}
	}
	return all
}

// unfiltered returns what the lead alone may multiply it by.
func (w *swings) unfiltered(rate, times float64) []complex128 {
	frame, t := w.e.Apart.Yaw, w.p.ShiftAt.DerivativeTime
	if w.of == trace.YawRate {
		return w.leadsOf(rate, w.lead, times, frame)
	}
	frame = w.e.Apart.Steer
	all := w.leadsOf(rate, w.lead, times, frame)
	if t > 0 { // of the whole error, or of the yaw rate alone
		for _, one := range all[:len(all):len(all)] {
			for _, other := range w.leadsOf(rate, t, 1, frame) {
				all = append(all, one*other)
			}
		}
	}
	return all
}

// leadsOf returns that of a derivative of so many seconds.
func (w *swings) leadsOf(rate, lead, times float64, frame signal.Time) (all []complex128) {
	longest := max(lead, frame.Seconds())
	if r := w.p.LoopRate; r != nil {
		longest = max(longest, filteredTurns / *r)
	}
	for k := range filterSteps + 1 {
		lag := rate * longest * float64(k) / filterSteps
		all = append(all, 1+complex(0, rate*lead*times)/complex(1, lag), 1+complex(0, rate*lead*times)*cmplx.Rect(1, -lag))
	}
	return all
}

// leaves says why a swing of firmware that keeps the policy might leave the branch, or bring a motor or the demand to a limit;
// empty where it does not.
func (w *swings) leaves(x oneSwing) string {
	most := 1.0
	for _, lead := range w.leads(x.rate, 1) {
		most = max(most, cmplx.Abs(lead))
	}
	if p := w.p.Smoothing; p != nil && p.FullRangeIn > 0 && math.Abs(w.slope*x.by)*most*x.rate > slewFree/p.FullRangeIn.Seconds() {
		return "the policy's smoothing may hold the commands back in the swings, which hides how far they would go"
	}
	middle := w.lawAt(w.s, 0)
	for _, by := range []float64{-x.by, x.by} {
		s, lead := x.step.with(w.of, w.about(x.step)+by), 0.0
		if w.of == trace.Steer {
			lead = by * (most - 1)
		} else {
			s.YawRate += by * (most - 1)
		}
		a := w.lawAt(s, lead)
		switch {
		case w.spinsIn(s, nearlySpins):
			return "a wheel goes so much faster than the slowest that the policy's traction_control may cut its motor"
		case w.limitsDemand(s, lead):
			return "with what is fed forward the demand comes to its limit in the swings"
		case a.Missing != "":
			return "the policy has no " + a.Missing
		case a.Branch != middle.Branch || a.Open != 0 || w.goes(&a):
			return "with all that the policy declares of its lead the shift may go away in the swings, or to the other branch"
		case slices.ContainsFunc(w.wheels, func(wheel plant.Wheel) bool { return a.Perhaps[wheel] }):
			return "a motor may come to its cap, its floor or an end of its range in the swings, which hides how far it would go"
		}
	}
	return ""
}

// goes says whether by an answer of the law a motor of the branch may not be shifted at all; of shares that vary, whether none is for sure.
func (w *swings) goes(a *law.Answer) bool {
	still := func(wheel plant.Wheel) bool {
		s := a.Shifts[wheel]
		return s.Low <= w.e.offBy() && s.High >= -w.e.offBy()
	}
	if w.varies {
		return !slices.ContainsFunc(w.wheels, func(wheel plant.Wheel) bool {
			return max(-a.Shifts[wheel].Low, a.Shifts[wheel].High) > clearMultiple*w.e.deadShift()
		})
	}
	return slices.ContainsFunc(w.wheels, still)
}

// lawAt returns what the law says of a step as it is meant with so much of the steering, rad, fed forward.
func (w *swings) lawAt(s *Step, lead float64) law.Answer {
	in := w.e.meant(s)
	if rate := w.p.Demand.SteerRate; rate > 0 {
		in.SteerRate = between(lead/rate, lead/rate)
	}
	return w.e.firmware(*w.p).law.At(&in)
}

// slewFree is up to what share of a slew limit the commands go in a swing that is read: noise may take them further.
const slewFree = 0.7

// nearLimit is from what share of a limit of the demand on wheels that turn a little faster than the car may bring it there.
const nearLimit = 0.8

// limitsDemand says whether the demand may come to a limit of the policy in a step with so much of the steering fed forward.
func (w *swings) limitsDemand(s *Step, lead float64) bool {
	d := *w.p.Demand
	most := d.YawLimit
	if most == 0 {
		most = math.Inf(1)
	}
	if d.LateralLimit > 0 {
		most = min(most, d.LateralLimit/s.Speed)
	}
	d.YawLimit, d.LateralLimit = 0, 0
	return math.Abs(d.YawRate(s.Speed, s.Steer+lead))*(1+d.Within) > nearLimit*most
}

const (
	// ofItself is how far off a swing is read all the same, in times its own size: the fits of sampled sines to each other, tried
	// on healthy boards.
	ofItself = 0.02
	// bent is what the bend of a shift that saturates makes of a swing, beside that, where it comes to no more than straightTo of its
	// bound; it may be so many times as steep there as it is declared to be.
	bent       = 0.02
	straightTo = 0.6
	// fewestSteps is how many steps of the commands a swing has to have to be read.
	fewestSteps = 2
)

// coarsely is what the steps of commands make of a swing that is so many of them large: the first harmonic of a sine that is rounded to
// whole steps lies within 0.45 m^-1.5 of it; a test works it out.
func coarsely(steps float64) float64 { return 0.45 / (steps * math.Sqrt(steps)) }

// slopes finds how far commands go with the channel when it moves slowly; why says why that cannot be told.
func (w *swings) slopes() (why string) {
	s, at, by := w.all[0].step, w.p.ShiftAt, w.all[0].by
	all := measure.RangeOf()
	for _, p := range w.e.demands() {
		var ends, demand [2]float64
		for i, v := range [2]float64{-by, by} {
			x := s.with(w.of, w.about(s)+v)
			demand[i] = w.e.demandBy(&p, x)
			ends[i] = math.Abs(demand[i] - x.YawRate)
		}
		if w.of == trace.YawRate {
			w.moved = max(w.moved, math.Abs((demand[1]-demand[0])/(2*by)))
		}
		all.Include((ends[1] - ends[0]) / (2 * by) * at.Is / at.Error * s.Gain / at.Gain * w.oppositeShare())
	}
	if w.slope = middleOf(all); all.Low*all.High <= 0 {
		return "the policy leaves it open which way the motors go with what swings"
	}
	return ""
}

// reading finds how far off the swings may be read; why says why they cannot be.
func (w *swings) reading() (why string) {
	at, step := w.p.ShiftAt, w.e.coarse()
	saturates, square := at.Grows == law.GrowthSaturating, 0.0
	for _, x := range w.all {
		swing := math.Abs(w.slope*x.by) * max(1, 0.7*cmplx.Abs(complex(1, x.rate*w.lead)))
		off := w.moved + ofItself
		if saturates {
			if size, ok := w.expected(); ok && at.Most > 0 && size+swing > straightTo*at.Most {
				return fmt.Sprintf("the shift comes to so much of the %s that are its bound that it hardly swings", share(at.Most))
			}
			swing, off = swing*straightTo, off+bent
		}
		if swing < fewestSteps*step {
			return fmt.Sprintf("the commands swing by %s of range to either side, and one step of them may be %s", share(swing), share(step))
		}
		off += coarsely(swing / step)
		square += float64(off * off)
	}
	w.slack = math.Sqrt(square)
	return ""
}

// delaysTried is at how many delays, evenly from none to all that the policy allows, swings are worked out.
const delaysTried = 25

// allowed works out the swings of firmware whose lead is so many times that of the policy, at each delay that this allows: of each step the
// real and the imaginary part.
func (w *swings) allowed(times float64) (may [][]float64) {
	var leads [][]complex128
	for _, x := range w.all {
		leads = append(leads, w.leads(x.rate, times))
	}
	for k := range delaysTried {
		for i := range leads[0] {
			var v []complex128
			for j, x := range w.all {
				v = append(v, leads[j][i]*w.delayed(x.rate, float64(k)/(delaysTried-1)))
			}
			may = append(may, flat(v))
		}
	}
	return may
}

// flat returns real and imaginary parts, one after the other.
func flat(v []complex128) (all []float64) {
	for _, z := range v {
		all = append(all, real(z), imag(z))
	}
	return all
}

// delayed returns what a delay by a share of all that the policy allows multiplies a swing by.
func (w *swings) delayed(rate, part float64) complex128 {
	return cmplx.Rect(1, -rate*w.back.Seconds()*part)
}

// off returns what is left of swings, each taken in times its own size, less the nearest sum of others.
func (w *swings) off(v []complex128, of [][]float64) (left []float64) {
	sizes, point := make([]float64, 0, 2*len(v)), flat(v)
	for _, z := range v {
		sizes = append(sizes, cmplx.Abs(z), cmplx.Abs(z))
	}
	for i := range point {
		point[i] /= sizes[i]
	}
	may := make([][]float64, len(of))
	for j, m := range of {
		may[j] = make([]float64, len(m))
		for i := range m {
			may[j][i] = m[i] / sizes[i]
		}
	}
	return measure.NearestInCone(may, point)
}

// clearly is how many times as far off as swings may be read those have to be that are told.
const clearly = 1.5

// tells says whether the swings of firmware that has no lead, or has it the wrong way round, would be told: its delay is a quarter
// or half of what the policy allows.
func (w *swings) tells() bool {
	for _, m := range mistakes[:2] {
		for _, part := range []float64{0.25, 0.5} {
			if floats.Norm(w.off(w.made(m.times, part), w.may), 2) > clearly*w.slack {
				return true
			}
		}
	}
	return false
}

// made returns the swings of firmware whose lead is so many times that of the policy, with a delay by a share of all that it allows.
func (w *swings) made(times, part float64) (v []complex128) {
	for _, x := range w.all {
		v = append(v, (1+complex(0, x.rate*w.lead*times))*w.delayed(x.rate, part))
	}
	return v
}

// mistakes are what firmware may make of a lead, in times that of the policy; the first two are those that swings have to tell.
var mistakes = []struct {
	what  string
	times float64
}{{"without it", 0}, {"with it the wrong way round", -1}, {"with ten times as much of it", 10}}
