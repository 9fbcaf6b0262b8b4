package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// fewestSwept is how many frames a sweep needs on each of its two ways.
const fewestSwept = 40

// read takes the sweep's points from the trace.
func (w *sweep) read() error {
	var frames [4][]trace.Frame
	reference := -1
	for i := range frames {
		if w.weight[i] == 0 {
			continue
		}
		if reference < 0 {
			reference = i
		}
		frames[i] = w.e.frames(plant.Wheels[i], w.s)
		switch n := len(frames[i]); {
		case n == 0:
			return w.e.silent(plant.Wheels[i], w.s)
		case n < 2*fewestSwept:
			return w.s.undecided("sweep more slowly: %s brought %d commands of %s, it takes %d", (w.s.To - w.s.From).Short(), n, line(plant.Wheels[i]), 2*fewestSwept)
		}
	}
	turn, ok := w.turningPoint()
	if !ok {
		return w.s.undecided("the trace does not hold the yaw rate of this step, so that nothing can be read against it")
	}
	var next [4]int
	uncertainty := 0.0
	for _, f := range frames[reference] {
		shift := 0.0
		for i := range frames {
			if w.weight[i] == 0 {
				continue
			}
			next[i] = nearestFrom(frames[i], next[i], f.End)
			near := &frames[i][next[i]]
			shift += float64(w.weight[i] * (near.Value - w.base[i]))
			d := w.weight[i] * near.Uncertainty
			uncertainty += float64(d * d)
		}
		x, ok := valueAt(w.e.Trace, trace.YawRate, f.End)
		if !ok || !finite(shift) {
			return w.s.undecided("a command or yaw rate at %v is no finite number", f.End)
		}
		p := sweepPoint{x: x * w.sign, shift: w.scaled(shift)}
		leg := 0
		if f.End >= turn {
			leg = 1
		}
		w.leg[leg] = append(w.leg[leg], p)
	}
	if len(w.leg[0]) < fewestSwept || len(w.leg[1]) < fewestSwept {
		return w.s.undecided("the yaw rate does not go there and back in this step: %d and %d commands on the two ways, each needs %d", len(w.leg[0]), len(w.leg[1]), fewestSwept)
	}
	// The sampler's uncertainty may be the same way in every frame.
	w.systematic = measure.RootSumSquare(w.systematic, measure.Rectangular(math.Sqrt(uncertainty/float64(len(frames[reference])))))
	return nil
}

// scaled turns a contrast to the shift of one motor.
func (w *sweep) scaled(contrast float64) float64 {
	if contrast > 0 {
		return contrast / w.scale[0]
	}
	return contrast / w.scale[1]
}

// nearestFrom returns the index, from on, of the frame that ended nearest to t.
func nearestFrom(frames []trace.Frame, from int, t signal.Time) int {
	away := func(i int) signal.Time { return max(frames[i].End-t, t-frames[i].End) }
	for from+1 < len(frames) && away(from+1) <= away(from) {
		from++
	}
	return from
}

// turningPoint returns when the swept yaw rate turns back: when it is farthest from
// where the window began.
func (w *sweep) turningPoint() (signal.Time, bool) {
	rows := rowsOf(w.e.Trace, w.s.From, w.s.To, trace.YawRate)
	yaw := rows.of(trace.YawRate)
	if len(yaw) < 3 {
		return 0, false
	}
	far := 0
	for i, x := range yaw {
		if math.Abs(x-yaw[0]) > math.Abs(yaw[far]-yaw[0]) {
			far = i
		}
	}
	return rows.time(far), true
}

// likelyReason names what is known to make a board's demand what was found.
func (w *sweep) likelyReason(found measure.Interval) string {
	d, s := w.p.Demand, w.s
	words := "look at wheelbase, steering table and wheel radius in the firmware"
	if wheels := w.otherWheels(found); wheels != "" {
		return "it is what " + wheels + " would make, and the policy's speed_from names others"
	}
	for _, x := range []struct {
		demand float64
		what   string
	}{
		{d.YawRate(0.75*s.Speed, s.Steer), "one wheel's encoder that does not count"},
		{d.YawRate(0.5*s.Speed, s.Steer), "one wheel's encoder that counts backwards"},
		{s.Speed * s.Steer / d.Wheelbase, "an understeer gradient left out"},
		{-w.demand, "a steering that counts the other way"},
	} {
		// The wheels of a turn do not turn alike, so that a wheel's part is not quite a quarter.
		near := 0.03 * math.Abs(x.demand)
		if x.demand >= found.Low-near && x.demand <= found.High+near && math.Abs(x.demand-w.demand) > d.Within*math.Abs(w.demand) {
			return fmt.Sprintf("it is what %s would make; %s too", x.what, words)
		}
	}
	return words
}
