package report

import (
	"cmp"
	"math"
	"slices"

	"hilrig/rig/signal"
)

// Characteristic is what a speed controller's output is over its throttle, as it is drawn:
// by [Characteristic.SVG], and by [Characteristic.Text] in letters.
type Characteristic struct {
	Title  string // "torque over throttle"
	Held   string // the condition under which it holds, "speed 120 rad/s"
	Output string // the quantity, "torque"
	Unit   string // of outputs, "N m"
	Points []Point
	// Lines are straight lines through the points; residuals are taken from the first. Without
	// one none are drawn.
	Lines []StraightLine
	Band  float64 // largest residual that the owner accepts, a share of Span; 0: none is declared
	Span  float64 // of the output, in Unit
	// Unread are the commands of levels at which nothing could be read.
	Unread []float64
}

// Point is one reading.
type Point struct {
	Command float64 // share of full throttle, 0..1 or -1..1
	Output  float64 // in the unit of its characteristic
	Down    bool    // the level was approached from above
}

// StraightLine is a line over throttle from one command to another.
type StraightLine struct {
	Name             string  // "independent"
	Intercept, Slope float64 // output at command 0, and its rise over full throttle
	Low, High        float64 // the commands over which it was placed
}

// at returns the line's output at a command.
func (l *StraightLine) at(command float64) float64 { return l.Intercept + float64(l.Slope*command) }

// covers says whether the line was placed over a command.
func (l *StraightLine) covers(command float64) bool {
	const rounding = 1e-9
	return command >= l.Low-rounding && command <= l.High+rounding
}

// residuals returns the points that the first line covers with their distances from it, in %
// of span; none where there is no line.
func (c *Characteristic) residuals(points []Point) []Point {
	if len(c.Lines) == 0 || !(c.Span > 0) {
		return nil
	}
	var all []Point
	for _, p := range points {
		if c.Lines[0].covers(p.Command) {
			all = append(all, Point{p.Command, 100 * (p.Output - c.Lines[0].at(p.Command)) / c.Span, p.Down})
		}
	}
	return all
}

// means returns the mean of all points of each command in one direction, by command.
func (c *Characteristic) means(down bool) []Point {
	sums, counts := map[float64]float64{}, map[float64]int{}
	for _, p := range c.Points {
		if p.Down == down {
			sums[p.Command] += p.Output
			counts[p.Command]++
		}
	}
	var all []Point
	for command, sum := range sums {
		all = append(all, Point{command, sum / float64(counts[command]), down})
	}
	slices.SortFunc(all, func(a, b Point) int { return cmp.Compare(a.Command, b.Command) })
	return all
}

// scale is an axis: a range of values between two round ones, with a tick every step.
type scale struct{ low, high, step float64 }

// scaleOf returns the scale that holds all values, with about so many steps.
func scaleOf(steps float64, values ...float64) scale {
	low, high := slices.Min(values), slices.Max(values)
	if !(high > low) {
		low, high = low-0.5, high+0.5
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/steps)))
	for _, f := range []float64{2, 2.5, 2} { // 1, 2, 5, 10 times a power of ten
		if (high-low)/step > steps {
			step *= f
		}
	}
	return scale{math.Floor(low/step+1e-9) * step, math.Ceil(high/step-1e-9) * step, step}
}

// ticks returns the values of the ticks, ascending.
func (s scale) ticks() []float64 {
	var all []float64
	for i := range int(math.Round((s.high-s.low)/s.step)) + 1 {
		all = append(all, s.low+float64(float64(i)*s.step))
	}
	return all
}

// at returns where a value lies on the scale, 0 at its low end and 1 at its high one.
func (s scale) at(value float64) float64 { return (value - s.low) / (s.high - s.low) }

// number writes a tick's value.
func (s scale) number(value float64) string {
	if math.Abs(value) < s.step/1e6 {
		value = 0
	}
	return signal.Digits(value, 4)
}

// scales returns the axes: commands in %, outputs, and residuals in % of span.
func (c *Characteristic) scales() (commands, outputs, residuals scale) {
	x, y, r := []float64{0, 100}, []float64{0}, []float64{-0.1, 0.1}
	for _, p := range c.Points {
		x, y = append(x, 100*p.Command), append(y, p.Output)
	}
	for _, command := range c.Unread {
		x = append(x, 100*command)
	}
	for _, p := range c.residuals(c.Points) {
		r = append(r, p.Output, -p.Output)
	}
	r = append(r, 120*c.Band, -120*c.Band)
	return scaleOf(10, x...), scaleOf(6, y...), scaleOf(4, r...)
}
