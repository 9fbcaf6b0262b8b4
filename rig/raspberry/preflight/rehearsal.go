package preflight

import (
	"errors"
	"sync"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Rehearsal is a bench in memory on which what stands before a run can be tried
// without a Pi: lines, a stop contact, and a relay behind a dead-man circuit. It is
// its own [Person]: asked to move the contact it does, asked for the lamp it looks.
// No board stands behind its lines. It may be used by several goroutines.
type Rehearsal struct {
	mu                     sync.Mutex
	wires                  pinout.Wires
	output                 uint32 // lines that are outputs
	asked                  uint32 // levels of outputs
	up                     uint32 // lines with a pull-up
	jumpers                [][2]int
	open                   bool // the stop contact
	clock                  realtime.Clock
	shared                 hostlines.Lines // where the levels are, which other programs have too; nil: here
	beatsOn                int             // the line on which the program beats
	beats, beatHigh        bool            // the heartbeat runs; its level as last seen
	beat                   signal.Time     // the last edge of the heartbeat; 0: none
	hold                   signal.Time
	faults                 []func(levels uint32) uint32 // what is wrong with it: lines shorted
	busy                   uint32                       // lines that another program has
	stopStays              bool                         // the stop contact never opens
	stuckOn, noDeadMan, by bool                         // relay sticks; dead-man relay left out; by: the stop contact is bypassed
	senseWrong, activeLow  bool                         // the input that sees the supply says the other; the relay closes at a low line
}

// NewRehearsal returns one for the bench that w wires.
func NewRehearsal(w *pinout.Wires) *Rehearsal {
	return &Rehearsal{wires: *w, beatsOn: w.Heartbeat, hold: 100 * signal.Millisecond, clock: realtime.System{}}
}

// On has time pass on another clock than the machine's. It is called before anything else.
func (r *Rehearsal) On(clock realtime.Clock) *Rehearsal {
	r.clock = clock
	return r
}

// Clock returns the clock on which time passes.
func (r *Rehearsal) Clock() realtime.Clock { return r.clock }

// In has the levels in a bank that other programs have too: relay and heartbeat are theirs,
// and the stop contact is where they see it. It is called before anything else.
func (r *Rehearsal) In(bank hostlines.Lines) *Rehearsal {
	r.shared = bank
	return r
}

// Jump lays a jumper from one line to another.
func (r *Rehearsal) Jump(from, to int) { r.jumpers = append(r.jumpers, [2]int{from, to}) }

var errTaken = errors.New("device or resource busy")

// Output makes a line an output.
func (r *Rehearsal) Output(gpio int, level bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	bit := uint32(1) << (gpio & 31)
	if r.busy&bit != 0 {
		return errTaken
	}
	r.output |= bit
	r.write(gpio, level)
	return nil
}

// Input makes a line an input.
func (r *Rehearsal) Input(gpio int, pull hostlines.Pull) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	bit := uint32(1) << (gpio & 31)
	if r.busy&bit != 0 {
		return errTaken
	}
	r.output &^= bit
	if r.up &^= bit; pull == hostlines.PullUp {
		r.up |= bit
	}
	return nil
}

// Write changes the level of an output.
func (r *Rehearsal) Write(gpio int, level bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.output>>(gpio&31)&1 == 0 {
		return errors.New("line is no output")
	}
	r.write(gpio, level)
	return nil
}

func (r *Rehearsal) write(gpio int, level bool) {
	before, bit := r.asked, uint32(1)<<(gpio&31)
	if r.asked &^= bit; level {
		r.asked |= bit
	}
	if r.shared != nil {
		_ = r.shared.Write(gpio, level) // it has every line
	}
	if gpio == r.wires.Heartbeat && r.asked != before {
		r.beat = r.clock.Now()
	}
}

// Prove has relay and heartbeat do what is said, where they are the rehearsal's own.
func (r *Rehearsal) Prove(p interlock.Proof) error {
	r.beats = p.Beats
	return errors.Join(r.Output(r.wires.Relay, p.Relay), r.Output(r.beatsOn, p.High))
}

// Alive has the heartbeat of a rehearsal's own go on.
func (r *Rehearsal) Alive() error {
	if !r.beats {
		return nil
	}
	return r.Write(r.beatsOn, r.asked>>(r.beatsOn&31)&1 == 0)
}

// Look looks at a heartbeat that another program keeps going. It is called every millisecond
// while that matters.
func (r *Rehearsal) Look() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if high, _ := r.shared.Read(r.wires.Heartbeat); high != r.beatHigh {
		r.beatHigh, r.beat = high, r.clock.Now()
	}
}

// Read reads a line.
func (r *Rehearsal) Read(gpio int) (bool, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if gpio != 0 && gpio == r.wires.Supply && r.shared == nil {
		return r.powered() != r.senseWrong, nil
	}
	return r.level()>>(gpio&31)&1 == 1, nil
}

// level works out all lines: outputs, pulls, contact, then what joins them.
func (r *Rehearsal) level() uint32 {
	asked := r.asked
	if r.shared != nil {
		asked = 0
		for gpio := range 32 {
			if high, _ := r.shared.Read(gpio); high { // it has every line
				asked |= 1 << gpio
			}
		}
	}
	l := asked&r.output | r.up&^r.output
	if stop := uint32(1) << (r.wires.Stop & 31); r.wires.Stop > 0 && r.output&stop == 0 && !r.open {
		l |= stop
	}
	for _, j := range r.jumpers {
		if l>>j[0]&1 == 1 {
			l |= 1 << j[1]
		}
	}
	for _, fault := range r.faults {
		l = fault(l)
	}
	return l
}

// Close gives the lines back.
func (r *Rehearsal) Close() error { return nil }

// MoveStop opens or closes the stop contact.
func (r *Rehearsal) MoveStop(open bool) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.open = open && !r.stopStays
	if r.shared != nil {
		return r.shared.Write(r.wires.Stop, !r.open)
	}
	return nil
}

// Powered says whether the motors' supply is on: relay line high, an edge of the
// heartbeat less than 100 ms ago, stop contact closed.
func (r *Rehearsal) Powered() (bool, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.powered(), nil
}

func (r *Rehearsal) powered() bool {
	relay := r.asked&r.output>>(r.wires.Relay&31)&1 == 1
	if r.shared != nil {
		relay, _ = r.shared.Read(r.wires.Relay)
	}
	beats := r.noDeadMan || r.beat > 0 && r.clock.Now()-r.beat < r.hold
	return r.stuckOn || (relay != r.activeLow) && beats && (r.by || !r.open)
}
