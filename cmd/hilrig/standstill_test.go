//go:build linux && (full || realtime)

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
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

// These tests stop, continue and kill the two processes of a run at random moments and
// look from outside at what comes of it. They fail on an unsafe end alone: a relay that is
// closed or a heartbeat that beats where it must not, a line that is not at its safe level,
// wires that are played on after a trip, a trip that is reported nowhere. How soon things happen
// is for the tests on a clock of their own: a machine that is too busy for a run to come to its
// moment is reported.

// standstill is what happens to a run at its moment.
type standstill struct {
	name       string
	happens    func(s *scene)
	supervised bool // the supervisor is left to say why it tripped
}

var standstills = []standstill{
	{"the supervisor is stopped and continues", func(s *scene) {
		s.stop(s.supervisor)
		s.isOpen("the worker opens the relay while its supervisor stands still")
		s.rests(s.supervisor)
		s.goOn(s.supervisor)
	}, true},
	{"the supervisor is stopped and killed", func(s *scene) {
		s.stop(s.supervisor)
		s.isOpen("the worker opens the relay while its supervisor stands still")
		s.signal(unix.SIGKILL, s.supervisor)
	}, false},
	{"the worker is stopped and continues", func(s *scene) {
		s.stop(s.worker)
		s.isOpen("the supervisor opens the relay while its worker stands still")
		s.goOn(s.worker)
	}, true},
	{"both are stopped, the supervisor continues first", func(s *scene) {
		s.stop(s.supervisor, s.worker)
		s.rests(s.supervisor)
		s.goOn(s.supervisor)
		s.isOpen("the supervisor opens the relay as soon as it continues")
		s.goOn(s.worker)
	}, true},
	{"both are stopped, the worker continues first", func(s *scene) {
		s.stop(s.supervisor, s.worker)
		s.rests(s.supervisor)
		s.goOn(s.worker)
		s.isOpen("the worker opens the relay while its supervisor stands still")
		s.goOn(s.supervisor)
	}, true},
	{"both are stopped, the worker first, and continue", func(s *scene) {
		s.stop(s.worker, s.supervisor)
		s.rests(s.supervisor)
		s.goOn(s.supervisor, s.worker)
	}, true},
	{"the supervisor is stopped, the worker is killed within 50 ms, the supervisor continues", func(s *scene) {
		s.stop(s.supervisor)
		s.signal(unix.SIGKILL, s.worker)
		s.rests(s.supervisor)
		s.goOn(s.supervisor)
	}, true},
	{"the supervisor is killed", func(s *scene) {
		s.signal(unix.SIGKILL, s.supervisor)
	}, false},
	{"the worker is killed", func(s *scene) {
		s.signal(unix.SIGKILL, s.worker)
	}, true},
}

// scene is a run to whose processes something happens.
type scene struct {
	t                  *testing.T
	run                *killed
	bench              *killBench
	supervisor, worker int
	quiet              time.Time // from when on nothing may beat or close: the supervisor stands, or the relay is open
}

func (s *scene) signal(what syscall.Signal, pids ...int) {
	for _, pid := range pids {
		_ = syscall.Kill(pid, what) // one that has ended is seen at the end
	}
}

// stop stops processes and returns once every thread of theirs stands.
func (s *scene) stop(pids ...int) {
	s.signal(unix.SIGSTOP, pids...)
	for _, pid := range pids {
		for end := time.Now().Add(10 * time.Second); !stands(pid); time.Sleep(100 * time.Microsecond) {
			require.False(s.t, time.Now().After(end), "%d does not stop", pid)
		}
	}
	if slices.Contains(pids, s.supervisor) {
		s.quiet = time.Now()
	}
}

// stands says whether every thread of a process is stopped, or has ended.
func stands(pid int) bool {
	threads, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/stat", pid))
	for _, path := range threads {
		data, _ := os.ReadFile(path) // it may have ended
		if _, rest, found := strings.Cut(string(data), ") "); found && !strings.ContainsAny(rest[:1], "TtZX") {
			return false
		}
	}
	return true
}

// goOn continues processes.
func (s *scene) goOn(pids ...int) { s.signal(unix.SIGCONT, pids...) }

// isOpen waits until the relay is open, for as long as a busy machine may need.
func (s *scene) isOpen(why string) {
	for end := time.Now().Add(5 * time.Second); s.run.bank.Level()&s.bench.relay != 0; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			assert.Fail(s.t, "UNSAFE: the relay is closed", "%s: %s", why, s.run.text())
			return
		}
	}
	if s.quiet.IsZero() {
		s.quiet = time.Now()
	}
}

