package report

import (
	"cmp"
	"slices"

	"hilrig/suites/report/plots"
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

// scales returns the axes: commands in %, outputs, and residuals in % of span.
func (c *Characteristic) scales() (commands, outputs, residuals plots.Scale) {
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
	return plots.ScaleOf(10, x...), plots.ScaleOf(6, y...), plots.ScaleOf(4, r...)
}
