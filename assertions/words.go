package assertions

import (
	"fmt"
	"math"
	"strings"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// percent scales a share to the unit that results show it in.
const percent = 100

// number writes x with three significant digits.
func number(x float64) string { return signal.Digits(x, 3) }

// share writes a share of range in percent, "8 %".
func share(x float64) string { return number(x*percent) + " %" }

// degrees writes an angle or rate in rad as degrees.
func degrees(x float64) string { return number(x * 180 / math.Pi) }

// line returns the name of a wheel's motor line.
func line(w plant.Wheel) string { return "motor_" + w.String() }

// called names a motor by its corner and, where that is a place in the turn,
// by its wheel: "outside_rear (rear_right)".
func called(c law.Corner, w plant.Wheel) string {
	if string(c) == w.String() {
		return string(c)
	}
	return fmt.Sprintf("%s (%s)", c, w)
}

// list joins words as a sentence does.
func list(corners []law.Corner) string {
	words := make([]string, len(corners))
	for i, c := range corners {
		words[i] = string(c)
	}
	return strings.Join(words, ", ")
}

// margin is how many times a window may be lengthened before it is better to
// say that the value lies too near its limit.
const margin = 50

// remedy says what would decide an estimate that its interval left undecided
// against limit, after windows that observed for as long as observed. scale
// and unit are how the numbers are shown. Of a suite whose windows are given it
// names what else would, for nobody who plays it can observe longer.
func (e *Evidence) remedy(x measure.Estimate, limit Limit, observed signal.Time, scale float64, unit string) string {
	near := min(math.Abs(x.Value-limit.Low), math.Abs(x.Value-limit.High))
	got := x.Expanded()
	systematic := 2 * x.Systematic
	lacking := number((got-near)*scale) + unit
	shown := observed.Short() + " gives ±" + number(got*scale) + unit
	if systematic >= near {
		return fmt.Sprintf("too near the limit to be decided: ±%s%s is left by resolution and sampling however long or often it is observed; "+
			"move the limit by more than %s, which in a policy is to leave that much more room, or have finer steps or a faster sampler", number(systematic*scale), unit, lacking)
	}
	statistical := math.Sqrt(got*got - min(systematic*systematic, got*got))
	need := statistical / math.Sqrt(near*near-systematic*systematic)
	times := need * need
	far := math.IsNaN(times) || times > margin
	// Twice as long, for the estimate itself will move.
	long := signal.FromSeconds(observed.Seconds() * max(2*times, 2))
	switch {
	case e.Given:
		return fmt.Sprintf("too near the limit to be decided in the window that the suite gives: %s; leave more than %s more room in the policy, or quieten what makes the command spread", shown, lacking)
	case far:
		return "too near the limit to be decided: " + shown + "; observe much longer, or quieten what makes the command spread"
	}
	return "observe longer: " + shown + ", " + long.Short() + " would decide"
}

// orCopy says what to write in a suite otherwise; of one that is given, that a copy of it does.
func (e *Evidence) orCopy(write, copyDoes string) string {
	if e.Given {
		return "play a copy of this suite " + copyDoes
	}
	return write
}

// longer says how to observe for longer than the suite does.
func (e *Evidence) longer() string { return e.orCopy("observe longer", "with a longer observe") }
