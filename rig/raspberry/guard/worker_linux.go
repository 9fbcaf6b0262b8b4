package guard

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"golang.org/x/sys/unix"

	clock "hilrig/rig/signal"
)

// marker is the variable that tells a program that it is a worker.
const marker = "HILRIG_GUARDED"

// The worker's ends of the pipes.
const (
	wordsOut = 3
	ordersIn = 4
)

// Times of a worker.
const (
	fedEvery   = 2 * clock.Millisecond
	mostAnswer = 5 * time.Second         // for an answer of the guard
	mostOrphan = 1500 * time.Millisecond // for a worker without a guard to make its lines safe
)

// listenRank is the real-time rank at which a worker hears its guard: above its loop and
// whatever plays where those share a processor, as the relay may have to be opened.
const listenRank = 60

// Worker is a process under a guard, seen from itself. Its methods may be called by
// several goroutines, Feed by one at a time.
type Worker struct {
	ctx     context.Context
	cancel  context.CancelFunc
	out     int // the pipe to the guard
	answers chan answer
	ended   chan struct{} // closed when the guard says no more
	shut    chan struct{} // closed when the bench is

	word [wordSize]byte // of Feed
	fed  clock.Time
	deaf atomic.Bool // nobody listens any more
	over atomic.Bool // it tripped, or the guard is dead: nothing is to be played on

	mu    sync.Mutex
	why   string // it has to end
	parts *Parts
	open  int // benches
}

type answer struct {
	kind orderKind
	text string
}

// Inside says whether this program was started by a guard.
func Inside() bool { return os.Getenv(marker) != "" }

// Join takes up with the guard that started this program. It is called once, early.
// The worker's [Worker.Context] ends when ctx does, when the guard says so, and when
// the guard is dead.
func Join(ctx context.Context) (*Worker, error) {
	os.Unsetenv(marker) // not for programs that this one starts
	for _, fd := range []int{wordsOut, ordersIn} {
		var about unix.Stat_t
		if err := unix.Fstat(fd, &about); err != nil || about.Mode&unix.S_IFMT != unix.S_IFIFO {
			return nil, fmt.Errorf("%s is set and there is no guard; unset it", marker)
		}
		unix.CloseOnExec(fd)
	}
	if err := unix.SetNonblock(wordsOut, true); err != nil {
		return nil, fmt.Errorf("the pipe to the guard: %w", err)
	}
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE) // whoever read its output may be gone: it still ends in order
	w := &Worker{out: wordsOut, answers: make(chan answer, 4), ended: make(chan struct{}), shut: make(chan struct{}, 1)}
	w.ctx, w.cancel = context.WithCancel(ctx)
	go w.listen(os.NewFile(ordersIn, "orders"))
	return w, nil
}

// Context is done when the worker has to end.
func (w *Worker) Context() context.Context { return w.ctx }

// Why says why the worker had to end; empty where it had not.
func (w *Worker) Why() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.why
}

// Holds tells the worker what to make safe should its guard die.
func (w *Worker) Holds(p *Parts) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.parts = p
}

// listen takes the guard's orders until there are no more.
func (w *Worker) listen(from *os.File) {
	runtime.LockOSThread() // the rank is a thread's
	takeRank(listenRank)
	told := false
	for {
		kind, text, err := readOrder(from)
		if err != nil {
			break
		}
		switch kind {
		case orderIdle, orderTripped:
			if kind == orderTripped {
				told = true
				w.over.Store(true)
			}
			w.end(text)
		default:
			select {
			case w.answers <- answer{kind, text}:
			default: // an answer that nobody waited for
			}
		}
	}
	w.deaf.Store(true)
	w.over.Store(true)
	if !told {
		w.orphan()
	}
	close(w.ended)
	w.end("")
}

// end has the worker end. The first reason stays.
func (w *Worker) end(why string) {
	w.mu.Lock()
	if w.why == "" {
		w.why = why
	}
	w.mu.Unlock()
	w.cancel()
}

// orphan makes safe what the guard cannot any more: the relay at once, then the
// lines, by closing the bench or, where nobody does that in time, by hand.
func (w *Worker) orphan() {
	w.mu.Lock()
	parts, open := w.parts, w.open
	w.mu.Unlock()
	if parts != nil {
		lines, err := parts.Open()
		if err == nil {
			err = parts.openRelay(lines)
			lines.Close()
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "hilrig: the guard died:", err)
		}
		if open > 0 {
			go w.insist(parts)
		}
	}
	w.end("the guard died")
}

// insist makes the lines safe by hand where nobody closes the bench in time, and ends
// the program.
func (w *Worker) insist(parts *Parts) {
	select {
	case <-w.shut:
	case <-time.After(mostOrphan):
		if lines, err := parts.Open(); err == nil {
			_ = parts.makeSafe(lines) // the program ends, which is all that is left
		}
		os.Exit(exitTripped)
	}
}

// exitTripped is how a worker ends that nobody listens to.
const exitTripped = 4

// tell sends a word.
func (w *Worker) tell(kind wordKind) {
	var word [wordSize]byte
	kind.put(&word, monotonic())
	if !w.deaf.Load() {
		_, _ = unix.Write(w.out, word[:]) // a guard that is gone is seen by its orders
	}
}

// Feed tells the guard that the worker keeps time. It does so every 2 ms at most, and
// neither blocks nor allocates.
func (w *Worker) Feed() {
	now := monotonic()
	if now-w.fed < fedEvery || w.deaf.Load() {
		return
	}
	w.fed = now
	wordFed.put(&w.word, now)
	_, _ = unix.Write(w.out, w.word[:])
}

// Live asks to go live and waits for the answer. From then on the guard has to be fed.
func (w *Worker) Live() error {
	if err := w.ctx.Err(); err != nil {
		return err
	}
	w.tell(wordLive)
	a, err := w.answer(orderGranted, orderRefused)
	switch {
	case err != nil:
		return err
	case a.kind == orderRefused:
		return errors.New(a.text)
	}
	w.Feed()
	return nil
}

// answer waits for an answer of one of two kinds.
func (w *Worker) answer(one, other orderKind) (answer, error) {
	late := time.After(mostAnswer)
	for {
		select {
		case a := <-w.answers:
			if a.kind == one || a.kind == other {
				return a, nil
			}
		case <-w.ended:
			return answer{}, context.Canceled
		case <-late:
			return answer{}, errors.New("the guard does not answer")
		}
	}
}

// Leave tells the guard that the bench is no longer played on and waits until the
// relay is open, or nobody is there to open it.
func (w *Worker) Leave() {
	w.tell(wordLeave)
	_, _ = w.answer(orderOpen, orderOpen) // without one the guard is gone, and the relay was seen to
}

// tripped is the error of playing on after a trip, nil before.
func (w *Worker) tripped() error {
	if !w.over.Load() {
		return nil
	}
	return fmt.Errorf("the interlock tripped: %s", w.Why())
}

// Bye tells the guard that the program ends by itself, all its benches closed.
func (w *Worker) Bye() { w.tell(wordBye) }

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
	select {
	case w.shut <- struct{}{}:
	default:
	}
	w.tell(wordClosed)
}

// monotonic reads the clock that both processes have.
func monotonic() clock.Time {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) // it cannot fail: the clock exists and ts is ours
	return clock.Time(ts.Nano())
}
