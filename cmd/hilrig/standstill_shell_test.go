//go:build linux && (full || realtime)

package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// shell is a shell with job control at a terminal of its own, as a person has it.
type shell struct {
	t      *testing.T
	person *os.File
	cmd    *exec.Cmd
	mu     sync.Mutex
	said   []byte
}

func startShell(t *testing.T, env ...string) *shell {
	t.Helper()
	person, terminal := openTerminal(t)
	defer terminal.Close()
	s := &shell{t: t, person: person}
	s.cmd = exec.Command("bash", "--norc", "--noprofile", "-i")
	s.cmd.Env = append(os.Environ(), append(env, "PS1=$ ", "TERM=dumb")...)
	s.cmd.Stdin, s.cmd.Stdout, s.cmd.Stderr = terminal, terminal, terminal
	s.cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	require.NoError(t, s.cmd.Start())
	go func() {
		buffer := make([]byte, 4096)
		for {
			n, err := person.Read(buffer)
			s.mu.Lock()
			s.said = append(s.said, buffer[:n]...)
			s.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	t.Cleanup(func() {
		_ = s.cmd.Process.Kill()
		_ = s.cmd.Wait() // it was killed
		person.Close()
	})
	return s
}

func (s *shell) text() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return string(s.said)
}

func (s *shell) types(text string) {
	_, err := io.WriteString(s.person, text)
	require.NoError(s.t, err)
}

// until waits for something, for as long as a busy machine may need.
func (s *shell) until(what string, came func() bool) {
	s.t.Helper()
	for end := time.Now().Add(time.Minute); !came(); time.Sleep(time.Millisecond) {
		require.False(s.t, time.Now().After(end), "%s: %s", what, s.text())
	}
}

// killedHome is a folder for a run: a bank, and a state in which all was tested.
func killedHome(t *testing.T, b *killBench) (bank *registers.MemoryFile, path, state string) {
	t.Helper()
	folder := t.TempDir()
	state = filepath.Join(folder, "state", "hilrig")
	require.NoError(t, supervisor.NoteTested(state, b.pins, interlock.Parts{Stop: true, Relay: true, Heartbeat: true}))
	require.NoError(t, supervisor.NoteRotation(state, b.motors, true))
	path = filepath.Join(folder, "bank")
	bank, err := registers.OpenMemoryFile(path)
	require.NoError(t, err)
	bank.Set(1<<b.pins.Stop | b.idle)
	return bank, path, state
}

var shellEnded = regexp.MustCompile(`ended with (\d+)`)

// Ctrl-Z is Ctrl-C: the program does not stand still with a closed relay, and fg does not
// bring anything back.
func TestCtrlZEndsAndFgBringsNothingBack(t *testing.T) {
	onlyInQuiet(t)
	b := readKillBench(t)
	random := killDraws(10, 100)
	counted, busy := 0, 0
	for range killMoments {
		after := time.Duration(random.Int64N(int64(killWithin)))
		came := false
		for try := 0; !came && try < mostBusy && !t.Failed(); try++ {
			if came = ctrlZOnce(t, b, after); came {
				counted++
			} else {
				busy++
			}
		}
		if t.Failed() {
			return
		}
	}
	t.Logf("%d of %d moments; %d runs ended before theirs, as the machine was busy", counted, killMoments, busy)
}

func ctrlZOnce(t *testing.T, b *killBench, after time.Duration) bool {
	t.Helper()
	bank, path, state := killedHome(t, b)
	program, err := os.Executable()
	require.NoError(t, err)
	s := startShell(t, "XDG_STATE_HOME="+filepath.Dir(state))
	s.types(fmt.Sprintf("(exec -a hilrig %s run testdata/kill/suite.yaml --bench %s --bank memory:%s); echo ended with $?\n", program, killBenchPath, path))
	ended := func() bool { return shellEnded.MatchString(s.text()) }
	s.until("no question", func() bool { return strings.Contains(s.text(), "Type yes if it is") })
	s.types("yes\n")
	s.until("it does not go live", func() bool { return bank.Level()&b.relay != 0 || ended() })
	time.Sleep(after)
	if ended() || bank.Level()&b.relay == 0 {
		s.until("it does not end", ended)
		assert.Zero(t, bank.Level()&(b.relay|b.beat), "UNSAFE: %s", s.text())
		return false
	}
	s.types("\x1a")
	s.until("UNSAFE: the relay stays closed after Ctrl-Z", func() bool { return bank.Level()&b.relay == 0 })
	var over atomic.Bool
	seen := watchKilled(bank, &over)
	s.until("it neither ends nor stops", ended)
	s.types("fg\n")
	s.until("fg does nothing", func() bool { return strings.Contains(s.text(), "fg: current: no such job") })
	time.Sleep(50 * time.Millisecond)
	over.Store(true)
	all := <-seen
	for _, l := range all[1:] {
		assert.Zero(t, l.level&b.relay, "UNSAFE: the relay closes again")
	}
	final := bank.Level()
	assert.Zero(t, final&(b.relay|b.beat), "UNSAFE: %s", s.text())
	assert.Equal(t, b.idle, final&b.driven, "UNSAFE: %s", s.text())
	assert.Equal(t, "4", shellEnded.FindStringSubmatch(s.text())[1], s.text())
	assert.Contains(t, s.text(), "the interlock tripped: ")
	found, err := record.List(state + "/records")
	require.NoError(t, err)
	require.Len(t, found, 1, s.text())
	kept, err := record.Read(found[0])
	require.NoError(t, err)
	if !strings.Contains(s.text(), "(worker: signal: killed)") {
		require.NotNil(t, kept.Host.Trip, "UNSAFE: the trip is recorded: %s", s.text())
	}
	return true
}

// What two processes leave that were killed or stopped at once is made safe by the next start
// before anything else, the question to a person included, and its record says so; or that of
// the one after it, where those that are stopped still have the lines.
func TestTheNextStartMakesSafe(t *testing.T) {
	onlyInQuiet(t)
	require.NoError(t, unix.Prctl(unix.PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0), "the end of a worker without a parent is for the test to see")
	b := readKillBench(t)
	random := killDraws(10, 200)
	counted, busy := 0, 0
	for range killMoments {
		after := time.Duration(random.Int64N(int64(killWithin)))
		came := false
		stopped := counted%2 == 1
		for try := 0; !came && try < mostBusy && !t.Failed(); try++ {
			if came = nextStartOnce(t, b, after, stopped); came {
				counted++
			} else {
				busy++
			}
		}
		if t.Failed() {
			return
		}
	}
	t.Logf("%d of %d moments; %d runs ended before theirs, or left all safe, as the machine was busy", counted, killMoments, busy)
}

func nextStartOnce(t *testing.T, b *killBench, after time.Duration, stopped bool) bool {
	t.Helper()
	r := startKilled(t, b)
	if r == nil {
		return false
	}
	time.Sleep(after)
	s := &scene{t: t, run: r, bench: b, supervisor: r.parent.Process.Pid, worker: r.worker}
	s.stop(s.supervisor, s.worker)
	if stopped {
		return besideStopped(t, s)
	}
	s.signal(unix.SIGKILL, s.supervisor, s.worker)
	<-r.died
	s.gone()
	if r.bank.Level()&b.relay == 0 { // it ended by itself
		return false
	}
	beats := r.bank.Level() & b.beat
	time.Sleep(20 * time.Millisecond)
	assert.Equal(t, beats, r.bank.Level()&b.beat, "UNSAFE: the heartbeat is still")

	program, err := os.Executable()
	require.NoError(t, err)
	sh := startShell(t, "XDG_STATE_HOME="+filepath.Dir(r.state))
	sh.types(fmt.Sprintf("(exec -a hilrig %s run testdata/kill/suite.yaml --bench %s --bank memory:%s); echo ended with $?\n", program, killBenchPath, r.path))
	ended := func() bool { return shellEnded.MatchString(sh.text()) }
	sh.until("no question", func() bool { return strings.Contains(sh.text(), "Type yes if it is") })
	level := r.bank.Level()
	assert.Zero(t, level&(b.relay|b.beat), "UNSAFE: relay and heartbeat are low before the question")
	assert.Equal(t, b.idle, level&b.driven, "UNSAFE: driven lines are idle before the question")
	assert.Contains(t, sh.text(), "an earlier run had left lines high, and they were made safe: relay on GPIO22")
	sh.types("yes\n")
	sh.until("it does not go live", func() bool { return r.bank.Level()&b.relay != 0 || ended() })
	sh.types("\x03")
	sh.until("it does not end", ended)
	assert.Zero(t, r.bank.Level()&(b.relay|b.beat), "UNSAFE: %s", sh.text())
	found, err := record.List(r.state + "/records")
	require.NoError(t, err)
	reported := false
	for _, path := range found {
		kept, err := record.Read(path)
		require.NoError(t, err)
		reported = reported || strings.Contains(kept.Host.Found, "relay on GPIO22")
	}
	if !strings.Contains(sh.text(), "(worker: signal: killed)") {
		assert.True(t, reported, "the record says what was found: %s", sh.text())
		assert.Empty(t, live.Unrecorded(r.state), "and it is noted no longer")
	}
	return true
}

// besideStopped starts the program while both processes of another run are stopped.
func besideStopped(t *testing.T, s *scene) bool {
	t.Helper()
	if s.run.bank.Level()&s.bench.relay == 0 { // it ended by itself
		s.goOn(s.supervisor, s.worker)
		s.run.ended(t)
		return false
	}
	program, err := os.Executable()
	require.NoError(t, err)
	second := exec.Command(program, "run", "testdata/kill/suite.yaml", "--bench", killBenchPath, "--bank", "memory:"+s.run.path)
	second.Args[0] = "hilrig"
	second.Env = append(os.Environ(), "XDG_STATE_HOME="+filepath.Dir(s.run.state))
	said, err := second.CombinedOutput()
	require.Error(t, err, "%s", said)
	level := s.run.bank.Level()
	assert.Zero(t, level&(s.bench.relay|s.bench.beat), "UNSAFE: relay and heartbeat are low: %s", said)
	assert.Equal(t, s.bench.idle, level&s.bench.driven, "UNSAFE: driven lines are idle: %s", said)
	assert.Contains(t, string(said), fmt.Sprintf("it is stopped; kill -CONT %d has it end, its relay open", s.supervisor))
	assert.Contains(t, live.Unrecorded(s.run.state), "relay on GPIO22")
	s.goOn(s.supervisor)
	assert.Equal(t, exitTripped, s.run.ended(t), s.run.text())
	s.gone()
	assert.Zero(t, s.run.bank.Level()&(s.bench.relay|s.bench.beat), "UNSAFE: relay and heartbeat are low at the end")
	return true
}
