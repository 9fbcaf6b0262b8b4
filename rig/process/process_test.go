package process_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/process"
	"hilrig/rig/signal"
)

// asBoard is the first argument with which this test's own program is a board.
const asBoard = "as-board"

func TestMain(m *testing.M) {
	if len(os.Args) > 2 && os.Args[1] == asBoard {
		os.Exit(peer(os.Args[2]))
	}
	os.Exit(m.Run())
}

// command has this test's program be a board of a kind.
func command(kind string) process.Command {
	return process.Command{Words: []string{os.Args[0], asBoard, kind}, Patience: 20 * time.Second}
}

// layout is the wires of the demo's board; the serial line rests high.
func layout() signal.Layout {
	var l signal.Layout
	for _, name := range []string{"steer", "throttle", "gain", "yaw_serial"} {
		l.Lines = append(l.Lines, signal.LineSpec{Name: name, Idle: name == "yaw_serial"})
	}
	for _, w := range []string{"front_left", "front_right", "rear_left", "rear_right"} {
		for _, part := range []string{"_a", "_b"} {
			l.Lines = append(l.Lines, signal.LineSpec{Name: w + part})
		}
		l.Lines = append(l.Lines, signal.LineSpec{Name: "motor_" + w, Direction: signal.Capture})
	}
	return l
}

// peer is the board of a kind. It returns the exit status.
func peer(kind string) int {
	if kind == "built-in" {
		err := process.Serve(os.Stdin, os.Stdout, func(l *signal.Layout) (board.Board, error) {
			for i := range l.Lines {
				l.Lines[i].Idle = l.Lines[i].Name == "yaw_serial"
			}
			return board.NewBuiltIn(board.Bramble(), *l, 7)
		})
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		return 0
	}
	if kind == "answers" || kind == "echoes" {
		return answers(kind == "echoes")
	}
	return scripted(kind)
}

// scripted answers the first step as it should, and then as the kind says.
func scripted(kind string) int {
	in := make([]byte, 1<<16)
	heard := ""
	until := func(word string) {
		for !strings.Contains(heard, word) {
			n, err := os.Stdin.Read(in)
			if err != nil {
				os.Exit(0)
			}
			heard += string(in[:n])
		}
		_, heard, _ = strings.Cut(heard, word)
	}
	until("capture")
	switch kind {
	case "says another":
		fmt.Println("hello")
	case "ends at once":
		fmt.Fprintln(os.Stderr, "no flash image")
		return 3
	default:
		fmt.Println("ready", kind)
	}
	until("to 1000")
	fmt.Printf("e 500 0 1\nat 1000\n")
	until("to 20")
	fmt.Fprintln(os.Stderr, "one\ntwo\nthree\nfour")
	switch kind {
	case "hangs":
		time.Sleep(time.Hour)
	case "ends":
		return 5
	case "is killed":
		_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
	case "closes":
		os.Stdout.Close()
	case "no end":
		fmt.Print(strings.Repeat("x", 1<<17))
	default:
		fmt.Print(strings.ReplaceAll(kind, "|", "\n"))
	}
	until("end")
	return 0
}

func TestABoardInAnotherProcessIsTheSameBoard(t *testing.T) {
	const steps = 400
	draw := rand.New(rand.NewPCG(1, 2))
	there, err := process.Start(command("built-in"), layout())
	require.NoError(t, err)
	defer there.Close()
	here, err := board.NewBuiltIn(board.Bramble(), layout(), 7)
	require.NoError(t, err)
	defer here.Close()
	assert.Equal(t, here.Name(), there.Name())

	levels := map[signal.Line]bool{3: true}
	var until signal.Time
	edges := 0
	for step := range steps {
		from := until
		until += 1 + signal.Time(draw.Uint64N(uint64(20*signal.Millisecond)))
		var in []signal.Edge
		for range draw.IntN(40) {
			in = append(in, signal.Edge{At: from + 1 + signal.Time(draw.Uint64N(uint64(until-from))), Line: driven(draw)})
		}
		slices.SortStableFunc(in, func(a, b signal.Edge) int { return int(a.At - b.At) })
		for i := range in {
			levels[in[i].Line] = !levels[in[i].Line]
			in[i].Level = levels[in[i].Line]
		}
		want, err := here.Run(in, until, nil)
		require.NoError(t, err)
		got, err := there.Run(in, until, nil)
		require.NoError(t, err)
		require.Equal(t, want, got, "step %d", step)
		edges += len(got)
		if step == steps/2 {
			require.NoError(t, here.Restart(until))
			require.NoError(t, there.Restart(until))
		}
	}
	assert.Greater(t, edges, 1000)
}

