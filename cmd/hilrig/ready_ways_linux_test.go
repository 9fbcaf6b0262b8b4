package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	line "hilrig/rig/signal"
	"hilrig/suites/live"
)

// onlyStage is the variable that has the worker of ready in these tests go through one
// stage alone, again and again, until it has to end.
const onlyStage = "HILRIG_TEST_STAGE"

func init() {
	if stage := os.Getenv(onlyStage); stage != "" && supervisor.Inside() {
		os.Exit(underSupervisor(context.Background(), func(ctx context.Context) int { return stayIn(ctx, stage) }))
	}
}

// undecided is a person who looks at the lamp once the heartbeat runs, and does not say
// what is seen.
type undecided struct {
	preflight.Person
	ctx context.Context
}

func (u undecided) Powered() (bool, error) {
	on, err := u.Person.Powered()
	if on {
		<-u.ctx.Done()
		return false, u.ctx.Err()
	}
	return on, err
}

// stayIn is the worker's part. Its arguments are those of startTrying.
func stayIn(ctx context.Context, stage string) int {
	f := readyFlags{inputFlags: inputFlags{bench: os.Args[3], seed: 1}, bank: os.Args[5], attended: "yes", loopback: stage == "loopback"}
	c := &cobra.Command{}
	c.SetContext(ctx)
	w := workerOf(ctx)
	setup, err := f.load(c, []string{"split"})
	if err != nil {
		panic(err)
	}
	_, path, _ := strings.Cut(f.bank, ":")
	place := live.Place{PinBank: path, Turns: turns}
	real, parts, err := place.On(live.OfBench(setup.Bench))
	if err != nil {
		panic(err)
	}
	r, err := f.trying(c, w, live.OfBench(setup.Bench), place, &parts)
	if err != nil {
		panic(err)
	}
	r.Person = undecided{r.Person, ctx}
	put := func() error { return live.PutUnderSupervisor(w, setup, real, parts, 1) }
	if stage == "throttle" {
		if err := put(); err != nil {
			panic(err)
		}
	}
	tries := map[string]func() []preflight.Result{
		"pins": func() []preflight.Result {
			return r.Driving(func() []preflight.Result { return preflight.TryPins(r.Lines, &r.Wires) })
		},
		"loopback": func() []preflight.Result { return r.Driving(r.jumpers) },
		"board": func() []preflight.Result {
			return r.Lend(func() []preflight.Result { return board(c, setup, put) })
		},
		"throttle": func() []preflight.Result {
			return r.Lend(func() []preflight.Result { return live.TryThrottle(ctx, setup) })
		},
		"relay": r.TryRelay,
	}
	for r.stage(stage, tries[stage]); !r.Over(); r.Wrong = 0 { // what is found does not matter
		r.stage(stage, tries[stage])
	}
	if r.Lines != nil {
		_ = r.Lines.Close()
	}
	return exitTripped
}

// tryingRun is ready in one stage, a person before it.
type tryingRun struct {
	t                         *testing.T
	person                    *os.File
	bank                      *registers.MemoryFile
	path, said                string
	relay, beat, driven, idle uint32
	supervisor                *exec.Cmd
	died                      chan struct{}
}

// startTrying starts it on a bank in a file, at a terminal of its own.
func startTrying(t *testing.T, stage string) *tryingRun {
	t.Helper()
	b, err := readBench(turningBench)
	require.NoError(t, err)
	w, _, err := live.WiresOf(b).Propose()
	require.NoError(t, err)
	folder := t.TempDir()
	r := &tryingRun{t: t, path: filepath.Join(folder, "bank"), said: filepath.Join(folder, "said"), relay: 1 << w.Relay, beat: 1 << w.Heartbeat, died: make(chan struct{})}
	for i, pin := range live.PinsOf(w.Layout, w.Pins) {
		if l := w.Layout.Lines[i]; l.Direction == line.Drive {
			r.driven |= 1 << pin
			if l.Idle {
				r.idle |= 1 << pin
			}
		}
	}
	r.bank, err = registers.OpenMemoryFile(r.path)
	require.NoError(t, err)
	r.bank.Set(1<<w.Stop | r.idle)
	said, err := os.Create(r.said)
	require.NoError(t, err)
	defer said.Close()
	person, terminal := openTerminal(t)
	defer terminal.Close()
	r.person = person
	program, err := os.Executable()
	require.NoError(t, err)
	r.supervisor = &exec.Cmd{
		Path: program, Args: []string{"hilrig", "ready", "--bench", turningBench, "--bank", "memory:" + r.path, "split"},
		Env:   append(realtime.WorkerEnv(os.Environ()), onlyStage+"="+stage, "XDG_STATE_HOME="+folder),
		Stdin: terminal, Stdout: said, Stderr: said,
		SysProcAttr: &syscall.SysProcAttr{Setsid: true, Setctty: true},
	}
	require.NoError(t, r.supervisor.Start())
	go func() {
		_ = r.supervisor.Wait() // its state says how it ended
		close(r.died)
	}()
	t.Cleanup(func() {
		_ = r.supervisor.Process.Kill() // where it has not ended; its worker then ends by itself
		<-r.died
		r.person.Close()
	})
	return r
}

