package supervisor

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// MostUnmeasured is how long a motor that was sent a command may go without one that can
// be measured.
const MostUnmeasured = 100 * signal.Millisecond

// turnsFrom is the command, a share of full, from which on a motor may turn: below it a speed
// controller keeps it still (common practice, no source).
const turnsFrom = 0.01

// Watch looks at the motor commands of a board whose motors are powered.
//
// It goes by what a command certainly was, however uncertain or wrong the pulse: one whose
// least magnitude exceeds the limit is reported, and so is a motor that is sent nothing that can
// be measured. A sign of life is not enough: where nothing can be measured the motors
// may do anything.
type Watch struct {
	limit float64
	motor [4]watched
	out   trace.Output
	over  bool // a command exceeded the limit
	turns bool // a motor was commanded to turn since that was last asked
}

// watched is what a watch knows of one motor.
type watched struct {
	decode.MotorDecoder
	line     signal.Line
	heard    bool        // has been sent anything since the board was started
	measured signal.Time // the last that could be measured, or the first of all
}

// NewWatch returns a watch over the motor lines of a layout. Limit is the share of
// full command, 0..1, that no command may exceed either way.
func NewWatch(layout signal.Layout, motors [4]decode.Motor, limit float64) (*Watch, error) {
	w := &Watch{limit: limit}
	for i, wheel := range signal.Wheels {
		m := &w.motor[i]
		name := signal.Spec(signal.Motor, wheel).Name
		var ok bool
		if m.line, ok = layout.Find(signal.Motor, wheel); !ok {
			return nil, fmt.Errorf("watch over the motors: the bench has no line %s", name)
		}
		var err error
		if m.MotorDecoder, err = motors[i].New(); err != nil {
			return nil, fmt.Errorf("watch over the motors: %s: %w", name, err)
		}
		m.Observe(func(r decode.Reading) {
			w.over = w.over || r.Least > w.limit
			w.turns = w.turns || !r.Measured || r.Least > turnsFrom
			if r.Measured || !m.heard {
				m.heard, m.measured = true, r.At
			}
		})
	}
	w.out.Frames, w.out.Events = make([]trace.Frame, 0, 64), make([]trace.Event, 0, 64)
	w.reset(0)
	return w, nil
}

// reset forgets what was heard: the board was started anew.
func (w *Watch) reset(now signal.Time) {
	for i := range w.motor {
		w.motor[i].Reset(now)
		w.motor[i].heard = false
	}
}

// look takes what was captured up to now. It tells whether a motor that was sent
// anything has been lost, or was sent nothing that could be measured for longer than
// MostUnmeasured, and whether a command certainly exceeded the limit.
func (w *Watch) look(captured []signal.Edge, now signal.Time) (silent, limit bool) {
	w.over = false
	for i := range w.motor {
		m := &w.motor[i]
		w.out.Frames, w.out.Events = w.out.Frames[:0], w.out.Events[:0]
		for _, e := range captured {
			if e.Line == m.line {
				m.Edge(e, &w.out)
			}
		}
		m.Until(now, &w.out)
		silent = silent || m.heard && now-m.measured > MostUnmeasured
		for _, e := range w.out.Events {
			silent = silent || e.Kind == trace.Lost && m.heard
		}
	}
	return silent, w.over
}
