package search

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/suites/file"
)

// point is what is asked at an operating point, which is the only piece of a drive.
type point struct {
	of       string                     // the situation of the policy, as a suite file has it
	key      string                     // of the policy, without which nothing of it is asked; empty: there is none such
	baseline bool                       // it is compared with the same without gain
	powerUp  string                     // the wire that is lost while the board is switched on, "none" where all are there; empty: it is not switched on
	long     bool                       // one that takes many times as long as the others
	place    func(d *drawing, p *piece) // draws what the situation is about, over a point that was drawn at will
	held     func(p *piece) string      // what is held besides the values; nil: nothing for 600 ms
}

// points are the situations that are drawn. What the language says of a point that is none of a situation, or the
// plan of one that leaves no room, stands: it is not played, or not asked.
var points = []point{
	{of: "understeer", key: "understeer", baseline: true, place: func(d *drawing, p *piece) { d.turning(p, 0, 0.8) }},
	{of: "oversteer", key: "oversteer", baseline: true, place: func(d *drawing, p *piece) { d.turning(p, 1.2, 2) }},
	{of: "on_demand", baseline: true, place: func(d *drawing, p *piece) { d.turning(p, 1, 1) }},
	{of: "opposite_lock", key: "opposite_lock", baseline: true, place: func(d *drawing, p *piece) { d.turning(p, -0.8, -0.2) }},
	{of: "zero_gain", baseline: true, place: func(d *drawing, p *piece) { d.turning(p, 0, 2); p.values[gain].to = 0 }},
	{of: "straight", key: "straight", baseline: true, place: func(d *drawing, p *piece) {
		p.values[steer].to, p.values[yawRate].to = 0, round(d.within(20, 80), 1)
		if d.chance(0.5) {
			p.values[yawRate].to *= -1
		}
	}},
	{of: "standstill", key: "standstill", baseline: true, place: func(d *drawing, p *piece) { p.values[speed].to = 0; p.values[yawRate].to = round(d.within(-40, 40), 1) }},
	{of: "reverse", key: "reverse", baseline: true, place: func(d *drawing, p *piece) { p.values[speed].to = -tenth(d.within(0.5, 3)) }},
	{of: "cap", key: "cap", place: func(d *drawing, p *piece) { p.values[throttle].to = round(d.within(70, 100), 1) }},
	{of: "sum_cap", key: "sum_cap", place: func(d *drawing, p *piece) { p.values[throttle].to = round(d.within(60, 100), 1) }},
	{of: "floor", key: "floor", place: func(d *drawing, p *piece) { p.values[throttle].to = round(d.within(0, 15), 0.5) }},
	{of: "at_the_limit", key: "at_the_limit", baseline: true, place: (*drawing).atALimit},
	{of: "outputs_together", key: "outputs_together", place: func(d *drawing, p *piece) { d.turning(p, 0, 2) }},
	{of: "start", key: "start", powerUp: "yaw_rate"},
	{of: "start", key: "start", powerUp: "steer"},
	{of: "start", key: "start", powerUp: "receiver"},
	{of: "arms", key: "arms", powerUp: "none"},
	{of: "start_at_rest", key: "start_at_rest", powerUp: "none", place: func(d *drawing, p *piece) { p.values[steer].to, p.values[yawRate].to = 0, 0 }},
	{of: "response", key: "response", long: true, place: func(d *drawing, p *piece) { d.turning(p, 1, 1) }, held: func(p *piece) string {
		yaw := p.values[yawRate].to
		return fmt.Sprintf("trials: {yaw_rate: [%s deg/s, %s deg/s], count: 120, interval: 60 ms}", number(yaw), number(round(yaw/2, 1)))
	}},
	{of: "response", key: "response", long: true, place: (*drawing).straightOn, held: throttleTrials},
	{of: "outputs_together", key: "outputs_together", long: true, place: (*drawing).straightOn, held: throttleTrials},
	{of: "resolution", key: "resolution", long: true, place: func(d *drawing, p *piece) { p.values[steer].to, p.values[yawRate].to, p.values[gain].to = 0, 0, 0 }, held: func(p *piece) string {
		low := max(30, min(p.values[throttle].to, 50)) // firmware whose curve is steep at an end may go in larger steps there
		return fmt.Sprintf("sweep: {throttle: [%s %%, %s %%]}, observe: 12 s", number(low), number(low+20))
	}},
	{of: "loop_rate", key: "loop_rate", long: true, place: func(d *drawing, p *piece) {
		d.turning(p, 0, 0.5)
		p.values[speed].to = tenth(d.within(3, d.most[speed]-2))
	}, held: func(p *piece) string {
		v := p.values[speed].to
		return fmt.Sprintf("speed: {chirp: 2 m/s, about: %s m/s, from: 4.2 Hz, to: 5.8 Hz, over: 9.3 s}, observe: 9 s", number(v))
	}},
}

// straightOn is a point with no shift, for what the motors do alike.
func (d *drawing) straightOn(p *piece) {
	p.values[steer].to, p.values[yawRate].to, p.values[gain].to = 0, 0, 0
}

