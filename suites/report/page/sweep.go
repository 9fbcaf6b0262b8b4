package page

import (
	"fmt"
	"math"
	"strings"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// mostSweeps is how many sweeps and drives of a suite are drawn, each.
const mostSweeps = 6

// demanded is how the quantity begins that a sweep of the yaw rate measures.
const demanded = "yaw rate that the board takes as demanded"

// sweeps draws the commands over the yaw rate where the demand was found by a sweep.
func (p *Page) sweeps(s *record.Suite, suite int) (all []picture) {
	left := 0
	for i := range s.Cases {
		c := &s.Cases[i]
		k := checkOf(c, func(k *record.Check) bool { return k.Measured() && strings.HasPrefix(k.Quantity, demanded) })
		a := p.along[place{suite, i}]
		if k == nil || a == nil || len(a.Played[trace.YawRate.String()]) == 0 {
			continue
		}
		if len(all) == mostSweeps {
			left++
			continue
		}
		all = append(all, sweep(a, c, k))
	}
	if left > 0 {
		all[len(all)-1].Caption += fmt.Sprintf(" %s not drawn.", report.Count(left, "more sweep"))
	}
	return all
}

// checkOf returns the first check of a case that is asked for, nil where there is none.
func checkOf(c *record.Case, want func(k *record.Check) bool) *record.Check {
	for i := range c.Checks {
		if want(&c.Checks[i]) {
			return &c.Checks[i]
		}
	}
	return nil
}

// sweep draws a case from the moment of its check on.
func sweep(a *record.Along, c *record.Case, k *record.Check) picture {
	first := min(len(a.Motors[0].Mean), max(0, int((k.AtNS-a.StartNS)/a.BinNS)))
	yaw := scaled(a.Played[trace.YawRate.String()], 180/math.Pi)
	of := plots.Across{
		About: "Commands over yaw rate in " + c.Title(), X: "yaw rate played, deg/s", Y: "command, % of range",
		Marks: []plots.Mark{{Name: "takes for demanded " + report.Measured(k), At: *k.Estimate}},
	}
	for _, w := range plant.Wheels {
		to := min(len(yaw), len(a.Motors[w].Mean))
		if first >= to {
			continue
		}
		of.Curves = append(of.Curves, plots.Curve{Name: strings.ReplaceAll(w.String(), "_", " "), X: yaw[first:to], Y: scaled(a.Motors[w].Mean[first:to], 100)})
	}
	return picture{Title: "Sweep of the yaw rate: " + c.Title(), Plot: drawn(of.SVG),
		Caption: "The yaw rate goes slowly there and back; where the motors cross, the board takes the yaw rate for the one that is asked for. Means of 10 ms."}
}
