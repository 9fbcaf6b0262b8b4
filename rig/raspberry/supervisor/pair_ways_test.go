package supervisor

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

// Each way out, to the millisecond.
func TestEveryWayOutOnAClock(t *testing.T) {
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
		{"nothing", func(*paired) {}, false, "", "", 401 * ms, 401 * ms, "exit status 0"},
		{"the worker is killed", func(p *paired) { p.Kill(TheWorker) }, false, "the worker died", "", when + ms, when, "signal: killed"},
		{"the supervisor is killed", func(p *paired) { p.Kill(TheSupervisor) }, false, "", "the supervisor died", when + ms, when, "exit status 4"},
		{"the supervisor is killed and its lines are given back later", func(p *paired) { p.Kill(TheSupervisor) }, true, "", "the supervisor died", when + 4*ms, when, "exit status 4"},
		{"the supervisor stands still and holds its lines", func(p *paired) { p.Stall(TheSupervisor, at(when), signal.Second) }, true, "", "no message from the interlock for 5", when + 60*ms, when, "exit status 4"},
		{"Ctrl-C", func(p *paired) { p.Ask("Ctrl-C") }, false, "Ctrl-C", "Ctrl-C", when + 3*ms, when + 3*ms, "exit status 4"},
		{"stop contact", func(p *paired) { p.Lines.Set(pairPins.Stop, false) }, false, "the stop contact opened", "the stop contact opened", when + ms, when, "exit status 4"},
		{"a line that cannot be written", func(p *paired) { p.Lines.Broken = pairPins.Heartbeat }, false, "heartbeat: ", "heartbeat: ", when + 3*ms, when + ms, "exit status 4"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := newPaired(t, interlock.WheelsOffGround)
			p.Lines.Exclusive = test.exclusive
			p.clock.At(at(when), func() { test.happens(p) })
			ending := p.play(400 * ms)
			assert.Contains(t, ending.Why, test.why)
			assert.Equal(t, test.why != "", ending.Tripped, ending.Why)
			assert.Contains(t, p.worker.Why(), test.mine)
			assert.Equal(t, test.how, ending.Worker)
			p.Lines.Set(p.Lines.Broken, false) // nobody can help that it stays as it was
			p.ends(t, test.open, test.still)
			opened, safe := p.last(pairPins.Relay).At, p.last(driven).At
			assert.GreaterOrEqual(t, safe, opened, "the relay opens before the lines are safe")
		})
	}
}

// At signals_only there is nothing to take away: that the supervisor stood still is only reported,
// unless nobody heard of it for so long that the stop contact went unwatched.
func TestAStandstillWithoutPower(t *testing.T) {
	for _, test := range []struct {
		long    signal.Time
		stood   signal.Time
		tripped bool
	}{{18 * ms, 0, false}, {40 * ms, 41 * ms, false}, {80 * ms, 81 * ms, true}} {
		p := newPaired(t, interlock.SignalsOnly)
		p.Stall(TheSupervisor, at(100*ms), test.long)
		ending := p.play(400 * ms)
		assert.Equal(t, test.stood, ending.Stood)
		if !test.tripped {
			assert.Equal(t, test.stood, p.worker.SupervisorStood(), "the record is written by the worker")
		}
		assert.Equal(t, test.tripped, ending.Tripped, ending.Why)
		p.ends(t, 0, 0)
	}
}

// A worker that does not end after a trip is killed: in 50 ms where it has been silent, in
// a second where it spoke.
func TestAWorkerThatPlaysOnIsKilled(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	p.clock.At(at(100*ms), func() { p.Lines.Set(pairPins.Stop, false) })
	ending := p.Run(func(w *Worker) int {
		bench := w.Bench(p.bench, nil)
		for {
			_ = bench.Wait(p.clock.Now() + ms)
			w.Feed()
			p.Clock().SleepUntil(p.clock.Now() + ms)
			_ = bench.Drive([]signal.Edge{{}}, p.clock.Now())
		}
	})
	assert.Equal(t, Ending{Tripped: true, Why: "the stop contact opened", Code: -1, Worker: "signal: killed"}, ending)
	p.ends(t, 100*ms, 100*ms)
	assert.InDelta(t, float64(at(1100*ms)), float64(p.clock.Now()), float64(5*ms))
	assert.LessOrEqual(t, p.bench.drove[len(p.bench.drove)-1], at(102*ms), "the bench takes nothing after a trip")
	assert.LessOrEqual(t, p.bench.waits[len(p.bench.waits)-1], at(103*ms), "and plays nothing")
}

