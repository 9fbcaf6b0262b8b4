package circuit

import (
	"sync"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Pins are the lines of an interlock, by GPIO number.
type Pins struct{ Stop, Relay, Heartbeat, Supply int }

// Simulated is lines with the circuit behind them: the supply's sense follows stop contact, relay
// line and the heartbeat's edges. It may be used by several goroutines.
type Simulated struct {
	hostlines.Lines
	Pins  Pins
	Clock realtime.Clock
	Hold  signal.Time // of the dead-man relay
	Falls signal.Time // until the sense is off, the motors at rest

	mu     sync.Mutex
	welded bool        // contacts that have closed once stay so
	broken bool        // the sense's wire
	fed    signal.Time // until then motors feed the supply
	beat   signal.Time // the last edge of the heartbeat; 0: none
	high   bool        // the heartbeat
	closed bool        // the chain has been closed, ever
	last   signal.Time // when the supply was last fed
}

// Weld has the contactors stay closed once they have been.
func (s *Simulated) Weld() { s.set(func() { s.welded = true }) }

// Break breaks the wire of the sense.
func (s *Simulated) Break() { s.set(func() { s.broken = true }) }

// Feed has motors feed the supply, once it was on, until t.
func (s *Simulated) Feed(t signal.Time) { s.set(func() { s.fed = t }) }

func (s *Simulated) set(do func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	do()
}

// Output makes a line an output.
func (s *Simulated) Output(gpio int, level bool) error {
	s.edge(gpio, level)
	return s.Lines.Output(gpio, level)
}

// Write changes the level of an output.
func (s *Simulated) Write(gpio int, level bool) error {
	s.edge(gpio, level)
	return s.Lines.Write(gpio, level)
}

// edge has the heartbeat's rising edges trigger the monostable.
func (s *Simulated) edge(gpio int, level bool) {
	if gpio != s.Pins.Heartbeat {
		return
	}
	s.set(func() {
		if level && !s.high {
			s.beat = s.Clock.Now()
		}
		s.high = level
	})
}

// Read reads a line. That of the sense is high while the supply is there.
func (s *Simulated) Read(gpio int) (bool, error) {
	if gpio != s.Pins.Supply || gpio == 0 {
		return s.Lines.Read(gpio)
	}
	relay, err := s.Lines.Read(s.Pins.Relay)
	if err != nil {
		return false, err
	}
	stop, err := s.Lines.Read(s.Pins.Stop)
	if err != nil {
		return false, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.Clock.Now()
	if relay && stop && s.beat > 0 && now-s.beat < s.Hold || s.welded && s.closed {
		s.closed, s.last = true, now
	}
	if s.closed && now < s.fed {
		s.last = now
	}
	return s.closed && now-s.last <= s.Falls && !s.broken, nil
}
