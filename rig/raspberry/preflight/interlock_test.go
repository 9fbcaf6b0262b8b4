package preflight

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

func TestStopInput(t *testing.T) {
	tests := []struct {
		name, says string
		grade      Grade
		fault      func(*Rehearsal)
	}{
		{"all well", "was closed, opened and closed again", Well, func(*Rehearsal) {}},
		{"never closes", "low with the contact closed", Wrong, func(r *Rehearsal) { r.heldLow(1 << r.wires.Stop) }},
		{"never opens", "stays high", Wrong, func(r *Rehearsal) { r.stopStays = true }},
		{"held high", "stays high", Wrong, func(r *Rehearsal) { r.heldHigh(1 << r.wires.Stop) }},
		{"another program has it", "busy", Wrong, func(r *Rehearsal) { r.busy = 1 << r.wires.Stop }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := wired(t)
			r := rehearsing(w)
			tt.fault(r)
			f := TryStop(r, w, r, 60*ms)
			assert.Equal(t, tt.grade, f.Grade)
			assert.Contains(t, f.Says, tt.says)
			sound(t, []Result{f})
		})
	}
	t.Run("does not close again", func(t *testing.T) {
		w := wired(t)
		r := rehearsing(w)
		f := TryStop(r, w, &latched{r}, 60*ms)
		assert.Contains(t, f.Says, "closed again")
		assert.Equal(t, Wrong, f.Grade)
	})
	t.Run("nobody there", func(t *testing.T) {
		w := wired(t)
		f := TryStop(rehearsing(w), w, absent{}, signal.Second)
		assert.Equal(t, Result{"stop input", NotTried, "nobody there", ""}, f)
	})
}

// rehearsing is a rehearsal on a clock of the test's.
func rehearsing(w *pinout.Wires) *Rehearsal {
	clock := new(realtime.Manual)
	clock.SleepUntil(signal.Second) // as a machine's, which does not begin at 0
	return NewRehearsal(w).On(clock)
}

// heldLow shorts lines to ground.
func (r *Rehearsal) heldLow(lines uint32) {
	r.faults = append(r.faults, func(levels uint32) uint32 { return levels &^ lines })
}

// heldHigh shorts lines to the supply.
func (r *Rehearsal) heldHigh(lines uint32) {
	r.faults = append(r.faults, func(levels uint32) uint32 { return levels | lines })
}

// bridge joins two lines.
func (r *Rehearsal) bridge(a, b int) {
	r.faults = append(r.faults, func(levels uint32) uint32 {
		if (levels>>a|levels>>b)&1 == 1 {
			levels |= 1<<a | 1<<b
		}
		return levels
	})
}

// latched is a button that stays in once it was pressed.
type latched struct{ *Rehearsal }

func (l *latched) MoveStop(open bool) error {
	if open {
		return l.Rehearsal.MoveStop(true)
	}
	return nil
}

type absent struct{}

func (absent) MoveStop(bool) error    { return errors.New("nobody there") }
func (absent) Powered() (bool, error) { return false, errors.New("nobody there") }

// tryRelay is TryRelay with a lamp that is quick.
func tryRelay(lines Circuit, w *pinout.Wires, who Person) []Result {
	t := relayTest{lines: lines, wires: w, who: who, settles: 120 * ms}
	return t.try()
}

// Each row is one way in which the circuit can be wrong, and the check that has to
// find it, behind which nothing is tried any more.
func TestRelayFindsWhatIsWrongWithTheCircuit(t *testing.T) {
	tests := []struct {
		name, wrong string
		checks      int
		fault       func(*Rehearsal)
	}{
		{"all well", "", 7, func(*Rehearsal) {}},
		{"relay sticks", "supply at rest", 1, func(r *Rehearsal) { r.stuckOn = true }},
		{"no dead-man relay", "relay without heartbeat", 2, func(r *Rehearsal) { r.noDeadMan = true }},
		{"the sense says the other", "supply at rest", 1, func(r *Rehearsal) { r.senseWrong = true }},
		{"closes at a low line", "relay with heartbeat", 4, func(r *Rehearsal) { r.activeLow = true }},
		{"a broken heartbeat wire", "relay with heartbeat", 4, func(r *Rehearsal) { r.wires.Heartbeat = 30 }},
		{"holds too long", "heartbeat stuck high", 3, func(r *Rehearsal) { r.hold = 10 * signal.Second }},
		{"stop contact bypassed", "stop contact opened", 6, func(r *Rehearsal) { r.by = true }},
		{"another program has the relay", "supply at rest", 1, func(r *Rehearsal) { r.busy = 1 << r.wires.Relay }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			w := wired(t)
			r := rehearsing(w)
			require.NoError(t, r.Input(w.Stop, hostlines.PullDown))
			tt.fault(r)
			found := tryRelay(r, w, r)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Len(t, found, tt.checks)
			assert.Zero(t, r.asked&(bit(w, "relay")|bit(w, "heartbeat")), "both end low")
		})
	}
	t.Run("a relay that lets go of nothing", func(t *testing.T) {
		t.Parallel()
		w := wired(t)
		r := rehearsing(w)
		require.NoError(t, r.Input(w.Stop, hostlines.PullDown))
		found := tryRelay(r, w, &welded{Rehearsal: r})
		assert.Equal(t, "relay line low", grades(found, Wrong))
	})
	t.Run("nobody there", func(t *testing.T) {
		w := wired(t)
		found := TryRelay(rehearsing(w), w, absent{})
		assert.Equal(t, []Result{{"supply at rest", NotTried, "nobody there", ""}}, found)
	})
}

// welded is a relay whose line no longer counts once it has closed twice, as long as
// the heartbeat runs.
type welded struct {
	*Rehearsal
	closed int
}

func (w *welded) Powered() (bool, error) {
	on, err := w.Rehearsal.Powered()
	if on {
		w.closed++
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	return on || w.closed >= 1 && !w.open && w.clock.Now()-w.beat < w.hold, err
}

// careful is a person who looks at the lines before touching the contact.
type careful struct {
	*Rehearsal
	moved, on int
}

func (c *careful) MoveStop(open bool) error {
	c.moved++
	if c.asked&(1<<c.wires.Relay|1<<c.wires.Heartbeat) != 0 {
		c.on++
	}
	return c.Rehearsal.MoveStop(open)
}

// A person may take a minute to reach the contact: relay and heartbeat are low meanwhile.
func TestAllIsLowWhileTheContactIsMoved(t *testing.T) {
	w := wired(t)
	who := &careful{Rehearsal: rehearsing(w)}
	require.NoError(t, who.Input(w.Stop, hostlines.PullDown))
	assert.Empty(t, grades(tryRelay(who.Rehearsal, w, who), Wrong))
	assert.Equal(t, 2, who.moved)
	assert.Zero(t, who.on)
}
