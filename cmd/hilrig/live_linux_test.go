package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
)

// asked is a program that shows its list to a person at a terminal, on a bank in a file.
type asked struct {
	*exec.Cmd
	t      *testing.T
	folder string // with bench.yaml, suite.yaml, bank and what was said
	person *os.File
	died   chan struct{}
}

// poweredBench is a bench with wheels off the ground.
const poweredBench = "testdata/kill/bench.yaml"

// fullThrottle is a suite that no bench with a powered motor may play.
const fullThrottle = `suite: full throttle
about: All wheels turn as fast as they can.
defaults: {speed: 4 m/s, throttle: 90 %, gain: 0 %, settle: 300 ms, observe: 1 s}
cases:
  - case: fast
    about: The wheels turn.
    hold: {}
    expect:
      - {policy: understeer}
`

// askFor starts a command with that bench, its interlock tested and its motors seen to turn
// or not, and waits until the list stands and the question is put.
func askFor(t *testing.T, turned bool, command ...string) *asked {
	t.Helper()
	folder := t.TempDir()
	bench, err := os.ReadFile(poweredBench)
	require.NoError(t, err)
	a := &asked{t: t, folder: folder, died: make(chan struct{})}
	a.save("bench.yaml", string(bench))
	a.save("suite.yaml", fullThrottle)
	b, err := readBench(poweredBench)
	require.NoError(t, err)
	pins := supervisor.Pins{Stop: b.Interlock.Stop, Relay: b.Interlock.Relay, Heartbeat: b.Interlock.Heartbeat, Supply: b.Interlock.Supply}
	state := filepath.Join(folder, "state", "hilrig")
	require.NoError(t, supervisor.NoteTested(state, pins, interlock.Parts{Stop: true, Relay: true, Heartbeat: true}))
	require.NoError(t, supervisor.NoteRotation(state, live.MotorsWired(b), turned))
	said, err := os.Create(filepath.Join(folder, "said"))
	require.NoError(t, err)
	defer said.Close()
	person, terminal := openTerminal(t)
	defer terminal.Close()
	a.person = person
	a.Cmd = a.command(terminal, said, command...)
	require.NoError(t, a.Start())
	go func() {
		_ = a.Wait() // its state says how it ended
		close(a.died)
	}()
	t.Cleanup(func() {
		_ = a.Process.Kill() // where it has not ended
		<-a.died
		person.Close()
	})
	for !strings.Contains(a.text(), "anything else to stop: ") {
		select {
		case <-a.died:
			require.Fail(t, "it does not ask", a.text())
		case <-time.After(time.Millisecond):
		}
	}
	return a
}

// command returns a command on the bank and bench of the folder.
func (a *asked) command(stdin, said *os.File, command ...string) *exec.Cmd {
	program, err := os.Executable()
	require.NoError(a.t, err)
	return &exec.Cmd{
		Path: program, Dir: a.folder, Args: append([]string{"hilrig"}, append(command, "--bench", "bench.yaml", "--bank", "memory:bank")...),
		Env:   append(os.Environ(), "XDG_STATE_HOME="+filepath.Join(a.folder, "state")),
		Stdin: stdin, Stdout: said, Stderr: said,
		SysProcAttr: &syscall.SysProcAttr{Setpgid: true},
	}
}

func (a *asked) save(name, text string) {
	require.NoError(a.t, os.WriteFile(filepath.Join(a.folder, name), []byte(text), 0o600))
}

func (a *asked) text() string {
	data, err := os.ReadFile(filepath.Join(a.folder, "said"))
	require.NoError(a.t, err)
	return string(data)
}

// lateOnABusyMachine is what a run trips for before it is live where the machine is busy.
var lateOnABusyMachine = regexp.MustCompile("the interlock tripped: (no message from the |the interlock itself stood still|the worker had no message|the worker stood still)")

