package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	line "hilrig/rig/signal"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// onlyRotation is the variable that has a program of these tests go through no more than
// the last stage of ready, on a bank in this file.
const onlyRotation = "HILRIG_TEST_ROTATION"

func init() {
	if path := os.Getenv(onlyRotation); path != "" && !supervisor.Inside() {
		os.Exit(rotateOnly(path))
	}
}

// rotateOnly is ready as if all before the rotation had passed. The worker under the
// supervisor is that of the program.
func rotateOnly(path string) int {
	stepClock(os.Getenv(turnsKey))
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	c := &cobra.Command{}
	c.SetContext(ctx)
	b, err := readBench(os.Args[4])
	if err != nil {
		panic(err)
	}
	r := &readiness{screen: screenOn(os.Stdout), Readiness: live.Readiness{Of: live.OfBench(b), Tried: live.Tried{Passed: interlock.Parts{Stop: true, Relay: true, Heartbeat: true}}}}
	r.inputs = live.NewInputs(record.ReadRegular)
	if _, err := r.inputs.Read(os.Args[4]); err != nil {
		panic(err)
	}
	r.spotter = attendedBy(c)
	r.Person, r.terminal = r.spotter, term.IsTerminal(int(os.Stdin.Fd()))
	r.turning = func() (supervisor.Parts, error) {
		_, parts, err := live.InFile(live.OfBench(b), path, turns)
		return parts, err
	}
	r.noteRotation = func(right bool) error {
		fmt.Printf("noted: %v\n", right)
		return nil
	}
	r.stage("rotation", r.rotation)
	r.stage("motors", r.Motors)
	if e, ok := r.end().(ended); ok {
		return e.code
	}
	return exitGo
}

// turningRun is one run of such a program, a person before it.
type turningRun struct {
	t      *testing.T
	person *os.File
	bank   *registers.MemoryFile
	relay  uint32
	driven uint32
	idle   uint32
	said   string // a file
	read   int    // of it
	parent *exec.Cmd
	died   chan struct{}
}

// startTurning starts one for a bench file. Words for stepClock have it run on a clock of its
// own; none: it keeps real time.
func startTurning(t *testing.T, bench, words string) *turningRun {
	t.Helper()
	b, err := readBench(bench)
	require.NoError(t, err)
	w, _, err := live.WiresOf(b).Propose()
	require.NoError(t, err)
	folder := t.TempDir()
	r := &turningRun{t: t, relay: 1 << w.Relay, said: filepath.Join(folder, "said"), died: make(chan struct{})}
	for i, pin := range live.PinsOf(w.Layout, w.Pins) {
		if l := w.Layout.Lines[i]; l.Direction == line.Drive {
			r.driven |= 1 << pin
			if l.Idle {
				r.idle |= 1 << pin
			}
		}
	}
	path := filepath.Join(folder, "bank")
	r.bank, err = registers.OpenMemoryFile(path)
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
	r.parent = &exec.Cmd{
		Path: program, Args: []string{"hilrig", "ready", "split", "--bench", bench, "--bank", "memory:" + path},
		Env:   append(realtime.WorkerEnv(os.Environ()), onlyRotation+"="+path, turnsKey+"="+words),
		Stdin: terminal, Stdout: said, Stderr: said,
		SysProcAttr: &syscall.SysProcAttr{Setpgid: true},
	}
	require.NoError(t, r.parent.Start())
	go func() {
		_ = r.parent.Wait() // its state says how it ended
		close(r.died)
	}()
	t.Cleanup(func() {
		_ = r.parent.Process.Kill() // where it has not ended; its worker then ends by itself
		<-r.died
		r.person.Close()
	})
	return r
}

func (r *turningRun) text() string {
	data, _ := os.ReadFile(r.said) // it is there: the test made it
	return string(data)
}

// after waits for words that were not said before, and answers. It says whether they came.
func (r *turningRun) after(words, answer string) bool {
	r.t.Helper()
	came := r.until(func() bool {
		at := strings.Index(r.text()[r.read:], words)
		if at >= 0 {
			r.read += at + len(words)
		}
		return at >= 0
	})
	if came && answer != "" {
		_, err := r.person.WriteString(answer + "\n")
		require.NoError(r.t, err)
	}
	return came
}

// until waits for something. It says whether that came before the program's end.
func (r *turningRun) until(so func() bool) bool {
	r.t.Helper()
	for end := time.Now().Add(20 * time.Second); !so(); time.Sleep(time.Millisecond) {
		select {
		case <-r.died:
			return so()
		default:
			require.False(r.t, time.Now().After(end), "it does not come: %s", r.text())
		}
	}
	return true
}

func (r *turningRun) closed() bool { return r.bank.Level()&r.relay != 0 }

const turningBench = "testdata/kill/bench.yaml" // no lateness of a machine is beyond its limit

// armedBench returns the path of one whose board is armed by more throttle than its limit.
func armedBench(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(turningBench)
	require.NoError(t, err)
	armed := filepath.Join(t.TempDir(), "armed.yaml")
	text = bytes.ReplaceAll(text, []byte("reset: line"), []byte("reset: line\n  arm: [{throttle: 90 %, for: 300 ms}]"))
	text = bytes.ReplaceAll(text, []byte("motor_limit: 100 %"), []byte("motor_limit: 70 %"))
	require.NoError(t, os.WriteFile(armed, text, 0o600))
	return armed
}