func (r *tryingRun) text() string {
	data, _ := os.ReadFile(r.said) // it is there: the test made it
	return string(data)
}

// worker returns the worker's process; 0 where there is none.
func (r *tryingRun) worker() int {
	pid := strconv.Itoa(r.supervisor.Process.Pid)
	data, _ := os.ReadFile("/proc/" + pid + "/task/" + pid + "/children")
	tasks, _ := filepath.Glob("/proc/" + pid + "/task/*/children") // whichever thread started it
	for _, path := range tasks {
		more, _ := os.ReadFile(path)
		data = append(data, more...)
	}
	first, _, _ := strings.Cut(strings.TrimSpace(string(data)), " ")
	n, _ := strconv.Atoi(first)
	return n
}

// drives waits until the stage moves lines: in the relay's, until the heartbeat runs while the
// relay is closed. It says whether that came before the program's end.
func (r *tryingRun) drives(stage string) bool {
	r.t.Helper()
	moves, before := 0, r.bank.Level()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(200 * time.Microsecond) {
		level := r.bank.Level()
		changed := level ^ before
		before = level
		if stage == "relay" && level&r.relay != 0 && changed&r.beat != 0 || stage != "relay" && changed&r.driven != 0 {
			moves++
		}
		if moves > 20 {
			return true
		}
		select {
		case <-r.died:
			return false
		default:
		}
	}
	require.Fail(r.t, "it moves nothing", r.text())
	return false
}

// ends waits until both processes are gone, and holds that all is safe.
func (r *tryingRun) ends() {
	r.t.Helper()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		if c, err := claim.PinBank(r.path); err == nil { // it is theirs for as long as one of them lives
			_ = c.Release()
			break
		}
		require.False(r.t, time.Now().After(end), "UNSAFE: it does not end: %s", r.text())
	}
	level := r.bank.Level()
	assert.Zero(r.t, level&r.relay, "UNSAFE: the relay is closed at the end: %s", r.text())
	assert.Zero(r.t, level&r.beat, "UNSAFE: the heartbeat is high at the end: %s", r.text())
	assert.Equal(r.t, r.idle, level&r.driven, "UNSAFE: driven lines are away from idle at the end: %s", r.text())
	time.Sleep(10 * time.Millisecond)
	assert.Equal(r.t, level, r.bank.Level(), "UNSAFE: something still moves")
}

// However ready is ended while it drives a line, above all while relay and heartbeat are tried,
// both are low afterwards and each line at its safe level. How soon is for the tests on a
// clock of their own.
func TestReadyEndsSafeWhereverItIs(t *testing.T) {
	toSupervisor := func(s syscall.Signal) func(r *tryingRun) error {
		return func(r *tryingRun) error { return r.supervisor.Process.Signal(s) }
	}
	ways := []struct {
		name string
		end  func(r *tryingRun) error
		why  string // as reported; empty: nobody is left to tell it
	}{
		{"the terminal is closed", func(r *tryingRun) error { return r.person.Close() }, "the terminal was closed"},
		{"SIGHUP", toSupervisor(syscall.SIGHUP), "the terminal was closed"},
		{"SIGTERM", toSupervisor(syscall.SIGTERM), "asked to end"},
		{"SIGKILL of the worker", func(r *tryingRun) error { return syscall.Kill(r.worker(), syscall.SIGKILL) }, "the worker died"},
		{"SIGKILL of the supervisor", toSupervisor(syscall.SIGKILL), ""},
	}
	for _, stage := range []string{"relay", "pins", "loopback", "board", "throttle"} {
		for i, way := range ways {
			if stage != "relay" && i > 0 && !quiet() {
				continue // all of them by bash .ci/run rehearsals
			}
			t.Run(stage+", "+way.name, func(t *testing.T) {
				t.Parallel()
				for range 15 {
					r := startTrying(t, stage)
					if !r.drives(stage) { // a busy machine tripped it before
						r.ends()
						continue
					}
					require.NoError(t, way.end(r))
					r.ends()
					<-r.died
					if way.why != "" {
						assert.Equal(t, exitTripped, r.supervisor.ProcessState.ExitCode(), r.text())
						assert.Regexp(t, "the interlock tripped: ("+way.why+"|no message from the worker|the interlock itself stood still|the worker had no message)", r.text())
						assert.Contains(t, r.text(), "NOT READY  1 thing wrong")
					}
					return
				}
				t.Skip("the machine is too busy for the stage to come to its moment; all ends before it were safe")
			})
		}
	}
}
