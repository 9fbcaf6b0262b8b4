package live

import (
	"fmt"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
)

// slowFall is longer than anybody should wait before reaching for a car.
const slowFall = 15 * signal.Second

// NoteEnding notes in the folder state what a run showed of the motors' supply: how long it took to
// go, and that a contact is welded, after which everything is to be tried anew. It returns what a
// person should know.
func NoteEnding(e supervisor.Ending, pins supervisor.Pins, state string) (says []string) {
	failed := func(err error) {
		if err != nil {
			says = append(says, err.Error())
		}
	}
	if e.Fell > 0 {
		failed(supervisor.NoteFall(state, e.Fell))
	}
	if e.Fell > slowFall {
		says = append(says, fmt.Sprintf("the motors' supply took %.0f s to go once the relay had opened; a smaller bleed resistor, or a brake on the wheels, makes it sooner", e.Fell.Seconds()))
	}
	if e.Welded {
		failed(supervisor.NoteTested(state, pins, interlock.Parts{}))
		says = append(says, "what was tried of the interlock does not count any more: replace what is welded, and be ready anew")
	}
	if e.Unjudged {
		says = append(says, "nobody waited until the motors' supply was seen to go; pull the plug before you reach for the car")
	}
	return says
}
