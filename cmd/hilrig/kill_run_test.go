//go:build linux && (full || realtime)

package main

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"os"
	"os/exec"
	ossignal "os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites/live"
)

// killBench is the bench of these tests, as the tests see it.
type killBench struct {
	relay, beat uint32 // bits
	driven      uint32
	idle        uint32 // of driven
	pins        supervisor.Pins
	motors      string // how they are wired
	args        []string
}

// killWithin is within what span of time, from when the relay closes, the moment of an end is
// drawn: the board comes up in its first 50 ms, rests until 150 ms, takes to the speed until
// 250 ms, and is judged after that.
const killWithin = 350 * time.Millisecond

// killDraws draws the moments of one way of ending a run: others for each value of HILRIG_DRAW, which
// .ci/run gives the commit, so that few moments a commit come to many over commits.
func killDraws(of uint64, way int) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(os.Getenv("HILRIG_DRAW")))
	return rand.New(rand.NewPCG(h.Sum64()^of, uint64(way)))
}

const killBenchPath = "testdata/kill/bench.yaml"

func readKillBench(t *testing.T) *killBench {
	b, err := readBench(killBenchPath)
	require.NoError(t, err)
	return killBenchOf(t, live.OfBench(b), "run", "testdata/kill/suite.yaml", "--bench", killBenchPath)
}

// killBenchOf returns what is wired so, played by a program with these arguments.
func killBenchOf(t *testing.T, of *live.Wired, args ...string) *killBench {
	w, _, err := of.Wires.Propose()
	require.NoError(t, err)
	k := &killBench{relay: 1 << w.Relay, beat: 1 << w.Heartbeat, pins: supervisor.Pins{Stop: w.Stop, Relay: w.Relay, Heartbeat: w.Heartbeat}, motors: of.Motors, args: args}
	for i, pin := range live.PinsOf(w.Layout, w.Pins) {
		if l := w.Layout.Lines[i]; l.Direction == signal.Drive {
			k.driven |= 1 << pin
			if l.Idle {
				k.idle |= 1 << pin
			}
		}
	}
	return k
}

// killed is one run of the program that is to be ended.
type killed struct {
	bank   *registers.MemoryFile
	path   string // of the bank
	state  string
	parent *exec.Cmd
	worker int
	said   string // a file
	died   chan struct{}
}

// startKilled starts the program on a bank in a file, a person at a terminal
// confirming the list, and waits until the relay closes. It returns nil where the run
// tripped before that was seen, as the machine was busy.
func startKilled(t *testing.T, k *killBench) *killed {
	t.Helper()
	r := &killed{said: filepath.Join(t.TempDir(), "said"), died: make(chan struct{})}
	r.bank, r.path, r.state = killedHome(t, k)
	said, err := os.Create(r.said)
	require.NoError(t, err)
	defer said.Close()
	person, terminal := openTerminal(t)
	defer terminal.Close()
	t.Cleanup(func() { person.Close() })
	program, err := os.Executable()
	require.NoError(t, err)
	r.parent = &exec.Cmd{
		Path: program, Args: slices.Concat([]string{"hilrig"}, k.args, []string{"--bank", "memory:" + r.path}),
		Env:   append(os.Environ(), "XDG_STATE_HOME="+filepath.Dir(r.state)),
		Stdin: terminal, Stdout: said, Stderr: said,
		SysProcAttr: &syscall.SysProcAttr{Setpgid: true},
	}
	require.NoError(t, r.parent.Start())
	go func() {
		_ = r.parent.Wait() // its state says how it ended
		close(r.died)
	}()
	t.Cleanup(r.clear)
	for end := time.Now().Add(time.Minute); !strings.Contains(r.text(), "anything else to stop:"); time.Sleep(time.Millisecond) {
		require.False(t, time.Now().After(end) || r.dead(), "it does not ask: %s", r.text())
	}
	_, err = person.WriteString("yes\n")
	require.NoError(t, err)
	for end := time.Now().Add(time.Minute); r.bank.Level()&k.relay == 0; time.Sleep(200 * time.Microsecond) {
		if r.dead() && starved.MatchString(r.text()) {
			return nil
		}
		require.False(t, time.Now().After(end) || r.dead(), "it does not go live: %s", r.text())
	}
	if r.worker = childOf(t, r.parent.Process.Pid); r.worker == 0 {
		<-r.died // it ended just now
		require.Regexp(t, starved, r.text(), "it ended before its moment")
		return nil
	}
	return r
}

