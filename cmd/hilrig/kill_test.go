//go:build linux && (full || realtime)

package main

import (
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/suites/record"
)

// killKind is one way to end a run.
type killKind struct {
	name  string
	end   func(r *killed) error
	why   string        // the trip, as the parent tells it; empty: the parent cannot
	beats time.Duration // how long the heartbeat may go on
	opens time.Duration // how long the relay may stay closed
	whole bool          // the record has its result
	dies  bool          // the worker writes nothing after the event
}

// How long things take on a machine that keeps time. One under load is late, which is
// reported: that it is never later by the supervisor's own clock is tried in its package.
const (
	beatMost  = 20 * time.Millisecond
	steps     = 5 * time.Millisecond  // of the supervisor, until it sees what is over
	late      = 20 * time.Millisecond // of the supervisor, the machine being busy: its heartbeat then waits as well
	stopping  = 10 * time.Millisecond // of a panic, until all goroutines stand
	idleMost  = 200 * time.Millisecond
	orphanTop = 200 * time.Millisecond // for the system to end all threads of a supervisor, which have no priority, and close its pipe
)

var killKinds = []killKind{
	{"SIGINT to the parent", toParent(syscall.SIGINT), "Ctrl-C", idleMost + steps, idleMost + late, true, false},
	{"SIGTERM to the parent", toParent(syscall.SIGTERM), "asked to end", idleMost + steps, idleMost + late, true, false},
	{"SIGKILL of the worker", toWorker(syscall.SIGKILL), deadOrSilent, beatMost, beatMost + late, false, true},
	{"SIGKILL of the parent", toParent(syscall.SIGKILL), "", beatMost, orphanTop, true, false},
	{"panic in the worker", toWorker(syscall.SIGUSR1), deadOrSilent, beatMost, beatMost + late + stopping, false, false},
	{"the worker stands still", toWorker(syscall.SIGSTOP), "no message from the worker for ", beatMost, beatMost + late, false, true},
}

// deadOrSilent is how a worker's death is noticed: as such, or by its silence before the
// system has given back its memory.
const deadOrSilent = "the worker died|no message from the worker for "

func toParent(s syscall.Signal) func(*killed) error {
	return func(r *killed) error { return syscall.Kill(r.parent.Process.Pid, s) }
}

func toWorker(s syscall.Signal) func(*killed) error {
	return func(r *killed) error { return syscall.Kill(r.worker, s) }
}

// Whenever and however a run is ended, the motors lose their supply at once, before
// the lines go safe, and what was found until then can be read.
func TestEveryEndIsSafe(t *testing.T) {
	onlyInQuiet(t)
	endAll(t, readKillBench(t), killKinds)
}

// endAll ends runs on a bench in these ways.
func endAll(t *testing.T, bench *killBench, kinds []killKind) {
	t.Helper()
	moments := killMoments
	require.NoError(t, unix.Prctl(unix.PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0), "the end of a worker without a parent is for the test to see")
	for i, kind := range kinds {
		t.Run(kind.name, func(t *testing.T) {
			random := killDraws(18, i)
			var sum tally
			for range moments {
				after := time.Duration(random.Int64N(int64(killWithin)))
				sum.once(t, bench, &kind, after)
				if t.Failed() {
					return
				}
			}
			t.Logf("late: %v; %d moments, %d with lines away from idle, %d tries more as the machine was busy, %d stalled while they were to end; heartbeat at most %v after, relay open after %v at most; lines seen to go safe after the relay %d times; nobody looked for %v at most",
				sum.late, moments, sum.away, sum.busy, sum.stalled, sum.beat.Round(time.Microsecond), sum.relay.Round(time.Microsecond), sum.apart, sum.gap.Round(time.Microsecond))
		})
	}
}

// tally sums up what was seen.
type tally struct {
	away, busy, apart int
	late              map[string]time.Duration // what took longer than on a machine that keeps time, at most
	stalled           int                      // the worker stood still while it was to end, and was killed
	beat, relay, gap  time.Duration            // the longest
}

// mostBusy is how often a run may end by itself, its worker starved on a busy machine,
// before its moment comes.
const mostBusy = 10

