package page

import (
	"fmt"
	"math"

	"hilrig/rig/trace"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// mostTimes is how many points a line of a drive has.
const mostTimes = 400

// ways are the runs of a case in closed loop by what stands before their channels.
var ways = []struct{ prefix, name string }{
	{"", "with the shift"}, {record.WithoutShift, "without"}, {record.WithoutBoard, "no board"},
}

// drives draws where the car went in closed loop.
func (p *Page) drives(s *record.Suite, suite int) (all []picture) {
	left := 0
	for i := range s.Cases {
		a := p.along[place{suite, i}]
		if a == nil || len(a.Played[trace.PositionX.String()]) == 0 {
			continue
		}
		if len(all) >= 2*mostSweeps {
			left++
			continue
		}
		all = append(all, yawOf(a, &s.Cases[i]), pathOf(a, &s.Cases[i]))
	}
	if left > 0 {
		all[len(all)-1].Caption += fmt.Sprintf(" %s not drawn.", report.Count(left, "more drive"))
	}
	return all
}

// yawOf draws the yaw rate over time.
func yawOf(a *record.Along, c *record.Case) picture {
	panel := plots.Panel{Name: "yaw rate", Unit: "deg/s", Height: 120}
	for _, w := range ways {
		values := a.Played[w.prefix+trace.YawRate.String()]
		if len(values) == 0 {
			continue
		}
		s := plots.Series{Name: w.name}
		for i := 0; i < len(values); i += stride(len(values)) {
			s.At = append(s.At, float64(a.StartNS+int64(i)*a.BinNS)/1e9)
			s.Value = append(s.Value, values[i]*180/math.Pi)
		}
		panel.Series = append(panel.Series, s)
	}
	of := plots.Picture{About: "Yaw rate in " + c.Title(), Panels: []plots.Panel{panel}}
	return picture{Title: "Yaw rate: " + c.Title(), Plot: drawn(of.SVG), Caption: "The plant drives with the board's commands, with the gain at zero, and with the throttle passed on to all four motors."}
}

// pathOf draws the way on the ground.
func pathOf(a *record.Along, c *record.Case) picture {
	of := plots.Across{About: "Way of the car in " + c.Title(), X: "x, m", Y: "y, m, positive to the left", Equal: true}
	for _, w := range ways {
		x, y := a.Played[w.prefix+trace.PositionX.String()], a.Played[w.prefix+trace.PositionY.String()]
		if len(x) == 0 || len(x) != len(y) {
			continue
		}
		k := plots.Curve{Name: w.name}
		along, across := firstWay(x, y)
		for i := 0; i < len(x); i += stride(len(x)) {
			dx, dy := x[i]-x[0], y[i]-y[0]
			k.X, k.Y = append(k.X, float64(dx*along)+float64(dy*across)), append(k.Y, float64(dy*along)-float64(dx*across))
		}
		of.Curves = append(of.Curves, k)
	}
	return picture{Title: "Way on the ground: " + c.Title(), Plot: drawn(of.SVG), Caption: "From above, from where the plant took over, each run turned so that it begins along x; both axes have the same scale."}
}

// begun is how far in m a car has gone when it is told which way it began.
const begun = 0.05

// firstWay returns the direction in which a way begins, as cosine and sine: the runs of a case may
// stand in other directions when the plant takes over.
func firstWay(x, y []float64) (along, across float64) {
	for i := range x {
		dx, dy := x[i]-x[0], y[i]-y[0]
		if far := math.Hypot(dx, dy); far >= begun {
			return dx / far, dy / far
		}
	}
	return 1, 0
}

// stride returns at which distance points are taken so that no more than mostTimes are.
func stride(n int) int { return max(1, (n+mostTimes-1)/mostTimes) }
