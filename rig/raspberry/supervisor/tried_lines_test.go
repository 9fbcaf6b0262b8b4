package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// newTrying returns a supervisor and a worker that tries lines, board, stop contact and relay.
func newTrying(t *testing.T, proof bool) *paired {
	t.Helper()
	clock := &realtime.Manual{}
	clock.SleepUntil(5 * signal.Second)
	pair, log := onLog(t, clock, Settings{Parts: Parts{Safe: []Level{{driven, false}}}, Untested: true, Proof: proof, Confirmed: true})
	return &paired{Pair: pair, Lines: log, clock: clock, bench: &playedBench{clock: pair.Clock(), log: log}}
}

// try has the worker try its lines, which are the supervisor's bank.
func (p *paired) try(what func(l *TriedLines)) Ending {
	return p.Run(func(w *Worker) int {
		lines := p.worker.parts
		open, err := lines.Open()
		if err != nil {
			return 3
		}
		l := w.Try(open, lines)
		what(l)
		_ = l.Close()
		if w.Why() != "" {
			return exitTripped
		}
		return 0
	})
}

// beats has relay and heartbeat tried until something ends it, or until a time.
func (p *paired) beats(until signal.Time) Ending {
	return p.try(func(l *TriedLines) {
		for p.err = l.Prove(interlock.Proof{Relay: true, Beats: true}); p.err == nil && p.clock.Now() < at(until); p.err = l.Alive() {
			l.Clock().SleepUntil(p.clock.Now() + ms)
		}
		if p.err == nil {
			p.err = l.Prove(interlock.Proof{})
		}
	})
}

// safe holds that all is safe at the end, the relay having closed once and been open from a
// moment on, and nothing having beaten from another on.
func (p *paired) safe(t *testing.T, open, still signal.Time) {
	t.Helper()
	for _, gpio := range []int{pairPins.Relay, pairPins.Heartbeat, driven} {
		assert.False(t, p.Lines.High(gpio), "GPIO%d", gpio)
	}
	assert.Equal(t, 1, p.rises(pairPins.Relay, 0), "the relay closes once")
	assert.LessOrEqual(t, p.last(pairPins.Relay).At-at(0), open, "the relay opens")
	assert.Zero(t, p.rises(pairPins.Heartbeat, at(still)+1), "the heartbeat rises after %v", still)
	assert.Greater(t, len(p.Lines.Changes(pairPins.Heartbeat)), 20, "it did beat")
}

