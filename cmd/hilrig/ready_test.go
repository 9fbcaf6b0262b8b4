package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/suites/live"
)

// answering returns a command whose input is that.
func answering(input string) (*cobra.Command, *bytes.Buffer) {
	c, out := &cobra.Command{}, &bytes.Buffer{}
	c.SetContext(context.Background())
	c.SetIn(strings.NewReader(input))
	c.SetOut(out)
	return c, out
}

func TestAPersonIsAskedUntilTheAnswerIsOne(t *testing.T) {
	c, out := answering("what?\n\n YES \nn\n")
	p := attendedBy(c)
	yes, err := p.ask("Well?")
	require.NoError(t, err)
	assert.True(t, yes)
	assert.Equal(t, 3, strings.Count(out.String(), "Well?"))
	yes, err = p.Powered()
	require.NoError(t, err)
	assert.False(t, yes)
	_, err = p.Powered()
	assert.ErrorIs(t, err, errNobody, "the input is at its end")
}

func TestAPersonsAnswerIsAWord(t *testing.T) {
	for answer, want := range map[string]bool{"y": true, "yes": true, "Yes": true, "n": false, "no": false, "NO": false} {
		c, _ := answering(answer + "\n")
		yes, err := attendedBy(c).ask("Well?")
		require.NoError(t, err)
		assert.Equal(t, want, yes, answer)
	}
}

func TestNobodyIsWaitedForAfterCtrlC(t *testing.T) {
	c, _ := answering("")
	read, write := io.Pipe()
	defer write.Close()
	c.SetIn(read)
	ctx, cancel := context.WithCancel(t.Context())
	c.SetContext(ctx)
	p := attendedBy(c)
	cancel()
	_, err := p.Powered()
	assert.ErrorIs(t, err, context.Canceled)
	assert.ErrorIs(t, p.MoveStop(true), context.Canceled)
}

// trying returns a readiness on rehearsed lines with everything on the header, at
// which a person answers so, and what it writes.
func trying(t *testing.T, power interlock.Power, answers string) (*readiness, *preflight.Rehearsal, *cobra.Command, *bytes.Buffer) {
	t.Helper()
	b, err := readBench("")
	require.NoError(t, err)
	b.Power = power
	w, _, err := live.WiresOf(b).Propose()
	require.NoError(t, err)
	c, out := answering(answers)
	clock := new(realtime.Manual)
	clock.SleepUntil(signal.Second) // as a machine's, which does not begin at 0
	lines := preflight.NewRehearsal(&w).On(clock)
	return &readiness{screen: screenOn(out), Readiness: live.Readiness{Of: live.OfBench(b), Wires: w, Lines: lines, Person: attendedBy(c)}}, lines, c, out
}

// Without a yes no line is touched.
func TestCautionsComeFirst(t *testing.T) {
	for _, tt := range []struct {
		answer string
		on     bool
	}{{"yes\n", true}, {"no\n", false}, {"", false}} {
		r, _, _, out := trying(t, interlock.SignalsOnly, tt.answer)
		assert.Equal(t, tt.on, r.warned(), tt.answer)
		for _, word := range []string{"Disconnect", "wheels", "clamp", "lithium", "eyes", "hair", "bystanders", "not a safety device", "local rules", "qualified"} {
			assert.Contains(t, out.String(), word)
		}
		assert.Equal(t, tt.on, r.Wrong == 0)
	}
}

// noBoard leaves the board out: that has scripts of its own.
func noBoard(r *readiness) {
	r.stage("stop", r.TryStop)
	r.stage("relay", r.TryRelay)
}

// moved is a person whose hand is the rehearsal's, and whose eyes are a list of
// answers.
type moved struct {
	*preflight.Rehearsal
	*person
}

func (m moved) MoveStop(open bool) error { return m.Rehearsal.MoveStop(open) }
func (m moved) Powered() (bool, error)   { return m.person.Powered() }

