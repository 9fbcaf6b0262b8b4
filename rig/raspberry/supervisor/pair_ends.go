package supervisor

import (
	"fmt"

	"hilrig/rig/signal"
)

// pairedPeer is the worker of a Pair as the supervisor reaches it.
type pairedPeer Pair

func (p *pairedPeer) hear(dst []byte) (n int, ended bool) {
	n = copy(dst, p.messages)
	p.messages = p.messages[n:]
	return n, n == 0 && p.side[TheWorker].dead
}

func (p *pairedPeer) tell(command []byte) { p.commands = append(p.commands, command...) }
func (p *pairedPeer) endCommands()        { p.commandsEnded = true }
func (p *pairedPeer) kill()               { (*Pair)(p).Kill(TheWorker) }
func (p *pairedPeer) gone() bool          { return p.side[TheWorker].dead }

// pairedLink is the supervisor of a Pair as the worker reaches it.
type pairedLink Pair

func (p *pairedLink) say(message []byte) { p.messages = append(p.messages, message...) }

func (p *pairedLink) hear(dst []byte) (n int, ended bool) {
	n = copy(dst, p.commands)
	p.commands = p.commands[n:]
	return n, n == 0 && (p.commandsEnded || p.side[TheSupervisor].dead)
}

func (p *pairedLink) kill()            { (*Pair)(p).Kill(TheSupervisor) }
func (p *pairedLink) exit(code int)    { (*Pair)(p).die(TheWorker, exitStatus(code), code) }
func (p *pairedLink) note(text string) { p.notes = append(p.notes, text) }

func exitStatus(code int) string { return fmt.Sprintf("exit status %d", code) }

// workerClock is the clock of a Pair's worker.
type workerClock Pair

// Now returns the time.
func (p *workerClock) Now() signal.Time { return p.clock.Now() }

// SleepUntil lets time pass until t, and for as long as the worker stands still then.
func (p *workerClock) SleepUntil(t signal.Time) {
	p.clock.SleepUntil(t)
	for s := p.side[TheWorker]; ; {
		next, runs := s.runs(p.clock.Now())
		switch {
		case s.dead:
			panic(dies{})
		case runs:
			return
		}
		p.clock.SleepUntil(next)
	}
}

// ByHand says that the clock is brought forward by hand.
func (p *workerClock) ByHand() {}