// A wait that was begun before the trip and ends after it is no success: whoever plays
// would go on, and what it says would pass for a message of a worker that keeps time.
func TestAWaitThatSeesATripFails(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	p.clock.At(at(100*ms), func() { p.Lines.Set(pairPins.Stop, false) })
	p.Run(func(w *Worker) int {
		bench := w.Bench(p.bench, nil)
		for tick := at(ms); ; tick += ms {
			before := len(p.bench.waits)
			err := bench.Wait(tick)
			require.Len(t, p.bench.waits, before+1, "it fails as soon as its time has come, not a wait later")
			if err != nil {
				require.EqualError(t, err, "the interlock tripped: the stop contact opened")
				require.EqualError(t, bench.Wait(tick+ms), "the interlock tripped: the stop contact opened")
				require.Len(t, p.bench.waits, before+1, "and then at once")
				break
			}
			require.NoError(t, bench.Drive([]signal.Edge{{}}, tick))
		}
		assert.False(t, p.Lines.High(driven), "what was handed over is dropped")
		bench.Close()
		return exitTripped
	})
}

// Only a wait in which all was played says that the worker keeps time: one that takes what
// was captured and never waits has stalled its wires.
func TestOnlyAWaitFeeds(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	var taken []signal.Edge
	p.each = func(b rig.Bench) (err error) {
		if p.clock.Now() < at(100*ms) {
			return b.Wait(p.clock.Now() + ms)
		}
		p.Clock().SleepUntil(p.clock.Now() + ms)
		taken, err = b.Captured(taken[:0])
		return err
	}
	ending := p.play(400 * ms)
	assert.Equal(t, "no message from the worker for 21 ms", ending.Why)
	p.ends(t, 123*ms, 113*ms)
}

// Asked once, the motors idle first; a second time the relay opens at once.
func TestASecondCtrlCEndsAtOnce(t *testing.T) {
	for _, test := range []struct {
		name  string
		asked []signal.Time
		open  signal.Time
	}{
		{"once", []signal.Time{100 * ms}, 300 * ms},
		{"twice", []signal.Time{100 * ms, 150 * ms}, 150 * ms},
		{"twice in a moment", []signal.Time{100 * ms, 100 * ms}, 100 * ms},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := newPaired(t, interlock.WheelsOffGround)
			for _, when := range test.asked {
				p.clock.At(at(when)-1, func() { p.Ask("Ctrl-C") })
			}
			ending := p.Run(func(w *Worker) int { // it idles for as long as it may
				bench := w.Bench(p.bench, nil)
				for bench.Wait(p.clock.Now()+ms) == nil {
					_ = bench.Drive([]signal.Edge{{}}, p.clock.Now())
				}
				bench.Close()
				return exitTripped
			})
			assert.Equal(t, "Ctrl-C", ending.Why)
			assert.Equal(t, at(test.open), p.last(pairPins.Relay).At)
			p.ends(t, test.open, test.open)
		})
	}
}

// A third time a worker that does not end is killed.
func TestAThirdCtrlCKills(t *testing.T) {
	p := newPaired(t, interlock.WheelsOffGround)
	for _, when := range []signal.Time{100 * ms, 150 * ms, 200 * ms} {
		p.clock.At(at(when), func() { p.Ask("Ctrl-C") })
	}
	ending := p.Run(func(w *Worker) int {
		for bench := w.Bench(p.bench, nil); ; {
			_ = bench.Wait(p.clock.Now() + ms)
			w.Feed()
			p.Clock().SleepUntil(p.clock.Now() + ms)
		}
	})
	assert.Equal(t, "signal: killed", ending.Worker)
	assert.LessOrEqual(t, p.clock.Now(), at(203*ms))
}

