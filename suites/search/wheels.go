package search

import "math"

// Firmware may take a wheel that does not get on while others go for one whose encoder is lost, and then does what its
// policy says of that, rightly. What it looks at is in m/s: common practice, no source.
const (
	standing = 0.3 // slower, a wheel may be taken not to get on
	going    = 0.7 // faster, others are
)

// allGo says whether in no piece of a drive a wheel stands or turns back while another goes, as it does where a car turns
// about a point between its wheels.
func (a *artist) allGo(d *drive) bool {
	for i := range d.pieces {
		if !a.wheelsGo(&d.pieces[i]) {
			return false
		}
	}
	return true
}

// wheelsGo says so of what a piece comes to.
func (a *artist) wheelsGo(p *piece) bool {
	v := p.values[speed].to
	slowest, fastest := math.Inf(1), 0.0
	for _, hub := range a.car.Car.HubSpeeds(v, float64(p.values[yawRate].to*degrees), float64(p.values[steer].to*degrees)) {
		slowest, fastest = min(slowest, math.Copysign(1, v)*hub), max(fastest, math.Abs(hub))
	}
	return fastest <= going || slowest >= standing
}

// going takes the yaw rate back in pieces in which a wheel would stand while another goes.
func (d *drawing) going(out *drive) {
	for i := range out.pieces {
		p := &out.pieces[i]
		for yaw := &p.values[yawRate].to; !d.wheelsGo(p) && *yaw != 0; {
			*yaw = math.Trunc(*yaw / 2)
		}
	}
	out.join()
}
