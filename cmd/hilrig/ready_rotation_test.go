package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/live"
)

// rotatingWith returns a readiness at which all but the rotation has passed and a person
// at a terminal answers so.
func rotatingWith(t *testing.T, answers string) (*readiness, *bytes.Buffer) {
	t.Helper()
	r, _, _, out := trying(t, interlock.WheelsOffGround, answers)
	r.Passed = interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	r.spotter, r.terminal = r.Person.(*person), true
	r.turning = func() (supervisor.Parts, error) { return supervisor.Parts{}, nil }
	r.inputs = live.NewInputs(func(string, int64) ([]byte, error) { return []byte("as it was read"), nil })
	_, err := r.inputs.Read("bench.yaml")
	require.NoError(t, err)
	return r, out
}

// Motors get their supply only where somebody at a terminal said so, and after all else.
func TestNothingTurnsUnasked(t *testing.T) {
	for _, tt := range []struct {
		name, answers string
		of            func(r *readiness)
		says          string
	}{
		{"nobody there", "yes\n", func(r *readiness) { r.Person = nil }, "nobody is there"},
		{"the relay not tried", "yes\n", func(r *readiness) { r.Passed.Relay = false }, "have to pass before"},
		{"no terminal", "yes\n", func(r *readiness) { r.terminal = false }, "no terminal"},
		{"no", "no\n", func(*readiness) {}, "not confirmed; no motor had its supply"},
		{"no answer", "", func(*readiness) {}, "nobody answers"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, out := rotatingWith(t, tt.answers)
			r.supervised = func(supervisor.Settings) (supervisor.Ending, error) {
				assert.Fail(t, "it goes on")
				return supervisor.Ending{}, nil
			}
			tt.of(r)
			r.stage("rotation", r.rotation)
			r.stage("motors", r.Motors)
			assert.Contains(t, out.String(), tt.says)
			assert.Contains(t, out.String(), "not everything was tried: rotation")
			assert.Equal(t, 1, r.Wrong)
		})
	}
}

// How the worker under the supervisor ended decides, and is noted.
func TestTheEndOfTheTurnsDecides(t *testing.T) {
	for _, tt := range []struct {
		name   string
		ending supervisor.Ending
		err    error
		code   int
		says   string
		noted  []bool
	}{
		{"all forward", supervisor.Ending{Worker: "exit status 0"}, nil, exitGo, "each of the four turns forward", []bool{true}},
		{"one backward", supervisor.Ending{Worker: "exit status 1", Code: exitNoGo}, nil, exitNotShown, "as said above", []bool{false}},
		{"not all looked at", supervisor.Ending{Worker: "exit status 2", Code: exitNotShown}, nil, exitNotShown, "not all four were looked at", []bool{false}},
		{"tripped", supervisor.Ending{Worker: "exit status 4", Code: exitTripped, Tripped: true, Why: "Ctrl-C"}, nil, exitTripped, "the interlock tripped: Ctrl-C", []bool{false}},
		{"tripped at the very end", supervisor.Ending{Worker: "exit status 0", Tripped: true, Why: "the stop contact opened"}, nil, exitTripped, "the stop contact opened", []bool{false}},
		{"a line not safe", supervisor.Ending{Worker: "exit status 0"}, errors.New("relay: no such line"), exitNotShown, "relay: no such line", []bool{false}},
		{"not started", supervisor.Ending{}, errors.New("the stop contact is open; close it"), exitNotShown, "cure: close it", nil},
		{"something else", supervisor.Ending{Worker: "exit status 3", Code: exitWrong}, nil, exitNotShown, "the worker ended with exit status 3", []bool{false}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, out := rotatingWith(t, "yes\n")
			var noted []bool
			r.noteRotation = func(right bool) error { noted = append(noted, right); return nil }
			var got supervisor.Settings
			var inputs *live.Inputs
			r.supervised = func(s supervisor.Settings) (supervisor.Ending, error) {
				got = s
				var err error
				inputs, err = live.ReadInputs(s.Extra[live.InheritedInputs])
				require.NoError(t, err)
				return tt.ending, tt.err
			}
			r.stage("rotation", r.rotation)
			r.stage("motors", r.Motors)
			code := exitGo
			var e ended
			if err := r.end(); errors.As(err, &e) {
				code = e.code
			}
			assert.Equal(t, tt.code, code, out.String())
			assert.Contains(t, out.String(), tt.says)
			assert.Equal(t, tt.noted, noted)
			assert.True(t, got.Trial && !got.Rotation && got.Confirmed, "%+v", got)
			assert.Equal(t, interlock.WheelsOffGround, got.Power)
			assert.Equal(t, r.Passed, got.Tested)
			data, err := inputs.Read("bench.yaml")
			require.NoError(t, err)
			assert.Equal(t, "as it was read", string(data), "the worker gets it")
		})
	}
}

