package suites

import (
	"math"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Budget is what the uncertainty of one figure is made of, by JCGM 100: standard
// uncertainties of independent sources, in the unit of the figure.
type Budget struct {
	Of       string // "loop period"
	Sources  []Source
	Combined float64 // the root of the sum of their squares
	Expanded float64 // half the width of the interval
	Coverage string  // of the expanded uncertainty
}

// Source is one source of uncertainty.
type Source struct {
	Name     string
	Standard float64
	How      string // what it rests on
}

// budget returns a budget of which all but the statistics are known: they make
// up the rest of total, a standard uncertainty.
func budget(of string, total float64, known []Source, statistics string) Budget {
	b := Budget{Of: of, Sources: known}
	parts := make([]float64, len(known))
	for i, k := range known {
		parts[i] = k.Standard
	}
	fixed := measure.RootSumSquare(parts...)
	rest := math.Sqrt(max(float64(total*total)-float64(fixed*fixed), 0))
	b.Sources = append(b.Sources, Source{"statistics", rest, statistics})
	b.Combined = measure.RootSumSquare(fixed, rest)
	return b
}

// ninetyNine is how many standard uncertainties hold 99 % of a normal distribution.
const ninetyNine = 2.5758

// loopBudget takes the uncertainty of a loop's period apart. A time that is
// wrong by u at each end of the window makes the period wrong by √2 u of the
// window's length; a spread of u in each of n readings by √(12/n) u, as in a
// straight line fitted through them.
func loopBudget(e *assertions.Evidence, s *assertions.Step, u *assertions.LoopFound, span float64) Budget {
	window := (s.To - s.From).Seconds()
	share := u.Period / window
	line := share * math.Sqrt(12/float64(u.Readings))
	frames := e.Trace.Motor[u.Motor].Between(s.From, s.To)
	known := []Source{
		{"sampler", math.Sqrt2 * timeUncertainty(frames, span) * share, "when the first and the last frame began"},
		{"stimulus timing", math.Sqrt2 * measure.Rectangular(e.Trace.Tick.Seconds()/2) * share, "the speed is held for one tick at a time"},
		{"resolution", line * measure.Resolution(e.CommandStep/slopeOf(frames)), "the command's step, in time"},
	}
	total := (u.Within.High - u.Within.Low) / (2 * ninetyNine)
	b := budget("loop period", total, known, "the rest of the likelihood's interval")
	b.Expanded, b.Coverage = ninetyNine*b.Combined, "99 %, k = 2.58"
	return b
}

// turnsBudget takes the uncertainty of a loop's period apart that the answers to changes told,
// the last of them in trials t.
func turnsBudget(t *trials, l *LoopRate, span float64) Budget {
	step := &t.e.Steps[0]
	share := l.Period() / (l.To - l.From).Seconds()
	frames := t.e.Trace.Motor[l.Motor].Between(step.From, step.To)
	known := []Source{{"sampler", math.Sqrt2 * timeUncertainty(frames, span) * share, "when the first and the last frame began"}}
	b := budget("loop period", (1/l.Within.Low-1/l.Within.High)/(2*ninetyNine), known, "the rest of the likelihood's interval")
	b.Expanded, b.Coverage = ninetyNine*b.Combined, "99 %, k = 2.58"
	return b
}

// timeUncertainty returns the standard uncertainty of one edge's time, s, from the
// uncertainties of pulses whose widths go over span s from command 0 to 1: a pulse has
// two edges. A digital frame's uncertainty says nothing of times.
func timeUncertainty(frames []trace.Frame, span float64) float64 {
	sum := 0.0
	for _, f := range frames {
		sum += f.Uncertainty
	}
	mean := sum / float64(max(len(frames), 1))
	return measure.RootSumSquare(measure.Rectangular(mean*span/2), measure.Resolution(signal.Nanosecond.Seconds()))
}

// span returns how far pulses go from command 0 to 1, s; 0 of digital frames.
func (s *Setup) span(w plant.Wheel) float64 {
	m := s.wiring.Motors[w]
	if m.Kind.Digital() {
		return 0
	}
	p := m.Pulse()
	return math.Abs((p.Full - p.Idle).Seconds())
}

// slopeOf returns how fast commands go on the average, per s.
func slopeOf(frames []trace.Frame) float64 {
	way := 0.0
	for i := range len(frames) - 1 {
		way += math.Abs(frames[i+1].Value - frames[i].Value)
	}
	return max(way/(frames[len(frames)-1].Start-frames[0].Start).Seconds(), 1e-6)
}
