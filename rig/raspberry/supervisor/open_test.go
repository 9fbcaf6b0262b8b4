package supervisor

import (
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// What a run leaves whose processes were both killed is made safe by the next start: the
// relay first, and what is safe is not touched.
func TestLeftoversAreMadeSafe(t *testing.T) {
	const idleHigh, idleLow = 10, 9
	parts := Parts{Pins: pairPins, Safe: []Level{{idleLow, false}, {idleHigh, true}}}
	for _, test := range []struct {
		name string
		high []int
		want string
	}{
		{"nothing", []int{idleHigh}, ""},
		{"a machine just started", nil, ""},
		{"relay", []int{pairPins.Relay, idleHigh}, "relay on GPIO22"},
		{"heartbeat", []int{pairPins.Heartbeat, idleHigh}, "heartbeat on GPIO27"},
		{"all", []int{pairPins.Relay, pairPins.Heartbeat, idleLow}, "relay on GPIO22, heartbeat on GPIO27, GPIO9"},
	} {
		t.Run(test.name, func(t *testing.T) {
			clock := &realtime.Manual{}
			log := NewLineLog(clock)
			for _, pin := range test.high {
				log.Set(pin, true)
			}
			before := len(log.changes)
			parts.Open = log.opener(TheSupervisor)
			found, err := parts.tidy(clock)
			require.NoError(t, err)
			if test.want == "" {
				assert.Empty(t, found)
				assert.Len(t, log.changes, before, "no line was changed")
				return
			}
			assert.Equal(t, "an earlier run had left lines high, and they were made safe: "+test.want, found)
			assert.False(t, log.High(pairPins.Relay) || log.High(pairPins.Heartbeat) || log.High(idleLow))
			assert.True(t, log.High(idleHigh))
			if log.Changes(pairPins.Relay) != nil {
				assert.Equal(t, pairPins.Relay, log.changes[before].GPIO, "the relay first")
			}
		})
	}
}

// Through the character device the lines of a supervisor that just died are busy for a moment.
func TestALineThatIsHeldIsTriedAgain(t *testing.T) {
	for _, test := range []struct {
		freed signal.Time
		had   bool
	}{{100 * ms, true}, {3 * signal.Second, false}} {
		clock := &realtime.Manual{}
		log := NewLineLog(clock)
		log.Exclusive = true
		log.Set(pairPins.Stop, true)
		other := &pairedLines{log, TheWorker}
		require.NoError(t, other.Output(pairPins.Relay, true))
		clock.At(test.freed, func() { log.giveBack(TheWorker) })
		parts := Parts{Pins: pairPins, Open: log.opener(TheSupervisor)}
		_, err := openLines(&parts, clock, false)
		if !test.had {
			require.ErrorIs(t, err, syscall.EBUSY)
			continue
		}
		require.NoError(t, err)
		assert.False(t, log.High(pairPins.Relay))
	}
}

// The worker is told, for its record.
func TestAWorkerHearsOfLeftovers(t *testing.T) {
	clock := &realtime.Manual{}
	pair, _ := onLog(t, clock, Settings{Power: interlock.SignalsOnly, Confirmed: true, Found: "the relay was closed"})
	pair.Run(func(w *Worker) int {
		require.NoError(t, w.Live())
		assert.Equal(t, "the relay was closed", w.Found())
		w.Leave()
		return 0
	})
}
