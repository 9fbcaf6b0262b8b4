package file

import (
	"fmt"
	"strings"

	"hilrig/plant"
	"hilrig/suites/language"
)

// ParseCar reads a car file. The error is of type [language.Problems]. Numbers are SI.
func ParseCar(s language.Source) (*Car, error) {
	r := newReader(s)
	top := r.Tree("car", kinds...)
	if top == nil {
		return nil, r.Problems.Sorted()
	}
	v := r.Read(top, CarTable)
	c := &Car{Source: s, Name: v.Word("car")}
	r.geometry(&c.Car, v)
	r.steering(&c.Car, v)
	r.policy(c, v.Sub("policy"))
	c.wheelbase = r.PlaceOf(v.NodeAt("wheelbase"))
	c.demanded = r.PlaceOf(v.Sub("policy").Sub("demand").NodeAt("wheelbase"))
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	c.Car.Mass = v.Number("mass")
	c.Car.WheelRadius = v.Number("wheel_radius")
	c.fill(v)
	if err := c.Car.Validate(); err != nil {
		r.Report(top, strings.ReplaceAll(err.Error(), "\n", "; "), "")
		return nil, r.Problems.Sorted()
	}
	return c, nil
}

// geometry reads wheelbase and tracks.
func (r *reader) geometry(c *plant.Car, v *language.Mapping) {
	both, front, rear := v.Written("track"), v.Written("front_track"), v.Written("rear_track")
	switch {
	case both && (front || rear):
		r.Report(v.Node.Key("track"), "track stands beside front_track or rear_track", "give track alone, or front_track and rear_track")
	case !both && !(front && rear):
		r.Report(v.Node, "key track is missing in a car file", "add track: 300 mm, or front_track and rear_track")
	case both:
		c.FrontTrack, c.RearTrack = v.Number("track"), v.Number("track")
	default:
		c.FrontTrack, c.RearTrack = v.Number("front_track"), v.Number("rear_track")
	}
}

// steering reads the steering table and sees to it that its line has a slope.
func (r *reader) steering(c *plant.Car, v *language.Mapping) {
	rows := v.Get("steering")
	if rows == nil {
		return
	}
	if len(rows.List) < 2 {
		r.Report(rows.Node, "the steering table has one row", "give at least two, with the pulse at each end")
		return
	}
	for _, row := range rows.List {
		t := row.Mapping
		if !t.Has("pulse") || !t.Has("left") || !t.Has("right") {
			return
		}
		p := plant.SteerPoint{Pulse: t.Number("pulse"), Left: t.Number("left"), Right: t.Number("right")}
		if n := len(c.Steering.Points); n > 0 && p.Pulse <= c.Steering.Points[n-1].Pulse {
			r.Report(t.Get("pulse").Node, fmt.Sprintf("pulse %s is not above the row before", t.Get("pulse").Node.Text), "order the rows by rising pulse")
			return
		}
		c.Steering.Points = append(c.Steering.Points, p)
	}
	points := c.Steering.Points
	rising := points[1].Left+points[1].Right > points[0].Left+points[0].Right
	for i := 1; i < len(points); i++ {
		step := points[i].Left + points[i].Right - points[i-1].Left - points[i-1].Right
		if step == 0 || step > 0 != rising {
			r.Report(rows.List[i].Node, "the mean wheel angle does not go on in one direction", "measure this row again: angles are positive to the left")
		}
	}
}
