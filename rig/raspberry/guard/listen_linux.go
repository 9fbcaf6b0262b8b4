package guard

import (
	"errors"

	"golang.org/x/sys/unix"
)

// read takes in the words that the worker has said. One whose pipe has an end is as
// good as dead.
func (g *guard) read() {
	for {
		n, err := unix.Read(g.words, g.buffer[g.partial:])
		switch {
		case errors.Is(err, unix.EINTR):
			continue
		case err != nil: // nothing said yet
			return
		case n == 0:
			if !g.bye && !g.lock.LinesSafe() {
				g.lock.WorkerGone(g.now)
			}
			return
		}
		n += g.partial
		at := 0
		for ; n-at >= wordSize; at += wordSize {
			g.word(g.buffer[at : at+wordSize])
		}
		g.partial = copy(g.buffer[:], g.buffer[at:n])
	}
}

// word takes one word in.
func (g *guard) word(src []byte) {
	kind, at, err := wordOf(src)
	if err != nil {
		g.lock.Failed(g.now, err.Error())
		return
	}
	at = min(at, g.now)
	g.heard = max(g.heard, at)
	if g.killAt != 0 && !g.spoke { // it only stood still for a while
		g.spoke = true
		g.killAt = max(g.killAt, g.now+mostSafe)
	}
	switch kind {
	case wordFed:
		g.lock.Fed(at)
	case wordLive:
		g.goLive()
	case wordBegin:
		_ = g.lock.Begin() // while it idles the worker plays on, to nobody's harm
	case wordLeave:
		g.lock.Leave(g.now)
		g.act()
		g.tell(orderOpen, "")
	case wordClosed:
		if g.killAt != 0 {
			g.killAt = max(g.killAt, g.now+mostEnding)
		}
	case wordSilent:
		g.lock.BoardSilent(g.now)
	case wordLimit:
		g.lock.MotorLimit(g.now)
	case wordLost:
		g.lock.TimingLost(g.now)
	case wordBye:
		g.bye = true
	}
}

// goLive answers a worker that wants to go live.
func (g *guard) goLive() {
	if err := g.lock.GoLive(g.now); err != nil {
		g.tell(orderRefused, err.Error())
		return
	}
	g.went = true
	g.act()
	g.tell(orderGranted, "")
}