// Whoever plays may be stuck for good when its supervisor dies, on its first bench or on a later
// one: then its lines are made safe by hand and its program ends.
func TestTheLastResortActsOnEveryBench(t *testing.T) {
	for benches := range 3 {
		p := newPaired(t, interlock.WheelsOffGround)
		p.clock.At(at(300*ms), func() { p.Kill(TheSupervisor) })
		ending := p.Run(func(w *Worker) int {
			for range benches { // each suite opens a bench and closes it
				bench := w.Bench(p.bench, nil)
				for range 20 {
					require.NoError(t, bench.Wait(p.clock.Now()+ms))
				}
				require.NoError(t, bench.Close())
			}
			bench := w.Bench(p.bench, nil)
			for p.clock.Now() < at(299*ms) {
				require.NoError(t, bench.Wait(p.clock.Now()+ms))
				require.NoError(t, bench.Drive([]signal.Edge{{}}, p.clock.Now()+ms))
			}
			p.Clock().SleepUntil(at(60 * signal.Second))
			return 0
		})
		assert.Equal(t, "exit status 4", ending.Worker, "after %d benches", benches)
		assert.False(t, p.Lines.High(driven) || p.Lines.High(pairPins.Relay))
		assert.InDelta(t, float64(at(1800*ms)), float64(p.last(driven).At), float64(5*ms))
	}
}

// Whatever stalls and dies whenever: the relay never closes again once it has opened or once
// somebody stood still, nothing beats after a standstill, and where one of the two is left
// all is safe.
func TestAPairIsSafeWhateverStalls(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := newPaired(t, interlock.WheelsOffGround)
		p.Lines.Exclusive = rapid.Bool().Draw(r, "exclusive")
		moment := rapid.Custom(func(r *rapid.T) signal.Time {
			return signal.Time(rapid.IntRange(30_000, 300_000).Draw(r, "us")) * signal.Microsecond
		})
		long := rapid.Custom(func(r *rapid.T) signal.Time { return signal.Time(rapid.IntRange(1, 120).Draw(r, "ms")) * ms })
		still := signal.Time(1 << 62) // from when on nothing may beat: the supervisor stood still for too long
		for _, side := range []Side{TheSupervisor, TheWorker} {
			for range rapid.IntRange(0, 2).Draw(r, "stalls") {
				from, long := moment.Draw(r, "from"), long.Draw(r, "long")
				p.Stall(side, at(from), long)
				if side == TheSupervisor && long > interlock.MostSilence+ms {
					still = min(still, at(from))
				}
			}
		}
		if rapid.IntRange(0, 3).Draw(r, "death") == 0 {
			side, when := Side(rapid.IntRange(0, 1).Draw(r, "side")), moment.Draw(r, "dies")
			p.clock.At(at(when), func() { p.Kill(side) })
		}
		ending := p.play(400 * ms)
		relay := p.Lines.Changes(pairPins.Relay)
		require.LessOrEqual(t, p.rises(pairPins.Relay, 0), 1, "%v", relay)
		require.Zero(t, p.rises(pairPins.Relay, still), "%v", relay)
		require.Zero(t, p.rises(pairPins.Heartbeat, still))
		require.False(t, p.Lines.High(pairPins.Relay) || p.Lines.High(pairPins.Heartbeat) || p.Lines.High(driven), "%+v", ending)
		if still < at(300*ms) && p.rises(pairPins.Relay, 0) == 1 && p.last(pairPins.Relay).At >= still {
			require.True(t, ending.Tripped || p.worker.Why() != "", "it is recorded")
		}
		if why := p.worker.Why(); strings.HasPrefix(why, "no message from the interlock") {
			require.LessOrEqual(t, p.last(driven).At, still+60*ms+200*ms)
		}
	})
}

// Once its lines are safe a worker has half a minute to write its record.
func TestARecordMayTakeItsTimeOnceLinesAreSafe(t *testing.T) {
	for _, test := range []struct {
		takes signal.Time
		how   string
	}{{10 * signal.Second, "exit status 4"}, {40 * signal.Second, "signal: killed"}} {
		p := newPaired(t, interlock.WheelsOffGround)
		p.clock.At(at(100*ms), func() { p.Lines.Set(pairPins.Stop, false) })
		ending := p.Run(func(w *Worker) int {
			bench := w.Bench(p.bench, nil)
			for bench.Wait(p.clock.Now()+ms) == nil {
			}
			bench.Close()
			p.Clock().SleepUntil(p.clock.Now() + test.takes)
			return exitTripped
		})
		assert.Equal(t, test.how, ending.Worker)
	}
}