func TestWhatAPersonSawDecides(t *testing.T) {
	tests := []struct {
		name, answers string
		wrong         int
		passed        interlock.Parts
	}{
		{"all well", "n\nn\nn\ny\nn\nn\nn\n", 0, interlock.Parts{Stop: true, Relay: true, Heartbeat: true}},
		{"stays on without heartbeat", "n\nn\nn\ny\ny\n", 1, interlock.Parts{Stop: true}},
		{"went away", "n\nn\n", 0, interlock.Parts{Stop: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r, lines, _, out := trying(t, interlock.SignalsOnly, tt.answers)
			r.Person = moved{lines, r.Person.(*person)}
			noBoard(r)
			assert.Equal(t, tt.wrong, r.Wrong, out.String())
			assert.Equal(t, tt.passed, r.Passed)
			assert.True(t, r.Asked)
			high, err := lines.Read(r.Wires.Relay)
			require.NoError(t, err)
			assert.False(t, high, "the relay's line ends low")
		})
	}
}

// Motors that are to be powered need everything tried; signals alone do not.
func TestPoweredMotorsNeedTheInterlockTried(t *testing.T) {
	for _, tt := range []struct {
		power interlock.Power
		code  int
	}{{interlock.SignalsOnly, exitGo}, {interlock.MotorsNoWheels, exitNotShown}, {interlock.WheelsOffGround, exitNotShown}} {
		r, _, _, out := trying(t, tt.power, "")
		r.Person = nil
		noBoard(r)
		r.stage("motors", r.Motors)
		var e ended
		if err := r.end(); err != nil {
			require.ErrorAs(t, err, &e)
		}
		assert.Equal(t, tt.code, e.code, out.String())
		assert.Contains(t, out.String(), "not tried: stop input, relay")
	}
}

// Where the board is wrong the interlock is not reached.
func TestTheInterlockIsTriedBehindTheBoard(t *testing.T) {
	none := func() error { return errors.New("no bench") }
	r, _, c, _ := trying(t, interlock.SignalsOnly, "")
	r.onLines(c, nil, none)
	assert.False(t, r.Asked)
	assert.Equal(t, []string{"pins", "board"}, r.Began)
	assert.Equal(t, 1, r.Wrong)
}

// A bench needs the lines for itself: they are given back before and taken after, and
// that they could not be taken again is wrong.
func TestLinesAreLent(t *testing.T) {
	r, lines, _, _ := trying(t, interlock.SignalsOnly, "")
	during := func() []preflight.Result { assert.Nil(t, r.Lines); return nil }
	r.Open = func() error { r.Lines = lines; return nil }
	assert.Empty(t, r.Lend(during))
	assert.Same(t, lines, r.Lines)
	r.Open = func() error { return errors.New("gone; plug it in") }
	assert.Equal(t, []preflight.Result{{Check: "bench", Grade: preflight.Wrong, Says: "gone", Remedy: "plug it in"}}, r.Lend(during))
	assert.Nil(t, r.Lines)
}

// Whatever is wrong, what stands behind it is not tried.
func TestStagesEndAtTheFirstThatIsWrong(t *testing.T) {
	r, _, _, out := trying(t, interlock.SignalsOnly, "")
	reached := false
	r.stage("one", func() []preflight.Result {
		return []preflight.Result{{Check: "a", Grade: preflight.Warning, Says: "s", Remedy: "c"}}
	})
	r.stage("two", func() []preflight.Result {
		return []preflight.Result{{Check: "b", Grade: preflight.Wrong, Says: "s", Remedy: "d"}}
	})
	r.stage("three", func() []preflight.Result { reached = true; return nil })
	assert.False(t, reached)
	assert.Equal(t, []string{"three"}, r.Left)
	assert.Regexp(t, `(?m)^  warning +a +s\n +note: c$`, out.String())
	assert.Regexp(t, `(?m)^  WRONG +b +s\n +cure: d$`, out.String())
}

// On a machine without pins there is nothing to open.
func TestNoLinesWithoutAWayToThem(t *testing.T) {
	r, _, _, out := trying(t, interlock.SignalsOnly, "")
	r.Lines = nil
	r.stage("lines", func() []preflight.Result { return r.OpenLines(pinout.NoPi, nil) })
	assert.Nil(t, r.Lines)
	assert.Equal(t, 1, r.Wrong, out.String())
}
