package law_test

import (
	"math"
	"math/rand/v2"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// pointBoard is a board that keeps a policy: one draw of everything that the policy leaves to
// its firmware, each within what is declared. It is written apart from the law, from what
// the policy's words say.
type pointBoard struct {
	p     *law.Policy
	scale law.Scale
	r     *rand.Rand // for what goes differently from command to command

	demand, size  float64 // factors, 1 as declared
	speed         law.SpeedFrom
	turn          law.TurnFrom
	zeroIsLeft    bool
	bandFromEdge  bool
	sharesFirst   bool // takes a share before a shift grows less and less, not after
	feedForward   int  // before the limit, after it, or only while there is none
	cut           law.CapCut
	atCap         law.AtTheLimit
	atFloor       law.AtTheLimit
	ownCap        float64 // where the policy declares none
	ownFloor      float64
	atPlainEnd    bool       // a limit that is neither cap nor floor counts as one
	gathered      float64    // of an integrating shift, share of its most
	apart         [4]float64 // by which the motors stand apart
	rest          [4]float64 // what a motor that is not asked is shifted by
	bounded       bool       // a shift is cut to the whole range before a share is taken of it
	ignoresSmall  bool
	restsAtIdle   bool
	near          float64 // where in what is left of it a threshold lies, -1..1
	slowestBySize bool
	sumScaled     int
	shiftsBraking bool       // against the policy
	uneven        float64    // by what share of it those raised move more, and those lowered less
	slip          [4]float64 // what share a spinning wheel's motor keeps
	noSign        bool       // takes its speed without a sign
	lowFloor      int        // below the floor: none holds, or the throttle does, or the floor but near idle
	off           [4]float64 // of a command's resolution, -1..1
}

// pick returns the declared word, or any of the n where none is.
func pick[W ~uint8](r *rand.Rand, declared W, n int) W {
	if declared != 0 {
		return declared
	}
	return W(r.IntN(n) + 1)
}

func span(r *rand.Rand, low, high float64) float64 {
	switch r.IntN(6) { // the ends are where it matters
	case 0:
		return low
	case 1:
		return high
	}
	return low + (high-low)*r.Float64()
}

func newPointBoard(r *rand.Rand, p *law.Policy, scale law.Scale) *pointBoard {
	b := &pointBoard{p: p, scale: scale, r: r, demand: 1, size: 1, zeroIsLeft: r.IntN(2) == 0, bandFromEdge: r.IntN(2) == 0, sharesFirst: r.IntN(2) == 0,
		feedForward: r.IntN(3), cut: law.CapCut(r.IntN(2) + 1), atPlainEnd: r.IntN(2) == 0, gathered: span(r, 0, 1),
		ignoresSmall: r.IntN(2) == 0, restsAtIdle: r.IntN(2) == 0, near: span(r, -1, 1), slowestBySize: r.IntN(2) == 0, sumScaled: r.IntN(3)}
	if d := p.Demand; d != nil {
		b.demand = span(r, 1-d.Within, 1+d.Within)
		b.speed = pick(r, d.SpeedFrom, 7)
	}
	b.turn = pick(r, p.TurnFrom, 3)
	b.atCap, b.atFloor = p.AtTheCap, p.AtTheFloor
	if b.atCap == 0 {
		b.atCap = p.AtTheLimit
	}
	if b.atFloor == 0 {
		b.atFloor = p.AtTheLimit
	}
	b.ownCap, b.ownFloor = span(r, 0.6, 1), span(r, scale.Lowest, 0.2)
	if p.Cap == nil { // what is done at one's own cap or floor is not the policy's to say
		b.atCap = 0
	}
	if p.Floor == nil {
		b.atFloor = 0
	}
	b.atCap, b.atFloor = pick(r, b.atCap, 4), pick(r, b.atFloor, 4)
	if p.Cap != nil {
		b.cut = pick(r, p.Cap.Cut, 2)
	}
	if at := p.ShiftAt; at != nil {
		b.size = span(r, 1-at.Within, 1+at.Within)
	}
	b.bounded = r.IntN(2) == 0
	b.lowFloor = r.IntN(3)
	dead := p.DeadShiftFor(scale.Step)
	for i := range b.rest {
		b.rest[i] = span(r, -dead, dead)
		b.slip[i] = span(r, 0, 1)
		b.off[i] = span(r, -1, 1)
		if e := p.MotorsEqualWithin; e != nil {
			b.apart[i] = span(r, -*e, *e)
		}
	}
	return b
}

// point is one moment's inputs.
type point struct {
	steer, steerRate, speed, yaw, throttle, gain float64
	wheels                                       [4]float64
	hasWheels                                    bool
}

func (b *pointBoard) speedOf(x *point) float64 {
	if !x.hasWheels {
		return x.speed
	}
	w := x.wheels
	order := slices.Clone(w[:])
	slices.Sort(order)
	if b.slowestBySize {
		slices.SortFunc(order, func(a, b float64) int {
			if math.Abs(a) < math.Abs(b) {
				return -1
			}
			return 1
		})
	}
	switch b.speed {
	case law.SpeedFromFront:
		return (w[0] + w[1]) / 2
	case law.SpeedFromRear:
		return (w[2] + w[3]) / 2
	case law.SpeedFromSlowest:
		return order[0]
	case law.SpeedFromSecondSlowest:
		return order[1]
	case law.SpeedFromSecondFastest:
		return order[2]
	case law.SpeedFromFastest:
		return order[3]
	}
	return (w[0] + w[1] + w[2] + w[3]) / 4
}

func clamp(x, limit float64) float64 { return min(max(x, -limit), limit) }

func (b *pointBoard) demandOf(v float64, x *point) (float64, bool) {
	d := b.p.Demand
	if d == nil || d.Wheelbase+d.UndersteerGradient*v*v <= 0.1*d.Wheelbase {
		return 0, false
	}
	of := v / (d.Wheelbase + d.UndersteerGradient*v*v)
	limit := math.Inf(1)
	if d.LateralLimit > 0 {
		limit = d.LateralLimit / math.Abs(v)
	}
	if d.YawLimit > 0 {
		limit = min(limit, d.YawLimit)
	}
	free, lead := of*x.steer, of*d.SteerRate*x.steerRate
	r := clamp(free, limit)
	switch {
	case b.feedForward == 0:
		r = clamp(free+lead, limit)
	case b.feedForward == 1 || r == free:
		r += lead
	}
	return r * b.demand, true
}

// fade is how much of a shift comes in at x.
func (b *pointBoard) fade(x float64, f law.Fade) float64 {
	switch {
	case x < f.From:
		return 0
	case x >= f.Full:
		return 1
	}
	return b.r.Float64()
}

// gainOf returns the gain that a switch is taken for.
func (b *pointBoard) gainOf(g float64) float64 {
	g = max(g, 0)
	steps := b.p.GainSteps
	if len(steps) == 0 {
		return g
	}
	k := 0
	for k+1 < len(steps) && g >= (steps[k]+steps[k+1])/2+0.0999*b.near*(steps[k+1]-steps[k]) {
		k++
	}
	return steps[k]
}

// share is what share of the declared shift the error asks for.
func (b *pointBoard) share(e float64) float64 {
	at := b.p.ShiftAt
	band := 0.0
	if b.p.DeadBand != nil {
		band = *b.p.DeadBand
	}
	if e <= band {
		return 0
	}
	if b.bandFromEdge && at.Error > band {
		return (e - band) / (at.Error - band)
	}
	return e / at.Error
}

// amount is the size of a shift for an error and a gain, of which only a share is to come: of the shift, or of what it is to grow by.
func (b *pointBoard) amount(e, gain, all float64) float64 {
	if grows := b.p.ShiftAt != nil && b.p.ShiftAt.Grows != 0 && b.p.ShiftAt.Grows != law.GrowthProportional; !grows || !b.sharesFirst {
		return b.grown(e, gain, 1) * all
	}
	return b.grown(e, gain, all)
}

// grown is the size of a shift for an error and a gain, of which a share is taken before it grows less and less.
func (b *pointBoard) grown(e, gain, all float64) float64 {
	at := b.p.ShiftAt
	if at == nil || at.Error <= 0 || at.Gain <= 0 {
		band := 0.0
		if b.p.DeadBand != nil {
			band = *b.p.DeadBand
		}
		if e <= band || gain <= 0 {
			return 0
		}
		return b.gathered
	}
	most := math.Inf(1)
	if at.Most > 0 {
		most = at.Most
	}
	plain := at.Is * b.share(e) * gain / at.Gain * all
	switch at.Grows {
	case law.GrowthSaturating:
		return b.saturates(plain, most)
	case law.GrowthIntegrating:
		if plain == 0 {
			return 0
		}
		return b.gathered * min(most, 1-b.scale.Lowest)
	}
	if b.bounded {
		return min(plain*b.size, 1)
	}
	return plain * b.size
}

// saturates is one of the common ways of growing less and less.
func (b *pointBoard) saturates(plain, most float64) float64 {
	at := b.p.ShiftAt
	if math.IsInf(most, 1) {
		return plain * b.size
	}
	through := 1.0 // with the declared slope at its beginning, or through the declared point
	plain *= b.size
	switch b.feedForward {
	case 0:
		if b.bandFromEdge && at.Is*b.size < 0.95*most {
			through = most / (most - at.Is*b.size)
			return through * plain / (1 + through*plain/most)
		}
		return plain / (1 + plain/most)
	case 1:
		if b.bandFromEdge && at.Is*b.size < 0.95*most {
			through = math.Atanh(at.Is*b.size/most) / (at.Is * b.size / most)
		}
		return most * math.Tanh(through*plain/most)
	}
	return min(plain, most)
}

// command returns the four commands and those that there were with no shift; known is false
// where the policy leaves out what the board would have to do.
func (b *pointBoard) command(x *point) (shifted, plain [4]float64, known bool) {
	if math.Abs(x.yaw) < 1e-12 { // no sensor tells so little
		at := *x
		at.yaw, x = 0, &at
	}
	throttle := [4]float64{}
	for i := range throttle {
		throttle[i] = min(max(x.throttle+b.apart[i], b.scale.Lowest), 1)
	}
	low, high := b.limits(x)
	none := [4]float64{}
	by, signs, known := b.asked(x)
	if !known {
		for i := range shifted {
			shifted[i] = span(b.r, low, high)
			plain[i] = min(max(throttle[i], low), high)
		}
		return shifted, plain, false
	}
	shifted = b.apply(throttle, by, signs, low, high)
	b.spin(x, &shifted, low, high)
	exact := *b // what is counted from: with no shift at all
	exact.rest = none
	plain = exact.apply(throttle, none, none, low, high)
	return shifted, plain, true
}

func (b *pointBoard) limits(x *point) (low, high float64) {
	low, high = b.scale.Lowest, 1
	if c := b.p.Cap; c == nil {
		high = b.ownCap
	} else if math.Abs(x.steer)+0.00399*b.near > c.SteerAbove {
		high = min(c.Of, 1)
	}
	f := b.ownFloor
	if b.p.Floor != nil {
		f = *b.p.Floor
	}
	switch {
	case x.throttle >= f || b.p.Floor != nil && b.lowFloor == 2 && x.throttle > 0.02:
		low = max(f, low)
	case b.lowFloor == 1:
		low = max(x.throttle, low)
	}
	return low, high
}

// asked returns the size of each motor's shift and its sense.
func (b *pointBoard) asked(x *point) (by, signs [4]float64, known bool) {
	p := b.p
	v := b.speedOf(x)
	all := 1.0
	if p.Standstill != nil {
		move := 1 + 0.1999*b.near
		all *= b.fade(math.Abs(v), law.Fade{From: p.Standstill.From * move, Full: p.Standstill.Full * move})
	}
	gain := b.gainOf(x.gain)
	if p.Straight != nil && p.Straight.Steer != nil && p.Straight.Steer.Full > 0 { // else there is no band
		f := *p.Straight.Steer
		all *= b.fade(math.Abs(x.steer), law.Fade{From: f.From + 0.00399*b.near, Full: f.Full + 0.00399*b.near})
	}
	if p.Braking == law.BrakingNoShift && x.throttle < 0 && !b.shiftsBraking || b.restsAtIdle && x.throttle <= 0.02 || v < 0 && p.Reverse == law.ReverseNoShift {
		all = 0
	}
	backSized, from := v < 0, v
	if b.noSign {
		backSized, from = false, math.Abs(v)
	}
	d, has := b.demandOf(from, x)
	if has && p.Straight != nil && p.Straight.Demand != nil {
		all *= b.fade(math.Abs(d), *p.Straight.Demand)
	}
	if all == 0 || gain == 0 {
		return by, signs, true
	}
	if v < 0 && p.Reverse == 0 || x.throttle < 0 && p.Braking == 0 || p.Understeer == nil && p.Oversteer == nil || !has {
		return by, signs, false
	}
	split := p.Oversteer
	e := math.Abs(d - x.yaw)
	switch {
	case backSized:
		e = math.Abs(math.Abs(d) - math.Abs(x.yaw))
		if math.Abs(x.yaw) < math.Abs(d) {
			split = p.Understeer
		}
	case d*x.yaw < 0:
		switch p.OppositeLock {
		case 0:
			return by, signs, false
		case law.OppositeLockNoShift:
			return by, signs, true
		case law.OppositeLockUndersteer:
			split = p.Understeer
		case law.OppositeLockShare:
			all *= p.OppositeLockShare
		}
	case math.Abs(x.yaw) < math.Abs(d):
		split = p.Understeer
	}
	amount := b.amount(e, gain, all)
	if amount == 0 {
		return by, signs, true
	}
	if split == nil {
		return by, signs, false
	}
	by, signs = b.movesOf(split, b.turnOf(x, d, v), amount, v)
	return by, signs, true
}

// turnOf returns +1 to the left, -1 to the right.
func (b *pointBoard) turnOf(x *point, d, v float64) int {
	by := x.yaw
	switch b.turn {
	case law.TurnFromSteer:
		by = x.steer
		if math.Abs(by) < 0.00399*math.Abs(b.near) {
			by = 0 // a slack about the centre
		}
	case law.TurnFromDemand:
		by = d
	}
	if v < 0 && b.turn != law.TurnFromSteer && b.zeroIsLeft {
		by = -by // by the centre of the turn
	}
	switch {
	case by > 0 || by == 0 && b.zeroIsLeft:
		return 1
	}
	return -1
}

// movesOf returns whom a split moves, and by what.
func (b *pointBoard) movesOf(s *law.Split, turn int, amount, v float64) (by, signs [4]float64) {
	mirror := func(w plant.Wheel) plant.Wheel {
		if v < 0 && b.p.Reverse == law.ReverseMirrored {
			return [...]plant.Wheel{plant.RearLeft, plant.RearRight, plant.FrontLeft, plant.FrontRight}[w]
		}
		return w
	}
	for k, corners := range [2][]law.Corner{s.Raise, s.Lower} {
		rest := 2.0
		for n, c := range corners {
			w, _ := c.Wheel(turn)
			share := s.ShareOf(w)
			if s.Varies {
				share = 1
				if len(corners) == 2 {
					share = b.slip[0] * 2
					if n == 1 {
						share = rest
					}
					rest -= share
				}
			}
			w = mirror(w)
			by[w], signs[w] = amount*share*(1+float64(1-2*k)*b.uneven), float64(1-2*k)
		}
	}
	return by, signs
}

// interval returns one that holds x.
func interval(r *rand.Rand, x, by float64) measure.Interval {
	if r.IntN(2) == 0 {
		return measure.Interval{Low: x, High: x}
	}
	return measure.Interval{Low: x - by*r.Float64(), High: x + by*r.Float64()}
}
