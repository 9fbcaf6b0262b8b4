package guard

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Watch looks at the motor commands of a board whose motors are powered.
type Watch struct {
	limit  float64
	motor  [4]decode.MotorDecoder
	lineOf [4]signal.Line
	heard  [4]bool // has sent a command since the board was started
	out    trace.Output
}

// NewWatch returns a watch over the motor lines of a layout. Limit is the share of
// full command, 0..1, that no command may exceed either way.
func NewWatch(layout signal.Layout, motors [4]decode.Motor, limit float64) (*Watch, error) {
	w := &Watch{limit: limit}
	for i, wheel := range plant.Wheels {
		name := "motor_" + wheel.String()
		line, ok := layout.Line(name)
		if !ok {
			return nil, fmt.Errorf("watch over the motors: the bench has no line %s", name)
		}
		w.lineOf[i] = line
		var err error
		if w.motor[i], err = motors[i].New(); err != nil {
			return nil, fmt.Errorf("watch over the motors: %s: %w", name, err)
		}
	}
	w.out.Frames, w.out.Events = make([]trace.Frame, 0, 64), make([]trace.Event, 0, 64)
	w.reset(0)
	return w, nil
}

// reset forgets what was heard: the board was started anew.
func (w *Watch) reset(now signal.Time) {
	for i := range w.motor {
		w.motor[i].Reset(now)
		w.heard[i] = false
	}
}

// look takes what was captured up to now. It tells whether a motor that was heard
// sends nothing any more, and whether a command certainly exceeded the limit.
func (w *Watch) look(captured []signal.Edge, now signal.Time) (silent, limit bool) {
	for i := range w.motor {
		w.out.Frames, w.out.Events = w.out.Frames[:0], w.out.Events[:0]
		for _, e := range captured {
			if e.Line == w.lineOf[i] {
				w.motor[i].Edge(e, &w.out)
			}
		}
		w.motor[i].Until(now, &w.out)
		for _, f := range w.out.Frames {
			w.heard[i] = true
			limit = limit || math.Abs(f.Value)-f.Doubt > w.limit
		}
		for _, e := range w.out.Events {
			silent = silent || e.Kind == trace.Lost && w.heard[i]
		}
	}
	return silent, limit
}