// once ends one run. One that tripped by silence before is tried again.
func (s *tally) once(t *testing.T, b *killBench, kind *killKind, after time.Duration) {
	t.Helper()
	for range mostBusy {
		r := startKilled(t, b)
		if r == nil {
			s.busy++
			continue
		}
		time.Sleep(after)
		var over atomic.Bool
		seen := watchKilled(r.bank, &over)
		time.Sleep(2 * time.Millisecond)
		early := r.bank.Level()&b.relay == 0
		if !early {
			require.NoError(t, kind.end(r))
		}
		event := time.Now()
		code := r.ended(t)
		final := r.bank.Level()
		over.Store(true)
		all := <-seen
		said := r.text()
		if early || starved.MatchString(said) && opened(b, all).Sub(event) < silentBefore {
			require.Regexp(t, starved, said, "it ended before its moment")
			s.busy++
			continue
		}
		if m := panicked.FindStringSubmatch(said); m != nil {
			at, err := strconv.ParseInt(m[1], 10, 64)
			require.NoError(t, err)
			event = time.Now().Add(time.Duration(at - monotonic()))
		}
		assert.Equal(t, exitTripped, code, said)
		if kind.why != "" {
			assert.Regexp(t, "the interlock tripped: ("+kind.why+"|"+starvedToo+")", said)
		}
		assert.Zero(t, final&(b.relay|b.beat), "relay and heartbeat are low at the end: %b", final)
		assert.Equal(t, b.idle, final&b.driven, "driven lines are idle at the end")
		s.judge(t, b, kind, event, all)
		if strings.Contains(said, "(worker: signal: killed)") && kind.whole {
			s.stalled++
		}
		readable(t, r, kind, said)
		return
	}
	t.Logf("%d runs in a row ended before their moment, as the machine was busy: not counted", mostBusy)
}

// silentBefore is how soon after its moment a run that trips by silence has been silent
// before it.
const silentBefore = 12 * time.Millisecond

// opened returns when the relay was first seen open.
func opened(b *killBench, all []look) time.Time {
	for _, l := range all {
		if l.level&b.relay == 0 {
			return l.at
		}
	}
	return time.Time{}
}

// starved is what a run trips for whose supervisor, or whose worker, which runs its board as well,
// was kept from the processor.
var starved = regexp.MustCompile("the interlock tripped: (" + starvedToo + ")")

// starvedToo is what a run on a busy machine may trip for instead, at the same moment.
const starvedToo = "no message from the |the interlock itself stood still|the board fell silent|the worker had no message|the worker stood still|the worker lost its timing|a motor command exceeded "

var panicked = regexp.MustCompile(`panics at (\d+)`)

// longest returns for how long nobody looked. The others may have been kept from the
// processor for as long.
func longest(all []look) time.Duration {
	var most time.Duration
	for _, l := range all {
		most = max(most, l.at.Sub(l.before))
	}
	return most
}

// judge holds what was seen after the event to what has to be.
func (s *tally) judge(t *testing.T, b *killBench, kind *killKind, event time.Time, all []look) {
	t.Helper()
	require.NotZero(t, all[0].level&b.relay, "the relay was closed when the moment came")
	unseen := longest(all)
	s.gap = max(s.gap, unseen)
	open := -1
	for i := 1; i < len(all); i++ {
		l, was := all[i], all[i-1].level
		if rising := l.level &^ was; rising&b.beat != 0 {
			s.beat = max(s.beat, l.before.Sub(event))
			s.within("heartbeat", l.before.Sub(event), kind.beats+unseen)
		}
		switch {
		case l.level&b.relay != 0:
			assert.Equal(t, was&b.relay, b.relay, "the relay does not close again")
		case open < 0:
			open = i
			s.relay = max(s.relay, l.at.Sub(event))
			s.within("relay", l.before.Sub(event), kind.opens+unseen)
		}
	}
	require.Positive(t, open, "the relay was never seen open")
	if all[open-1].level&b.driven != b.idle {
		s.away++
	}
	moved, after := event, false // when a driven line moved last before, and whether one did later
	for i := 1; i < len(all); i++ {
		l := all[i]
		if (l.level^all[i-1].level)&b.driven == 0 {
			continue
		}
		if i > open {
			after = true
			continue
		}
		if i < open && kind.dies && l.before.Sub(event) > dying+unseen {
			s.within("a line of a dead worker's moves before the relay opens", l.before.Sub(event), dying+unseen)
		}
		moved = l.at
	}
	if after {
		s.apart++
	}
	if kind.whole && !after {
		s.within("the lines rest, and the relay is closed", all[open].before.Sub(moved), resting+unseen)
	}
}

// within reports what took longer than on a machine that keeps time.
func (s *tally) within(what string, took, most time.Duration) {
	if took > most {
		if s.late == nil {
			s.late = map[string]time.Duration{}
		}
		s.late[what] = max(s.late[what], took)
	}
}

const (
	dying   = 5 * time.Millisecond  // until the kernel has taken the processor away from a dead worker
	resting = 30 * time.Millisecond // longer than no line moves while it is played: a pulse of the receiver's comes every 10 ms, and a worker that stands still for 20 ms is silent
)

// readable reads the run's record.
func readable(t *testing.T, r *killed, kind *killKind, said string) {
	t.Helper()
	found, err := record.List(r.state + "/records")
	require.NoError(t, err)
	require.Len(t, found, 1, said)
	kept, err := record.Read(found[0])
	require.NoError(t, err)
	assert.Equal(t, record.NotShown, kept.Result.Outcome)
	whole := kind.whole && !strings.Contains(said, "(worker: signal: killed)")
	assert.Equal(t, whole, kept.Ended, "%v", kept.Notes)
	if whole {
		assert.Regexp(t, "the interlock tripped: ("+kind.why+"|"+starvedToo+")", kept.Result.Why)
		require.NotNil(t, kept.Host.Trip)
	}
}
