package supervisor

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// StandSettings say what a watch over a stand holds its throttle to.
type StandSettings struct {
	Throttle decode.Motor
	// First is the most that is commanded, a share of full, until the shaft has turned ahead once;
	// Limit is the most ever.
	First, Limit float64
	// Shaft reads the angle of the shaft, nil where no encoder or tacho is on it: then First holds
	// until a command above 0 was held for Unseen, for a person to look.
	Shaft  *decode.Angle
	Unseen signal.Time
}

// StandWatch looks at the commands that the rig sends a speed controller whose motor is powered.
// Commands are looked at twice: before they are handed to the bench, where one beyond what is
// allowed goes no further, and as they went out, where the bench looks at the line. What stands in
// the way of a wrong program is the first, of a wrong worker or line the second, which goes by what
// a command certainly was, as [Watch] does.
type StandWatch struct {
	settings StandSettings
	line     signal.Line
	slack    float64 // half of the smallest step of a command

	plan, sent sentCommand
	angles     []decode.AngleSample
	turned     bool
	turns      bool        // the motor was commanded to turn, or turned, since that was last asked
	held       signal.Time // since when a command above 0 is planned; 0: it is not
}

// sentCommand is what is known of the commands on the line, as planned or as they went out.
type sentCommand struct {
	decode.MotorDecoder
	most       float64 // the largest since it was looked at
	any        bool    // there was one
	unmeasured signal.Time
	blind      bool // since unmeasured there was none that could be measured
	out        trace.Output
}

// NewStandWatch returns a watch over the throttle line of a layout.
func NewStandWatch(layout signal.Layout, s StandSettings) (*StandWatch, error) {
	w := &StandWatch{settings: s, slack: s.Throttle.CommandStep() / 2}
	var ok bool
	if w.line, ok = layout.Find(signal.ThrottleCommand, signal.NoWheel); !ok {
		return nil, fmt.Errorf("watch over the stand: it has no line %s", signal.Spec(signal.ThrottleCommand, signal.NoWheel).Name)
	}
	if !(s.First > 0 && s.First <= s.Limit && s.Limit <= 1) {
		return nil, fmt.Errorf("watch over the stand: a first turn of %.3g and a limit of %.3g of full command; both lie above 0, and the first is not the larger", s.First, s.Limit)
	}
	for _, c := range []*sentCommand{&w.plan, &w.sent} {
		var err error
		if c.MotorDecoder, err = s.Throttle.New(); err != nil {
			return nil, fmt.Errorf("watch over the stand: throttle: %w", err)
		}
		c.out.Frames, c.out.Events = make([]trace.Frame, 0, 64), make([]trace.Event, 0, 64)
		c.Observe(func(r decode.Reading) {
			c.most, c.any = max(c.most, r.Least), true
			if r.Measured {
				c.blind = false
			} else if !c.blind {
				c.blind, c.unmeasured = true, r.At
			}
		})
	}
	w.reset(0)
	return w, nil
}

// reset forgets what was sent, and that the shaft has turned.
func (w *StandWatch) reset(now signal.Time) {
	w.plan.Reset(now)
	w.sent.Reset(now)
	w.plan.blind, w.sent.blind, w.turned, w.held = false, false, false, 0
	if w.settings.Shaft != nil {
		w.settings.Shaft.Reset(now, false, false)
	}
}

// most is the most that may be commanded now.
func (w *StandWatch) most() float64 {
	if w.turned {
		return w.settings.Limit
	}
	return w.settings.First
}

// decode decodes edges up to a time and returns the largest command among them.
func (c *sentCommand) decode(line signal.Line, edges []signal.Edge, until signal.Time) (most float64, any bool) {
	c.most, c.any = 0, false
	c.out.Frames, c.out.Events = c.out.Frames[:0], c.out.Events[:0]
	for _, e := range edges {
		if e.Line == line {
			c.Edge(e, &c.out)
		}
	}
	c.Until(until, &c.out)
	return c.most, c.any
}

// planned looks at edges before they are handed over. The error says why they must not be.
func (w *StandWatch) planned(edges []signal.Edge, until signal.Time) error {
	command, any := w.plan.decode(w.line, edges, until)
	switch {
	case command > w.settings.Limit+w.slack:
		return fmt.Errorf("a throttle of %.1f %% is beyond the stand's motor_limit of %.1f %%, and was not sent", 100*command, 100*w.settings.Limit)
	case command > w.most()+w.slack:
		return fmt.Errorf("a throttle of %.1f %% was not sent: the motor was not seen to turn ahead at %.1f %% yet; see that it starts at so small a command, to its leads, and to the encoder and its sense", 100*command, 100*w.settings.First)
	case !any:
	case command <= w.slack:
		w.held = 0
	case w.held == 0:
		w.held = max(until, 1)
	case w.settings.Shaft == nil && until-w.held >= w.settings.Unseen:
		w.turned = true
	}
	return nil
}

// look takes what was captured and what went out up to now. It tells whether for longer than
// MostUnmeasured nothing of what went out could be measured, and whether a command certainly
// exceeded what is allowed.
func (w *StandWatch) look(captured, sent []signal.Edge, now signal.Time) (unmeasured, limit bool) {
	command, _ := w.sent.decode(w.line, sent, now)
	limit = command > w.most()+w.slack // before this turn of the shaft counts
	w.turns = w.turns || command > w.slack || w.sent.blind
	if a := w.settings.Shaft; a != nil && !w.turned {
		w.angles = w.angles[:0]
		for _, e := range captured {
			w.angles = a.Edge(e, w.angles)
			w.turns = true
		}
		w.angles = a.Until(now, w.angles)
		if last, ok := a.Last(); ok && last.Count >= a.PerTurn() {
			w.turned = true
		}
	}
	return w.sent.blind && now-w.sent.unmeasured > MostUnmeasured, limit
}

// Turned says whether the motor was seen to turn, so that more may be commanded than at first.
func (w *StandWatch) Turned() bool { return w.turned }

// Trip says for what a worker has the interlock trip by itself.
type Trip uint8

// What a run of a speed controller trips for.
const (
	SourceLost   Trip = iota // nothing came any more of what bounds it while the motor was to turn
	LevelTimeout             // a level took more than twice its time
)

// Trip has the relay opened for good, at a power level at which the motors have a supply.
func (w *Worker) Trip(why Trip) {
	if why == LevelTimeout {
		w.tell(messageLevelTimeout)
		return
	}
	w.tell(messageSourceLost)
}