// More edges than fit into the pipes at once are said in several steps, which nobody notices.
func TestAStepOfManyEdgesIsTheSameStep(t *testing.T) {
	there, err := process.Start(command("built-in"), layout())
	require.NoError(t, err)
	defer there.Close()
	here, err := board.NewBuiltIn(board.Bramble(), layout(), 7)
	require.NoError(t, err)
	defer here.Close()
	var in []signal.Edge
	for i := range 20_000 { // two wheels turn, their edges at the same time
		at := signal.Time(1+i/2) * 20 * signal.Microsecond
		in = append(in, signal.Edge{At: at, Line: signal.Line(4 + 3*(i%2)), Level: i/2%2 == 0})
	}
	until := in[len(in)-1].At + signal.Microsecond
	want, err := here.Run(in, until, nil)
	require.NoError(t, err)
	got, err := there.Run(in, until, nil)
	require.NoError(t, err)
	require.NotEmpty(t, want)
	assert.Equal(t, want, got)
}

// driven draws a line that the rig drives.
func driven(draw *rand.Rand) signal.Line {
	for {
		l := signal.Line(draw.IntN(len(layout().Lines)))
		if layout().Lines[l].Direction == signal.Drive {
			return l
		}
	}
}

func TestABoardThatFailsIsNamedWithItsLastWords(t *testing.T) {
	for _, test := range []struct{ kind, says string }{
		{"ends", "it ended (exit status 5) at 1 us of the run"},
		{"is killed", "it ended (signal: killed) at 1 us of the run"},
		{"closes", "it closed its standard output at 1 us of the run"},
		{"hello there|", `it said "hello there" at 1 us of the run, where it has to say e TIME PLACE LEVEL or at TIME`},
		{"e 1500 0|at 2000|", `it said "e 1500 0" at 1 us of the run, which is no edge`},
		{"e 1500 0 2|at 2000|", `it said "e 1500 0 2" at 1 us of the run, whose level is neither 0 nor 1`},
		{"e 1500 4 1|at 2000|", `which is on a line that there is not: the capture list has 4, from 0`},
		{"e 900 0 0|at 2000|", `which is of the past or out of order: it had come to 1000`},
		{"e 1800 0 0|e 1700 0 1|at 2000|", `which is of the past or out of order: it had come to 1800`},
		{"e 2001 0 0|at 2000|", `which is of the future: it was to run to 2000`},
		{"e 1234567890123456789 0 0|at 2000|", `which is no edge`},
		{"at 1900|", `it said "at 1900" at 1 us of the run, where it was to run to 2000`},
		{"no end", `it said "xxxxxxxxxxxxxxxxxxxx`},
	} {
		t.Run(fmt.Sprintf("%.20s", test.kind), func(t *testing.T) {
			var stderr bytes.Buffer
			c := command(test.kind)
			c.Stderr = &stderr
			b, err := process.Start(c, layout())
			require.NoError(t, err)
			out, err := b.Run(nil, 1000, nil)
			require.NoError(t, err)
			require.Equal(t, []signal.Edge{{At: 500, Line: 6, Level: true}}, out)
			_, err = b.Run(nil, 2000, nil)
			failed := new(process.Error)
			require.ErrorAs(t, err, &failed)
			assert.Contains(t, failed.What, test.says)
			assert.Contains(t, err.Error(), "board command "+os.Args[0]+" "+asBoard)
			_, again := b.Run(nil, 3000, nil)
			assert.Equal(t, err, again, "it has failed for good")
			assert.Equal(t, err, b.Restart(3000))
			require.NoError(t, b.Close())
			assert.Equal(t, "one\ntwo\nthree\nfour\n", stderr.String(), "all of it is kept")
			if test.kind == "ends" {
				assert.Equal(t, "two | three | four", failed.Said)
			}
		})
	}
}

func TestABoardThatHangsIsGivenUp(t *testing.T) {
	c := command("hangs")
	c.Patience = 3 * time.Second // which a host that is busy keeps to as well
	b, err := process.Start(c, layout())
	require.NoError(t, err)
	_, err = b.Run(nil, 1000, nil)
	require.NoError(t, err)
	_, err = b.Run(nil, 2000, nil)
	assert.ErrorContains(t, err, "no answer within 3s of the wall clock at 1 us of the run")
	assert.NoError(t, b.Close())
}