// While relay and heartbeat are tried each way out opens the relay, stops the heartbeat, and
// leaves both for good.
func TestEveryWayOutOfProving(t *testing.T) {
	const when = 100 * ms
	for _, test := range []struct {
		name        string
		happens     func(p *paired) // at when
		exclusive   bool            // lines are held as through the character device
		why         string          // the supervisor's reason; empty where it was killed or did not trip
		mine        string          // the worker's
		open, still signal.Time     // the relay opens and the heartbeat stops by then
		how         string          // the worker ended
	}{
		{"nothing", func(*paired) {}, false, "", "", 403 * ms, 403 * ms, "exit status 0"},
		{"the worker is killed", func(p *paired) { p.Kill(TheWorker) }, false, "the worker died", "", when + ms, when, "signal: killed"},
		{"the supervisor is killed", func(p *paired) { p.Kill(TheSupervisor) }, false, "", "the supervisor died", when + ms, when, "exit status 4"},
		{"the supervisor is killed and its lines are given back later", func(p *paired) { p.Kill(TheSupervisor) }, true, "", "the supervisor died", when + 4*ms, when, "exit status 4"},
		{"the worker stands still", func(p *paired) { p.Stall(TheWorker, at(when), 30*ms) }, false, "no message from the worker for 2", "no message from the worker for 2", when + 23*ms, when + 13*ms, "exit status 4"},
		{"the supervisor stands still", func(p *paired) { p.Stall(TheSupervisor, at(when), 25*ms) }, false, "the interlock itself stood still for 2", "the interlock itself", when + 26*ms, when, "exit status 4"},
		{"the supervisor stands still for long", func(p *paired) { p.Stall(TheSupervisor, at(when), signal.Second) }, true, "no message from the interlock for 5", "no message from the interlock for 5", when + 60*ms, when, "exit status 4"},
		{"Ctrl-C", func(p *paired) { p.Ask("Ctrl-C") }, false, "Ctrl-C", "Ctrl-C", when + ms, when, "exit status 4"},
		{"the terminal is closed", func(p *paired) { p.Ask("the terminal was closed") }, false, "the terminal was closed", "the terminal was closed", when + ms, when, "exit status 4"},
		{"stop contact", func(p *paired) { p.Lines.Set(pairPins.Stop, false) }, false, "the stop contact opened", "the stop contact opened", when + ms, when, "exit status 4"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := newTrying(t, true)
			p.Lines.Exclusive = test.exclusive
			p.clock.At(at(when), func() { test.happens(p) })
			ending := p.beats(400 * ms)
			if test.name != "the supervisor stands still for long" { // then the worker kills it
				assert.Contains(t, ending.Why, test.why)
				assert.Equal(t, test.why != "", ending.Tripped, ending.Why)
			}
			assert.Contains(t, p.worker.Why(), test.mine)
			assert.Equal(t, test.how, ending.Worker)
			p.safe(t, test.open, test.still)
		})
	}
}

// A worker that waits for a person and does not say meanwhile that it is alive is one that
// stands still, however well its program runs.
func TestAStageThatHangsTripsWhileProving(t *testing.T) {
	p := newTrying(t, true)
	ending := p.try(func(l *TriedLines) {
		require.NoError(t, l.Prove(interlock.Proof{Relay: true, Beats: true}))
		for p.clock.Now() < at(50*ms) {
			l.Clock().SleepUntil(p.clock.Now() + ms)
			require.NoError(t, l.Alive())
		}
		l.Clock().SleepUntil(at(500 * ms)) // it still listens to its supervisor
		require.ErrorContains(t, l.Alive(), "the interlock tripped: no message from the worker")
		require.Error(t, l.Prove(interlock.Proof{Relay: true}), "for good")
	})
	assert.Equal(t, "no message from the worker for 21 ms", ending.Why)
	p.safe(t, 75*ms, 65*ms)
}

// With relay and heartbeat off nobody is hurried: a person may take a minute.
func TestAPersonMayTakeTimeWhileAllIsLow(t *testing.T) {
	p := newTrying(t, true)
	ending := p.try(func(l *TriedLines) {
		require.NoError(t, l.Prove(interlock.Proof{Relay: true}))
		require.NoError(t, l.Prove(interlock.Proof{}))
		p.Lines.Set(pairPins.Stop, false)
		l.Clock().SleepUntil(at(40 * signal.Second))
		high, err := l.Read(pairPins.Stop)
		require.NoError(t, err)
		require.False(t, high, "it is told of the contact")
		require.ErrorContains(t, l.Prove(interlock.Proof{Relay: true}), "the stop contact is open")
		require.NoError(t, l.Prove(interlock.Proof{Relay: true, Beats: true, Open: true}), "to see that the contact cuts by itself")
		high, err = l.Read(pairPins.Relay)
		require.NoError(t, err)
		require.True(t, high)
	})
	assert.False(t, ending.Tripped, "closing opens the relay")
	assert.False(t, p.Lines.High(pairPins.Relay) || p.Lines.High(pairPins.Heartbeat))
}

