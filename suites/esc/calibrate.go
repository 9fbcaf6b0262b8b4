package esc

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"strconv"

	"hilrig/assertions/measure"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/stand"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Calibration is what a load cell's converter says without load and under two known masses.
type Calibration struct {
	Zero     float64          // counts, the mean
	Span     [2]file.CellLoad // counts, the means, under the stand's masses
	Noise    float64          // counts, standard deviation of one reading, the largest of the three
	Readings int              // of each mean, at least
	// Bend is how far the zero lies from the straight line through both masses, a share of the
	// distance between them. A cell that is straight has less than a thousandth.
	Bend float64
}

// mostBend is the bend above which something touches the arm, or a mass is another one.
const mostBend = 0.01

// Wrong says what is wrong with the calibration, in words; empty where nothing is seen.
func (c *Calibration) Wrong() string {
	apart := math.Abs(c.Span[1].Counts - c.Span[0].Counts)
	switch {
	case !(apart > 100*c.Noise):
		return fmt.Sprintf("the two masses are %.0f counts apart and one reading scatters by %.0f: look at the cell's wires, or take masses that differ more", apart, c.Noise)
	case math.Abs(c.Bend) > mostBend:
		return fmt.Sprintf("the zero lies %.1f %% off the line through both masses: something touches the arm, or a mass is not what the file says", 100*math.Abs(c.Bend))
	}
	return ""
}

// The spans of a calibration.
const (
	calibrationSettles = signal.Second
	calibrationReads   = 3 * signal.Second
	fewestCalibration  = 10 // readings of a mean
)

// Calibrate finds what the load cell's converter says without load and under the masses of the
// stand file. put is called before each, with the mass in kg that has to hang on the arm, 0 for
// none; the motor is never driven. A stand without a load cell, and a converter that gives no
// readings, is an error.
func (s *Setup) Calibrate(ctx context.Context, put func(mass float64) error) (*Calibration, error) {
	cell := s.Stand.LoadCell
	if cell == nil {
		return nil, fmt.Errorf("%s: the stand has no load_cell to calibrate; add one under measure", s.Stand.Source.Path)
	}
	c := &Calibration{Span: cell.Span, Readings: math.MaxInt}
	for _, one := range []struct {
		mass float64
		mean *float64
	}{{0, &c.Zero}, {cell.Span[0].Mass, &c.Span[0].Counts}, {cell.Span[1].Mass, &c.Span[1].Counts}} {
		if err := put(one.mass); err != nil {
			return nil, err
		}
		counts, err := s.countsUnder(ctx, one.mass)
		if err != nil {
			return nil, err
		}
		d := measure.Describe(counts)
		*one.mean = d.Mean
		c.Noise, c.Readings = max(c.Noise, d.Deviation), min(c.Readings, d.N)
	}
	a, b := c.Span[0], c.Span[1]
	perMass := (b.Counts - a.Counts) / (b.Mass - a.Mass)
	c.Bend = (c.Zero - (a.Counts - float64(perMass*a.Mass))) / (b.Counts - a.Counts)
	return c, nil
}

// countsUnder returns what the converter says under a mass in kg, reading by reading.
func (s *Setup) countsUnder(ctx context.Context, mass float64) (counts []float64, err error) {
	bench, err := s.openUnder(mass)
	if err != nil {
		return nil, err
	}
	defer func() { err = cmp.Or(err, bench.Close()) }()
	var seen events
	p, err := newThrottleLoop(s.Stand, bench, &seen)
	if err != nil {
		return nil, err
	}
	p.throttle.SetSilent(true)
	if err := p.hold(ctx, 0, calibrationSettles); err != nil {
		return nil, err
	}
	p.sources.mark()
	if err := p.hold(ctx, 0, calibrationReads); err != nil {
		return nil, err
	}
	for _, v := range p.sources.cell.recorded {
		counts = append(counts, p.sources.cell.counts(v.x))
	}
	if len(counts) < fewestCalibration {
		return nil, fmt.Errorf("%s: %d readings of the load cell in %s%s", s.Stand.Source.Path, len(counts), calibrationReads.Short(), seen.firstOf("load_cell"))
	}
	return counts, nil
}

// openUnder opens the stand's bench; on a simulated stand the mass hangs on the arm.
func (s *Setup) openUnder(mass float64) (rig.Bench, error) {
	layout := s.Stand.Layout()
	var b board.Board
	if s.Real == nil || s.Real.Board {
		settings := s.StandSettings(&file.HeldCondition{Kind: file.Locked})
		settings.Cell.Mass = mass
		controller, err := s.controller()
		if err != nil {
			return nil, err
		}
		if b, err = stand.New(settings, controller); err != nil {
			return nil, err
		}
	}
	if s.Real != nil {
		return s.Real.Open(layout, b)
	}
	return openSimulated(layout, b)
}

// counts returns the counts of a torque in N m.
func (c *cell) counts(torque float64) float64 { return torque/(c.sign*c.perCount) + c.zero }

// firstOf returns the first event of a place, behind a colon.
func (e *events) firstOf(place string) string {
	for i := range e.list {
		if e.list[i].Place == place {
			return ": " + e.list[i].Text
		}
	}
	return ": look at its wires"
}

// Lines returns the lines of load_cell that the stand file should have.
func (c *Calibration) Lines() []string {
	counts := func(x float64) string { return strconv.FormatFloat(math.Round(x), 'f', 0, 64) }
	lines := []string{"    zero: " + counts(c.Zero), "    span:"}
	for _, one := range c.Span {
		tolerance := ""
		if one.Tolerance > 0 {
			tolerance = ", tolerance: " + language.Mass.Format(one.Tolerance)
		}
		lines = append(lines, fmt.Sprintf("      - {counts: %s, mass: %s%s}", counts(one.Counts), language.Mass.Format(one.Mass), tolerance))
	}
	return lines
}
