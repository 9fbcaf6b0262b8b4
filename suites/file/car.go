package file

import (
	"fmt"
	"strings"

	"hilrig/plant"
)

// ParseCar reads a car file. The error is of type [Problems]. Numbers are SI.
func ParseCar(s Source) (*Car, error) {
	r := newReader(s)
	top := r.tree("car")
	if top == nil {
		return nil, r.problems.sorted()
	}
	v := r.read(top, &CarTable)
	c := &Car{Source: s, Name: v.word("car")}
	r.geometry(&c.Car, v)
	r.steering(&c.Car, v)
	r.policy(c, v.sub("policy"))
	c.wheelbase = r.standsAt(v.get("wheelbase"))
	c.demanded = r.standsAt(v.sub("policy").sub("demand").get("wheelbase"))
	if len(r.problems) > 0 {
		return nil, r.problems.sorted()
	}
	c.Car.Mass = v.number("mass")
	c.Car.WheelRadius = v.number("wheel_radius")
	c.fill(v)
	if err := c.Car.Validate(); err != nil {
		r.problem(top, strings.ReplaceAll(err.Error(), "\n", "; "), "")
		return nil, r.problems.sorted()
	}
	return c, nil
}

// geometry reads wheelbase and tracks.
func (r *reader) geometry(c *plant.Car, v *values) {
	both, front, rear := v.written("track"), v.written("front_track"), v.written("rear_track")
	switch {
	case both && (front || rear):
		r.problem(v.node.key("track"), "track stands beside front_track or rear_track", "give track alone, or front_track and rear_track")
	case !both && !(front && rear):
		r.problem(v.node, "key track is missing in a car file", "add track: 300 mm, or front_track and rear_track")
	case both:
		c.FrontTrack, c.RearTrack = v.number("track"), v.number("track")
	default:
		c.FrontTrack, c.RearTrack = v.number("front_track"), v.number("rear_track")
	}
}

// steering reads the steering table and sees to it that its line has a slope.
func (r *reader) steering(c *plant.Car, v *values) {
	rows := v.get("steering")
	if rows == nil {
		return
	}
	if len(rows.list) < 2 {
		r.problem(rows.node, "the steering table has one row", "give at least two, with the pulse at each end")
		return
	}
	for _, row := range rows.list {
		t := row.table
		if !t.has("pulse") || !t.has("left") || !t.has("right") {
			return
		}
		p := plant.SteerPoint{Pulse: t.number("pulse"), Left: t.number("left"), Right: t.number("right")}
		if n := len(c.Steering.Points); n > 0 && p.Pulse <= c.Steering.Points[n-1].Pulse {
			r.problem(t.get("pulse").node, fmt.Sprintf("pulse %s is not above the row before", t.get("pulse").node.text), "order the rows by rising pulse")
			return
		}
		c.Steering.Points = append(c.Steering.Points, p)
	}
	points := c.Steering.Points
	rising := points[1].Left+points[1].Right > points[0].Left+points[0].Right
	for i := 1; i < len(points); i++ {
		step := points[i].Left + points[i].Right - points[i-1].Left - points[i-1].Right
		if step == 0 || step > 0 != rising {
			r.problem(rows.list[i].node, "the mean wheel angle does not go on in one direction", "measure this row again: angles are positive to the left")
		}
	}
}
