package stimulus

import (
	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

const turn = 2 * 3.14159265358979323846

// Sine swings about a middle, beginning there and going up where Amplitude is
// positive. After Cycles whole swings it stays at the middle; Cycles 0 goes on for good.
type Sine struct {
	Amplitude float64
	About     float64
	Frequency float64 // Hz
	Cycles    float64
}

// At returns the value at t.
func (s Sine) At(t signal.Time) float64 {
	cycles := s.Frequency * t.Seconds()
	if t <= 0 || s.Cycles > 0 && cycles >= s.Cycles {
		return s.About
	}
	return s.About + float64(s.Amplitude*portable.Sin(turn*cycles))
}

// Chirp is a sine whose frequency goes evenly from one value to another, and
// stays at the middle after that.
type Chirp struct {
	Amplitude float64
	About     float64
	From, To  float64 // Hz
	Over      signal.Time
}

// At returns the value at t.
func (c Chirp) At(t signal.Time) float64 {
	if t <= 0 || t >= c.Over {
		return c.About
	}
	x := t.Seconds()
	slope := (c.To - c.From) / c.Over.Seconds()
	cycles := x * (c.From + float64(0.5*slope*x))
	return c.About + float64(c.Amplitude*portable.Sin(turn*cycles))
}

// SineWithDwell is one cycle of a sine with a pause between its third and fourth
// quarter, at the second peak; after that it stays at the middle.
//
// The manoeuvre on full-size cars has 0.7 Hz and a pause of 500 ms (abstract of
// the SAE paper on the electronic stability control test, NHTSA); a 1:n car
// moves √n times as fast (Froude scaling).
type SineWithDwell struct {
	Amplitude float64
	About     float64
	Frequency float64 // Hz
	Dwell     signal.Time
}

// At returns the value at t.
func (s SineWithDwell) At(t signal.Time) float64 {
	cycle := 1 / s.Frequency
	x, dwell := t.Seconds(), s.Dwell.Seconds()
	switch three := float64(0.75 * cycle); {
	case x <= 0 || x >= cycle+dwell:
		return s.About
	case x > three+dwell:
		x -= dwell
	case x > three:
		return s.About - s.Amplitude
	}
	return s.About + float64(s.Amplitude*portable.Sin(turn*s.Frequency*x))
}