// What a person at a terminal says, or does not, decides what turns, and however that
// ends, the motors have no supply, and the lines are idle.
func TestRotationWithAPersonOnAClockOfItsOwn(t *testing.T) {
	const yes = "I stand clear: yes or no?"
	looked := func(wheel string) []string { return []string{wheel + ": look", "", "go or no?", "go", "place)", "yes"} }
	for _, tt := range []struct {
		name, bench, turns string
		talk               []string // what is waited for, and what is said then
		code               int
		says               []string
	}{
		{"who sees all four turn", turningBench, "on",
			slices.Concat([]string{yes, "yes"}, looked("front left"), looked("front right"), looked("rear left"), looked("rear right")),
			exitGo, []string{"rear_right                turns forward", "noted: true", "the relay closed 4 times", "READY  for motors_powered: wheels_off_ground"}},
		{"who says no", turningBench, "on",
			[]string{yes, "yes", "front left: look", "", "go or no?", "go", "place)", "no", "front right: look", "", "go or no?", "no"},
			exitNotShown, []string{"commands  ", "front_left                turns backward", "swap any two", "not wanted", "noted: false", "the relay closed 1 times", "NOT READY"}},
		{"who does not answer", turningBench, "on", []string{yes, "yes", "go or no?", "\x04"},
			exitNotShown, []string{"front_left                nobody answers", "noted: false", "the relay closed 0 times", "not tried: rotation"}},
		{"whose board is armed by more than its motors bear", armedBench(t), "on", []string{yes, "yes", "go or no?", "go"},
			exitTripped, []string{"the interlock tripped: a motor command exceeded the bench's limit", "noted: false", "the relay closed 1 times", "NOT READY"}},
		{"Ctrl-C while they turn", turningBench, "ctrl-c=600ms", []string{yes, "yes", "go or no?", "go"},
			exitTripped, []string{"the interlock tripped: Ctrl-C", "noted: false", "the relay closed 1 times", "NOT READY"}},
		{"whose supervisor stands still", turningBench, "supervisor=600ms+25ms", []string{yes, "yes", "go or no?", "go"},
			exitTripped, []string{"the interlock itself stood still for 26 ms", "noted: false", "the relay closed 1 times", "NOT READY"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r := startTurning(t, tt.bench, tt.turns)
			for i := 0; i < len(tt.talk); i += 2 {
				require.True(t, r.after(tt.talk[i], tt.talk[i+1]), r.text())
			}
			r.until(func() bool { return false })
			text := r.text()
			assert.Equal(t, tt.code, r.parent.ProcessState.ExitCode(), text)
			assert.Contains(t, text, "and is closed: false")
			for _, words := range tt.says {
				assert.Contains(t, text, words)
			}
			level := r.bank.Level()
			assert.Zero(t, level&r.relay, "the relay is open at the end")
			assert.Equal(t, r.idle, level&r.driven, "driven lines are idle at the end")
		})
	}
}

// The same by the wall clock.
func TestRotationWithAPerson(t *testing.T) {
	onlyInQuiet(t)
	bearsPulses(t)
	armed := armedBench(t)
	for _, tt := range []struct {
		name  string
		bench string
		does  func(r *turningRun) bool // false: the machine was too busy
		code  int
		says  []string
	}{
		{"who says no", turningBench, func(r *turningRun) bool {
			r.after("I stand clear: yes or no?", "yes")
			r.after("front left: look", "")
			assert.False(r.t, r.closed(), "while it is asked")
			r.after("go or no?", "go")
			if !r.until(r.closed) || !r.after("Did front left turn forward", "") {
				return false
			}
			assert.False(r.t, r.closed(), "while it is asked")
			r.after("place)", "no")
			r.after("front right: look", "")
			return r.after("go or no?", "no")
		}, exitNotShown, []string{"commands  ", "front_left                turns backward", "swap any two", "not wanted", "noted: false", "NOT READY"}},
		{"who does not answer", turningBench, func(r *turningRun) bool {
			r.after("I stand clear: yes or no?", "yes")
			r.after("go or no?", "")
			r.person.Close()
			return !r.until(r.closed)
		}, exitNotShown, []string{"front_left                nobody answers", "noted: false", "not tried: rotation"}},
		{"whose board is armed by more than its motors bear", armed, func(r *turningRun) bool {
			r.after("I stand clear: yes or no?", "yes")
			return r.after("go or no?", "go")
		}, exitTripped, []string{"the interlock tripped: a motor command exceeded the bench's limit", "noted: false", "NOT READY"}},
		{"Ctrl-C while they turn", turningBench, func(r *turningRun) bool {
			r.after("I stand clear: yes or no?", "yes")
			r.after("go or no?", "go")
			if !r.until(r.closed) {
				return false
			}
			time.Sleep(600 * time.Millisecond)
			require.NoError(r.t, r.parent.Process.Signal(os.Interrupt))
			return true
		}, exitTripped, []string{"the interlock tripped: Ctrl-C", "noted: false", "NOT READY"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for range 5 {
				r := startTurning(t, tt.bench, "")
				well := tt.does(r)
				r.until(func() bool { return false })
				text := r.text()
				level := r.bank.Level()
				assert.Zero(t, level&r.relay, "the relay is open at the end")
				assert.Equal(t, r.idle, level&r.driven, "driven lines are idle at the end")
				if !well || strings.Contains(text, "no message from the worker") {
					assert.Contains(t, text, "the interlock tripped: ", "it ends before its time")
					continue
				}
				assert.Equal(t, tt.code, r.parent.ProcessState.ExitCode(), text)
				for _, words := range tt.says {
					assert.Contains(t, text, words)
				}
				return
			}
			assert.Fail(t, "the machine is too busy")
		})
	}
}