// childOf returns the one process that parent started; 0 where that has ended.
func childOf(t *testing.T, parent int) int {
	t.Helper()
	found, err := filepath.Glob("/proc/[0-9]*/stat")
	require.NoError(t, err)
	for _, path := range found {
		data, _ := os.ReadFile(path) // it may have ended
		_, rest, _ := strings.Cut(string(data), ") ")
		if f := strings.Fields(rest); len(f) > 1 && f[1] == strconv.Itoa(parent) {
			pid, err := strconv.Atoi(filepath.Base(filepath.Dir(path)))
			require.NoError(t, err)
			return pid
		}
	}
	return 0
}

func (r *killed) dead() bool {
	select {
	case <-r.died:
		return true
	default:
		return false
	}
}

// text is what the run has said.
func (r *killed) text() string {
	data, _ := os.ReadFile(r.said) // it is there: the test made it
	return string(bytes.TrimSpace(data))
}

// clear ends what a failed test left behind.
func (r *killed) clear() {
	if !r.dead() {
		_ = r.parent.Process.Kill() // its worker then ends by itself
		<-r.died
	}
}

// ended waits for both processes, for longer than a worker has to write its record on a busy
// disk, and returns the exit code that counts: the parent's,
// or, where that was killed, the worker's.
func (r *killed) ended(t *testing.T) int {
	t.Helper()
	select {
	case <-r.died:
	case <-time.After(time.Minute):
		require.Fail(t, "the parent does not end", r.text())
	}
	if code := r.parent.ProcessState.ExitCode(); code >= 0 {
		return code
	}
	var how syscall.WaitStatus
	for end := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
		pid, err := syscall.Wait4(r.worker, &how, syscall.WNOHANG, nil)
		if err != syscall.EINTR {
			require.NoError(t, err, "the worker is no child of the test's")
		}
		if pid == r.worker {
			return how.ExitStatus()
		}
		require.False(t, time.Now().After(end), "the worker does not end: %s", r.text())
	}
}

// look is one change of the bank, or the end of a time in which nobody looked.
type look struct {
	at, before time.Time // seen, and when the look before began
	level      uint32
}

// watchKilled looks at a bank as often as it can until it is told to end.
func watchKilled(bank *registers.MemoryFile, over *atomic.Bool) <-chan []look {
	out, began := make(chan []look, 1), make(chan struct{})
	go func() {
		now := time.Now()
		all := append(make([]look, 0, 1<<16), look{now, now, bank.Level()})
		close(began)
		for before := now; !over.Load(); {
			begin := time.Now() // what this look does not show happens after it
			level := bank.Level()
			now = time.Now()
			if level != all[len(all)-1].level || now.Sub(before) > time.Millisecond {
				all = append(all, look{now, before, level})
			}
			before = begin
		}
		out <- all
	}()
	<-began
	return out
}

// A program that a supervisor started in these tests is its worker.
func init() {
	if supervisor.Inside() {
		panicWhenAsked()
	}
}

// panicWhenAsked has a worker of these tests panic when SIGUSR1 comes, and say when.
func panicWhenAsked() {
	asked := make(chan os.Signal, 1)
	ossignal.Notify(asked, syscall.SIGUSR1)
	go func() {
		<-asked
		fmt.Fprintf(os.Stderr, "panics at %d\n", monotonic())
		panic("as the test wants")
	}()
}

// monotonic reads the clock that all processes have.
func monotonic() int64 {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) // it cannot fail: the clock exists
	return ts.Nano()
}
