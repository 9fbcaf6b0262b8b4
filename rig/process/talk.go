package process

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"hilrig/rig/signal"
)

// Error says how a board in another process failed.
type Error struct {
	Command string
	What    string // what it did, or did not do
	Said    string // its last words on standard error; empty: none
}

// Error says it in a sentence.
func (e *Error) Error() string {
	text := fmt.Sprintf("board command %s: %s", e.Command, e.What)
	if e.Said != "" {
		text += "; its last words: " + e.Said
	}
	return text
}

// fail returns what the board did as an error, and remembers it.
func (b *Board) fail(format string, args ...any) error {
	b.failed = &Error{b.command.String(), fmt.Sprintf(format, args...), b.words.last()}
	return b.failed
}

// flush sends what was written, and gives the board its time to answer a step of a length.
func (b *Board) flush(length signal.Time) error {
	b.patience = b.command.Patience * time.Duration(max(1, length/patientFor))
	if now := time.Now(); b.awaited.Sub(now) < b.patience || b.awaited.Sub(now) > 2*b.patience {
		b.awaited = now.Add(b.patience + b.patience/4) // set anew now and then alone: it costs a call of the system's
		_ = b.input.SetWriteDeadline(b.awaited)        // pipes have deadlines
		_ = b.output.SetReadDeadline(b.awaited)
	}
	if err := b.in.Flush(); err != nil {
		return b.broke(err)
	}
	return nil
}

// broke says why nothing more can be read or written.
func (b *Board) broke(err error) error {
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return b.fail("no answer within %v of the wall clock at %v of the run", b.patience, b.until.Short())
	}
	select {
	case <-b.ended:
		return b.fail("it ended (%s) at %v of the run", b.process.ProcessState, b.until.Short())
	case <-time.After(farewell):
		if errors.Is(err, io.EOF) {
			return b.fail("it closed its standard output at %v of the run", b.until.Short())
		}
		return b.fail("at %v of the run: %v", b.until.Short(), err)
	}
}

// line reads a line, without its end, which holds until the next is read.
func (b *Board) line() ([]byte, error) {
	line, err := b.out.ReadSlice('\n')
	switch {
	case err == nil:
		return bytes.TrimSuffix(line[:len(line)-1], []byte("\r")), nil
	case len(line) > 0 && !errors.Is(err, os.ErrDeadlineExceeded):
		return nil, b.junk(line, "a line that does not end")
	}
	return nil, b.broke(err)
}

// junk says that a line is not in the protocol.
func (b *Board) junk(line []byte, want string) error {
	return b.fail("it said %s at %v of the run, %s", excerpt(line), b.until.Short(), want)
}

// excerpt is the beginning of a line in quotes.
func excerpt(line []byte) string {
	const most = 80
	more := ""
	if len(line) > most {
		line, more = line[:most], " ..."
	}
	return fmt.Sprintf("%q%s", line, more)
}

// ready sends what was written, and waits until the board says that it is there.
func (b *Board) ready() error {
	b.fresh = true
	if err := b.flush(0); err != nil {
		return err
	}
	line, err := b.line()
	if err != nil {
		return err
	}
	name, ok := bytes.CutPrefix(line, []byte("ready "))
	if !ok || len(bytes.TrimSpace(name)) == 0 {
		return b.junk(line, "where it has to say ready NAME")
	}
	b.name = strings.ToValidUTF8(strings.TrimSpace(string(name)), "?")
	return nil
}

// answer sends what was written and takes the board's edges until it has run to a time.
func (b *Board) answer(until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	if err := b.flush(until - b.until); err != nil {
		return out, err
	}
	last := b.until
	for {
		line, err := b.line()
		if err != nil {
			return out, err
		}
		if rest, ok := bytes.CutPrefix(line, []byte("e ")); ok {
			e, why := b.read(rest, last, until)
			if why != "" {
				return out, b.junk(line, why)
			}
			last = e.At
			if b.level[e.Line] != e.Level {
				b.level[e.Line] = e.Level
				out = append(out, e)
			}
			continue
		}
		rest, ok := bytes.CutPrefix(line, []byte("at "))
		at, rest, read := number(rest)
		switch {
		case !ok || !read || len(rest) > 0:
			return out, b.junk(line, "where it has to say e TIME PLACE LEVEL or at TIME")
		case signal.Time(at) != until:
			return out, b.junk(line, fmt.Sprintf("where it was to run to %d", int64(until)))
		}
		return out, nil
	}
}

// read reads the edge behind the word e. Why says what is wrong with it; empty: nothing.
func (b *Board) read(text []byte, last, until signal.Time) (e signal.Edge, why string) {
	at, text, ok1 := number(text)
	place, text, ok2 := next(text)
	level, text, ok3 := next(text)
	switch {
	case !ok1 || !ok2 || !ok3 || len(text) > 0:
		return e, "which is no edge: e TIME PLACE LEVEL, in whole numbers"
	case place >= int64(len(b.capture)):
		return e, fmt.Sprintf("which is on a line that there is not: the capture list has %d, from 0", len(b.capture))
	case level > 1:
		return e, "whose level is neither 0 nor 1"
	case signal.Time(at) < last:
		return e, fmt.Sprintf("which is of the past or out of order: it had come to %d", int64(last))
	case signal.Time(at) > until:
		return e, fmt.Sprintf("which is of the future: it was to run to %d", int64(until))
	}
	return signal.Edge{At: signal.Time(at), Line: b.capture[place], Level: level == 1}, ""
}

// next reads a number behind one blank.
func next(text []byte) (n int64, rest []byte, ok bool) {
	if len(text) == 0 || text[0] != ' ' {
		return 0, text, false
	}
	return number(text[1:])
}

// number reads a whole number, 0 or more, of at most 18 digits.
func number(text []byte) (n int64, rest []byte, ok bool) {
	i := 0
	for i < len(text) && i < 18 && '0' <= text[i] && text[i] <= '9' {
		n = 10*n + int64(text[i]-'0')
		i++
	}
	return n, text[i:], i > 0
}