// What has to be so before the motors get their supply is all said, and the question asks
// for the supply.
func TestTheCautionsOfTheRotation(t *testing.T) {
	r, out := rotatingWith(t, "no\n")
	r.stage("rotation", r.rotation)
	text := strings.Join(strings.Fields(out.String()), " ")
	for _, words := range []string{
		"10 % of their range", "beyond 25 %", "cannot choose", "not a safety device", "hang free", "clamped", "by hand from where you stand", "stop contact", "Nobody else is near",
		"eye protection", "Hair, sleeves", "lithium", "limits its current", "stop button within reach", "Connect the motors NOW and switch their supply on",
	} {
		assert.Contains(t, text, words)
	}
	assert.NotContains(t, text, "hilrig ready showed", "that is what it is about to do")
}

// prompts tells whoever waits for it that the question was written.
type prompts chan struct{}

func (p prompts) Write(text []byte) (int, error) {
	if bytes.Contains(text, []byte("go or no?")) {
		select {
		case p <- struct{}{}:
		default: // asked once more, as the answer was none
		}
	}
	return len(text), nil
}

func spotting(input string) (*spotter, *bytes.Buffer) {
	c, out := answering(input)
	b := &file.Bench{}
	b.Board.ReadyAfter = 2 * signal.Second
	return &spotter{attendedBy(c), &live.Turner{Setup: &suites.Setup{Bench: b}, Of: suites.Turn{Settle: signal.Second, Hold: live.FirstHold}}, time.Minute}, out
}

func TestAPersonSaysWhatTurned(t *testing.T) {
	for input, want := range map[string]preflight.Sight{"yes": preflight.Forward, "Y": preflight.Forward, "no": preflight.Backward, "n": preflight.Backward, "none": preflight.Motionless, "hm\nother": preflight.Another} {
		s, out := spotting(input + "\n")
		saw, err := s.Saw(plant.RearLeft)
		require.NoError(t, err)
		assert.Equal(t, want, saw, input)
		assert.Contains(t, out.String(), "Did rear left turn forward, yes or no?")
	}
	s, _ := spotting("perhaps\n")
	_, err := s.Saw(plant.RearLeft)
	assert.ErrorIs(t, err, errNobody)
}

// Nothing turns on what was written before the question, nor on anything but go.
func TestOnlyAGoAfterTheQuestionIsOne(t *testing.T) {
	s, out := spotting("go\ngo\n")
	require.ErrorIs(t, s.Go(plant.FrontLeft), errNobody)
	assert.Contains(t, out.String(), "front left: look at this wheel alone")
	assert.Contains(t, out.String(), "3 s later the motors turn for 1 s")

	input, write := io.Pipe()
	c, _ := answering("")
	c.SetIn(input)
	s.person = attendedBy(c)
	answer := func(line string) {
		asked := make(prompts, 1)
		s.out = asked
		go func() {
			<-asked
			_, _ = io.WriteString(write, line)
		}()
	}
	answer("yes\ngo\n")
	require.NoError(t, s.Go(plant.FrontLeft))
	answer("no\n")
	require.ErrorIs(t, s.Go(plant.FrontRight), errNotLet)
	s.out = io.Discard
	s.patience = time.Millisecond
	require.ErrorIs(t, s.Go(plant.FrontRight), errNobody, "nobody answers in time")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	s.ctx, s.patience = ctx, time.Minute
	require.ErrorIs(t, s.Go(plant.FrontRight), context.Canceled)
}

