package process

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// Serve is the other end of the conversation, for a board that is written in Go: it reads from in and
// writes to out, which are the program's standard input and output, until the rig says end. Make
// makes the board from the names and directions of the lines; it may say in the layout which of them
// rest high, and there are no ports in it, for serial lines come as levels. The error says what was read that is not in the
// protocol, or how the board failed.
func Serve(in io.Reader, out io.Writer, make func(layout *signal.Layout) (board.Board, error)) error {
	s := server{in: bufio.NewScanner(in), out: bufio.NewWriterSize(out, 1<<16)}
	s.in.Buffer(nil, 1<<20)
	if err := s.greeting(); err != nil {
		return err
	}
	var err error
	if s.board, err = make(&s.layout); err != nil {
		return err
	}
	defer s.board.Close()
	for _, l := range s.layout.Lines {
		s.level = append(s.level, l.Idle)
	}
	if err := s.ready(); err != nil {
		return err
	}
	for s.in.Scan() {
		over, err := s.take(s.in.Bytes())
		if over || err != nil {
			return err
		}
	}
	if err := s.in.Err(); err != nil {
		return fmt.Errorf("the rig's words: %w", err)
	}
	return nil // it is gone
}

// server is a conversation under way.
type server struct {
	in     *bufio.Scanner
	out    *bufio.Writer
	layout signal.Layout // the driven lines first
	drive  int           // how many of them
	board  board.Board
	level  []bool // by line
	until  signal.Time
	edges  []signal.Edge // since the last step
	own    []signal.Edge
	number []byte
}

// greeting reads what comes before the board is made.
func (s *server) greeting() error {
	for i, word := range []string{"hilrig-board", "drive", "capture"} {
		if !s.in.Scan() {
			return errors.Join(errors.New("the rig said nothing"), s.in.Err())
		}
		said := strings.Fields(s.in.Text())
		if len(said) == 0 || said[0] != word {
			return fmt.Errorf("%q was said where %s was to come", s.in.Text(), word)
		}
		switch i {
		case 0:
			if len(said) != 2 || said[1] != "1" {
				return fmt.Errorf("%q: this board speaks version 1", s.in.Text())
			}
			continue
		case 1:
			s.drive = len(said) - 1
		}
		for _, name := range said[1:] {
			s.layout.Lines = append(s.layout.Lines, signal.LineSpec{Name: name, Direction: signal.Direction(i - 1)})
		}
	}
	return nil
}

// ready says that the board is there.
func (s *server) ready() error {
	_, _ = fmt.Fprintf(s.out, "ready %s\n", s.board.Name())
	return s.out.Flush()
}

// take does what a line says.
func (s *server) take(line []byte) (over bool, err error) {
	switch {
	case bytes.HasPrefix(line, []byte("e ")):
		return false, s.edge(line)
	case bytes.HasPrefix(line, []byte("to ")):
		at, rest, ok := number(line[len("to "):])
		if !ok || len(rest) > 0 {
			return false, fmt.Errorf("%q is no step", line)
		}
		return false, s.run(signal.Time(at))
	case string(line) == "restart":
		if err := s.board.Restart(s.until); err != nil {
			return false, err
		}
		return false, s.ready()
	case string(line) == "end":
		return true, nil
	}
	return false, fmt.Errorf("%q is not in the protocol", line)
}

// edge keeps a driven edge for the next step.
func (s *server) edge(line []byte) error {
	at, rest, ok1 := number(line[len("e "):])
	place, rest, ok2 := next(rest)
	level, rest, ok3 := next(rest)
	if !ok1 || !ok2 || !ok3 || len(rest) > 0 || place >= int64(s.drive) || level > 1 {
		return fmt.Errorf("%q is no edge", line)
	}
	if s.level[place] != (level == 1) {
		s.level[place] = level == 1
		s.edges = append(s.edges, signal.Edge{At: signal.Time(at), Line: signal.Line(place), Level: level == 1})
	}
	return nil
}

// run runs the board until a time, and says what it put out.
func (s *server) run(until signal.Time) error {
	var err error
	if s.own, err = s.board.Run(s.edges, until, s.own[:0]); err != nil {
		return err
	}
	s.edges, s.until = s.edges[:0], until
	for _, e := range s.own {
		s.number = append(s.number[:0], "e "...)
		s.number = append(strconv.AppendInt(s.number, int64(e.At), 10), ' ')
		s.number = append(strconv.AppendInt(s.number, int64(e.Line)-int64(s.drive), 10), " 0\n"...)
		if e.Level {
			s.number[len(s.number)-2] = '1'
		}
		_, _ = s.out.Write(s.number)
	}
	s.number = append(strconv.AppendInt(append(s.number[:0], "at "...), int64(until), 10), '\n')
	_, _ = s.out.Write(s.number)
	return s.out.Flush()
}