// confirmed has a person confirm the list, after something was done while it stood, and waits
// for the end: once more, up to ten times, where the machine was too busy for supervisor and worker.
func confirmed(t *testing.T, turned bool, meanwhile func(a *asked), command ...string) *asked {
	for range 10 {
		a := askFor(t, turned, command...)
		meanwhile(a)
		_, err := a.person.WriteString("yes\n")
		require.NoError(t, err)
		<-a.died
		if !lateOnABusyMachine.MatchString(a.text()) {
			return a
		}
	}
	t.Skip("the machine is too busy: supervisor or worker stood still ten times before anything was decided")
	return nil
}

// A person confirms the list of the file as it was. What is saved while the list stands is
// for the next run.
func TestWhatWasConfirmedIsWhatIsPlayed(t *testing.T) {
	for _, tt := range []struct {
		name string
		save func(a *asked)
	}{
		{"nothing saved", func(*asked) {}},
		{"another power level", func(a *asked) {
			text, err := os.ReadFile(poweredBench)
			require.NoError(t, err)
			a.save("bench.yaml", strings.Replace(string(text), "motors_powered: wheels_off_ground", "motors_powered: signals_only", 1))
		}},
		{"another suite", func(a *asked) {
			a.save("suite.yaml", strings.Replace(fullThrottle, "    hold: {}", "    up_to: wheels_off_ground\n    hold: {}", 1))
		}},
		{"no files any more", func(a *asked) {
			require.NoError(t, os.Remove(filepath.Join(a.folder, "bench.yaml")))
			require.NoError(t, os.Remove(filepath.Join(a.folder, "suite.yaml")))
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b, err := readBench(poweredBench)
			require.NoError(t, err)
			var ever atomic.Uint32
			a := confirmed(t, true, func(a *asked) {
				bank, err := registers.OpenMemoryFile(filepath.Join(a.folder, "bank"))
				require.NoError(t, err)
				go func() {
					for {
						select {
						case <-a.died:
							return
						default:
							ever.Or(bank.Level())
						}
					}
				}()
				tt.save(a)
			}, "run", "suite.yaml")
			assert.Equal(t, exitWrong, a.ProcessState.ExitCode(), "nothing is left to play: %s", a.text())
			assert.Contains(t, a.text(), "may be played up to signals_only, and the motors are powered as wheels_off_ground")
			assert.Zero(t, ever.Load()&(1<<b.Interlock.Relay), "the relay never closes")
			assert.Zero(t, ever.Load()&(1<<b.Interlock.Heartbeat), "there is no heartbeat")
		})
	}
}

// The interlock being tested is not enough.
func TestMotorsThatNobodySawTurnDoNotGoLive(t *testing.T) {
	for _, command := range []string{"play", "rate"} {
		a := confirmed(t, false, func(*asked) {}, command)
		assert.Equal(t, exitWrong, a.ProcessState.ExitCode(), command)
		assert.Contains(t, a.text(), "motors are powered as wheels_off_ground and nobody has seen each of them turn the right way, wired like this, since this machine was started; hilrig ready tries that last", command)
		assert.Contains(t, a.text(), "No motor lead was moved", command)
	}
}

// Two programs on one bank would undo each other's levels.
func TestASecondProgramOnAPinBankIsDenied(t *testing.T) {
	a := askFor(t, true, "run", "suite.yaml")
	other := func(command ...string) (string, int) {
		said, err := os.Create(filepath.Join(t.TempDir(), "said"))
		require.NoError(t, err)
		defer said.Close()
		c := a.command(nil, said, command...)
		err = c.Run()
		require.Error(t, err)
		text, err := os.ReadFile(said.Name())
		require.NoError(t, err)
		return string(text), c.ProcessState.ExitCode()
	}
	for _, command := range [][]string{{"run", "split"}, {"play", "steer=8deg"}, {"rate"}, {"ready", "split"}} {
		text, code := other(command...)
		assert.Equal(t, exitNotShown, code, "%v: %s", command, text)
		assert.Contains(t, text, "the bank bank: in use by hilrig run suite.yaml --bench bench.yaml --bank memory:bank (process "+strconv.Itoa(a.Process.Pid)+", since ", "%v", command)
	}
	require.NoError(t, a.Process.Kill())
	<-a.died
	text, code := other("run", "split")
	assert.Equal(t, exitWrong, code, text)
	assert.Contains(t, text, "standard input is no terminal", "it got as far as the question")
}
