package assertions

import (
	"math"

	"hilrig/assertions/measure"
	"hilrig/rig/trace"
)

// rmsYawError returns the root of the mean square of demand less yaw rate, the
// demand being that of the policy at each tick's speed and steering.
func rmsYawError(_ Measured, d *drive) (float64, error) {
	speed, steer, yaw := d.of(trace.Speed), d.of(trace.Steer), d.of(trace.YawRate)
	sum := 0.0
	for i := range yaw {
		x := d.p.Demand.YawRate(speed[i], steer[i]) - yaw[i]
		sum += float64(x * x)
	}
	return math.Sqrt(sum / float64(len(yaw))), nil
}

// peakBodySlip returns the largest angle between the car and the way it goes. A car
// that drives backwards throughout counts from there.
func peakBodySlip(_ Measured, d *drive) (float64, error) {
	peak := 0.0
	backwards := math.Abs(d.slip(0)) > math.Pi/2
	for i := range d.n() {
		x := math.Abs(d.slip(i))
		if backwards && d.speed(i) > atRest {
			x = math.Pi - x
		}
		peak = max(peak, x)
	}
	return peak, nil
}

// overshoot returns how far the yaw rate's peak goes past its steady value.
func overshoot(_ Measured, d *drive) (float64, error) {
	s, err := d.settled()
	return s.Overshoot, err
}

// responseTime returns the time from half of the steering's step to 90 % of the
// steady yaw rate.
func responseTime(_ Measured, d *drive) (float64, error) {
	s, err := d.settled()
	return s.Response, err
}

// settled reads a response that comes to a steady value within the window.
func (d *drive) settled() (measure.StepResponse, error) {
	s, _, err := d.stepped()
	if err == nil && math.IsInf(s.Settling, 1) {
		err = d.s.undecided("the yaw rate has not settled by the end of the window, so that there is no steady value to count from; %s", d.e.longer())
	}
	return s, err
}

// settlingTime returns the time from half of the steering's step until the yaw
// rate stays near its steady value.
func settlingTime(c Measured, d *drive) (float64, error) {
	s, seconds, err := d.stepped()
	if err != nil || !math.IsInf(s.Settling, 1) {
		return s.Settling, err
	}
	observed := seconds - s.Half
	return 0, d.s.absent(c.AtMost == nil || observed >= *c.AtMost, "the yaw rate had not settled %s ms after the steering's step, when the window ended", number(observed*1000))
}

// stepped reads the response of the yaw rate to the step of the steering, from
// just before the step's values were applied to the end of its window, seconds
// long.
func (d *drive) stepped() (r measure.StepResponse, seconds float64, err error) {
	all := d.e.driven(max(d.s.Applied-before, d.e.Release), d.s.To)
	steer, yaw := all.of(trace.Steer), all.of(trace.YawRate)
	from := 0
	for from < len(steer) && steer[from] == steer[0] {
		from++
	}
	// Before a step that comes late in the window, only the last stretch counts.
	tick := all.trace.Tick
	if skip := from - int(before/tick); skip > 0 {
		steer, yaw, from = steer[skip:], yaw[skip:], from-skip
	}
	if from == 0 || from >= len(steer) {
		return r, 0, d.s.undecided("the steering does not change in this step; give it steer: {step: [0 deg, 8 deg], after: 100 ms}")
	}
	end := steer[len(steer)-1]
	for _, x := range steer[len(steer)-(len(steer)-from)/2:] {
		if math.Abs(x-end) > steadySteer*math.Abs(end-steer[0]) {
			return r, 0, d.s.undecided("the steering does not stay where its step takes it for half of the window; hold it")
		}
	}
	r, ok := measure.StepResponseOf(steer, yaw, from, tick.Seconds())
	switch {
	case !ok:
		err = d.s.undecided("the window is too short to show a response; %s", d.e.longer())
	case r.Steady == r.Begin || math.IsInf(r.Response, 1):
		err = d.s.fails("the yaw rate did not follow the steering's step")
	}
	return r, float64(len(steer)) * tick.Seconds(), err
}
