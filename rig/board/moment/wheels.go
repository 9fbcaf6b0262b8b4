package moment

import (
	"math"

	"hilrig/rig/signal"
)

// The wheels' indices in arrays of four.
const (
	frontLeft = iota
	frontRight
	rearLeft
	rearRight
)

// encoder counts the edges of one wheel's two lines.
type encoder struct {
	a, b      bool
	count     int64
	before    int64   // the count at the last window's end
	speed     float64 // m/s over the last window
	disagrees int     // windows in a row
	agrees    int     // windows in a row
	dropped   bool
}

// wheels are the four encoders.
type wheels struct {
	one   [4]encoder
	end   signal.Time // of the window that is open
	moved bool        // an edge has come since the loop looked
}

// newWheels returns the encoders, whose lines have the levels of their pins.
func newWheels(p *pins, level []bool) (w wheels) {
	for i := range w.one {
		w.one[i].a, w.one[i].b = level[p.encoder[i][0]], level[p.encoder[i][1]]
	}
	return w
}

// edge takes one change of a line. The wheel rolls forward where A leads: a line that changes to
// differ from what the other one is goes forward on A and back on B.
func (w *wheels) edge(wheel uint8, second, level bool) {
	e := &w.one[wheel]
	w.moved = true
	var forward bool
	if second {
		e.b = level
		forward = e.a == e.b
	} else {
		e.a = level
		forward = e.a != e.b
	}
	if forward {
		e.count++
	} else {
		e.count--
	}
}

// window works out the speeds once a window has ended.
func (w *wheels) window(at signal.Time, s *Settings) {
	if at < w.end {
		return
	}
	perCount := 2 * math.Pi * s.WheelRadius / float64(4*s.EncoderLines)
	for i := range w.one {
		e := &w.one[i]
		if w.end != 0 {
			e.speed = float64(float64(e.count-e.before) * perCount / s.Window.Seconds())
		}
		e.before = e.count
	}
	if w.end == 0 {
		w.end = at
	}
	w.end += s.Window
	w.compare(s)
}

// compare drops wheels that disagree with the middle of all four, and takes them up again.
func (w *wheels) compare(s *Settings) {
	if s.has(wheelKept) {
		return
	}
	front, rear := w.one[:rearLeft], w.one[rearLeft:]
	least := min(front[0].speed, front[1].speed, rear[0].speed, rear[1].speed)
	most := max(front[0].speed, front[1].speed, rear[0].speed, rear[1].speed)
	middle := float64((front[0].speed + front[1].speed + (rear[0].speed + rear[1].speed) - least - most) / 2)
	limit := max(s.DropSpeed, s.DropShare*math.Abs(middle))
	for i := range w.one {
		w.one[i].judge(math.Abs(w.one[i].speed-middle) > limit, s)
	}
}

// judge takes whether the wheel disagrees with the others over one window.
func (e *encoder) judge(off bool, s *Settings) {
	if off {
		e.disagrees, e.agrees = e.disagrees+1, 0
	} else {
		e.disagrees, e.agrees = 0, e.agrees+1
	}
	switch {
	case e.disagrees >= s.DropAfter:
		e.dropped = true
	case e.agrees >= s.TakeAfter:
		e.dropped = false
	}
}

// speed returns the car's speed in m/s, backwards below 0: the mean of the rear wheels that
// agree, without them of the front ones, without those 0.
func (w *wheels) speed(s *Settings) (v float64) {
	rear, known := meanOf(&w.one[rearLeft], &w.one[rearRight])
	switch {
	case s.has(oneRearWheel):
		v = w.one[rearLeft].speed
	case known:
		v = rear
	default:
		v, _ = meanOf(&w.one[frontLeft], &w.one[frontRight])
	}
	if s.has(speedUnsigned) {
		v = math.Abs(v)
	}
	return v
}

// meanOf returns the mean speed of those of two wheels that are not dropped; 0 and false where
// both are.
func meanOf(l, r *encoder) (v float64, known bool) {
	switch {
	case !l.dropped && !r.dropped:
		return float64((l.speed + r.speed) / 2), true
	case !l.dropped:
		return l.speed, true
	case !r.dropped:
		return r.speed, true
	}
	return 0, false
}
