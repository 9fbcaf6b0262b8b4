package assertions

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// asksClearly is how many times the shift that counts as none has to be declared
// at either end of a sweep, for the last tenth of it to be clearly beyond.
const asksClearly = 1.5

// tooCoarse is how many times what the demand may be out by one step of the commands may stand for at most: where the shift
// changes its sense is read to some third of a step.
const tooCoarse = 1.5

// sweptDemand asks which yaw rate the board takes as demanded. In the step the
// yaw rate goes slowly from one side of the demand to the other and back. On
// the way the shift dies away in the sense of the one branch and comes up in
// that of the other; where it does are the two edges of the board's dead band,
// and their middle is its demand. The board's lag moves the edges of the way
// there and of the way back against each other and leaves their middle.
//
// A baseline with the yaw rate on demand would hide just what is looked for: a
// board whose demand is wrong shifts there already. So shifts are counted from a
// baseline with the gain at zero or straight ahead, and where the case has
// none from all four motors alike.
func (b *branch) sweptDemand() []ask {
	if b.p.Understeer == nil || b.p.Oversteer == nil {
		return b.notAsked("the policy does not have both understeer and oversteer, and the demand is found between the two")
	}
	if b.p.Integrates() {
		return b.notAsked("the policy's shift gathers with time while the error lasts, so that where it changes its sense is not where the error does")
	}
	if !(b.p.Demand.Within > 0) {
		return b.notAsked("the policy's demand has no within that the board's would be held against")
	}
	if b.spins() {
		return b.notAsked("a wheel goes so much faster than the slowest that the policy's traction_control may cut its motor")
	}
	w := b.sweep()
	err := w.swept()
	if err == nil && !w.asksClearShift() {
		return b.notAsked(fmt.Sprintf("the policy declares less than %s times the %s of range that counts as none for the yaw errors at either end of the sweep; sweep farther, or turn the gain up", number(asksClearly), share(w.t)))
	}
	if coarse := w.coarseError(); err == nil && coarse > tooCoarse*w.allowed.Width()/2 {
		return b.notAsked(fmt.Sprintf("one step of the commands, %s of range by the policy's resolution, stands for a yaw error of %s deg/s, which is more than %s times what the demand may be out by; turn the gain up, or play a larger demand",
			share(b.e.offBy()), degrees(coarse), number(tooCoarse)))
	}
	if alike := w.weigh(); alike != nil {
		return b.notAsked(alike.Error())
	}
	if why := w.wheelsAlike(); why != "" {
		return b.notAsked(why)
	}
	found := &swept{} // shared by what is asked, and read once
	all := []ask{asking(b.name("yaw rate"+b.byWheels()+b.orGathers()), func(b *branch) Result { return found.of(b).demanded(b) }).of("demand").orUnshown(err)}
	name, hidden := b.name("dead band"), b.bandHidden()
	switch {
	case b.p.DeadBand == nil:
	case hidden != "":
		all = append(all, notAsking(name, hidden))
	default:
		all = append(all, asking(name, func(b *branch) Result { return found.of(b).banded(b) }).of("dead_band").orUnshown(err))
	}
	return all
}

// orGathers ends the name of what is asked of the demand. Where the policy does not say how the shift grows, it may turn
// out to gather with time, and then changes its sense the later.
func (b *branch) orGathers() string {
	if b.p.MayIntegrate() {
		return ", or one that a shift that gathers leaves open"
	}
	return ""
}

// plainEdge is how many times the shift that counts as none one has to set in with for the edge of a dead band
// to be seen in a sweep, where the shift counts from an error of 0.
const plainEdge = 1.25

