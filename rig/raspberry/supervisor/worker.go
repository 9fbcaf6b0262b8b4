package supervisor

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Times of a worker.
const (
	// MostUnsupervised is how long a worker goes on without a message from its supervisor, and how
	// long it may itself stand still.
	MostUnsupervised = 50 * signal.Millisecond

	fedEvery    = 2 * signal.Millisecond
	listenEvery = signal.Millisecond
	mostAnswer  = 5 * signal.Second         // for an answer of the supervisor, and to have the relay's line
	mostOrphan  = 1500 * signal.Millisecond // for a worker without a supervisor to make its lines safe
)

// exitTripped is how a worker ends that nobody listens to.
const exitTripped = 4

// link is a supervisor as its worker reaches it. No method waits.
type link interface {
	// say says a message to the supervisor. One that is gone is seen by hear.
	say(message []byte)
	// hear takes what the supervisor has said since. Ended says that it says no more.
	hear(dst []byte) (n int, ended bool)
	// kill ends the supervisor.
	kill()
	// exit ends the worker's program.
	exit(code int)
	// note tells a person something.
	note(text string)
}

// Worker is a process under a supervisor, seen from itself. Its methods may be called by
// several goroutines, Feed by one at a time.
type Worker struct {
	ctx    context.Context
	cancel context.CancelFunc
	clock  realtime.Clock
	link   link

	message [messageSize]byte // of Feed
	fed     signal.Time
	deaf    atomic.Bool // nobody listens any more
	over    atomic.Bool // it tripped, or the supervisor is dead or stands still: nothing is to be played on

	mu           sync.Mutex
	why          string      // it has to end
	found        string      // what an earlier run had left
	stood        signal.Time // for how long the supervisor itself stood still at worst
	parts        *Parts
	open         int  // benches
	live         bool // the supervisor has granted it
	answers      []command
	buffer       [2 * (commandHeader + mostText)]byte
	partial      int
	tripReported bool        // the supervisor said that it tripped: it says no more, and the relay is open
	ended        bool        // the supervisor is dead
	passed       signal.Time // when the worker last looked after itself
	heard        signal.Time // when the supervisor last said something
	alone        bool        // no supervisor sees to relay and lines
	since        signal.Time // from when on
	opening      bool        // the relay is still to be opened
	lines        hostlines.Lines
	killed       bool // the supervisor, by this worker
}

type command struct {
	kind commandKind
	text string
}

// newWorker returns a worker that has a supervisor.
func newWorker(ctx context.Context, clock realtime.Clock, l link) *Worker {
	now := clock.Now()
	w := &Worker{clock: clock, link: l, passed: now, heard: now}
	w.ctx, w.cancel = context.WithCancel(ctx)
	return w
}

// Context is done when the worker has to end.
func (w *Worker) Context() context.Context { return w.ctx }

// Why says why the worker had to end; empty where it had not.
func (w *Worker) Why() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.why
}

// Found says what an earlier run had left on the lines, as the supervisor found it; empty where
// all was safe.
func (w *Worker) Found() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.found
}

// SupervisorStood returns the longest time beyond 20 ms for which the supervisor itself stood still, as
// far as it reported; 0 where it never did.
func (w *Worker) SupervisorStood() signal.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.stood
}

// Holds tells the worker what to make safe should its supervisor die or stand still.
func (w *Worker) Holds(p *Parts) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.parts = p
}

// end has the worker end. The first reason stays. The mutex is held.
func (w *Worker) end(why string) {
	if w.why == "" {
		w.why = why
	}
	w.cancel()
}

// tell sends a message.
func (w *Worker) tell(kind messageKind) {
	var message [messageSize]byte
	kind.put(&message, w.clock.Now())
	if !w.deaf.Load() {
		w.link.say(message[:])
	}
}

// Feed tells the supervisor that the worker keeps time. It does so every 2 ms at most, and
// neither blocks nor allocates.
func (w *Worker) Feed() {
	now := w.clock.Now()
	if now-w.fed < fedEvery || w.deaf.Load() {
		return
	}
	w.fed = now
	messageFed.put(&w.message, now)
	w.link.say(w.message[:])
}

// Live asks to go live and waits for the answer. From then on the supervisor has to be fed.
func (w *Worker) Live() error {
	if err := w.ctx.Err(); err != nil {
		return err
	}
	w.tell(messageLive)
	a, err := w.answer(commandGranted, commandDenied)
	switch {
	case err != nil:
		return err
	case a.kind == commandDenied:
		return errors.New(a.text)
	}
	w.mu.Lock()
	w.live, w.passed = true, w.clock.Now()
	w.mu.Unlock()
	w.Feed()
	return nil
}

// answer waits for an answer of one of two kinds. Without a supervisor there is none.
func (w *Worker) answer(one, other commandKind) (command, error) {
	return w.answerTo(one, other, func() {})
}

// answerTo is answer with something done again and again meanwhile.
func (w *Worker) answerTo(one, other commandKind, meanwhile func()) (command, error) {
	for until := w.clock.Now() + mostAnswer; w.clock.Now() < until; {
		w.pass()
		a, none := w.next()
		switch {
		case none:
			return command{}, context.Canceled
		case a.kind == one || a.kind == other:
			return a, nil
		case a.kind == 0:
			meanwhile()
			w.clock.SleepUntil(w.clock.Now() + listenEvery/2)
		}
	}
	return command{}, errors.New("the supervisor does not answer")
}

// next takes the oldest answer; one of kind 0 where there is none yet. None says that
// there will be no more, and that the relay was seen to.
func (w *Worker) next() (a command, none bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if len(w.answers) > 0 {
		a, w.answers = w.answers[0], w.answers[1:]
		return a, false
	}
	return a, w.tripReported || w.alone && !w.opening
}

// Leave tells the supervisor that the bench is no longer played on and waits until the
// relay is open, or nobody is there to open it.
func (w *Worker) Leave() {
	w.mu.Lock()
	w.live = false
	w.mu.Unlock()
	w.tell(messageLeave)
	_, _ = w.answer(commandOpen, commandOpen) // without one the supervisor is gone, and the relay was seen to
}

// awaitGone waits until the supervisor has seen the motors' supply go, where an input sees it: what
// is played next would hide that it stays.
func (w *Worker) awaitGone() {
	w.mu.Lock()
	seen := w.parts != nil && w.parts.Pins.Supply != 0
	w.mu.Unlock()
	if !seen {
		return
	}
	w.tell(messageGone)
	for noted := false; ; noted = true {
		_, err := w.answer(commandGone, commandGone)
		if err == nil || errors.Is(err, context.Canceled) || w.over.Load() {
			return
		}
		if !noted {
			w.link.note("the relay is open, and the motors' supply is not seen to go yet, as while motors turn: looking on")
		}
	}
}

// tripped is the error of playing on after a trip, nil before.
func (w *Worker) tripped() error {
	if !w.over.Load() {
		return nil
	}
	return fmt.Errorf("the interlock tripped: %s", w.Why())
}

// busy says whether the worker has still to open the relay by hand.
func (w *Worker) busy() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.opening
}

// Exiting tells the supervisor that the program ends by itself, all its benches closed.
func (w *Worker) Exiting() { w.tell(messageExiting) }

// opened notes a bench.
func (w *Worker) opened() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.open++
}

// finished notes that a bench is closed, its lines safe.
func (w *Worker) finished() {
	w.mu.Lock()
	w.open--
	w.mu.Unlock()
	w.tell(messageClosed)
}
