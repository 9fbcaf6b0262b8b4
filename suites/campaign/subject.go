package campaign

import (
	"errors"
	"fmt"
	"strings"

	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Subject is a board with the faults that it can have, and the suites that are to find them.
type Subject struct {
	name    string
	healthy suites.Files // of the board without a fault
	faults  []Seeded
	with    func(fault string) suites.Files // of the board with one
}

// Faults lists the faults in their order.
func (s *Subject) Faults() []Seeded { return s.faults }

// Subjects returns what suites are held against: the built-in board that each of files names; or, where
// files have a program that is the board, that program with the faults of the owner's own faults file. A program without
// such a file, a file without a program and a board that has no faults are errors, and a file that is
// wrong is a [language.Problems].
func Subjects(files []suites.Files, own language.Source) (all []Subject, err error) {
	for _, f := range files {
		var s Subject
		switch seeded := SeededInto(f.Board); {
		case f.Command != nil && own.Path == "":
			return nil, errors.New("a board command has no seeded faults that are known here; name them in a file of your own, --faults-file FILE")
		case f.Command != nil:
			s, err = ofProgram(f, own)
		case own.Path != "":
			return nil, fmt.Errorf("%s names faults of a program of your own; give the program, --board-command 'COMMAND {fault}'", own.Path)
		case seeded == nil:
			return nil, fmt.Errorf("board %q has no seeded faults; use %s", f.Board, strings.Join(Boards(), " or "))
		default:
			s = builtIn(f, seeded)
		}
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

// builtIn is a built-in board.
func builtIn(files suites.Files, seeded []Seeded) Subject {
	return Subject{files.Board, files, seeded, func(fault string) suites.Files {
		one := files
		one.Board += ":" + fault
		return one
	}}
}

// ofProgram is a program with the faults that a file names.
func ofProgram(files suites.Files, own language.Source) (Subject, error) {
	declared, err := file.ParseFaults(own)
	if err != nil {
		return Subject{}, err
	}
	s := Subject{name: declared.Name, with: func(fault string) suites.Files {
		one, command := files, *files.Command
		command.Fault = &fault
		one.Command = &command
		return one
	}}
	s.healthy = s.with(declared.Healthy)
	for _, f := range declared.List {
		s.faults = append(s.faults, Seeded{Board: declared.Name, Name: f.Name, Sentence: f.About, Key: f.Policy, Harmless: strings.TrimSuffix(f.Harmless, ".")})
	}
	return s, nil
}
