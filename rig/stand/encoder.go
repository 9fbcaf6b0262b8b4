package stand

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// motion is how an angle goes on in one step: a polynomial of the time in it.
type motion struct {
	angle, speed, half, sixth, fourth float64 // coefficients of t^0 to t^4
	lasts                             float64 // s: from there on it stands
}

// at returns the angle after t seconds.
func (m *motion) at(t float64) float64 {
	return m.angle + float64(t*(m.speed+float64(t*(m.half+float64(t*(m.sixth+float64(t*m.fourth)))))))
}

// speedAt returns the speed after t seconds.
func (m *motion) speedAt(t float64) float64 {
	return m.speed + float64(t*(float64(2*m.half)+float64(t*(float64(3*m.sixth)+float64(t*float64(4*m.fourth))))))
}

// when returns after how many seconds the angle is reached, which lies ahead in the sense in which
// the shaft turns.
func (m *motion) when(angle float64) float64 {
	ahead := angle - m.angle
	root := math.Sqrt(max(float64(m.speed*m.speed)+float64(4*m.half*ahead), 0))
	if m.speed < 0 || m.speed == 0 && m.half < 0 {
		root = -root
	}
	slow := m.speed + root
	if slow == 0 {
		return 0
	}
	t := 2 * ahead / slow // of the terms up to t^2
	for range 4 {
		v := m.speedAt(t)
		if v == 0 {
			break
		}
		more := (angle - m.at(t)) / v
		t += more
		if math.Abs(more) < 1e-11 {
			break
		}
	}
	return min(max(t, 0), m.lasts)
}

// line is one of the lines that the stand drives.
type line struct {
	there bool
	index signal.Line
	idle  bool
}

func findLine(layout signal.Layout, role signal.Role) line {
	i, ok := layout.Find(role, signal.NoWheel)
	if !ok {
		return line{}
	}
	return line{there: true, index: i, idle: layout.Lines[i].Idle}
}

// encoder is the sensor on the shaft. A turn is divided into sectors, four to a line of an encoder
// and two to a pulse of a tacho; at the border of two of them one line changes its level.
type encoder struct {
	border []float64 // angle at which each sector begins, rad, ascending
	cog    []float64 // sine of the cogging torque there
	sector int       // in which the shaft stands
	a, b   line      // of a tacho a alone
	last   signal.Time
}

// newEncoder returns the sensor that the layout has lines for.
func newEncoder(s *Settings) encoder {
	e := encoder{a: findLine(s.Layout, signal.ShaftA), b: findLine(s.Layout, signal.ShaftB)}
	n, pitch := 4*s.Encoder.Lines, 4
	if tacho := findLine(s.Layout, signal.ShaftTacho); tacho.there {
		e.a, n, pitch = tacho, 2*s.Encoder.Pulses, 2
	}
	if !e.a.there {
		return e
	}
	if s.Encoder.Backwards {
		e.a, e.b = e.b, e.a
	}
	noise := portable.NewNoise(s.Seed, "stand: lines of the encoder")
	phase := float64(2 * math.Pi * noise.Float64())
	e.border, e.cog = make([]float64, n), make([]float64, n)
	for i := range e.border {
		angle := float64(2*math.Pi*float64(i)) / float64(n)
		// No line lies beyond its neighbour, however the draws fall.
		wrong := min(max(float64(s.Encoder.LineError*float64(pitch)*noise.Norm()), -0.45), 0.45)
		e.border[i] = angle + float64(wrong*2*math.Pi/float64(n)) + float64(s.Encoder.Eccentricity*portable.Sin(angle+phase))
		e.cog[i] = portable.Sin(float64(s.Motor.CoggingPeriods) * e.border[i])
	}
	return e
}

// start returns the angle at which the shaft stands at the beginning: in the middle of the first sector.
func (e *encoder) start() float64 {
	if len(e.border) < 2 {
		return 0
	}
	return (e.border[0] + e.border[1]) / 2
}

// pass appends the edges of one step that begins at the time at. ripple is by how many rad the shaft is
// held back where the cogging torque drives it most. It keeps the angle of m in one turn.
func (e *encoder) pass(m *motion, ripple float64, at signal.Time, out []signal.Edge) []signal.Edge {
	end := m.at(m.lasts)
	if len(e.border) == 0 {
		m.angle -= float64(2 * math.Pi * math.Trunc(end/(2*math.Pi)))
		return out
	}
	for ahead := end >= m.angle; ; {
		next, shift := e.sector, 0.0 // the border, and how far the angles of m have to go back with it
		if ahead {
			if next++; next == len(e.border) {
				next, shift = 0, -2*math.Pi
			}
		} else if e.sector == 0 {
			shift = 2 * math.Pi
		}
		border := e.border[next] + float64(ripple*e.cog[next])
		if ahead {
			border -= shift
		}
		if ahead && border > end || !ahead && border <= end {
			return out
		}
		t := at + signal.Time(float64(m.when(border)*1e9)+0.5)
		e.last = max(e.last, t)
		if ahead {
			e.sector = next
			out = append(out, e.edge(next, true))
		} else {
			out = append(out, e.edge(next, false))
			e.sector = (next + len(e.border) - 1) % len(e.border)
		}
		m.angle += shift
		end += shift
	}
}

// edge returns the edge at the beginning of a sector, passed ahead or backwards.
func (e *encoder) edge(sector int, ahead bool) signal.Edge {
	l, high := &e.a, sector%2 == 1
	if e.b.there {
		// A leads: the sectors have A and B at 00, 10, 11, 01.
		if sector%2 == 0 {
			l = &e.b
		}
		high = sector%4 == 1 || sector%4 == 2
	}
	level := high == ahead
	return signal.Edge{At: e.last, Line: l.index, Level: level != l.idle}
}