func TestALongStepMayTakeLonger(t *testing.T) {
	c := command("hangs")
	c.Patience = time.Second
	b, err := process.Start(c, layout())
	require.NoError(t, err)
	_, err = b.Run(nil, 1000, nil)
	require.NoError(t, err)
	_, err = b.Run(nil, 20*signal.Millisecond+1000, nil) // it hangs from 2000 on
	assert.ErrorContains(t, err, "no answer within 2s of the wall clock at 1 us of the run")
	assert.NoError(t, b.Close())
}

func TestACommandThatIsNoBoardIsNotStarted(t *testing.T) {
	for _, test := range []struct {
		words []string
		says  string
	}{
		{nil, "no board command; write the program and its arguments"},
		{[]string{"./there-is-no-such-program"}, "board command ./there-is-no-such-program cannot be started: "},
		{command("ends at once").Words, "it ended (exit status 3) at 0 ms of the run; its last words: no flash image"},
		{command("says another").Words, `it said "hello" at 0 ms of the run, where it has to say ready NAME`},
	} {
		_, err := process.Start(process.Command{Words: test.words}, layout())
		assert.ErrorContains(t, err, test.says)
	}
}

func TestChildrenOfTheCommandEndWithIt(t *testing.T) {
	b, err := process.Start(process.Command{Words: []string{"sh", "-c", `sleep 1000 >/dev/null 2>&1 & echo "ready $!"; read x; read x; read x; exit`}}, layout())
	require.NoError(t, err)
	child, err := strconv.Atoi(b.Name())
	require.NoError(t, err)
	require.NoError(t, syscall.Kill(child, 0), "it is there")
	require.NoError(t, b.Close())
	assert.Eventually(t, func() bool { return gone(child) }, 30*time.Second, 5*time.Millisecond)
}

// gone says whether a process is no more, or waits for nobody but its parent.
func gone(process int) bool {
	if errors.Is(syscall.Kill(process, 0), syscall.ESRCH) {
		return true
	}
	state, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", process))
	return err != nil || bytes.Contains(state, []byte(") Z"))
}

func TestAStepAllocatesNothing(t *testing.T) {
	b, err := process.Start(command("built-in"), layout())
	require.NoError(t, err)
	defer b.Close()
	var until signal.Time
	in, out := make([]signal.Edge, 1), make([]signal.Edge, 0, 100)
	level := false
	assert.Zero(t, testing.AllocsPerRun(200, func() {
		level = !level
		in[0] = signal.Edge{At: until + 1, Line: 4, Level: level}
		until += signal.Millisecond
		if out, err = b.Run(in, until, out[:0]); err != nil {
			t.Fatal(err)
		}
	}))
}

func TestServeSaysWhatItDoesNotUnderstand(t *testing.T) {
	const greeting = "hilrig-board 1\ndrive steer\ncapture motor_front_left\n"
	for _, test := range []struct{ said, says string }{
		{"", "the rig said nothing"},
		{"hilrig-board 2\n", "this board speaks version 1"},
		{"drive steer\n", `"drive steer" was said where hilrig-board was to come`},
		{greeting + "e 1 1 0\n", `"e 1 1 0" is no edge`},
		{greeting + "to x\n", `"to x" is no step`},
		{greeting + "hello\n", `"hello" is not in the protocol`},
	} {
		err := process.Serve(strings.NewReader(test.said), io.Discard, func(l *signal.Layout) (board.Board, error) {
			return board.NewNull("silent", board.Pulses{}, layout(), 1)
		})
		assert.ErrorContains(t, err, test.says)
	}
}

// BenchmarkStep is a step of 1 ms with a turning wheel's edges and the built-in board.
func BenchmarkStep(b *testing.B) {
	board, err := process.Start(command("built-in"), layout())
	if err != nil {
		b.Fatal(err)
	}
	defer board.Close()
	var until signal.Time
	in, out := make([]signal.Edge, 4), make([]signal.Edge, 0, 100)
	for b.Loop() {
		for i := range in {
			in[i] = signal.Edge{At: until + signal.Time(i+1), Line: 4, Level: i%2 == 0}
		}
		until += signal.Millisecond
		if out, err = board.Run(in, until, out[:0]); err != nil {
			b.Fatal(err)
		}
	}
}
