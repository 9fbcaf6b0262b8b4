package suites

import (
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

// Length returns how long a case of a suite takes to play, all its repeats and
// comparisons and the rest before each included, in virtual time. The rest
// counts with its mean length, so that a run differs from it by a few
// milliseconds a case.
func (s *Setup) Length(suite *file.Suite, c *file.Case) signal.Time {
	between := &s.Bench.Board.BetweenCases
	rest := stimulus.Values{Throttle: between.Throttle, Steer: between.Steer, YawRate: between.YawRate}
	plays := 1
	if c.Compare {
		plays = 3 // with the shift, without it, without a board
	}
	var length signal.Time
	for i := range max(1, c.Repeat) {
		program, _ := programOf(c, rest, s.noise(suite.Name, title(c), "trials", i), s.grid())
		once := program.Length
		if c.PowerUp {
			once += asleep
		} else {
			once += s.rest() + restSpread/2
		}
		length += signal.Time(plays) * once
	}
	return length
}

// SuiteLength returns how long a suite takes to play, of its cases those that
// the motors' power allows: the power-up of the board, and of the bench without
// one where a case compares, included.
func (s *Setup) SuiteLength(suite *file.Suite) signal.Time {
	length := s.powerUpLength()
	l := &lane{setup: s, suite: suite}
	compared := false
	for i := range suite.Cases {
		c := &suite.Cases[i]
		if !s.allows(c) {
			continue
		}
		if l.tired {
			length += s.powerUpLength()
		}
		if c.Compare && !compared {
			compared = true
			length += s.powerUpLength()
		}
		length += s.Length(suite, c)
		l.tired = s.needsPowerCycle(c)
	}
	return length
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