// A worker that takes its leave with the relay closed has not ended in order.
func TestAWorkerThatLeavesWhileProvingTrips(t *testing.T) {
	p := newTrying(t, true)
	ending := p.Run(func(w *Worker) int {
		lines, err := p.worker.parts.Open()
		require.NoError(t, err)
		require.NoError(t, w.Try(lines, p.worker.parts).Prove(interlock.Proof{Relay: true, High: true}))
		assert.True(t, p.Lines.High(pairPins.Relay) && p.Lines.High(pairPins.Heartbeat))
		return 0
	})
	assert.Equal(t, "the worker died", ending.Why)
	assert.False(t, p.Lines.High(pairPins.Relay) || p.Lines.High(pairPins.Heartbeat))
}

// Lines are moved under the supervisor's eyes, those of the interlock by the supervisor alone, and are
// safe once the worker is gone, whether it made them so or not.
func TestLinesAreTriedUnderTheSupervisor(t *testing.T) {
	for _, test := range []struct {
		name, why string
		then      func(p *paired, l *TriedLines)
	}{
		{"well", "", func(*paired, *TriedLines) {}},
		{"it hangs", "no message from the worker for 21 ms", func(p *paired, l *TriedLines) { l.Clock().SleepUntil(p.clock.Now() + signal.Second) }},
		{"it dies", "the worker died", func(p *paired, l *TriedLines) { p.Kill(TheWorker); l.Clock().SleepUntil(p.clock.Now() + ms) }},
		{"the terminal is closed", "the terminal was closed", func(p *paired, l *TriedLines) {
			p.Ask("the terminal was closed")
			for end := p.clock.Now() + signal.Second; p.clock.Now() < end && l.Write(driven, true) == nil; {
				l.Clock().SleepUntil(p.clock.Now() + ms)
			}
			assert.Less(t, p.clock.Now(), at(300*ms), "its lines take no more")
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := newTrying(t, false)
			ending := p.try(func(l *TriedLines) {
				_ = l.Driving(func() {
					require.NoError(t, l.Output(driven, true))
					require.NoError(t, l.Output(pairPins.Relay, false), "it is low")
					require.ErrorContains(t, l.Output(pairPins.Relay, true), "the line is the interlock's")
					require.ErrorContains(t, l.Write(pairPins.Heartbeat, true), "the line is the interlock's")
					require.NoError(t, l.Input(pairPins.Stop, hostlines.PullDown))
					test.then(p, l)
				})
				if test.why == "" {
					require.ErrorContains(t, l.Prove(interlock.Proof{Relay: true}), "with somebody there")
				}
			})
			assert.Equal(t, test.why, ending.Why)
			assert.Empty(t, p.Lines.Changes(pairPins.Relay))
			assert.NotEmpty(t, p.Lines.Changes(driven))
			assert.False(t, p.Lines.High(driven))
		})
	}
}

// A worker that hangs with a line away from its safe level, its supervisor dead, makes it safe by
// hand in the end.
func TestTheLastResortActsOnTriedLines(t *testing.T) {
	p := newTrying(t, true)
	p.clock.At(at(50*ms), func() { p.Kill(TheSupervisor) })
	ending := p.try(func(l *TriedLines) {
		_ = l.Driving(func() {
			for p.clock.Now() < at(49*ms) {
				require.NoError(t, l.Write(driven, true))
				l.Clock().SleepUntil(p.clock.Now() + ms)
			}
			l.Clock().SleepUntil(at(60 * signal.Second))
		})
	})
	assert.Equal(t, "exit status 4", ending.Worker)
	assert.False(t, p.Lines.High(driven))
}

// What is tried begins with the stop contact open, as it may not be wired yet.
func TestAnOpenStopContactIsForReadyToFind(t *testing.T) {
	clock := &realtime.Manual{}
	lines := NewLineLog(clock)
	parts := Parts{Pins: pairPins, Open: lines.opener(TheSupervisor)}
	_, err := openLines(&parts, clock, true)
	require.NoError(t, err)
	_, err = openLines(&parts, clock, false)
	require.ErrorContains(t, err, "the stop contact is open")
}