// rests holds that nothing beats for as long as the external monostable holds at most, while
// the supervisor is stopped. Its worker, which opens the relay, may make the heartbeat low.
func (s *scene) rests(parent int) {
	before := s.run.bank.Level()
	for end := time.Now().Add(150 * time.Millisecond); time.Now().Before(end); time.Sleep(time.Millisecond) {
		level := s.run.bank.Level()
		if level&^before&s.bench.beat != 0 && stands(parent) {
			assert.Fail(s.t, "UNSAFE: the heartbeat rises while the supervisor is stopped")
			return
		}
		before = level
	}
}

// mostPlayed is how many changes of driven lines may be seen once somebody has tripped: what
// was handed over for the next ticks. A worker that plays on makes ten thousands a second.
const mostPlayed = 2000

// Whatever stands still and goes on whenever: no motor has its supply by itself again.
func TestEveryStandstillIsSafe(t *testing.T) {
	onlyInQuiet(t)
	stopAll(t, readKillBench(t), standstills)
}

// stopAll stops, continues and kills the processes of runs on a bench in these ways.
func stopAll(t *testing.T, bench *killBench, kinds []standstill) {
	t.Helper()
	require.NoError(t, unix.Prctl(unix.PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0), "the end of a worker without a parent is for the test to see")
	for i, kind := range kinds {
		t.Run(kind.name, func(t *testing.T) {
			random := killDraws(10, i)
			counted, busy := 0, 0
			for range killMoments {
				after := time.Duration(random.Int64N(int64(killWithin)))
				came := false
				for range mostBusy {
					if came = standstillOnce(t, bench, &kind, after); came || t.Failed() {
						break
					}
					busy++
				}
				if t.Failed() {
					return
				}
				if came {
					counted++
				}
			}
			t.Logf("%d of %d moments; %d runs ended before theirs, as the machine was busy", counted, killMoments, busy)
		})
	}
}

// standstillOnce ends one run. It returns false where the run ended before its moment.
func standstillOnce(t *testing.T, b *killBench, kind *standstill, after time.Duration) bool {
	t.Helper()
	r := startKilled(t, b)
	if r == nil {
		return false
	}
	time.Sleep(after)
	if r.dead() || r.bank.Level()&b.relay == 0 {
		r.ended(t)
		assert.Zero(t, r.bank.Level()&(b.relay|b.beat), "UNSAFE: %s", r.text())
		return false
	}
	var over atomic.Bool
	seen := watchKilled(r.bank, &over)
	s := &scene{t: t, run: r, bench: b, supervisor: r.parent.Process.Pid, worker: r.worker}
	kind.happens(s)
	code := r.ended(t)
	s.gone()
	final := r.bank.Level()
	over.Store(true)
	all := <-seen
	said := r.text()
	assert.Zero(t, final&(b.relay|b.beat), "UNSAFE: relay and heartbeat are low at the end: %b: %s", final, said)
	assert.Equal(t, b.idle, final&b.driven, "UNSAFE: driven lines are idle at the end: %s", said)
	s.nothingAgain(all)
	s.isRecorded(kind, code, said)
	return true
}

// gone waits until both processes have ended.
func (s *scene) gone() {
	for end := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		var how syscall.WaitStatus
		_, _ = syscall.Wait4(s.worker, &how, syscall.WNOHANG, nil) // where the supervisor was killed it is the test's
		if syscall.Kill(s.worker, 0) != nil {
			return
		}
		require.False(s.t, time.Now().After(end), "the worker does not end: %s", s.run.text())
	}
}

// nothingAgain holds that after the standstill neither relay nor heartbeat rose, and that
// nothing was played on.
func (s *scene) nothingAgain(all []look) {
	if s.quiet.IsZero() {
		return
	}
	moved := 0
	open := false
	for i := 1; i < len(all); i++ {
		l, was := all[i], all[i-1].level
		open = open || l.level&s.bench.relay == 0
		if open && (l.level^was)&s.bench.driven != 0 {
			moved++
		}
		if l.before.Before(s.quiet) {
			continue
		}
		rose := l.level &^ was & (s.bench.relay | s.bench.beat)
		assert.Zero(s.t, rose, "UNSAFE: relay or heartbeat rose %v after the standstill began", l.at.Sub(s.quiet))
	}
	assert.Less(s.t, moved, mostPlayed, "UNSAFE: played on with an open relay")
}

// isRecorded holds that the trip is reported: by the supervisor where it is left to, and in the record
// where a worker was left to write one.
func (s *scene) isRecorded(kind *standstill, code int, said string) {
	assert.Equal(s.t, exitTripped, code, said)
	if kind.supervised {
		assert.Contains(s.t, said, "the interlock tripped: ")
	}
	found, err := record.List(s.run.state + "/records")
	require.NoError(s.t, err)
	require.Len(s.t, found, 1, said)
	kept, err := record.Read(found[0])
	require.NoError(s.t, err)
	if !kind.supervised {
		require.NotNil(s.t, kept.Host.Trip, "UNSAFE: the trip is recorded: %s", said)
	}
	assert.Equal(s.t, record.NotShown, kept.Result.Outcome)
}