// throttleTrials changes the throttle to and fro by a fifth.
func throttleTrials(p *piece) string {
	low := max(10, min(p.values[throttle].to, 60))
	return fmt.Sprintf("trials: {throttle: [%s %%, %s %%], count: 120, interval: 60 ms}", number(low), number(low+20))
}

// pointsOf returns those that a car's policy says something of, those that take long apart.
func pointsOf(car *file.Car) (short, long []point) {
	for _, p := range points {
		switch {
		case p.key != "" && !slices.Contains(car.Asked, p.key):
		case p.long:
			long = append(long, p)
		default:
			short = append(short, p)
		}
	}
	return short, long
}

// at draws a point of a situation.
func (d *drawing) at(of *point) drive {
	p := piece{length: 600}
	v, a := d.rolls(0.6), round(d.within(2, d.most[steer]), 0.5)
	if d.chance(0.5) {
		a = -a
	}
	to := [channels]float64{speed: v, steer: a, throttle: round(d.within(15, 85), 1), gain: d.trim(20)}
	for c := range channels {
		p.values[c].to = to[c]
	}
	d.turning(&p, 0, 2)
	if of.place != nil {
		of.place(d, &p)
	}
	out := drive{pieces: []piece{p}, point: of, gathers: d.car.Policy.MayIntegrate()}
	if of.powerUp == "" && of.held == nil && d.chance(0.2) {
		out.straight = round(d.within(4, 14), 1)
	}
	return out
}

// turning draws the yaw rate of a point as a share of its demand, and takes the steer angle back where that is more than is played.
func (d *drawing) turning(p *piece, low, high float64) {
	v, a := p.values[speed].to, p.values[steer].to
	share := d.within(low, high)
	a = d.turns(v, a)
	yaw := d.car.OnDemand(v, float64(a*degrees)) / degrees * share
	p.values[steer].to, p.values[yawRate].to = a, round(max(-d.most[yawRate], min(yaw, d.most[yawRate])), 1)
}

// atALimit draws a throttle near the cap or near the floor.
func (d *drawing) atALimit(p *piece) {
	d.turning(p, 0, 2)
	p.values[throttle].to = round(d.within(80, 100), 1)
	if d.chance(0.5) {
		p.values[throttle].to = round(d.within(0, 10), 0.5)
	}
}

// pointCase writes a case in which a situation is asked at a point.
func (d *drive) pointCase(b *strings.Builder) {
	of, p := d.point, &d.pieces[0]
	b.WriteString("  - case: point\n    where_wired: yes\n")
	switch {
	case of.powerUp != "":
		b.WriteString("    power_up: yes\n    baseline: none\n")
	case of.baseline:
		b.WriteString("    baseline: {gain: 0 %, settle: 300 ms, observe: 400 ms}\n")
	default:
		b.WriteString("    baseline: none\n")
	}
	held := fmt.Sprintf("observe: %d ms", max(p.length, 1000))
	if of.powerUp == "" {
		held = fmt.Sprintf("observe: %d ms", p.length)
	}
	if of.held != nil {
		held = of.held(p)
	}
	if of.of == "start_at_rest" { // it may wait for the throttle to be let go, too, which shows nothing of whether it waits to stand
		held = fmt.Sprintf("throttle: {table: [[0 s, %[1]s %%], [500 ms, %[1]s %%], [600 ms, 0 %%], [2400 ms, 0 %%], [2500 ms, %[1]s %%]]}, observe: 3500 ms", number(p.values[throttle].to))
	}
	for c, v := range p.values {
		if key := written[c].key; of.powerUp != "" || !strings.Contains(held, key+":") {
			fmt.Fprintf(b, "    %s: %s\n", key, v.text(channel(c)))
		}
	}
	if of.powerUp != "" {
		faults := ""
		if of.powerUp != "none" {
			faults = fmt.Sprintf(", faults: [{wire: %s, is: lost}]", of.powerUp)
		}
		fmt.Fprintf(b, "    steps:\n      - {step: switched on, settle: 0 ms, %s%s}\n", held, faults)
		b.WriteString("      - {step: throttle let go, speed: 0 m/s, steer: 0 deg, yaw_rate: 0 deg/s, throttle: 0 %, settle: 1 s, observe: 600 ms}\n")
		b.WriteString("      - {step: driving, speed: {ramp: [0 m/s, 4 m/s], over: 500 ms}, steer: 0 deg, yaw_rate: 0 deg/s, settle: 700 ms, observe: 600 ms}\n")
		fmt.Fprintf(b, "    expect:\n      - {policy: %s, step: switched on}\n", of.of)
		return
	}
	if d.straight != 0 {
		fmt.Fprintf(b, "    steps:\n      - {step: straight, steer: 0 deg, yaw_rate: %s deg/s, gain: 0 %%, observe: 3 s}\n", number(d.straight))
		fmt.Fprintf(b, "      - {step: point, settle: %d ms, %s}\n    expect:\n      - {policy: %s, step: point}\n", d.settle(), held, of.of)
		return
	}
	fmt.Fprintf(b, "    hold: {settle: %d ms, %s}\n    expect:\n      - {policy: %s}\n", d.settle(), held, of.of)
}

// settle returns for how long a point is held before it is looked at, ms.
func (d *drive) settle() int {
	if d.gathers {
		return 1100
	}
	return 300
}
