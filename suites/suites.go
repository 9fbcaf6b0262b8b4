// Package suites plans, runs and judges: the cases of suite files, on a bench,
// against a board.
//
// [Load] reads a car, a bench and suites and reports every problem of every
// file at once. [Setup.Run] plays them: each suite on a bench of its own, with
// one power-up of the board and the bench's rest between cases, side by side
// where the bench is simulated; and judges each case as it ends. [Setup.Play]
// plays one hold by hand.
//
// # Determinism
//
// Everything that is drawn (phases, noise, rests) comes from the seed and the
// names of suite and case. On a simulated bench the result is the same, byte
// for byte, however many suites run side by side.
package suites

import (
	"cmp"

	"hilrig/assertions/law"
	"hilrig/rig"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/parts"
)

// builtInBoard is the board that is played to where no other is named.
const builtInBoard = "built-in"

// Files names what to run.
type Files struct {
	Car    language.Source
	Bench  language.Source
	Suites []language.Source
	Board  string // "built-in", "built-in:FAULT", "built-in/moment" (":FAULT"), "from-policy" or "null:KIND"; empty: "built-in"
	// Command has a program be the board, in place of Board; nil: there is none.
	Command *BoardCommand
	Seed    uint64
	// Host is the computer that this runs on: a bench on pins whose file names none keeps
	// to its limits.
	Host pinout.Model
	// Read returns the bytes of a drive log that a suite replays, by the path of
	// file.SuiteOptions; nil: no suite may replay one.
	Read func(path string) ([]byte, error)
}

// Setup is what was read and found right.
type Setup struct {
	Car    *file.Car
	Bench  *file.Bench
	Suites []*file.Suite
	Board  string
	Seed   uint64
	wiring rig.Wiring
	board  boardMaker
	said   *boardWords // what a board in another process wrote to its standard error; nil: it is none
	real   *Real       // nil: the bench is simulated
	life   *file.Suite // the one of Suites that is played whatever is left out; nil where there is none
	read   func(path string) ([]byte, error)
	// curve is what the motors are commanded over the throttle with no shift, once it is measured; noCurve says
	// why it is not, where the policy calls it calibrated.
	curve   *law.Curve
	noCurve string
	// ahead is how long the loop may run ahead of a bench whose board is another program.
	ahead signal.Time
	// shard is the part that is played, of a run that is split; elsewhere are the parts that other suites, by their files, are
	// left to; only is which cases the split is of.
	shard     parts.Shard
	elsewhere map[string]int
	only      string
	// foldAfter is how long a case plays whose traces are not folded; 0: file.FoldAfter.
	foldAfter signal.Time
}

// Load reads all files. Its error is a language.Problems where files are wrong,
// with the problems of all of them.
func Load(f Files) (*Setup, error) {
	s := &Setup{Board: cmp.Or(f.Board, builtInBoard), Seed: f.Seed, read: f.Read, ahead: boardAhead}
	var problems language.Problems
	keep := func(err error) error {
		if p, ok := err.(language.Problems); ok {
			problems = append(problems, p...)
			return nil
		}
		return err
	}
	var err error
	if s.board, err = s.boardOf(&f); err != nil {
		return nil, err
	}
	if s.Car, err = file.ParseCar(f.Car); keep(err) != nil {
		return nil, err
	}
	if s.Bench, err = file.ParseBenchOn(f.Bench, f.Host); keep(err) != nil {
		return nil, err
	}
	for _, source := range f.Suites {
		suite, err := file.ParseSuiteWith(source, file.SuiteOptions{Car: s.Car, Bench: s.Bench, Read: f.Read})
		if keep(err) != nil {
			return nil, err
		}
		s.Suites = append(s.Suites, suite)
	}
	if len(problems) > 0 {
		return nil, problems
	}
	s.nameSuites()
	for _, suite := range s.Suites {
		s.makeSignsOfLife(suite)
	}
	if !s.perfect() {
		s.giveSpares()
	}
	if s.wiring, err = file.Complete(s.Bench, s.Car); err == nil && s.Board == policyBoard {
		_, err = s.settingsOfPolicy()
	}
	s.spaceTrials()
	s.foreseeCurve()
	if err == nil && f.Command != nil {
		err = s.tryCommand()
	}
	return s, err
}

// forgets is how long a board that may integrate is given at least between cases to forget what it
// gathered; common practice, no source.
const forgets = 2 * signal.Second

// settleTime returns how long the bench settles between cases: as long as it declares, and where
// the shift may grow with time until the board has forgotten.
func (s *Setup) settleTime() signal.Time {
	length := cmp.Or(s.Bench.Board.BetweenCases.For, signal.Second)
	if s.Car.Policy.MayIntegrate() {
		length = max(length, forgets)
	}
	return length
}

// between returns what is on the wires between cases.
func (s *Setup) between() stimulus.Values {
	return s.Bench.Board.BetweenCases.Values
}

// demanded returns what [Setup.demand] does, of wheels that may slip; nil where the car's policy declares no demand.
func (s *Setup) demanded() func(speed, steer float64, slip *[4]float64) float64 {
	if s.Car.Policy.Demand == nil {
		return nil
	}
	return s.Car.OnDemandSlipping
}

// demand returns the yaw rate with which the car turns as the driver asks by its policy, in rad/s;
// 0 where it declares none.
func (s *Setup) demand(speed, steer float64) float64 {
	return s.Car.OnDemand(speed, steer)
}
