package board

import "hilrig/rig/signal"

// SteerPoint is one row of a steering table.
type SteerPoint struct {
	Width signal.Time
	Angle float64 // rad, positive to the left
}

// tableAngle returns the angle in rad of a width by the table: straight between its rows and, beyond its ends,
// that of the end.
func (s *Settings) tableAngle(width signal.Time) float64 {
	t := s.SteerTable
	for i := range t {
		if width > t[i].Width {
			continue
		}
		if i == 0 {
			return t[0].Angle
		}
		a, b := &t[i-1], &t[i]
		return a.Angle + float64((b.Angle-a.Angle)*float64(width-a.Width)/float64(b.Width-a.Width))
	}
	return t[len(t)-1].Angle
}
