package characteristic

import (
	"math"

	"hilrig/assertions"
	"hilrig/assertions/measure"
)

// Draws says what the Monte Carlo reckoning of a characteristic draws: the same seed gives the
// same figures.
type Draws struct {
	Seed uint64
	N    int // vectors of errors; 0 is 2000
}

// Judge returns all figures of a set in the order of their keys, each with its verdict by
// limits. What the readings do not say is undecided with its reason; bad readings are left out
// or make figures undecided, whatever they hold.
func Judge(s *Set, l Limits, draws Draws) []Figure {
	j := judge{levels: levelsOf(s)}
	j.draw(draws)
	var linearity [ZeroBased + 1]*measure.Interval
	if l.Linearity != nil && int(l.Linearity.Sense) < len(linearity) {
		linearity[l.Linearity.Sense] = &measure.Interval{High: l.Linearity.AtMost}
	}
	saturation := j.saturation()
	var figures []Figure
	for _, sense := range Senses() {
		f := j.linearity(sense)
		if f.Measured() && saturation.Measured() && saturation.High < j.x[len(j.x)-1] {
			f.Why = join(f.Why, "the output rises no more above "+percent(saturation.Estimate))
		}
		figures = append(figures, decide(f, linearity[sense]))
	}
	figures = append(figures,
		decide(j.startThreshold(), atMost(l.StartThreshold)),
		decide(j.deadBand(), atMost(l.DeadBand)),
		decide(j.hysteresis(), atMost(l.Hysteresis)),
		decide(j.repeatability(), atMost(l.Repeatability)),
		decide(j.drift(), eitherWay(l.Drift)),
		decide(saturation, nil),
		j.monotone(l.Monotone),
		decide(j.firstTenth(), l.FirstTenth),
		decide(j.resolution(), atMost(l.Resolution)),
		decide(j.delay(), atMost(l.Delay)),
		decide(j.rise(), atMost(l.Rise)),
		decide(j.fullOutput(), nil),
	)
	return figures
}

func atMost(limit *float64) *measure.Interval {
	if limit == nil {
		return nil
	}
	return &measure.Interval{High: *limit}
}

func eitherWay(limit *float64) *measure.Interval {
	if limit == nil {
		return nil
	}
	i := measure.Within(0, *limit)
	return &i
}

// decide completes a figure with its verdict.
func decide(f Figure, limit *measure.Interval) Figure {
	f.Limit = limit
	switch {
	case !f.Measured():
		f.Verdict = assertions.Undecided
		return f
	case limit == nil:
		f.Verdict = assertions.MeasuredOnly
		return f
	}
	switch (measure.Interval{Low: f.Low, High: f.High}).Against(*limit) {
	case measure.Inside:
		f.Verdict = assertions.Pass
	case measure.Outside:
		f.Verdict = assertions.Fail
	default:
		f.Verdict = assertions.Undecided
		f.Why = join(f.Why, "the interval reaches across the limit: "+narrower(f.Key))
	}
	return f
}

// narrower says what makes the interval of a figure narrower.
func narrower(key string) string {
	switch key {
	case KeyStartThreshold:
		return "a smaller step of the search for the start narrows it"
	case KeyDeadBand, KeyResolution:
		return "small changes of command of more sizes narrow it"
	case KeyDelay, KeyRiseTime:
		return "more steps narrow it"
	}
	return "more cycles narrow it"
}

func join(why, more string) string {
	if why == "" {
		return more
	}
	return why + "; " + more
}

// judge is a set with what is reckoned once for all its figures.
type judge struct {
	*levels
	errors  [][]float64 // of levels.y, drawn
	span    float64     // of the output
	noRange string      // why figures over the range of levels cannot be had
	noSpan  string      // why shares of span cannot be had
}

// draw draws the errors of the means, and finds out whether the output spans more than noise.
func (j *judge) draw(d Draws) {
	j.noSpan = j.noNoise
	if len(j.x) < 2 {
		j.noSpan = j.noPoints
	}
	if j.noSpan == "" {
		j.errors = measure.Draws{Seed: d.Seed, Name: "characteristic " + j.set.Held, N: d.N}.Errors(j.noise())
		j.span = span(j.y)
		if noise := (measure.Relative{Seminorm: span}).Bound(make([]float64, len(j.y)), j.errors).Noise; !(j.span > noise) {
			j.noSpan = "the output does not change beyond its noise: its span is 0"
		}
	}
	j.noRange = j.noPoints
	if j.noRange == "" {
		j.noRange = j.noSpan
	}
}

// unmeasured returns the figure of what could not be measured.
func unmeasured(key, quantity, unit, why string) Figure {
	nan := math.NaN()
	return Figure{Key: key, Quantity: quantity, Unit: unit, Estimate: nan, Low: nan, High: nan, At: nan, Why: why}
}

// measured returns the figure of what was measured. A number that is none makes it unmeasured.
func measured(key, quantity, unit string, estimate float64, i measure.Interval, at float64, why string) Figure {
	if !finite(estimate) || !finite(i.Low) || !finite(i.High) {
		return unmeasured(key, quantity, unit, join(why, "the readings give no number for it"))
	}
	return Figure{Key: key, Quantity: quantity, Unit: unit, Estimate: estimate, Low: i.Low, High: i.High, At: at, Why: why}
}