// What a person writes reaches another program as long as that reads, and nobody after.
func TestAnswersArePassedOn(t *testing.T) {
	input, write := io.Pipe()
	c, _ := answering("")
	c.SetIn(input)
	p := attendedBy(c)
	read, end, err := p.pass()
	require.NoError(t, err)
	go func() { _, _ = io.WriteString(write, "go\nyes\n") }()
	got := make([]byte, 7)
	_, err = io.ReadFull(read, got)
	require.NoError(t, err)
	assert.Equal(t, "go\nyes\n", string(got))
	end()
	go func() { _, _ = io.WriteString(write, "no\n") }()
	yes, err := p.ask("Back?")
	require.NoError(t, err)
	assert.False(t, yes)

	read, end, err = p.pass()
	require.NoError(t, err)
	defer end()
	write.Close()
	rest, err := io.ReadAll(read)
	require.NoError(t, err)
	assert.Empty(t, rest, "there are no more")
}

// In virtual time, with the board of the program: what a rehearsal sees, and that a
// board of which one motor gets more than the throttle is found.
func TestTurnsInVirtualTime(t *testing.T) {
	for _, tt := range []struct {
		name, board string
		grade       preflight.Grade
		says        string
	}{
		{"well", "built-in", preflight.Well, "10.0 %, 10.0 %, 10.0 %, 10.0 % of their range"},
		{"silent", "null:silent", preflight.Wrong, "motor_front_left fell silent"},
		{"idle", "null:constant_idle", preflight.Wrong, "motor_front_left is at 0.0 %"},
		{"random", "null:random_commands", preflight.Wrong, "motor_front_left went to"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := inputFlags{board: tt.board, seed: 1}
			c := &cobra.Command{}
			c.SetContext(t.Context())
			setup, err := f.load(c, []string{"split"})
			require.NoError(t, err)
			turn := live.Turner{Setup: setup, Of: suites.Turn{Throttle: 0.1, Hold: live.FirstHold}}
			found := turn.Turn(t.Context())
			assert.Equal(t, tt.grade, found.Grade)
			assert.Contains(t, found.Says, tt.says)
			assert.Equal(t, tt.grade, live.TryThrottle(t.Context(), setup)[0].Grade, "before any motor has its supply")
			s := rehearsedSpotter{&readiness{screen: screenOn(io.Discard)}, &turn}
			require.NoError(t, s.Go(plant.FrontLeft))
			saw, err := s.Saw(plant.FrontLeft)
			require.NoError(t, err)
			if tt.grade == preflight.Well {
				assert.Equal(t, preflight.Forward, saw)
			} else if tt.name != "random" {
				assert.Equal(t, preflight.Motionless, saw)
			}
		})
	}
}

// A rehearsal has a bank of its own, and leaves nothing behind.
func TestARehearsalsBank(t *testing.T) {
	r := &readiness{}
	r.spotter = &person{}
	path, err := r.ownBank()
	require.NoError(t, err)
	assert.Nil(t, r.spotter, "nobody is asked")
	assert.Equal(t, []string{"HILRIG_REHEARSED=" + path}, r.env)
	assert.DirExists(t, r.bank)
	r.forget()
	assert.NoDirExists(t, r.bank)

	c, _ := answering("")
	err = (&readyFlags{inputFlags: inputFlags{board: "built-in"}}).play(c, nil, []string{"split"}, true, live.Place{Model: thisPi()})
	require.ErrorContains(t, err, "no bank", "a rehearsal never comes to pins")

	r, _, _, _ = trying(t, interlock.SignalsOnly, "")
	r.spotter = &person{}
	place := live.Place{PinBank: os.DevNull}
	require.NoError(t, r.rehearse(&place))
	assert.Equal(t, os.DevNull, place.PinBank)
	assert.NotNil(t, r.spotter)
	r.forget()
	assert.FileExists(t, "ready_rotation_test.go")
}
