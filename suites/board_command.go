package suites

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"hilrig/rig/board"
	"hilrig/rig/process"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// commandBoard is the kind of board that another program is, before the command in the name of the board.
const commandBoard = "command"

// BoardCommand has a program be the board, by the protocol of package process: one process for
// each bench.
type BoardCommand struct {
	// Text is the program and its arguments, parted into words as a shell does. In each word {seed} stands for a
	// number that draws what the board draws, {fault} for Fault.
	Text     string
	Fault    *string       // what stands for {fault}: the name of a mistake that the program knows to make; nil: nothing may have to
	Patience time.Duration // by the wall clock, how long it may take over 10 ms of a step; 0: process.Patience
}

// boardAhead is how long the steps of a board in another process are at most, where nothing depends on what it says: a step
// costs a change of process there and back, however long it is.
const boardAhead = 50 * signal.Millisecond

// The places in a command that are replaced.
const (
	seedPlace  = "{seed}"
	faultPlace = "{fault}"
)

// boardOf returns what makes the board that files name.
func (s *Setup) boardOf(f *Files) (boardMaker, error) {
	if f.Command == nil {
		return boardNamed(s.Board)
	}
	words, err := process.Split(f.Command.Text)
	if err != nil {
		return nil, fmt.Errorf("board command %q: %w", f.Command.Text, err)
	}
	command, fault := *f.Command, ""
	switch asked := strings.Contains(command.Text, faultPlace); {
	case asked && command.Fault == nil:
		return nil, fmt.Errorf("board command %q has %s, for which nothing stands here; write the fault itself, or play all with hilrig faults --faults-file FILE", command.Text, faultPlace)
	case !asked && command.Fault != nil:
		return nil, fmt.Errorf("board command %q has no place for a fault; write %s where its name is to stand", command.Text, faultPlace)
	case asked:
		fault = *command.Fault
	}
	s.Board = commandBoard + ":" + strings.ReplaceAll(command.Text, faultPlace, fault)
	s.said = new(boardWords)
	return func(s *Setup, suite string) (board.Board, error) {
		own := slices.Clone(words)
		for i := range own {
			own[i] = strings.ReplaceAll(own[i], seedPlace, strconv.FormatUint(s.boardSeed(suite), 10))
			own[i] = strings.ReplaceAll(own[i], faultPlace, fault)
		}
		return process.Start(process.Command{Words: own, Patience: command.Patience, Stderr: s.said.of(suite)}, s.wiring.Layout())
	}, nil
}

// unnamedCommand is the board of a record whose command was not given again: what a record says is
// not run.
func unnamedCommand(s *Setup, _ string) (board.Board, error) {
	return nil, errors.New("the board was a command, which is not started because a record says so; give it again with --board-command")
}

// tryCommand starts and ends the board once, so that a command which is no board is an error before
// anything is played.
func (s *Setup) tryCommand() error {
	b, err := s.board(s, "start")
	if err != nil {
		return err
	}
	return b.Close()
}

// boardSeed is the seed from which a suite's board draws.
func (s *Setup) boardSeed(suite string) uint64 { return s.seed(suite, "board") }

// boardWordsName is the form of a record that keeps what a board in another process said.
const boardWordsName = "board-stderr.txt"

// KeepBoardWords keeps what a board in another process wrote to its standard error in a record, suite by
// suite; where it wrote nothing, or the board is none, it keeps nothing. What it cannot keep, Finish of
// the record tells.
func (s *Setup) KeepBoardWords(k *record.Writer) {
	if s.said == nil {
		return
	}
	if said := s.said.all(); len(said) > 0 {
		_ = k.Form(boardWordsName, said)
	}
}

// mostWords is how many bytes of each suite's are kept, the first ones.
const mostWords = 1 << 20

// boardWords keeps what boards write to their standard error.
type boardWords struct {
	mu     sync.Mutex
	suites []*suiteWords
}

// suiteWords keeps the words of one suite's board.
type suiteWords struct {
	of   *boardWords
	name string
	text []byte
	more int // bytes that are not kept
}

// of returns what takes the words of a suite's board.
func (w *boardWords) of(suite string) *suiteWords {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, s := range w.suites {
		if s.name == suite {
			return s
		}
	}
	s := &suiteWords{of: w, name: suite}
	w.suites = append(w.suites, s)
	return s
}

// Write takes words. It is safe for concurrent use.
func (s *suiteWords) Write(p []byte) (int, error) {
	s.of.mu.Lock()
	defer s.of.mu.Unlock()
	n := min(len(p), mostWords-len(s.text))
	s.text, s.more = append(s.text, p[:n]...), s.more+len(p)-n
	return len(p), nil
}

// all returns all words, in the order of the suites' names.
func (w *boardWords) all() (text []byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	slices.SortFunc(w.suites, func(a, b *suiteWords) int { return strings.Compare(a.name, b.name) })
	for _, s := range w.suites {
		if len(s.text) == 0 {
			continue
		}
		text = fmt.Appendf(text, "== %s\n%s", s.name, s.text)
		if s.more > 0 {
			text = fmt.Appendf(text, "\n== and %d bytes more, which are not kept", s.more)
		}
		text = append(text, '\n')
	}
	return text
}
