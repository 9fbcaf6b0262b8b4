package suites

import (
	"context"
	"errors"
	"fmt"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

// BenchMaker opens a bench with the lines of layout at time 0, its driven lines at
// their idle levels. A board b stands behind it, and is closed with it; nil: the
// bench has a board of its own on its wires.
type BenchMaker func(layout signal.Layout, b board.Board) (rig.Bench, error)

// Real is a bench in real time.
type Real struct {
	Kind     string // in a few words, for records: "memory bank"
	Open     BenchMaker
	Board    bool // the bench takes a board made by the program: Files.Board says which
	Restarts bool // the bench can power-cycle its board
	// First is the share of full command by which a stand's motor turns first on the bench, until it was
	// seen to turn; 0: there is nothing to be careful of.
	First float64
	// Shaft is called with whether the shaft of a stand turns on the bench that is opened next, or is
	// locked; nil: nobody asks.
	Shaft func(turns bool)
	// Trip has the motors' supply taken away for good, as nothing is heard any more of what bounds a
	// run, or, timeout, a part of it takes more than twice its time. nil: there is no supply.
	Trip func(timeout bool)
	// Waits says that time passes on the bench while somebody waits for it and no sooner, as
	// on one whose clock comes from outside: it does not rest while work is done.
	Waits bool
	// Denied returns what the operating system did not grant to the benches that were opened so far, each with
	// the remedy; nil: nobody knows.
	Denied func() []string
}

// Denied returns what the operating system did not grant to what played in real time, each with the remedy.
func (s *Setup) Denied() []string { return s.real.WasDenied() }

// WasDenied returns what Denied returns; nothing of no bench in real time.
func (r *Real) WasDenied() []string {
	if r == nil || r.Denied == nil {
		return nil
	}
	return r.Denied()
}

// ErrNotReal says that something cannot be done on a bench in real time.
var ErrNotReal = errors.New("not on a bench in real time")

// RealBoard is the name of the board on the wires of a real bench.
const RealBoard = "on its wires"

// On has everything played on a bench in real time; nil: on the simulated bench. It
// is called once, before anything is played.
//
// Suites are then played one after the other, each on the bench opened anew. What
// only the model needs, such as a bench without a board to compare with, stays
// simulated.
func (s *Setup) On(r *Real) error {
	if r == nil {
		return nil
	}
	layout := s.wiring.Layout()
	for _, p := range layout.Ports {
		if p.Asked {
			return fmt.Errorf("port %s answers requests: %w; play it with kind: simulated", p.Name, ErrNotReal)
		}
	}
	if s.perfect() {
		s.giveSpares()
	}
	s.real = r
	if !r.Board {
		if s.Board != builtInBoard {
			return fmt.Errorf("board %s is one that the program makes, and this bench has one on its wires; leave it out", s.Board)
		}
		s.Board = RealBoard
	}
	return nil
}

// virtual returns the setup on its simulated bench.
func (s *Setup) virtual() *Setup {
	v := *s
	v.real = nil
	return &v
}

// skipReason says why a case cannot be played on the setup's bench, empty where it can.
func (s *Setup) skipReason(c *file.Case) string {
	switch {
	case c.Missing != "":
		return "the bench has " + c.Missing
	case s.Bench.Power > c.UpTo:
		return "may be played up to " + c.UpTo.String() + ", and the motors are powered as " + s.Bench.Power.String()
	case s.real == nil || s.real.Restarts:
		return ""
	case c.PowerUp:
		return "begins with a power-up, and the bench cannot restart its board"
	case s.staysSafe(c):
		return "leaves the board safe until a power cycle, and the bench cannot restart its board"
	}
	return ""
}

// settleSlice is how long a bench settles at a time while it waits for work.
const settleSlice = 5 * signal.Millisecond

// meanwhile does work. On a bench in real time it rests until the work is done, as
// time does not stand still there.
func (ses *session) meanwhile(ctx context.Context, work func()) error {
	if ses.setup.real == nil || ses.setup.real.Waits {
		work()
		return nil
	}
	return Beside(work, func() error {
		return ses.rig.Play(ctx, stimulus.Held(ses.between, settleSlice), nil)
	})
}

// Beside does work on a goroutine of its own and takes turn after turn until it is done. Where a
// turn fails it waits for the work and returns that error.
func Beside(work func(), turn func() error) error {
	done := make(chan struct{})
	go func() {
		defer close(done)
		work()
	}()
	for {
		select {
		case <-done:
			return nil
		default:
		}
		if err := turn(); err != nil {
			<-done
			return err
		}
	}
}
