package supervisor

import (
	"syscall"

	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// LineLog is lines in memory that keep every change with its time. It is used by one
// goroutine.
type LineLog struct {
	// Exclusive says that an output is held by the side that made it one, as through the
	// kernel's character device, until that side dies or closes its lines.
	Exclusive bool
	// Broken is a line that can no longer be written; 0: none is.
	Broken int

	clock   realtime.Clock
	level   map[int]bool
	holder  map[int]Side
	changes []LineChange
}

// LineChange is one change of a line.
type LineChange struct {
	At   signal.Time
	GPIO int
	High bool
}

// NewLineLog returns lines that are low.
func NewLineLog(clock realtime.Clock) *LineLog {
	return &LineLog{clock: clock, level: map[int]bool{}, holder: map[int]Side{}}
}

// High says whether a line is high.
func (l *LineLog) High(gpio int) bool { return l.level[gpio] }

// Set changes a line from outside.
func (l *LineLog) Set(gpio int, high bool) {
	if l.level[gpio] != high {
		l.level[gpio] = high
		l.changes = append(l.changes, LineChange{l.clock.Now(), gpio, high})
	}
}

// Changes returns the changes of one line, in order.
func (l *LineLog) Changes(gpio int) (of []LineChange) {
	for _, c := range l.changes {
		if c.GPIO == gpio {
			of = append(of, c)
		}
	}
	return of
}

// giveBack frees the lines that a side holds.
func (l *LineLog) giveBack(side Side) {
	for gpio, holder := range l.holder {
		if holder == side {
			delete(l.holder, gpio)
		}
	}
}

// opener returns what opens the lines for a side.
func (l *LineLog) opener(side Side) func() (hostlines.Lines, error) {
	return func() (hostlines.Lines, error) { return &pairedLines{l, side}, nil }
}

// pairedLines is the lines as a side has them.
type pairedLines struct {
	log  *LineLog
	side Side
}

// Output makes a line an output at level.
func (l *pairedLines) Output(gpio int, level bool) error {
	if holder, held := l.log.holder[gpio]; l.log.Exclusive && held && holder != l.side {
		return syscall.EBUSY
	}
	if gpio == l.log.Broken {
		return syscall.EIO
	}
	l.log.holder[gpio] = l.side
	l.log.Set(gpio, level)
	return nil
}

// Input does nothing.
func (l *pairedLines) Input(int, hostlines.Pull) error { return nil }

// Write changes a line's level.
func (l *pairedLines) Write(gpio int, level bool) error { return l.Output(gpio, level) }

// Read reads a line.
func (l *pairedLines) Read(gpio int) (bool, error) { return l.log.level[gpio], nil }

// Close gives the lines back, their levels as they are.
func (l *pairedLines) Close() error {
	l.log.giveBack(l.side)
	return nil
}

// pairPins are the pins of a [Pair] on lines in memory.
var pairPins = Pins{Stop: 17, Relay: 22, Heartbeat: 27}

// onLog returns a pair on lines in memory, the stop contact closed. The lines of a supervisor that
// was killed are given back 3 ms later, as a kernel needs its time.
func onLog(t require.TestingT, clock *realtime.Manual, s Settings) (*Pair, *LineLog) {
	log := NewLineLog(clock)
	log.Set(pairPins.Stop, true)
	s.Pins = pairPins
	workers := s.Parts
	s.Open, workers.Open = log.opener(TheSupervisor), log.opener(TheWorker)
	p, err := newPair(clock, s, &workers)
	require.NoError(t, err)
	p.died = func(side Side) {
		if side == TheSupervisor {
			clock.At(clock.Now()+3*signal.Millisecond, func() { log.giveBack(side) })
		}
	}
	return p, log
}
