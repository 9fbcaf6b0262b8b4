package search

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/suites/file"
)

// What is drawn. Invented for cars of 1:10 to 1:5; common practice, no source.
const (
	// quickest is how fast the speed goes up or down at most, in m/s^2: a board may mind more.
	quickest = 10.0
	// mostLeap is how far the yaw rate leaps at most, in deg/s, and how far it ramps in 100 ms: a board
	// may take more for a fault of the sensor.
	mostLeap   = 120.0
	mostPieces = 6
	// usual is the highest speed that is drawn often, m/s, and slow the highest of those near standstill.
	usual, slow = 12.0, 3.0
	degrees     = math.Pi / 180

	// One drive in so many begins after the board has driven straight on for so long, s: what a timer that runs over does, or one
	// that counts what was driven.
	briefWaits, briefWait = 80, 70
	longWaits, longWait   = 480, 450
)

// farthest is how far a channel is taken, in its unit, or as far of these as car and bench can play. No car is taken to the end
// of all at once, for the yaw rate on demand has to be within its own.
var farthest = [channels][]float64{speed: {20, 14, 12, 10, 8, 6, 4}, steer: {28, 24, 20, 18, 14, 10}, yawRate: {440, 400, 320, 240, 160, 80}}

// artist draws drives for a car.
type artist struct {
	car      *file.Car
	held     bool // what the motors are commanded over throttle and speed is not known
	losses   []loss
	points   []point
	long     []point           // those that take long
	branches []point           // those of the branches of the split, of which each place may be wrong by itself
	back     bool              // it may roll backwards
	most     [channels]float64 // how far the channels are taken either way
}

// newArtist returns what draws drives for a car; plays says whether one can be played.
func newArtist(car *file.Car, plays func(*drive) bool) *artist {
	a := &artist{car: car, losses: lossesOf(car), back: slices.Contains(car.Asked, "reverse")}
	a.points, a.long = pointsOf(car)
	for _, p := range a.points {
		if p.of == "understeer" || p.of == "oversteer" {
			a.branches = append(a.branches, p)
		}
	}
	for c, all := range farthest {
		for _, x := range all {
			p := piece{length: least}
			p.values[c].to = x
			if a.most[c] = x; plays(&drive{pieces: []piece{p}}) {
				break
			}
		}
	}
	a.held = car.Policy.ThrottleCurve != law.ThrottleCurveNone && car.Policy.ThrottleCurve != law.ThrottleCurveCalibrated
	return a
}

// drawing draws one drive.
type drawing struct {
	*artist
	portable.Noise
}

// drive draws drive number n of a search; kept are drives that reached something new.
func (a *artist) drive(seed uint64, n int, kept []drive) drive {
	d := drawing{a, portable.NewNoise(seed, fmt.Sprintf("search drive %d", n))}
	out := d.drive(n, kept)
	d.going(&out)
	return out
}

// drive draws one, in which wheels may stand while others go.
func (d *drawing) drive(n int, kept []drive) drive {
	out := drive{held: d.held, wait: waits(n)}
	switch {
	case out.wait > 0:
	case len(d.losses) > 0 && d.chance(0.2):
		return d.lost()
	case d.chance(0.35):
		return d.at(d.situation())
	case len(kept) > 0 && d.chance(0.5):
		return d.changed(&kept[d.below(len(kept))])
	}
	for range 1 + d.below(mostPieces) {
		out.pieces = append(out.pieces, d.next(out.pieces))
	}
	return out
}

// waits returns how long the board has driven straight on before drive number n, s.
func waits(n int) int {
	switch {
	case n%longWaits == longWaits-1:
		return longWait
	case n%briefWaits == briefWaits-1:
		return briefWait
	}
	return 0
}

// situation draws what is asked at a point: one that takes long seldom.
func (d *drawing) situation() *point {
	if len(d.long) > 0 && d.chance(0.05) {
		return &d.long[d.below(len(d.long))]
	}
	if len(d.branches) > 0 && d.chance(0.3) {
		return &d.branches[d.below(len(d.branches))]
	}
	return &d.points[d.below(len(d.points))]
}

func (d *drawing) below(n int) int             { return int(d.Uint64() % uint64(n)) }
func (d *drawing) chance(p float64) bool       { return d.Float64() < p }
func (d *drawing) within(a, b float64) float64 { return a + float64((b-a)*d.Float64()) }

// round returns x as a multiple of a step.
func round(x, step float64) float64 { return math.Round(x/step) * step }

// tenth rounds to tenths, without the noise of binary fractions.
func tenth(x float64) float64 { return math.Round(x*10) / 10 }

// next draws the piece behind others.
func (d *drawing) next(before []piece) (p piece) {
	var last *piece
	if len(before) > 0 {
		last = &before[len(before)-1]
	}
	p.length = 300 + 100*d.below(12)
	to := [channels]float64{throttle: d.throttle(), gain: d.gain(), speed: d.speed(), steer: d.steer()}
	for c := range channels {
		if c == yawRate {
			continue
		}
		stays := last != nil && (d.chance(0.4) || d.held && (c == speed || c == throttle))
		if stays {
			to[c] = last.values[c].to
		}
	}
	to[steer] = d.turns(to[speed], to[steer])
	to[yawRate] = d.yawRate(to[speed], to[steer])
	if last != nil && d.chance(0.3) {
		to[yawRate] = last.values[yawRate].to
	}
	for c := range channels {
		p.values[c] = value{to: to[c]}
		if last != nil && to[c] != last.values[c].to && d.chance(0.5) {
			p.values[c] = value{from: last.values[c].to, to: to[c], over: 100 + 100*d.below(p.length/100)}
		}
	}
	if last != nil {
		p.follow(last)
	}
	return p
}

