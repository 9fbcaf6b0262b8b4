package wire

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// Tacho declares a wheel sensor of one line: a toothed or slotted wheel, half of
// each pitch high. It does not tell the direction.
type Tacho struct {
	Pulses int // pulses per turn of the wheel, 1 to 100000
}

// EdgeRate returns how many edges per second a wheel turning at omega rad/s gives.
func (t Tacho) EdgeRate(omega float64) float64 {
	return math.Abs(omega) * float64(2*t.Pulses) / (2 * math.Pi)
}

// tachoEncoder is the first line of a quadrature encoder with as many lines as
// the tacho has pulses: high from a quarter of each pitch to three quarters.
type tachoEncoder struct {
	turning *QuadratureEncoder
	line    [1]signal.Line
}

// second is the line of the encoder behind a tacho that nobody sees; no layout
// has as many lines.
const second signal.Line = math.MaxUint16

func newTacho(cfg Tacho, line signal.Line) (*tachoEncoder, error) {
	if cfg.Pulses < 1 || cfg.Pulses > maxLines {
		return nil, fmt.Errorf("tacho of %d pulses per turn; write 1 to %d", cfg.Pulses, maxLines)
	}
	turning, err := NewQuadrature(Quadrature{Lines: cfg.Pulses}, line, second, 0)
	if err != nil {
		return nil, err
	}
	return &tachoEncoder{turning: turning, line: [1]signal.Line{line}}, nil
}

func (e *tachoEncoder) Lines() []signal.Line { return e.line[:] }

func (e *tachoEncoder) Level(line signal.Line) bool {
	return line == e.line[0] && e.turning.Level(line)
}

func (e *tachoEncoder) Append(dst []signal.Edge, from, to signal.Time, omega float64) []signal.Edge {
	begin := len(dst)
	dst = e.turning.Append(dst, from, to, omega)
	n := begin
	for _, edge := range dst[begin:] {
		if edge.Line == e.line[0] {
			dst[n] = edge
			n++
		}
	}
	return dst[:n]
}
