package campaign

import (
	"hilrig/rig/board"
	"hilrig/rig/board/moment"
)

// Seeded is a fault that can be seeded into a built-in board.
type Seeded struct {
	Board    string `json:"board"`    // "built-in"
	Name     string `json:"name"`     // of the fault
	Sentence string `json:"sentence"` // what the board does wrong
	Key      string `json:"key"`      // of the policy, that makes it a fault; empty: none does
	// Harmless says why the board is right with it, so that no check may fail; empty: it is wrong.
	Harmless string `json:"harmless,omitempty"`
	// Unasked says why it need not be found, though the board is wrong with it; empty: it has to be.
	Unasked string `json:"unasked,omitempty"`
	// Late says that it shows no sooner than after some minutes of driving.
	Late bool `json:"late,omitempty"`
}

// Says describes the fault, and says why it is harmless or need not be found.
func (f *Seeded) Says() string {
	says := f.Sentence
	if f.Harmless != "" {
		says += " Harmless: " + f.Harmless + "."
	}
	if f.Unasked != "" {
		says += " Not asked: " + f.Unasked + "."
	}
	return says
}

// Boards lists the built-in boards that faults can be seeded into.
func Boards() []string { return []string{"built-in", "built-in/moment"} }

// BoardsFor lists the built-in boards that are played to: the one of this name; where no name is given, all of them, or
// the first alone where what is played is for one car.
func BoardsFor(name string, oneCar bool) []string {
	switch all := Boards(); {
	case name != "":
		return []string{name}
	case oneCar:
		return all[:1]
	default:
		return all
	}
}

// SeededInto lists the faults of a built-in board by name; of any other there are none.
func SeededInto(name string) (all []Seeded) {
	switch name {
	case "built-in":
		for _, f := range board.Faults() {
			all = append(all, Seeded{Board: name, Name: f.Name, Sentence: f.Sentence, Key: f.Key, Late: board.ShowsAfter(f.Name) > 0})
		}
	case "built-in/moment":
		for _, f := range moment.Faults() {
			all = append(all, Seeded{Board: name, Name: f.Name, Sentence: f.Sentence, Key: f.Key, Harmless: f.Harmless, Unasked: f.Unasked})
		}
	}
	return all
}
