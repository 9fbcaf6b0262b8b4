package supervisor

import (
	"errors"
	"fmt"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
)

// TriedLines are lines one by one as a worker has them that tries machine, wires and board
// while no motor is connected. The interlock's own are in the supervisor's hands: they can be
// read, and relay and heartbeat are moved by Prove alone. Every call says that the worker is
// alive; after a trip every call fails. They are used by one goroutine.
type TriedLines struct {
	lines  hostlines.Lines
	worker *Worker
	parts  *Parts
	closed bool
}

// Try has the worker try lines that it has opened. Should its supervisor die or stand still, it
// makes them safe itself.
func (w *Worker) Try(lines hostlines.Lines, p *Parts) *TriedLines {
	w.Holds(p)
	w.opened()
	return &TriedLines{lines: lines, worker: w, parts: p}
}

// Driving does something that moves lines, under the supervisor's eyes: a silence of 20 ms
// trips until it is done.
func (l *TriedLines) Driving(what func()) error {
	if err := l.worker.Live(); err != nil {
		return err
	}
	defer l.worker.Leave()
	l.worker.tell(messageBegin)
	what()
	return nil
}

// Prove has the supervisor's relay and heartbeat do what is said, and returns once they do. Unless
// that is nothing, Alive has to be called every few milliseconds from then on.
func (l *TriedLines) Prove(p interlock.Proof) error {
	if err := l.over(); err != nil {
		return err
	}
	var message [messageSize]byte
	putProof(&message, p)
	_, err := l.ask(messageProve, message, commandProved)
	return err
}

// Alive says that whoever tries keeps time. The error says why it has to end.
func (l *TriedLines) Alive() error {
	l.worker.pass()
	if err := l.over(); err != nil {
		return err
	}
	l.worker.Feed()
	return nil
}

// over is the error of going on where the worker has to end.
func (l *TriedLines) over() error {
	if err := l.worker.tripped(); err != nil {
		return err
	}
	return l.worker.ctx.Err()
}

// ask has the supervisor do something and waits until it has: the answer is of a kind.
func (l *TriedLines) ask(kind messageKind, message [messageSize]byte, want commandKind) (string, error) {
	w := l.worker
	w.Feed()
	kind.put(&message, w.clock.Now())
	if !w.deaf.Load() {
		w.link.say(message[:])
	}
	a, err := w.answerTo(want, commandDenied, w.Feed)
	switch {
	case err != nil:
		return "", errors.Join(w.tripped(), err)
	case a.kind == commandDenied:
		return "", errors.New(a.text)
	}
	return a.text, nil
}

// own returns the place of one of the supervisor's lines among them; -1 where it is none.
func (l *TriedLines) own(gpio int) int {
	for i, pin := range l.parts.Pins.own() {
		if pin != 0 && pin == gpio {
			return i
		}
	}
	return -1
}

// errOwn says that the supervisor alone moves a line.
var errOwn = errors.New("the line is the interlock's")

// Output makes a line an output. Those of the supervisor are, and low.
func (l *TriedLines) Output(gpio int, level bool) error {
	return l.put(gpio, level, l.lines.Output)
}

// Write changes the level of an output.
func (l *TriedLines) Write(gpio int, level bool) error {
	return l.put(gpio, level, l.lines.Write)
}

func (l *TriedLines) put(gpio int, level bool, put func(int, bool) error) error {
	if err := l.Alive(); err != nil {
		return err
	}
	if l.own(gpio) < 0 {
		return put(gpio, level)
	}
	if level {
		return fmt.Errorf("GPIO%d: %w", gpio, errOwn)
	}
	return nil
}

// Input makes a line an input. The supervisor's stop input is one.
func (l *TriedLines) Input(gpio int, pull hostlines.Pull) error {
	if err := l.Alive(); err != nil || l.own(gpio) >= 0 {
		return err
	}
	return l.lines.Input(gpio, pull)
}

// Read reads a line. One of the supervisor's the supervisor reads.
func (l *TriedLines) Read(gpio int) (bool, error) {
	if err := l.Alive(); err != nil {
		return false, err
	}
	n := l.own(gpio)
	if n < 0 {
		return l.lines.Read(gpio)
	}
	levels, err := l.ask(messageLook, [messageSize]byte{}, commandLevels)
	if err == nil && len(levels) <= n {
		err = errors.New("the interlock does not say what its lines are at")
	}
	return err == nil && levels[n] == '1', err
}

// Clock returns the clock by which the lines are tried.
func (l *TriedLines) Clock() realtime.Clock { return l.worker.clock }

// Close opens the relay, or waits until it was seen to, then makes the worker's lines safe and
// gives them back.
func (l *TriedLines) Close() error {
	if l.closed {
		return nil
	}
	l.closed = true
	l.worker.Leave()
	_ = l.parts.makeSafe(l.lines) // the supervisor does so too, and says which is not
	err := l.lines.Close()
	l.worker.finished()
	return err
}
