package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

const ms = signal.Millisecond

// playedBench is a bench on a clock, whose one line is at a level that is not safe from
// the first edge on until the bench is made safe.
type playedBench struct {
	rig.Bench
	clock realtime.Clock
	log   *LineLog
	waits []signal.Time // when each Wait ended
	drove []signal.Time
}

func (b *playedBench) Now() signal.Time { return b.clock.Now() }

func (b *playedBench) Wait(t signal.Time) error {
	b.clock.SleepUntil(t)
	b.waits = append(b.waits, b.clock.Now())
	return nil
}

func (b *playedBench) Drive([]signal.Edge, signal.Time) error {
	b.drove = append(b.drove, b.clock.Now())
	b.log.Set(driven, true)
	return nil
}

func (b *playedBench) Captured(dst []signal.Edge) ([]signal.Edge, error) { return dst, nil }

func (b *playedBench) Restart() error { return nil }

func (b *playedBench) Safe() error {
	b.log.Set(driven, false)
	return nil
}

func (b *playedBench) Close() error { return b.Safe() }

// driven is the line that the worker of these tests drives.
const driven = 9

// paired is a supervisor and a worker that plays.
type paired struct {
	*Pair
	Lines *LineLog
	clock *realtime.Manual
	bench *playedBench
	err   error // that ended the playing
	power interlock.Power
	each  func(b rig.Bench) error // instead of a Wait of a tick
}

func newPaired(t *testing.T, power interlock.Power) *paired {
	t.Helper()
	clock := &realtime.Manual{}
	clock.SleepUntil(5 * signal.Second) // as a machine's clock, which does not begin at 0
	whole := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	pair, log := onLog(t, clock, Settings{
		Parts: Parts{Safe: []Level{{driven, false}}}, Power: power, Tested: whole, Rotation: true, Confirmed: true,
	})
	return &paired{Pair: pair, Lines: log, clock: clock, power: power, bench: &playedBench{clock: pair.Clock(), log: log}}
}

// at is a moment after the pair was started.
func at(t signal.Time) signal.Time { return 5*signal.Second + t }

// play has the worker play tick by tick until something ends it, or until a time.
func (p *paired) play(until signal.Time) Ending {
	return p.Run(func(w *Worker) int {
		bench := w.Bench(p.bench, nil)
		for tick := p.clock.Now() + ms; w.Context().Err() == nil && p.err == nil && tick < at(until); tick += ms {
			if p.err = bench.Drive([]signal.Edge{{}}, tick); p.err != nil {
				break
			}
			if p.each != nil {
				p.err = p.each(bench)
			} else {
				p.err = bench.Wait(tick)
			}
		}
		bench.Close()
		if w.Why() != "" {
			return exitTripped
		}
		return 0
	})
}

// last returns when a line changed last, and to what.
func (p *paired) last(gpio int) LineChange {
	all := p.Lines.Changes(gpio)
	if len(all) == 0 {
		return LineChange{}
	}
	return all[len(all)-1]
}

// rises counts how often a line rose from a moment on.
func (p *paired) rises(gpio int, from signal.Time) (n int) {
	for _, c := range p.Lines.Changes(gpio) {
		if c.High && c.At >= from {
			n++
		}
	}
	return n
}

// ends holds that all is safe at the end, and that the relay was open from a moment on
// and nothing beat from another on.
func (p *paired) ends(t *testing.T, open, still signal.Time) {
	t.Helper()
	for _, gpio := range []int{pairPins.Relay, pairPins.Heartbeat, driven} {
		assert.False(t, p.Lines.High(gpio), "GPIO%d", gpio)
	}
	if p.power == interlock.SignalsOnly {
		assert.Empty(t, p.Lines.Changes(pairPins.Relay))
		assert.Empty(t, p.Lines.Changes(pairPins.Heartbeat))
		return
	}
	assert.Equal(t, 1, p.rises(pairPins.Relay, 0), "the relay closes once")
	assert.LessOrEqual(t, p.last(pairPins.Relay).At-at(0), open, "the relay opens")
	assert.Zero(t, p.rises(pairPins.Heartbeat, at(still)+1), "the heartbeat rises after %v", still)
	assert.Greater(t, len(p.Lines.Changes(pairPins.Heartbeat)), 20, "it did beat")
}

// Whichever side stands still, for however long: the relay opens, nothing beats or plays
// once somebody could have known, and it is recorded.
func TestAStandstillOfEitherSide(t *testing.T) {
	const from = 100 * ms
	for _, test := range []struct {
		name               string
		supervisor, worker [2]signal.Time // from, for how long
		why                string         // the supervisor's reason; empty: it goes on
		mine               string         // the worker's
		open, still        signal.Time    // the relay opens and the heartbeat stops by then
		unplayed           signal.Time    // the worker plays nothing from then on
		worker2            string         // how the worker ended
	}{
		{"the supervisor, for as long as is borne", [2]signal.Time{from, 18 * ms}, [2]signal.Time{}, "", "", 1000 * ms, 1000 * ms, 1000 * ms, "exit status 0"},
		{"the supervisor, briefly", [2]signal.Time{from, 25 * ms}, [2]signal.Time{}, "the interlock itself stood still for 26 ms", "the interlock itself", from + 25*ms, from, from + 30*ms, "exit status 4"},
		{"the supervisor, long", [2]signal.Time{from, 3 * signal.Second}, [2]signal.Time{}, "the interlock itself stood still for 3001 ms", "no message from the interlock for 5", from + 56*ms, from, from + 56*ms, "exit status 4"},
		{"the worker, briefly", [2]signal.Time{}, [2]signal.Time{from, 30 * ms}, "no message from the worker for 2", "no message from the worker for 2", from + 23*ms, from + 13*ms, from + 31*ms, "exit status 4"},
		{"the worker, long", [2]signal.Time{}, [2]signal.Time{from, 3 * signal.Second}, "no message from the worker for 2", "", from + 23*ms, from + 13*ms, from + ms, "signal: killed"},
		{"both alike", [2]signal.Time{from, signal.Second}, [2]signal.Time{from, signal.Second}, "the interlock itself stood still for 100", "", from + signal.Second, from, from + ms, "exit status 4"},
		{"both, the supervisor goes on first", [2]signal.Time{from, signal.Second}, [2]signal.Time{from, 1020 * ms}, "the interlock itself stood still for 100", "", from + signal.Second, from, from + ms, "exit status 4"},
		{"both, the worker goes on first", [2]signal.Time{from, 2 * signal.Second}, [2]signal.Time{from, signal.Second}, "the interlock itself stood still for 2001 ms", "the worker stood still for 100", from + 1056*ms, from, from + ms, "exit status 4"},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := newPaired(t, interlock.WheelsOffGround)
			p.Stall(TheSupervisor, at(test.supervisor[0]), test.supervisor[1])
			p.Stall(TheWorker, at(test.worker[0]), test.worker[1])
			ending := p.play(400 * ms)
			assert.Equal(t, test.why != "", ending.Tripped)
			assert.Contains(t, ending.Why, test.why)
			assert.Contains(t, p.worker.Why(), test.mine)
			assert.Equal(t, test.worker2, ending.Worker)
			p.ends(t, test.open, test.still)
			for _, drove := range p.bench.drove {
				assert.Less(t, drove-at(0), test.unplayed, "nothing is played after a trip")
			}
			if test.why != "" && test.worker2 != "signal: killed" {
				require.ErrorContains(t, p.err, "the interlock tripped: ")
			}
		})
	}
}
