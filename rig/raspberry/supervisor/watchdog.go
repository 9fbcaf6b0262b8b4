package supervisor

import (
	"errors"
	"fmt"
	"strconv"
	"syscall"

	"hilrig/rig/signal"
)

// pass looks after the worker itself: it takes the supervisor's commands, and trips where none
// came for too long, or where the worker, live, stood still for as long. Each Wait of a bench
// calls it, and whoever listens, every millisecond. It does not wait.
func (w *Worker) pass() {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.clock.Now()
	still := now - w.passed
	w.passed = now
	w.hear(now)
	switch {
	case w.tripReported || w.alone:
	case still > MostUnsupervised && w.live:
		w.heard = now // what the supervisor did meanwhile is not known yet
		w.trip(fmt.Sprintf("the worker stood still for %d ms", milliseconds(still)), messageLost)
	case now-w.heard > MostUnsupervised:
		w.trip(fmt.Sprintf("no message from the interlock for %d ms", milliseconds(now-w.heard)), messageUnsupervised)
		w.orphan(now)
	}
	w.makeSafe(now)
}

func milliseconds(t signal.Time) int64 { return int64(t / signal.Millisecond) }

// trip has the worker end by its own judgement, and tells the supervisor. The mutex is held.
func (w *Worker) trip(why string, message messageKind) {
	if !w.over.Swap(true) {
		w.tell(message)
	}
	w.end(why)
}

// orphan notes that no supervisor sees to the relay. The mutex is held.
func (w *Worker) orphan(now signal.Time) {
	w.alone, w.since, w.opening = true, now, w.parts != nil
}

// hear takes the supervisor's commands. The mutex is held.
func (w *Worker) hear(now signal.Time) {
	for !w.ended {
		n, ended := w.link.hear(w.buffer[w.partial:])
		if n == 0 {
			if ended {
				w.supervisorEnded(now)
			}
			return
		}
		w.heard = now
		n += w.partial
		at := 0
		for at < n {
			kind, text, long := commandOf(w.buffer[at:n])
			if long == 0 {
				break
			}
			w.obey(kind, text)
			at += long
		}
		w.partial = copy(w.buffer[:], w.buffer[at:n])
	}
}

// obey does what the supervisor says. The mutex is held.
func (w *Worker) obey(kind commandKind, text string) {
	switch kind {
	case commandAlive:
	case commandFound:
		w.found = text
	case commandStood:
		if ns, err := strconv.ParseInt(text, 10, 64); err == nil {
			w.stood = max(w.stood, signal.Time(ns))
		}
	case commandIdle:
		w.end(text)
	case commandTripped:
		w.tripReported = true
		w.over.Store(true)
		w.end(text)
	default:
		w.answers = append(w.answers, command{kind, text})
	}
}

// supervisorEnded notes that the supervisor says no more: it is dead, unless it said that it tripped, and
// then it still hears that the lines are safe. The mutex is held.
func (w *Worker) supervisorEnded(now signal.Time) {
	w.ended = true
	w.over.Store(true)
	if w.tripReported {
		return
	}
	w.deaf.Store(true)
	if !w.alone {
		w.orphan(now)
	}
	w.end("the supervisor died")
}

// makeSafe makes safe what no supervisor does: the relay at once, then the lines, by closing
// the bench or, where nobody does that in time, by hand. The mutex is held.
func (w *Worker) makeSafe(now signal.Time) {
	if !w.alone {
		return
	}
	if w.opening {
		w.openRelay(now)
	}
	if w.open > 0 && now-w.since > mostOrphan {
		if w.lines != nil {
			_ = w.parts.makeSafe(w.lines) // the program ends, which is all that is left
		}
		w.link.exit(exitTripped)
	}
}

// openRelay tries to open the relay by hand. Through the character device a supervisor holds
// its lines for as long as it lives, and for a moment longer: one that stands still is
// killed for them, and they are tried again until they are had. The mutex is held.
func (w *Worker) openRelay(now signal.Time) {
	var err error
	if w.lines == nil {
		w.lines, err = w.parts.Open()
	}
	if err == nil {
		err = w.parts.openRelay(w.lines) // they are held from here on
	}
	switch busy := errors.Is(err, syscall.EBUSY); {
	case err == nil:
		w.opening = false
	case busy && !w.ended && !w.killed:
		w.killed = true
		w.link.kill()
		w.link.note("the interlock stands still and has the relay's line: it was killed for it")
	case now-w.since > mostAnswer:
		w.opening = false
		w.link.note(fmt.Sprintf("the relay cannot be opened: %v; pull the supply by hand", err))
	}
}
