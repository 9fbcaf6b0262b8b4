package suites

import (
	"cmp"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/file"
)

// long says whether a case is too long for its traces to be kept as they are.
func (s *Setup) long(c *file.Case) bool {
	return c.Duration(s.Bench.Grid()) > cmp.Or(s.foldAfter, file.FoldAfter)
}

// folding returns what the trace of a long case keeps of its rows: what its checks read; nil,
// for all as it is, where it is not long.
func folding(c *file.Case, steps []assertions.Step, long bool) *trace.Fold {
	if !long {
		return nil
	}
	checks := make([]assertions.Check, len(c.Expect))
	for i := range c.Expect {
		checks[i] = c.Expect[i].Check
	}
	return &trace.Fold{Columns: assertions.Columns(c.Closed), Rows: assertions.RowsRead(checks, steps)}
}

// Length returns how long a case of a suite takes to play, all its repeats and
// comparisons and the settling before each included, in virtual time. That
// counts with its mean length, so that a run differs from it by a few
// milliseconds a case.
func (s *Setup) Length(suite *file.Suite, c *file.Case) signal.Time {
	boards := 1
	if c.Compare {
		boards = 3 // with the shift, without it, without a board
		if s.real != nil {
			boards = 2 // what has no board is simulated meanwhile
		}
	}
	var length signal.Time
	for i := range max(1, c.Repeat) {
		program, _ := programOf(c, s.between(), s.noise(suite.Name, title(c), "trials", i), s.Bench.Grid(), s.demanded())
		trial := program.Length
		if c.PowerUp {
			trial += powerUpLead
		} else {
			trial += s.settleTime() + settleSpread/2
		}
		length += signal.Time(boards) * trial
	}
	return length
}

// SuiteLength returns how long a suite takes to play, of its cases those that
// the motors' power allows: the power-up of the board, and of the bench without
// one where a case compares, included.
func (s *Setup) SuiteLength(suite *file.Suite) signal.Time {
	length := s.powerUpLength()
	for _, l := range s.lengths(suite, Options{}) {
		length += l
	}
	return length
}

// lengths returns how long each case of a suite takes that is played with these
// options, power-ups that it needs included; 0 for one that is left out. The power-up
// that the suite begins with is none of them.
func (s *Setup) lengths(suite *file.Suite, o Options) []signal.Time {
	all := make([]signal.Time, len(suite.Cases))
	powerCycle, compared := o.Fresh, false
	for i := range suite.Cases {
		c := &suite.Cases[i]
		if !s.selects(&o, suite, c) || !s.allows(c) {
			continue
		}
		if powerCycle {
			all[i] += s.powerUpLength()
		}
		if c.Compare && !compared && s.real == nil {
			compared = true
			all[i] += s.powerUpLength()
		}
		all[i] += s.Length(suite, c)
		powerCycle = o.Fresh || s.needsPowerCycle(c)
	}
	return all
}

// powerUpLength is how long a board rests and is armed after it is powered up.
func (s *Setup) powerUpLength() signal.Time {
	life := &s.Bench.Board
	length := life.ReadyAfter
	for _, a := range life.Arm {
		length += a.For
	}
	return length
}