// bandHidden says why firmware whose shift counts from an error of 0 may set in at the edge of the dead band with so
// little that the edge is not seen; empty where it is.
func (b *branch) bandHidden() string {
	band, at := b.p.DeadBand, b.p.ShiftAt
	if band == nil || *band == 0 {
		return ""
	}
	if at == nil || !(at.Error > 0) || !(at.Gain > 0) {
		return "the policy's shift_at declares no size, which says how far the motors are moved at the edge of its dead band"
	}
	size := at.Is * (1 - at.Within) * (*band / at.Error) * (b.s.Gain / at.Gain)
	if at.Grows == law.GrowthSaturating && at.Most > 0 {
		size *= at.Most / (size + at.Most)
	}
	if size < plainEdge*b.e.deadShift() {
		return fmt.Sprintf("where the shift counts from an error of 0 it sets in at the edge of the dead band with %s of range, too near the %s that count as none to be seen", share(size), share(b.e.deadShift()))
	}
	return ""
}

// sweep returns the step as a sweep of the yaw rate.
func (b *branch) sweep() *sweep {
	w := &sweep{branch: *b}
	w.demand, w.allowed = b.demandAllowed()
	w.sign = math.Copysign(1, w.demand)
	w.t = b.e.deadShift()
	return w
}

// demandAllowed returns the demand of the policy in the step, the car turning as demanded, and what the board's
// may be, by the tolerance and by the ways of taking the speed that the policy leaves open.
func (b *branch) demandAllowed() (demand float64, allowed Limit) {
	allowed = measure.RangeOf()
	for _, p := range b.e.demands() {
		allowed.Include(b.e.onDemand(&p, b.s))
	}
	return b.e.onDemand(b.p, b.s), allowed
}

// swept is a sweep that is read when the first of what is asked of it is judged.
type swept struct {
	sweep *sweep
	found sweptEdges
	err   error
}

// of reads the sweep of a situation with its trace.
func (d *swept) of(b *branch) *swept {
	if d.sweep != nil {
		return d
	}
	w := b.sweep()
	d.sweep = w
	for _, prepare := range []func() error{w.weigh, w.level, w.read} {
		if d.err = prepare(); d.err != nil {
			return d
		}
	}
	if found, ok := w.gathers(); ok {
		d.found = found
		return d
	}
	if d.err = w.reachesBothSenses(); d.err == nil {
		d.found, d.err = w.edges()
	}
	return d
}

// demanded judges the board's demand.
func (d *swept) demanded(b *branch) Result {
	if d.err != nil {
		return unjudged(b.name("yaw rate"), d.err)
	}
	return d.sweep.demanded(d.found.demand, d.found.lag, d.found.open)
}

// banded judges the board's dead band.
func (d *swept) banded(b *branch) Result {
	if d.err != nil {
		return unjudged(b.name("dead band"), d.err)
	}
	return d.sweep.banded(&d.found)
}

// sweep is a sweep of the yaw rate being judged.
type sweep struct {
	branch
	demand  float64 // rad/s, by the policy
	allowed Limit   // of the board's demand
	sign    float64 // of the demand
	t       float64 // the shift that counts as none

	under, over [4]float64 // how each branch moves the motors, +1 or -1
	weight      [4]float64 // contrast: above 0 in understeer, below 0 in oversteer
	scale       [2]float64 // the contrast of a shift of 1 in understeer, and in oversteer
	base        [4]float64 // what shifts are counted from
	systematic  float64    // standard uncertainty that all shifts share, of the contrast

	leg [2][]sweepPoint // the way there and the way back
}

// sweepPoint is one frame of the sweep.
type sweepPoint struct {
	x     float64 // yaw rate in rad/s, in the sense of the demand
	shift float64 // of one motor: above 0 in the sense of understeer, below in that of oversteer
}

// swept says whether the step is a sweep through the demand.
func (w *sweep) swept() error {
	s := w.s
	within := w.allowed.Width() / 2
	swept := measure.RangeOf(s.Levels[0]*w.sign, s.Levels[1]*w.sign)
	switch {
	case !s.Swept || s.Changed != trace.YawRate:
		return s.undecided("the yaw rate is not swept in this step; give it sweep: {yaw_rate: [50 %% of demand, 150 %% of demand]}")
	case !(math.Abs(w.demand) > 0):
		return s.undecided("the policy demands no yaw rate in this step; steer, and drive")
	case swept.Low > math.Abs(w.demand)-2*within || swept.High < math.Abs(w.demand)+2*within:
		return s.undecided("the sweep from %s to %s deg/s does not go well past the demand of %s deg/s on both sides; sweep from 50 %% to 150 %% of demand",
			degrees(s.Levels[0]), degrees(s.Levels[1]), degrees(w.demand))
	}
	return nil
}

