package wire

import (
	"fmt"
	"math"
	"math/bits"

	"hilrig/rig/signal"
)

// Duty declares a wheel sensor that tells its angle by the width of pulses: one
// pulse a period, whose share of the period says where in the turn the wheel stood
// when the pulse rose.
type Duty struct {
	Period      signal.Time // from pulse to pulse, 10 us to 1 s
	Least, Most float64     // share of the period that stands for angle 0, and for a whole turn; 0 < Least < Most < 1
	Steps       int         // angles that are told apart, 2 to 65536: 16384 for 14 bits
	Reverse     bool        // true: the angle falls when the wheel rolls forward
	// Noise is the sensor's noise, rms, in rad. Less than one step is taken as one step.
	Noise float64
}

// EdgeRate returns how many edges per second the sensor gives, at any speed.
func (d Duty) EdgeRate() float64 {
	if d.Period <= 0 {
		return 0
	}
	return 2 / d.Period.Seconds()
}

// check returns what is wrong with d.
func (d Duty) check() error {
	switch {
	case d.Period < 10*signal.Microsecond || d.Period > signal.Second:
		return fmt.Errorf("duty sensor with a period of %v; write 10 us to 1 s", d.Period)
	case !(d.Least > 0 && d.Least < d.Most && d.Most < 1):
		return fmt.Errorf("duty of %g to %g; write the smaller first, both between 0 and 1", d.Least, d.Most)
	case d.Steps < 2 || d.Steps > 65536:
		return fmt.Errorf("duty sensor of %d steps a turn; write 2 to 65536", d.Steps)
	case !(d.Noise >= 0) || d.Noise > 1:
		return fmt.Errorf("duty sensor with a noise of %g rad; write 0 to 1 rad", d.Noise)
	case d.span()/float64(d.Steps) < 1:
		return fmt.Errorf("%d steps of a duty sensor do not fit a period of %v; a step has to be at least 1 ns wide", d.Steps, d.Period)
	}
	return nil
}

// span is by how much a whole turn widens the pulse, ns.
func (d Duty) span() float64 { return (d.Most - d.Least) * float64(d.Period) }

// DutyEncoder is one wheel's angle as a [Duty] sensor tells it. Its line is low
// at first; pulses rise at 0, Period and so on, moved by Delay.
//
// The angle is the integral of speed in fixed point, a whole turn being 2^64: it
// neither drifts nor depends on how time is cut into spans.
type DutyEncoder struct {
	pulses
	cfg         Duty
	unitsPerRad float64 // 2^64 of a turn per nanosecond, for each rad/s
	leastWidth  float64 // ns
	perStep     float64 // ns
	noise       Normal
	steps       float64 // noise, rms

	now    signal.Time // end of the last span
	angle  uint64      // at now
	stuck  bool
	played bool
	step   int64 // what the last pulse told
}

func newDuty(cfg Duty, line signal.Line) (*DutyEncoder, error) {
	if err := cfg.check(); err != nil {
		return nil, err
	}
	return &DutyEncoder{
		pulses:      pulses{grid: grid{period: cfg.Period}, line: [1]signal.Line{line}},
		cfg:         cfg,
		unitsPerRad: 0x1p64 / (2 * math.Pi) * 1e-9,
		leastWidth:  float64(cfg.Least * float64(cfg.Period)),
		perStep:     cfg.span() / float64(cfg.Steps),
		steps:       max(1, cfg.Noise/(2*math.Pi)*float64(cfg.Steps)),
	}, nil
}

// SetNoise gives the sensor its noise, drawn from once for each pulse. Without it
// the sensor has none.
func (e *DutyEncoder) SetNoise(n Normal) { e.noise = n }

// SetStuck says whether the sensor is frozen: pulses go on, their width stays.
func (e *DutyEncoder) SetStuck(stuck bool) { e.stuck = stuck }

// Step returns which of the steps of a turn the last pulse told.
func (e *DutyEncoder) Step() int { return int(e.step) }

// Append appends the edges in [from, to) of a wheel that turns at omega rad/s; see
// [WheelEncoder]. In a gap before from the wheel stands.
func (e *DutyEncoder) Append(dst []signal.Edge, from, to signal.Time, omega float64) []signal.Edge {
	from = max(from, e.now)
	if to <= from {
		return dst
	}
	rate := e.rate(omega)
	dst = e.play(dst, from, to, func(at signal.Time) signal.Time {
		return e.width(e.angle + rate*uint64(at-from))
	})
	e.angle += rate * uint64(to-from)
	e.now = to
	return dst
}

// rate returns omega in 2^64 of a turn per nanosecond, modulo a turn; at most a
// million turns a second.
func (e *DutyEncoder) rate(omega float64) uint64 {
	if omega != omega {
		return 0
	}
	if e.cfg.Reverse {
		omega = -omega
	}
	const most = 2 * math.Pi * 1e6
	return uint64(int64(math.Round(min(max(omega, -most), most) * e.unitsPerRad)))
}

// width returns the width of a pulse at an angle, ns, below the period.
func (e *DutyEncoder) width(angle uint64) signal.Time {
	if !e.stuck || !e.played {
		hi, _ := bits.Mul64(angle, uint64(e.cfg.Steps))
		e.step = int64(hi)
		if e.noise != nil {
			e.step += int64(math.Round(min(max(e.steps*e.noise.Norm(), -1e6), 1e6)))
		}
		n := int64(e.cfg.Steps)
		e.step = (e.step%n + n) % n
		e.played = true
	}
	return signal.Time(math.Round(e.leastWidth + float64(float64(e.step)*e.perStep)))
}
