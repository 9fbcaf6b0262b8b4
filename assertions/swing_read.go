package assertions

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"gonum.org/v1/gonum/floats"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// swingParts is in how many parts, each of whole cycles, a swing is read, so that they tell what noise there is; with fewer cycles
// it is one part for each, and with fewer than fewestCycles nothing is told.
const (
	swingParts   = 6
	fewestCycles = 6
)

// judged reads how far and how late the commands swing, and holds it against what is allowed.
func (w *swings) judged(name string) Result {
	parts, err := w.read()
	if err != nil {
		return unjudged(name, err)
	}
	mean := make([]complex128, len(w.all))
	for _, part := range parts {
		for i, z := range part {
			mean[i] += z / complex(float64(len(parts)), 0)
		}
	}
	est := w.farOff(mean, parts)
	limit := AtMost(w.slack)
	r := found(name, "how far the swings of the commands are off all that the policy allows, in times their own size", est, nil, limit, w.s)
	what := map[trace.Channel]string{trace.YawRate: "derivative_time", trace.Steer: "steer_rate"}[w.of]
	var words strings.Builder
	fmt.Fprintf(&words, "as the %s swings, the commands swing", spoken(w.of))
	for i, x := range w.all {
		fmt.Fprintf(&words, " %s times as far at %s Hz, %s;", number(cmplx.Abs(mean[i])/cmplx.Abs(mean[0])), number(x.step.Swing.At), ahead(mean[i], x.rate))
	}
	return r.explained(fmt.Sprintf("%s the policy's %s of %s makes that", words.String(), what, signal.FromSeconds(w.lead).Short())+w.declaredWords()+w.likely(mean),
		w.e.remedy(est, limit, w.s.To-w.s.From, percent, " %"))
}

// declaredWords says what the declared lead makes of the fastest swing.
func (w *swings) declaredWords() string {
	x := w.all[len(w.all)-1]
	z := 1 + complex(0, x.rate*w.lead)
	return fmt.Sprintf(" up to %s times as far at %s Hz, %s, and up to %s are taken off that", number(cmplx.Abs(z)), number(x.step.Swing.At), ahead(z, x.rate), w.back.Short())
}

// ahead returns in words how far a swing is ahead of what it goes by.
func ahead(z complex128, rate float64) string {
	by := cmplx.Phase(z) / rate * 1000
	if by < 0 {
		return number(-by) + " ms behind"
	}
	return number(by) + " ms ahead"
}

// farOff returns how far swings are off what is allowed: along what is left of their mean, in which direction no allowed swing lies.
func (w *swings) farOff(mean []complex128, parts [][]complex128) measure.Estimate {
	left := w.off(mean, w.may)
	size := floats.Norm(left, 2)
	along := make([]float64, len(parts))
	for k, part := range parts {
		point := flat(part)
		for i := range point {
			if size > little {
				along[k] += float64(left[i] / size * (point[i] / cmplx.Abs(mean[i/2])))
			}
		}
	}
	// The parts are whole cycles of one sine, and what one leaves over is nothing that the next takes on.
	spread := measure.Describe(along)
	n := float64(len(parts))
	return measure.Estimate{Value: size, Statistical: spread.Deviation / math.Sqrt(n), DegreesOfFreedom: n - 1}
}

// likely names the mistake that would make such swings, empty where none does.
func (w *swings) likely(mean []complex128) string {
	words, least := "", w.slack
	for _, m := range mistakes {
		if left := floats.Norm(w.off(mean, w.allowed(m.times)), 2); left < least {
			words, least = "; firmware "+m.what+" has such swings", left
		}
	}
	return words
}

// read returns what the commands swing by at each rate, in parts, in times what the policy's size makes of it: ahead of the channel
// where the phase is above 0.
func (w *swings) read() (parts [][]complex128, err error) {
	parts = make([][]complex128, swingParts)
	channel := trace.SentYawRate
	if w.of == trace.Steer {
		channel = trace.SentSteer
	}
	for _, x := range w.all {
		s := x.step
		cycles := int((s.To-s.From).Seconds()*s.Swing.At + 1e-6)
		if cycles < fewestCycles {
			return nil, s.undecided("the step is observed for %d swings; observe it for at least %d", cycles, fewestCycles)
		}
		played := w.e.sent(channel, w.of, s)
		length := signal.FromSeconds(float64(cycles/swingParts) / s.Swing.At)
		for k := range parts {
			from := s.From + signal.Time(k)*length
			z := complex(0, 0)
			for i, wheel := range w.wheels {
				one, err := x.ratio(w.e.frames(wheel, s), &played, from, from+length)
				if err != nil {
					return nil, err
				}
				z += one * complex(w.parts[i]/w.slope/float64(len(w.wheels)), 0)
			}
			parts[k] = append(parts[k], z)
		}
	}
	return parts, nil
}

// fewestInPart is how many commands a part of a swing takes.
const fewestInPart = 8

// ratio returns how far commands swing in from..to for each unit of what was played, read at the same moments.
func (x *oneSwing) ratio(frames []trace.Frame, played *law.Series, from, to signal.Time) (complex128, error) {
	var commands, values sineFit
	n := 0
	for i := range frames {
		f := &frames[i]
		if f.End < from || f.End >= to {
			continue
		}
		value, ok := played.HeldAt(f.End)
		if !ok || !finite(value) || !finite(f.Value) {
			return 0, x.step.undecided("a command or what was played at %v is no finite number", f.End)
		}
		at := x.rate * (f.End - from).Seconds()
		commands.add(at, f.Value)
		values.add(at, value)
		n++
	}
	y, first := commands.solve()
	v, second := values.solve()
	if n < fewestInPart || !first || !second || cmplx.Abs(v) == 0 {
		return 0, x.step.undecided("%d commands came in %s of the swing, it takes %d", n, (to - from).Short(), fewestInPart)
	}
	return y / v, nil
}

// sineFit is a constant and a sine of known frequency being fitted by least squares.
type sineFit struct {
	a [3][4]float64
}

// add takes a value at an angle, rad, in.
func (f *sineFit) add(at, value float64) {
	row := [4]float64{1, math.Cos(at), math.Sin(at), value}
	for i := range 3 {
		for k := range row {
			f.a[i][k] += float64(row[i] * row[k])
		}
	}
}

// solve returns the sine as the size and the phase of a number: the real part of it times e to i times the angle.
func (f *sineFit) solve() (z complex128, ok bool) {
	a := f.a
	for i := range 3 {
		if !(a[i][i] > 1e-9) {
			return 0, false
		}
		for k := i + 1; k < 3; k++ {
			by := a[k][i] / a[i][i]
			for j := i; j < 4; j++ {
				a[k][j] -= float64(by * a[i][j])
			}
		}
	}
	sine := a[2][3] / a[2][2]
	cosine := (a[1][3] - float64(a[1][2]*sine)) / a[1][1]
	return complex(cosine, -sine), true
}