// asksClearShift says whether the policy, where it declares a size, asks for a shift
// that is clearly more than none at both ends of the sweep.
func (w *sweep) asksClearShift() bool {
	for _, level := range w.s.Levels {
		s := *w.s
		s.YawRate, s.Demand = level, w.demand
		b := branch{e: w.e, p: w.p, s: &s}
		if size, ok := b.expected(); ok && size < asksClearly*w.t {
			return false
		}
	}
	return true
}

// coarseError returns the yaw error in rad/s that one step of the commands stands for near the demand, 0 where the policy declares no
// size: where the shift changes its sense is read no finer than by a good part of it.
func (w *sweep) coarseError() float64 {
	least := math.Inf(1)
	for _, level := range w.s.Levels {
		s := *w.s
		s.YawRate, s.Demand = level, w.demand
		b := branch{e: w.e, p: w.p, s: &s}
		if size, ok := b.expected(); ok {
			least = min(least, size/math.Abs(level-w.demand))
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return w.e.offBy() / least
}

// weigh finds how to tell the two branches apart in the four commands.
func (w *sweep) weigh() error {
	turn := w.s.Turn(w.p)
	w.under, w.over = signsOf(w.p.Understeer, turn), signsOf(w.p.Oversteer, turn)
	under, over := w.under[:], w.over[:]
	underSquare, overSquare, product := floats.Dot(under, under), floats.Dot(over, over), floats.Dot(under, over)
	for i := range w.weight {
		w.weight[i] = w.under[i]/underSquare - w.over[i]/overSquare
	}
	w.scale = [2]float64{1 - product/overSquare, 1 - product/underSquare}
	if !(w.scale[0] > 0.2) || !(w.scale[1] > 0.2) {
		return w.s.undecided("the policy's two branches move the same motors the same way, so that a sweep does not tell them apart")
	}
	return nil
}

// signsOf returns how a split moves the motors in a turn: +1 raised, -1 lowered.
func signsOf(s *law.Split, turn int) (signs [4]float64) {
	for _, m := range moving(s) {
		if w, ok := m.corner.Wheel(turn); ok {
			signs[w] = map[Sense]float64{Raised: 1, Lowered: -1}[m.is]
		}
	}
	return signs
}

// level finds what shifts are counted from.
func (w *sweep) level() error {
	var shared []float64
	base, ok := w.e.Baseline()
	still := ok && base != w.s && (base.Gain == 0 || base.YawRate == 0 && base.Demand == 0)
	for i := range w.base {
		if w.weight[i] == 0 {
			continue
		}
		w.base[i] = w.s.Throttle
		own := measure.Estimate{Systematic: measure.Resolution(w.e.CommandStep)}
		if still {
			var err error
			if own, err = w.e.mean(plant.Wheels[i], base); err != nil {
				return err
			}
			w.base[i] = own.Value
		}
		shared = append(shared, w.weight[i]*own.Standard())
	}
	w.systematic = measure.RootSumSquare(shared...)
	return nil
}

// reachesBothSenses says whether the shift clearly reaches both senses.
func (w *sweep) reachesBothSenses() error {
	x := measure.RangeOf()
	for _, leg := range w.leg {
		for _, p := range leg {
			x.Include(p.x)
		}
	}
	part := 0.1 * x.Width()
	most, least := w.sign*w.allowed.High, w.sign*w.allowed.Low
	if w.sign < 0 {
		most, least = least, most
	}
	// From the ends of the sweep inwards, where motors that come to a limit may move less and less, to what the policy
	// allows; and just beyond that.
	first, second := w.clearSense(x.Low, least-part, part), w.clearSense(x.High, most+part, -part)
	switch {
	case first > 0 && second < 0:
		return nil
	case first == 0 && second == 0 && w.neverShifts():
		return w.s.fails("the shift never moved: it stays below %s of range all through the sweep, so that the board asks for no yaw rate at all", share(w.t))
	case first < 0 && second > 0:
		return w.s.fails("the board shifts the wrong way round: as for oversteer while the car turns too little, and as for understeer while it turns too much")
	case w.sense(most, most+part) > 0:
		return w.s.fails("the board still shifts as for understeer at a yaw rate of %s deg/s, so that what it takes as demanded lies above; the policy declares %s deg/s, within %s",
			degrees(w.sign*most), degrees(w.demand), share(w.p.Demand.Within))
	case w.sense(least-part, least) < 0:
		return w.s.fails("the board shifts as for oversteer already at a yaw rate of %s deg/s, so that what it takes as demanded lies below; the policy declares %s deg/s, within %s",
			degrees(w.sign*least), degrees(w.demand), share(w.p.Demand.Within))
	case first > 0 && w.none(x.High-part, x.High):
		return w.nothing("oversteer", x.High)
	case second < 0 && w.none(x.Low, x.Low+part):
		return w.nothing("understeer", x.Low)
	}
	return w.s.undecided("the shift does not clearly reach both senses: it needs more than %s of range at either end; sweep farther, or turn the gain up", share(w.t))
}

// clearSense returns the sense of the shift in the first stretch of a part's width in which it is clear, from one yaw rate
// on towards another, 0 where it is clear in none. The stretch at from is looked at in any case.
func (w *sweep) clearSense(from, to, part float64) int {
	for k := 0.0; k == 0 || (from+float64(k*part)-to)*part <= 0; k++ {
		low, high := from+float64(k*part), from+float64((k+1)*part)
		if sense := w.sense(min(low, high), max(low, high)); sense != 0 {
			return sense
		}
	}
	return 0
}

// nothing reports an end of the sweep at which there is clearly no shift, although the other
// end has its own.
func (w *sweep) nothing(branch string, at float64) error {
	return w.s.fails("nothing is shifted as for %s at a yaw rate of %s deg/s, where the policy declares a shift", branch, degrees(w.sign*at))
}

// none says whether on both ways the shift, while the yaw rate is in low..high,
// is clearly below what counts as none.
func (w *sweep) none(low, high float64) bool {
	shift, ok := w.shiftIn(low, high)
	return ok && shift.Against(measure.Within(0, w.t)) == measure.Inside
}

// sense returns +1 where the shift, while the yaw rate is in low..high, is on
// both ways clearly beyond none in the sense of understeer, -1 in that of
// oversteer, 0 else.
func (w *sweep) sense(low, high float64) int {
	shift, ok := w.shiftIn(low, high)
	switch {
	case ok && shift.Low > w.t:
		return 1
	case ok && shift.High < -w.t:
		return -1
	}
	return 0
}

// neverShifts says whether the shift stays clearly below what counts as none, tenth
// by tenth of the sweep.
func (w *sweep) neverShifts() bool {
	swept := measure.RangeOf(w.s.Levels[0]*w.sign, w.s.Levels[1]*w.sign)
	part := swept.Width() / 10
	for k := range 10 {
		from := swept.Low + float64(float64(k)*part)
		if !w.none(from, from+part) {
			return false
		}
	}
	return true
}

// shiftIn returns the interval that the mean shifts of both ways lie in while the yaw rate is
// in low..high. The shift drifts as the yaw rate does; that adds no uncertainty. ok is false
// where one of the ways has too few frames there.
func (w *sweep) shiftIn(low, high float64) (both measure.Interval, ok bool) {
	both = measure.RangeOf()
	for _, leg := range w.leg {
		var x, y []float64
		for _, p := range leg {
			if p.x >= low && p.x <= high {
				x, y = append(x, p.x), append(y, p.shift)
			}
		}
		l, ok := measure.LineOf(x, y)
		if !ok {
			return both, false
		}
		one := l.Middle(w.systematic).Interval()
		both.Include(one.Low, one.High)
	}
	return both, true
}
