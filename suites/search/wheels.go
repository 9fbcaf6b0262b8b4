package search

import "math"

// Firmware may take a wheel that does not get on while others go for one whose encoder is lost, and then does what its
// policy says of that, rightly. What it looks at is in m/s, and how long it looks in ms: common practice, no source.
const (
	standing = 0.3 // slower, a wheel may be taken not to get on
	going    = 0.7 // faster, others are
	briefly  = 50  // no longer, a wheel that does not get on is not taken for lost
	looked   = 10  // how far apart the moments of a drive are looked at
)

// allGo says whether in no piece of a drive a wheel stands or turns back while another goes, as it does where a car turns
// about a point between its wheels: where a piece comes to, and on the way there for longer than briefly.
func (a *artist) allGo(d *drive) bool {
	for i := range d.pieces {
		if !a.wheelsGo(&d.pieces[i], longestRamp) {
			return false
		}
	}
	return a.stand(d) < 0
}

// longestRamp is a time, ms, after which each channel of a piece has come to where it goes.
const longestRamp = 1e6

// stand returns the number of the first piece of a drive in which, for longer than briefly, a wheel stands or turns back
// while another goes; -1 where there is none.
func (a *artist) stand(d *drive) int {
	stood := 0
	for i := range d.pieces {
		for at := 0; at < d.pieces[i].length; at += looked {
			if stood += looked; a.wheelsGo(&d.pieces[i], at) {
				stood = 0
			}
			if stood > briefly {
				return i
			}
		}
	}
	return -1
}

// wheelsGo says whether so many ms after the beginning of a piece no wheel stands while another goes.
func (a *artist) wheelsGo(p *piece, ms int) bool {
	v := p.values[speed].at(ms)
	slowest, fastest := math.Inf(1), 0.0
	for _, hub := range a.car.Car.HubSpeeds(v, float64(p.values[yawRate].at(ms)*degrees), float64(p.values[steer].at(ms)*degrees)) {
		slowest, fastest = min(slowest, math.Copysign(1, v)*hub), max(fastest, math.Abs(hub))
	}
	return fastest <= going || slowest >= standing
}

// at returns the value so many ms after the beginning of its piece.
func (v value) at(ms int) float64 {
	if ms >= v.over {
		return v.to
	}
	return v.from + float64((v.to-v.from)*float64(ms)/float64(v.over))
}

// going takes the yaw rate back in pieces in which a wheel would stand while another goes, and in those from which it would
// on the way.
func (d *drawing) going(out *drive) {
	for i := range out.pieces {
		p := &out.pieces[i]
		for yaw := &p.values[yawRate].to; !d.wheelsGo(p, longestRamp) && *yaw != 0; {
			*yaw = math.Trunc(*yaw / 2)
		}
	}
	out.join()
	for i := d.stand(out); i >= 0; i = d.stand(out) {
		yaw := &out.pieces[i].values[yawRate].to
		if i > 0 {
			if last := &out.pieces[i-1].values[yawRate].to; math.Abs(*last) > math.Abs(*yaw) {
				yaw = last
			}
		}
		if *yaw == 0 {
			return // they stand by the steering alone
		}
		*yaw = math.Trunc(*yaw / 2)
		out.join()
	}
}