// follow makes a piece one that may stand behind another: ramps begin where that ends, and what may
// not leap ramps.
func (p *piece) follow(last *piece) {
	for c := range p.values {
		v, at := &p.values[c], last.values[c].to
		v.from = at
		apart := math.Abs(v.to - at)
		least := 0
		switch channel(c) {
		case speed:
			least = 100 * int(math.Ceil(apart/quickest*10))
		case yawRate:
			if apart > mostLeap {
				least = 100 * int(math.Ceil(apart/mostLeap))
			}
		}
		v.over = max(v.over, least)
		if apart == 0 || v.over == 0 {
			*v = value{to: v.to}
		}
		p.length = max(p.length, v.over)
	}
}

func (d *drawing) throttle() float64 {
	switch d.below(6) {
	case 0:
		return 100
	case 1:
		return round(d.within(85, 100), 1)
	case 2:
		return round(d.within(0, 15), 1)
	}
	return round(d.within(10, 90), 1)
}

func (d *drawing) gain() float64 {
	switch d.below(6) {
	case 0:
		return 0
	case 1, 2:
		return 100
	}
	return d.trim(0)
}

// trim draws a gain of at least so much, in %. Where the trim is a switch it is mostly at one of the gains of which the policy
// says what they are taken for.
func (d *drawing) trim(least float64) float64 {
	var known []float64
	for _, g := range d.car.Policy.KnownGains() {
		if g*100 >= least {
			known = append(known, round(g*100, 1))
		}
	}
	if len(known) > 0 && d.chance(0.8) {
		return known[d.below(len(known))]
	}
	return round(d.within(least, 100), 1)
}

func (d *drawing) speed() float64 {
	switch {
	case d.chance(0.1):
		return 0
	case d.back && d.chance(0.08):
		return -tenth(d.within(0.5, 2))
	}
	return d.rolls(0.2)
}

// rolls draws a speed forwards of at least so much, seldom one at which few drive, and sometimes one near standstill.
func (d *drawing) rolls(least float64) float64 {
	most := d.most[speed]
	switch {
	case d.chance(0.15):
		most = min(most, slow)
	case d.chance(0.8):
		most = min(most, usual)
	}
	return tenth(d.within(least, most))
}

func (d *drawing) steer() float64 {
	if d.chance(0.1) {
		return 0
	}
	return round(d.within(-d.most[steer], d.most[steer]), 0.5)
}

// turns takes a steer angle back where the demand at a speed is more than the yaw rate is taken to.
func (d *drawing) turns(speed, steer float64) float64 {
	for math.Abs(d.car.OnDemand(speed, float64(steer*degrees))/degrees) > d.most[yawRate] {
		steer = math.Trunc(steer) / 2
	}
	return steer
}

// yawRate draws the yaw rate at a speed and a steer angle: on demand, less, more, against it.
func (d *drawing) yawRate(speed, steer float64) float64 {
	demand := d.car.OnDemand(speed, float64(steer*degrees)) / degrees
	share := d.within(0, 2)
	switch {
	case d.chance(0.1):
		share = 1
	case d.chance(0.15):
		share = d.within(-1, 0)
	}
	yaw := float64(demand * share)
	if demand == 0 || d.chance(0.1) {
		yaw = d.within(-120, 120)
	}
	return round(max(-d.most[yawRate], min(yaw, d.most[yawRate])), 1)
}

// changed returns a drive with one thing drawn anew.
func (d *drawing) changed(of *drive) drive {
	out := of.clone()
	n := len(out.pieces)
	switch i := d.below(n); {
	case n < mostPieces && d.chance(0.4):
		out.pieces = append(out.pieces, d.next(out.pieces))
	case n > 1 && d.chance(0.2):
		out.pieces = slices.Delete(out.pieces, i, i+1)
	default:
		out.pieces[i] = d.next(out.pieces[:i])
	}
	out.join()
	return out
}

// join makes each piece follow on the one before it.
func (d *drive) join() {
	for c := range d.pieces[0].values {
		d.pieces[0].values[c] = value{to: d.pieces[0].values[c].to}
	}
	for i := 1; i < len(d.pieces); i++ {
		p, last := &d.pieces[i], &d.pieces[i-1]
		if d.held {
			p.values[speed], p.values[throttle] = last.values[speed], last.values[throttle]
		}
		p.follow(last)
	}
}

// lost draws an operating point with torque shifted, and the loss of a wire there.
func (d *drawing) lost() drive {
	l := d.losses[d.below(len(d.losses))]
	l.after = d.below(3)
	v, a := tenth(d.within(2, 6)), round(d.within(4, 16), 0.5)
	if d.chance(0.5) {
		a = -a
	}
	yaw := d.car.OnDemand(v, float64(a*degrees)) / degrees * d.within(0, 0.6)
	if yaw == 0 {
		yaw = math.Copysign(d.within(5, 40), a)
	}
	p := piece{length: 600}
	for c, to := range [channels]float64{v, a, round(yaw, 1), round(d.within(25, 60), 1), d.trim(50)} {
		p.values[c] = value{to: to}
	}
	return drive{pieces: []piece{p}, loss: &l, gathers: d.car.Policy.MayIntegrate()}
}
