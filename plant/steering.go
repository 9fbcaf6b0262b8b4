package plant

// SteerLine is the straight line between steering pulse and wheel angle that the
// receiver's pulses are computed with.
type SteerLine struct {
	Slope  float64 // rad of wheel angle per s of pulse; negative when longer pulses steer right
	Centre float64 // s, pulse of wheel angle 0
}

// Line returns the least-squares line through the mean of both wheels' angles over
// the pulse. The zero line is returned for fewer than two different pulses.
func (s Steering) Line() SteerLine {
	var pulse, angle float64
	for _, p := range s.Points {
		pulse += p.Pulse
		angle += p.mean()
	}
	n := float64(len(s.Points))
	if n == 0 {
		return SteerLine{}
	}
	pulse /= n
	angle /= n
	var pp, pa float64
	for _, p := range s.Points {
		d := p.Pulse - pulse
		pp += float64(d * d)
		pa += float64(d * (p.mean() - angle))
	}
	if pp == 0 || pa == 0 {
		return SteerLine{}
	}
	slope := pa / pp
	return SteerLine{Slope: slope, Centre: pulse - angle/slope}
}

// PulseFor returns the pulse (s) that asks for the angle (rad) by the line; 0 when
// there is no line.
func (s Steering) PulseFor(angle float64) float64 { return s.Line().PulseFor(angle) }

// AngleFor returns the angle (rad) that the pulse (s) asks for by the line.
func (s Steering) AngleFor(pulse float64) float64 { return s.Line().AngleFor(pulse) }

// PulseFor returns the pulse (s) of the angle (rad); 0 for the zero line.
func (l SteerLine) PulseFor(angle float64) float64 {
	if l.Slope == 0 {
		return 0
	}
	return l.Centre + angle/l.Slope
}

// AngleFor returns the angle (rad) of the pulse (s).
func (l SteerLine) AngleFor(pulse float64) float64 {
	return l.Slope * (pulse - l.Centre)
}

// Angles returns the angles (rad) of the left and right front wheel at a pulse (s),
// straight between the table's points, and those of the last point beyond its ends. An
// empty table gives 0.
func (s Steering) Angles(pulse float64) (left, right float64) {
	n := len(s.Points)
	if n == 0 {
		return 0, 0
	}
	if p := s.Points[0]; pulse <= p.Pulse {
		return p.Left, p.Right
	}
	for i := 1; i < n; i++ {
		b := s.Points[i]
		if pulse > b.Pulse {
			continue
		}
		a := s.Points[i-1]
		f := (pulse - a.Pulse) / (b.Pulse - a.Pulse)
		return a.Left + float64(f*(b.Left-a.Left)), a.Right + float64(f*(b.Right-a.Right))
	}
	p := s.Points[n-1]
	return p.Left, p.Right
}

func (p SteerPoint) mean() float64 { return float64(0.5 * (p.Left + p.Right)) }

// pulse returns the pulse (s) of a mean wheel angle (rad) by the table, straight between its
// points and, beyond its ends, that of the end. An empty table gives 0.
func (s Steering) pulse(angle float64) float64 {
	n := len(s.Points)
	if n == 0 {
		return 0
	}
	first, last := s.Points[0], s.Points[n-1]
	rising := last.mean() > first.mean()
	for i := range s.Points {
		b := s.Points[i]
		if b.mean() != angle && b.mean() < angle == rising {
			continue
		}
		if i == 0 {
			return first.Pulse
		}
		a := s.Points[i-1]
		return a.Pulse + float64((angle-a.mean())/(b.mean()-a.mean())*(b.Pulse-a.Pulse))
	}
	return last.Pulse
}
