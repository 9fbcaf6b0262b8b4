package live

import (
	"slices"

	"hilrig/rig/interlock"
)

// NotASafetyDevice stands above every list.
const NotASafetyDevice = `hilrig is not a safety device, and neither is its interlock: programs and computers
hang. Follow the rules that hold where you are. Let somebody qualified check the
wiring of the motors' supply before it is first switched on.`

// List returns what has to be so before a bench goes live at a power level, sentence by
// sentence: each for a person to see to, none for the program.
func List(power interlock.Power) []string { return slices.Clone(lists[power]) }

// TrialList returns the same before the motors turn for the first time, with hilrig ready.
// At signals_only none turns, and it is empty.
func TrialList(power interlock.Power) []string { return slices.Clone(trialLists[power]) }

// lists are what has to be true before a bench goes live, by power level: each for a
// person to see to, none for the program.
var lists = [interlock.Powers][]string{
	interlock.SignalsOnly: {
		"The motors have no supply: its lead is pulled off and lies apart. A switch alone does not do.",
		"Nothing on the board gets hot or moves without the motors' supply.",
		"Where a stop contact is wired you have opened it once, and hilrig saw it.",
	},
	interlock.MotorsNoWheels:  slices.Concat(noWheels, clamped, powered, rotated),
	interlock.WheelsOffGround: slices.Concat(wheelsFree, clamped, powered, rotated),
}

// trialLists are the same before the motors turn for the first time, with hilrig ready.
var trialLists = [interlock.Powers][]string{
	interlock.MotorsNoWheels:  slices.Concat(noWheels, clamped, powered, untried),
	interlock.WheelsOffGround: slices.Concat(wheelsFree, clamped, powered, untried),
}

var noWheels = []string{
	"The wheels are off: nothing is on the motors' shafts that can fly off or catch.",
}

var wheelsFree = []string{
	"All four wheels hang free, are tight on their hubs, and touch nothing when they turn at full speed.",
}

var clamped = []string{
	"The car is clamped to something that does not move when all motors pull at once.",
}

// powered is what holds wherever a motor has its supply.
var powered = []string{
	"You can pull the motors' supply by hand from where you stand, without reaching over the car and without hilrig.",
	"You have opened the stop contact by hand today, and the motors' supply went away.",
	"Nobody else is near, and whoever may come in knows that motors can start at any moment.",
	"You wear eye protection. Hair, sleeves, straps and cables are out of reach of whatever turns.",
	"A lithium pack is undamaged, lies where it may burn without harm, and is not charged here.",
	"What puts out such a fire is at hand, and the way out is free.",
	"The first time, the supply limits its current: a bench supply rather than a lithium pack, where one is strong enough.",
}

// rotated is what hilrig ready cannot know when it has shown how the motors turn.
var rotated = []string{
	"No motor lead was moved and no firmware or speed controller changed since hilrig ready showed each motor to turn the right way.",
}

// untried is what holds before that.
var untried = []string{
	"Any motor may turn the wrong way, and faster than asked for: you stand at a distance, hands and face out of the planes of the wheels, the stop button within reach.",
	"You do not reach for the car between the wheels: what takes the supply away then is the program, and it is no safety device. To change a lead, pull the supply by hand first.",
}
