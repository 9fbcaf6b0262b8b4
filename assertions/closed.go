package assertions

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"hilrig/assertions/measure"
)

// Measured checks one figure of a drive in closed loop, over the window of Step. With
// repeats of the case it checks their mean, with the interval of Student's t. One run alone
// says nothing of the spread, so that its interval is the figure's own resolution.
type Measured struct {
	Measure string // one of Measures
	// AtMost and AtLeast bound the figure, in rad/s, rad, s, m or as a share; nil leaves that side open.
	AtMost, AtLeast *float64
	// BetterThan is "off" or "no_board": the figure has to be smaller than in the same drive
	// with the gain at zero, or with the throttle passed on to all four motors, run by run,
	// by more than the share By of that one. Less than a hundredth never counts as better.
	BetterThan string
	By         float64
	Step       string // the empty name means the last step
}

// leastBetter is the share by which a figure has to be smaller to count as
// better. A check's own definition; common practice, no source.
const leastBetter = 0.01

// Measures lists the words for Measured.Measure, by the alphabet:
//
//   - overshoot, a share: how far the yaw rate's peak goes past its steady value
//     after a step of the steering (ISO 7401);
//   - path_error, m: RMS distance from the path that the car would have driven
//     with the demanded yaw rate at its actual speed;
//   - peak_body_slip, rad: largest angle between the car and the way it goes;
//   - response_time, s: from half of the steering's step to 90 % of the steady
//     yaw rate (ISO 7401);
//   - rms_yaw_error, rad/s: root of the mean square of demand less yaw rate;
//   - settling_time, s: from half of the steering's step until the yaw rate stays
//     within 5 % of its change about the steady value.
var Measures = slices.Sorted(maps.Keys(figures))

// figure is one measure of a drive.
type figure struct {
	name  string // in words
	unit  string
	scale float64 // from SI to unit
	time  bool    // it is read off ticks
	steps bool    // it needs a step of the steering
	of    func(c Measured, d *drive) (float64, error)
}

var figures = map[string]figure{
	"rms_yaw_error":  {name: "RMS yaw error", unit: "deg/s", scale: 180 / math.Pi, of: rmsYawError},
	"peak_body_slip": {name: "peak body slip", unit: "deg", scale: 180 / math.Pi, of: peakBodySlip},
	"path_error":     {name: "RMS distance from the demanded path", unit: "m", scale: 1, of: pathError},
	"overshoot":      {name: "overshoot of the yaw rate", unit: "%", scale: percent, steps: true, of: overshoot},
	"response_time":  {name: "response time of the yaw rate", unit: "ms", scale: 1000, time: true, steps: true, of: responseTime},
	"settling_time":  {name: "settling time of the yaw rate", unit: "ms", scale: 1000, time: true, steps: true, of: settlingTime},
}

// judge returns one result for the bounds and one for BetterThan, where they are
// given.
func (c Measured) judge(e *Evidence) []Result {
	f, known := figures[c.Measure]
	_, compared := comparisons[c.BetterThan]
	switch {
	case !known:
		return []Result{unjudged(c.Measure, fmt.Errorf("%q is no measure; use one of %v", c.Measure, Measures))}
	case c.AtMost == nil && c.AtLeast == nil && c.BetterThan == "":
		return []Result{unjudged(f.name, errors.New("the check bounds nothing; give it at_most, at_least or better_than"))}
	case c.BetterThan != "" && !compared:
		return []Result{unjudged(f.name, fmt.Errorf("%q is nothing that a drive is compared with; use off or no_board", c.BetterThan))}
	}
	if e.policy().Demand == nil && (c.Measure == "rms_yaw_error" || c.Measure == "path_error") {
		return []Result{{Name: f.name, Verdict: NotAsked, Why: "the policy has no demand"}}
	}
	var results []Result
	values, s, err := c.each(f, append([]*Evidence{e}, e.Repeats...))
	if c.AtMost != nil || c.AtLeast != nil {
		results = append(results, c.bounded(f, e, values, s, err))
	}
	if c.BetterThan != "" {
		results = append(results, c.better(f, e, values, s, err))
	}
	return results
}

