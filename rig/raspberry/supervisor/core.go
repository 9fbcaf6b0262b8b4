package supervisor

import (
	"errors"
	"fmt"
	"strconv"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// peer is a worker as its supervisor reaches it. No method waits.
type peer interface {
	// hear takes what the worker has said since. Ended says that it says no more.
	hear(dst []byte) (n int, ended bool)
	// tell gives the worker a command, endCommands says that there will be no more.
	tell(command []byte)
	endCommands()
	kill()
	gone() bool
}

// core is what a supervisor does, without processes, pipes and signals: those are its shell's.
// The shell calls step every millisecond until it says that it is over. It is used by
// one goroutine.
type core struct {
	Settings
	clock realtime.Clock
	lines hostlines.Lines
	peer  peer
	lock  *interlock.Interlock

	now           signal.Time
	asked         []string // by what somebody wants it to end
	relay         bool     // closed, as written
	beat          bool     // level of the heartbeat, as written
	exiting       bool     // the worker ends by itself
	heard         signal.Time
	alive         signal.Time   // when the worker was last told that the supervisor does its work
	idled         bool          // the worker was told to idle
	commandsEnded bool          // the worker was told to end
	went          bool          // it has been live
	finished      bool          // the worker is gone, and all is safe
	waits         []messageKind // what the worker asked for, and waits for an answer to
	spoke         bool          // it has said something since it was told to end
	killAt        signal.Time   // the worker is killed then; 0: not
	buffer        [256 * messageSize]byte
	partial       int
	stood         signal.Time // for how long the supervisor stood still at worst, as the worker was told
	failed        error       // a line is not as it should be
}

// newCore returns a supervisor whose lines are open and safe.
func newCore(s Settings, clock realtime.Clock, lines hostlines.Lines) *core {
	c := &core{Settings: s, clock: clock, lines: lines}
	supply := s.Supply
	supply.Wired = s.Pins.Supply != 0
	c.lock = interlock.New(interlock.Settings{Supply: supply, Power: s.Power, Wired: s.Pins.Wired(), Tested: s.Tested, Rotation: s.Rotation, Trial: s.Trial, Untested: s.Untested, Proof: s.Proof})
	if s.Confirmed {
		c.lock.Confirm()
	}
	return c
}

// ask notes that somebody wants it to end, for the next step.
func (c *core) ask(how string) { c.asked = append(c.asked, how) }

// step does what is to be done now. It is over once the worker is gone and all is safe.
func (c *core) step() (over bool) {
	c.now = c.clock.Now()
	c.lock.Awake(c.now)
	if c.peer.gone() {
		return c.end()
	}
	if c.Found != "" {
		c.tell(commandFound, c.Found)
		c.Found = ""
	}
	c.look()
	c.lock.Pass(c.now)
	c.act()
	c.reportStandstill()
	c.answer()
	c.commandWorker()
	return false
}

// reportStandstill reports to the worker, which writes the record, for how long the supervisor itself
// stood still at worst.
func (c *core) reportStandstill() {
	if s := c.lock.Stood(); s > c.stood {
		c.stood = s
		c.tell(commandStood, strconv.FormatInt(int64(s), 10))
	}
}

// look takes in what happened since the last step.
func (c *core) look() {
	if pin := c.Pins.Stop; pin != 0 {
		closed, err := c.lines.Read(pin)
		switch {
		case err != nil:
			c.lock.Failed(c.now, "the stop input cannot be read: "+err.Error())
		case !closed:
			c.lock.StopOpened(c.now)
		default:
			c.lock.StopClosed()
		}
	}
	c.seeSupply()
	c.read()
	for _, how := range c.asked {
		if _, idling := c.lock.Idling(); idling {
			c.lock.Failed(c.now, how) // a second time: at once
		}
		if c.lock.State() == interlock.Tripped && c.killAt != 0 {
			c.killAt = c.now
		}
		c.lock.AskedToEnd(c.now, how)
	}
	c.asked = c.asked[:0]
}

// act does what the interlock decides: the relay first.
func (c *core) act() {
	if c.lock.HeartbeatAllowed() || c.lock.HeartbeatHigh() || c.lock.RelayClosed() && !c.relay {
		// Between the step's beginning and here the whole process may have been stopped.
		c.now = c.clock.Now()
		c.lock.Pass(c.now)
	}
	c.openIfDenied()
	beats, high := c.lock.HeartbeatAllowed(), c.lock.HeartbeatHigh()
	if c.Pins.Heartbeat != 0 && (beats || c.beat != high) {
		c.beat = high || beats && !c.beat
		c.write("heartbeat", c.Pins.Heartbeat, c.beat)
	}
	if c.lock.RelayClosed() && !c.relay {
		c.relay = true
		c.write("relay", c.Pins.Relay, true)
	}
	c.openIfDenied() // a line may have failed
}

// openIfDenied opens the relay where it is no longer to be closed.
func (c *core) openIfDenied() {
	if c.relay && !c.lock.RelayClosed() {
		c.relay = false
		c.write("relay", c.Pins.Relay, false)
	}
}

// write writes a line of the supervisor's own.
func (c *core) write(name string, pin int, level bool) {
	if err := c.lines.Write(pin, level); err != nil {
		c.failed = errors.Join(c.failed, fmt.Errorf("%s: %w", name, err))
		c.lock.Failed(c.now, name+": "+err.Error())
	}
}

// answer tells a worker that waits what has come of what it wants.
func (c *core) answer() {
	waits := c.waits
	c.waits = c.waits[:0]
	for _, want := range waits {
		why, _ := c.lock.Trip()
		switch {
		case want == messageGone && c.lock.Watching() && c.lock.State() != interlock.Tripped:
			c.waits = append(c.waits, want)
		case want == messageGone:
			c.tell(commandGone, "")
		case want == messageLeave:
			c.tell(commandOpen, "")
		case want == messageLook:
			c.reportLevels()
		case c.lock.State() == interlock.Tripped, want == messageLive && c.lock.AtRest(): // at once
			c.tell(commandDenied, "the interlock tripped: "+why)
		case want == messageProve:
			c.tell(commandProved, "")
		default:
			c.went = true
			c.tell(commandGranted, "")
		}
	}
}

// reportLevels sends the worker the levels of the supervisor's lines.
func (c *core) reportLevels() {
	levels := []byte("0000")
	for i, pin := range c.Pins.own() {
		if pin == 0 {
			continue
		}
		high, err := c.lines.Read(pin)
		if err != nil {
			c.tell(commandDenied, err.Error())
			return
		}
		if high {
			levels[i] = '1'
		}
	}
	c.tell(commandLevels, string(levels))
}

// commandWorker tells the worker what it has to do, and kills one that does not.
func (c *core) commandWorker() {
	why, _ := c.lock.Trip()
	if _, idling := c.lock.Idling(); idling && !c.idled {
		c.idled = true
		c.tell(commandIdle, why)
	}
	if c.lock.State() == interlock.Tripped && !c.commandsEnded {
		c.killAt = c.now + mostSafe
		if c.now-c.heard > interlock.MostSilence && c.heard != 0 {
			c.killAt = c.now + lastReport
		}
		c.tell(commandTripped, why)
		c.peer.endCommands()
		c.commandsEnded = true
	}
	if c.killAt != 0 && c.now >= c.killAt {
		c.killAt = 0
		c.peer.kill()
	}
	if c.now-c.alive >= aliveEvery {
		c.alive = c.now
		c.tell(commandAlive, "")
	}
}

// tell gives the worker a command, unless it was ordered to end.
func (c *core) tell(kind commandKind, text string) {
	if !c.commandsEnded {
		c.peer.tell(kind.put(text))
	}
}

// end makes all safe once the worker is gone, and looks on until the motors' supply was seen to go
// or is known not to: it is over then, or when somebody asks for it.
func (c *core) end() (over bool) {
	if !c.finished {
		c.finish()
		c.finished, c.asked = true, nil
	}
	c.seeSupply()
	if len(c.asked) > 0 {
		c.lock.Unwatched()
	}
	return !c.lock.Watching()
}

// seeSupply looks whether the motors have their supply.
func (c *core) seeSupply() {
	pin := c.Pins.Supply
	if pin == 0 {
		return
	}
	on, err := c.lines.Read(pin)
	if err != nil {
		c.lock.Failed(c.now, "the input that sees the motors' supply cannot be read: "+err.Error())
		c.lock.Unwatched()
		return
	}
	c.lock.SupplySeen(c.now, on)
}

// finish makes all safe once the worker is gone: its last messages first, the relay
// before the lines.
func (c *core) finish() {
	c.read()
	if !c.exiting || !c.lock.AtRest() {
		c.lock.WorkerGone(c.now)
	}
	c.act()
	if !c.commandsEnded {
		c.peer.endCommands()
	}
	c.failed = errors.Join(c.failed, c.openRelay(c.lines))
	if c.went || c.lock.State() == interlock.Tripped {
		c.failed = errors.Join(c.failed, c.makeSafe(c.lines))
	}
}

// ending returns how it ended, but for the worker's own end.
func (c *core) ending() Ending {
	why, _ := c.lock.Trip()
	welded, unjudged := c.lock.Welded()
	return Ending{Tripped: c.lock.State() == interlock.Tripped, Why: why, Stood: c.lock.Stood(), Welded: welded, Unjudged: unjudged, Fell: c.lock.Fell()}
}
