package suites

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/board/moment"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// boardMaker makes a board for the setup's bench that a suite is played on. The name of the suite
// draws the phase of its timers.
type boardMaker func(s *Setup, suite string) (board.Board, error)

// momentBoard is the name of the second built-in board.
const momentBoard = "built-in/moment"

// boardNamed returns what makes the board called name: "built-in" or "built-in/moment", with a
// seeded fault "built-in:FAULT", or one that controls nothing, "null:KIND".
func boardNamed(name string) (boardMaker, error) {
	kind, what, more := strings.Cut(name, ":")
	if faults := faultsOf(kind); more && faults != nil && !slices.Contains(faults, what) {
		return nil, fmt.Errorf("board %s has no fault %q; %s (hilrig faults --list says what each does)", kind, what, language.Instead(what, faults))
	}
	switch {
	case kind == builtInBoard:
		s := board.Bramble()
		if more {
			var err error
			if s, err = board.WithFault(s, what); err != nil {
				return nil, err
			}
		}
		return builtIn(s), nil
	case kind == momentBoard:
		s := moment.Thistle()
		if more {
			var err error
			if s, err = moment.WithFault(s, what); err != nil {
				return nil, err
			}
		}
		return byMoment(s), nil
	case name == policyBoard:
		return fromPolicy, nil
	case kind == commandBoard && more:
		return unnamedCommand, nil
	case kind == "null" && more:
		if k := board.Kind(what); slices.Contains(board.Kinds, k) {
			return nullBoard(k), nil
		}
		return nil, fmt.Errorf("null board %q is not known; %s", what, language.Instead(what, nullKinds()))
	}
	if near := language.Nearest(name, Boards()); near != "" {
		return nil, fmt.Errorf("board %q is not known; use %s", name, near)
	}
	return nil, fmt.Errorf("board %q is not known; use built-in, built-in:FAULT (hilrig faults --list), built-in/moment, built-in/moment:FAULT, from-policy or null:KIND", name)
}

// faultsOf lists the faults that can be seeded into a built-in board; nil of any other.
func faultsOf(kind string) (names []string) {
	switch kind {
	case builtInBoard:
		for _, f := range board.Faults() {
			names = append(names, f.Name)
		}
	case momentBoard:
		for _, f := range moment.Faults() {
			names = append(names, f.Name)
		}
	}
	return names
}

// nullKinds lists the kinds of boards that control nothing.
func nullKinds() (kinds []string) {
	for _, k := range board.Kinds {
		kinds = append(kinds, string(k))
	}
	return kinds
}

// Boards lists the names of all boards that the program has, with each seeded fault.
func Boards() []string {
	all := []string{builtInBoard, momentBoard, policyBoard}
	for _, kind := range nullKinds() {
		all = append(all, "null:"+kind)
	}
	for _, kind := range []string{builtInBoard, momentBoard} {
		for _, f := range faultsOf(kind) {
			all = append(all, kind+":"+f)
		}
	}
	return all
}

// builtIn makes the built-in board with these settings, save that it sends its
// commands as the bench declares them.
func builtIn(settings board.Settings) boardMaker {
	return func(s *Setup, suite string) (board.Board, error) {
		own := settings
		s.fitOutput(&own)
		s.fitInputs(&own)
		return board.NewBuiltIn(own, s.wiring.Layout(), s.boardSeed(suite))
	}
}

// byMoment makes the second built-in board. It has the wires of its own car and fits no others: what
// the bench has instead is an error.
func byMoment(settings moment.Settings) boardMaker {
	return func(s *Setup, suite string) (board.Board, error) {
		for i := range s.wiring.Motors {
			if m := &s.wiring.Motors[i]; m.Kind != decode.DShot300 || m.Inverted() || m.DShot.TwoDirection {
				return nil, fmt.Errorf("board %s sends dshot300, upright and in one direction, and bench %q declares other motor commands; leave out --bench to have its demo bench, or use another board", momentBoard, s.Bench.Name)
			}
		}
		return moment.New(settings, s.wiring.Layout(), s.boardSeed(suite))
	}
}

// fitOutput makes the settings send commands as the bench declares them.
func (s *Setup) fitOutput(b *board.Settings) {
	b.Output = outputOf(&s.wiring)
	if !s.wiring.Motors[0].Kind.Digital() {
		p := s.wiring.Motors[0].Pulse()
		b.MotorIdle, b.MotorFull = p.Idle, p.Full
	}
	if p := s.outputPeriod(); p > 0 {
		b.OutputPeriod = p
	}
}

// The rates at which the built-in board sends commands where the bench does not
// say: what firmware of its speed would do (common practice, no source).
var defaultRates = [decode.MotorKinds]float64{decode.OneShot125: 1000, decode.DShot150: 1000, decode.DShot300: 2000, decode.DShot600: 4000}

// outputPeriod returns how often the bench has commands sent; 0: the board may
// keep to its own.
func (s *Setup) outputPeriod() signal.Time {
	rate := s.Bench.MotorRate
	if rate == 0 {
		rate = defaultRates[s.wiring.Motors[0].Kind]
	}
	if rate == 0 {
		return 0
	}
	return signal.FromSeconds(1 / rate)
}

// outputOf returns how a board has to send its commands on a bench.
func outputOf(w *rig.Wiring) board.Output {
	first := &w.Motors[0]
	o := board.Output{Format: board.Format(first.Kind.String()), TwoDirection: first.DShot.TwoDirection, StopAtIdle: first.DShot.StopIsIdle}
	for i := range w.Motors {
		m := &w.Motors[i]
		o.Wheel[i] = board.WheelOutput{Inverted: m.Inverted(), ForwardLower: m.DShot.ForwardLower}
		if !m.Kind.Digital() {
			p := m.Pulse()
			o.Wheel[i].Idle, o.Wheel[i].Full = p.Idle, p.Full
		}
	}
	return o
}

// nullBoard makes a board that controls nothing.
func nullBoard(kind board.Kind) boardMaker {
	return func(s *Setup, suite string) (board.Board, error) {
		p := pulses(&s.wiring)
		p.Period = s.outputPeriod()
		if s.wiring.Bus.Port != "" {
			p.ThrottleIdle, p.ThrottleFull = signal.Millisecond, 2*signal.Millisecond
			p.Bus = busOf(s, p.ThrottleIdle, p.ThrottleFull, p.ThrottleIdle, p.ThrottleFull)
		}
		return board.NewNull(kind, p, s.wiring.Layout(), s.boardSeed(suite))
	}
}

// pulses returns the widths that a board which controls nothing has to know.
func pulses(w *rig.Wiring) board.Pulses {
	width := func(share float64) signal.Time {
		p := &w.Throttle
		if w.Bus.Port != "" {
			return 0 // a bus has no pulses
		}
		along := (share - p.LowValue) / (p.HighValue - p.LowValue)
		return p.Low + signal.Time(math.Round(along*float64(p.High-p.Low)))
	}
	m := &w.Motors[0]
	p := m.Pulse()
	return board.Pulses{
		ThrottleIdle: width(0), ThrottleFull: width(1),
		MotorIdle: p.Idle, MotorFull: p.Full, BothWays: m.Lowest() < 0, Output: outputOf(w),
	}
}