// each measures the runs with the board in charge. It returns the step of the first too.
func (c Measured) each(f figure, runs []*Evidence) (values []float64, s *Step, err error) {
	for i, run := range runs {
		x, in, err := c.measure(f, run, func(d *drive) error { return d.usable(f) })
		switch {
		case err != nil && i > 0:
			return nil, nil, fmt.Errorf("%w (in run %d of %d)", err, i+1, len(runs))
		case err != nil:
			return nil, nil, err
		case i == 0:
			s = in
		}
		values = append(values, x)
	}
	return values, s, nil
}

// measure measures one run, where usable has nothing against its drive.
func (c Measured) measure(f figure, run *Evidence, usable func(d *drive) error) (float64, *Step, error) {
	d, err := driveOf(run, c.Step)
	if err == nil {
		err = usable(d)
	}
	if err != nil {
		return 0, nil, err
	}
	x, err := f.of(c, d)
	return x, d.s, err
}

// bounded holds the figure against AtMost and AtLeast.
func (c Measured) bounded(f figure, e *Evidence, values []float64, s *Step, err error) Result {
	limit, words := between(math.Inf(-1), math.Inf(1)), ""
	if c.AtLeast != nil {
		limit.Low, words = *c.AtLeast, " at least "+f.words(*c.AtLeast)
	}
	if c.AtMost != nil {
		limit.High, words = *c.AtMost, words+" at most "+f.words(*c.AtMost)
	}
	if err != nil {
		return unjudged(f.name+words, err)
	}
	systematic := 0.0
	if f.time {
		systematic = measure.Resolution(e.Trace.Tick.Seconds())
	}
	est := measure.MeanOfRepeats(values, systematic)
	r := f.result(f.name+words, f.name+meanOfRuns(len(values)), est, limit, s)
	return r.explained(fmt.Sprintf("the %s is %s%s; it has to be%s", f.name, f.around(est), meanOfRuns(len(values)), words),
		repeatRemedy(est, limit, len(values), f.scale, " "+f.unit))
}

// words writes a value in SI in the figure's unit.
func (f *figure) words(x float64) string { return number(x*f.scale) + " " + f.unit }

// around writes an estimate with its uncertainty.
func (f *figure) around(est measure.Estimate) string {
	return number(est.Value*f.scale) + " ± " + f.words(est.Expanded())
}

// result turns an estimate in SI to a judged result in the figure's unit.
func (f *figure) result(name, quantity string, est measure.Estimate, limit Limit, s *Step) Result {
	return estimated(Result{Name: name, Step: s.Name, At: s.From}, quantity, f.unit, est, limit, f.scale)
}

// meanOfRuns says how many runs a figure is the mean of.
func meanOfRuns(n int) string {
	if n == 1 {
		return ", one run"
	}
	return fmt.Sprintf(", mean of %d runs", n)
}

// repeatRemedy says what would decide an estimate over n runs that its interval left
// undecided.
func repeatRemedy(est measure.Estimate, limit Limit, n int, scale float64, unit string) string {
	near := min(math.Abs(est.Value-limit.Low), math.Abs(est.Value-limit.High))
	got := est.Expanded()
	shown := fmt.Sprintf("%d runs leave ±%s%s", n, number(got*scale), unit)
	if n == 1 {
		shown = fmt.Sprintf("one run leaves its resolution of ±%s%s", number(got*scale), unit)
	}
	times := float64(got/near) * (got / near)
	if n == 1 || math.IsNaN(times) || times > margin {
		return "too near the limit to be decided: " + shown + "; move the limit, or repeat the case"
	}
	return fmt.Sprintf("%s; repeat: %d would decide", shown, int64(math.Ceil(float64(n)*max(2*times, 2))))
}
