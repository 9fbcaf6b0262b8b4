// Package process puts a board that is another program on the simulated bench: firmware that is
// compiled for this machine, or an emulator that runs its machine code.
//
// [Start] starts a [Command] and speaks with it step by step on its standard input and output, in
// lines of text; times are whole nanoseconds of virtual time:
//
//	rig   > hilrig-board 1
//	rig   > drive steer throttle gain front_left_a front_left_b ... yaw_serial
//	rig   > capture motor_front_left motor_front_right motor_rear_left motor_rear_right
//	board > ready NAME
//	rig   > e 1500000 3 1        an edge: time, place in the drive list from 0, level
//	rig   > to 2000000           run until this time
//	board > e 1612345 0 1        an edge: time, place in the capture list from 0, level
//	board > at 2000000
//	rig   > restart              a power cycle, answered by ready NAME; time goes on
//	rig   > end
//
// A driven line is low until an edge says otherwise: after a start and a restart the lines that
// are high are told with the first step. A captured line begins at the level that the bench
// declares for its rest, and an edge to the level that a line has already is no edge. At a restart
// the captured lines return to rest by themselves.
//
// How long a step is means nothing: a board does the same however its time is cut. What is driven comes in order of time, in
// steps of at most 2^15 bytes of edges or so, which fit into a pipe: neither side has to read while it writes.
//
// A board that ends, does not answer in time, or says what is not in the protocol has failed for
// good: the error is an [Error] with the command and its last words. What the board writes to its
// standard error is no part of the conversation and is kept.
//
// # Time
//
// signal.Time for all that is on wires. How long an answer may take is by the wall clock.
package process

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"time"

	"hilrig/rig/signal"
)

// Patience is how long a board may take over a step where the command does not say: a wall-clock
// time that only a board which hangs can need.
const Patience = 10 * time.Second

// patientFor is how long a step may be that has the patience once; one of 50 ms has it five times.
const patientFor = 10 * signal.Millisecond

// Command is how a board is started.
type Command struct {
	Words    []string      // the program and its arguments, as [Split] returns them
	Patience time.Duration // how long an answer may take, for each 10 ms of a step; 0: [Patience]
	Stderr   io.Writer     // gets what the board writes to its standard error; nil: nobody does
}

// String is the command as it can be typed.
func (c *Command) String() string { return strings.Join(c.Words, " ") }

// Board is a running command. It is used by one goroutine.
type Board struct {
	command Command
	name    string // as the board calls itself
	process *exec.Cmd
	ended   chan struct{} // closed once the process has ended and what it wrote to stderr was read
	in      *bufio.Writer
	input   *os.File
	out     *bufio.Reader
	output  *os.File
	words   *tail

	drive, capture []signal.Line // the lines by their places in the lists
	placeOf        []int         // by line: its place in the drive list
	idle           []bool        // by line: its level at rest
	level          []bool        // by line: its level now, on either side
	until          signal.Time   // that the board was run to
	patience       time.Duration // how long the present step's answer may take
	awaited        time.Time     // until when an answer may take as the files have it
	fresh          bool          // the board was started and was told no level yet
	fallen         []signal.Edge // of captured lines that a restart let go back to rest
	failed         error
	number         []byte // room to write numbers in
}

// Start starts a command as a board with the lines of a layout. An error says that it could not
// be started, or that it did not answer as a board does; nothing of it is left running then.
func Start(c Command, layout signal.Layout) (*Board, error) {
	c.Patience = cmp.Or(c.Patience, Patience)
	b := &Board{command: c, words: &tail{to: c.Stderr}, number: make([]byte, 0, 32)}
	b.placeOf = make([]int, len(layout.Lines))
	var drive, capture strings.Builder
	for i, l := range layout.Lines {
		b.idle = append(b.idle, l.Idle)
		if l.Direction == signal.Drive {
			b.placeOf[i] = len(b.drive)
			b.drive = append(b.drive, signal.Line(i))
			drive.WriteString(" " + l.Name)
			continue
		}
		b.capture = append(b.capture, signal.Line(i))
		capture.WriteString(" " + l.Name)
	}
	b.level = slices.Clone(b.idle)
	if err := b.start(); err != nil {
		return nil, err
	}
	fmt.Fprintf(b.in, "hilrig-board 1\ndrive%s\ncapture%s\n", drive.String(), capture.String())
	if err := b.ready(); err != nil {
		_ = b.Close() // the first error says why
		return nil, err
	}
	return b, nil
}

// start starts the process.
func (b *Board) start() error {
	if len(b.command.Words) == 0 {
		return errors.New("no board command; write the program and its arguments")
	}
	b.process = exec.Command(b.command.Words[0], b.command.Words[1:]...)
	inGroup(b.process)
	theirIn, ourOut, err := os.Pipe()
	if err != nil {
		return fmt.Errorf("board command %s: %w", &b.command, err)
	}
	ourIn, theirOut, err := os.Pipe()
	if err != nil {
		return errors.Join(fmt.Errorf("board command %s: %w", &b.command, err), theirIn.Close(), ourOut.Close())
	}
	b.process.Stdin, b.process.Stdout, b.process.Stderr = theirIn, theirOut, b.words
	b.process.WaitDelay = time.Second // for children that hold stderr open
	err = b.process.Start()
	theirIn.Close()
	theirOut.Close()
	if err != nil {
		ourIn.Close()
		ourOut.Close()
		return fmt.Errorf("board command %s cannot be started: %w", &b.command, err)
	}
	b.input, b.output = ourOut, ourIn
	b.in, b.out = bufio.NewWriterSize(ourOut, 1<<16), bufio.NewReaderSize(ourIn, 1<<16)
	b.ended = make(chan struct{})
	go func() {
		_ = b.process.Wait() // how it ended is read from its state
		close(b.ended)
	}()
	return nil
}

// Name is what the board calls itself.
func (b *Board) Name() string { return b.name }

// Run hands over edges and runs the board until a time, as package board has it. Its error is an
// [Error].
func (b *Board) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	if b.failed != nil {
		return out, b.failed
	}
	out = append(out, b.fallen...)
	b.fallen = b.fallen[:0]
	if b.fresh {
		b.fresh = false
		for place, l := range b.drive {
			if b.level[l] {
				b.edge(b.until, place, true)
			}
		}
	}
	for i, e := range in {
		if b.in.Buffered() > mostWritten && i > 0 && in[i-1].At < e.At {
			var err error
			if out, err = b.step(e.At-1, out); err != nil {
				return out, err
			}
		}
		b.level[e.Line] = e.Level
		b.edge(e.At, b.placeOf[e.Line], e.Level)
	}
	return b.step(until, out)
}

// mostWritten is about how many bytes of edges a step has at most. It is half of what a pipe holds, so that the rig never
// waits to write while the board waits to write.
const mostWritten = 1 << 15

// step has the board run until a time, behind the edges that were written, and takes its answer.
func (b *Board) step(until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	b.write("to ", int64(until), "\n")
	out, err := b.answer(until, out)
	b.until = until
	return out, err
}

// edge tells the board of one edge.
func (b *Board) edge(at signal.Time, place int, level bool) {
	b.write("e ", int64(at), " ")
	end := " 0\n"
	if level {
		end = " 1\n"
	}
	b.write("", int64(place), end)
}

// write writes a number between two texts. What goes wrong, flush tells.
func (b *Board) write(before string, number int64, after string) {
	_, _ = b.in.WriteString(before)
	b.number = strconv.AppendInt(b.number[:0], number, 10)
	_, _ = b.in.Write(b.number)
	_, _ = b.in.WriteString(after)
}

// Restart is a power cycle: the board forgets everything, and captured lines return to rest.
func (b *Board) Restart(at signal.Time) error {
	if b.failed != nil {
		return b.failed
	}
	b.until = at
	for _, l := range b.capture {
		if b.level[l] != b.idle[l] {
			b.level[l] = b.idle[l]
			b.fallen = append(b.fallen, signal.Edge{At: at, Line: l, Level: b.idle[l]})
		}
	}
	_, _ = b.in.WriteString("restart\n")
	return b.ready()
}

// Close ends the board: it is told so, and what is left of it and of its children after a moment is
// killed.
func (b *Board) Close() error {
	if b.process == nil || b.process.Process == nil {
		return nil
	}
	if b.failed == nil {
		_, _ = b.in.WriteString("end\n")
		_ = b.input.SetWriteDeadline(time.Now().Add(farewell))
		_ = b.in.Flush() // a board that is gone is ended already
		b.failed = errors.New("the board was closed")
	}
	b.input.Close()
	select {
	case <-b.ended:
	case <-time.After(farewell):
	}
	killGroup(b.process)
	<-b.ended
	b.output.Close()
	b.process = nil
	return nil
}

// farewell is how long a board has to end by itself.
const farewell = 500 * time.Millisecond
