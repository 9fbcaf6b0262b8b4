package file

import (
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// benchKinds are what can play a bench; the first where the file does not say.
var benchKinds = []string{"simulated", "raspberry"}

// resetPin is the pin of the board's reset, which is no line of the layout.
const resetPin = "reset"

// pinTable has every line that a bench can have, save those of serial ports.
var pinTable = language.NewTable("the pins", "GPIO numbers, not positions on the header: hilrig wiring shows those. 0 to 8 are high from power-up until hilrig starts.", []language.Key{
	{Name: "steer", Kind: language.Pin, Example: "GPIO23", Doc: "the receiver's steering pulse"},
	{Name: "throttle", Kind: language.Pin, Example: "GPIO24", Doc: "the receiver's throttle pulse"},
	{Name: "gain", Kind: language.Pin, Example: "GPIO25", Doc: "the receiver's gain pulse"},
},
	wheelPins(),
	motorPins(),
	[]language.Key{{Name: resetPin, Kind: language.Pin, Example: "GPIO26", Doc: "the board's reset line, or the relay of the board's supply"}})

// wheelPins returns the keys of all lines that a wheel sensor of any kind has.
func wheelPins() []language.Key {
	var keys []language.Key
	for _, w := range signal.Wheels {
		for _, role := range signal.WheelSensorRoles() {
			keys = append(keys, language.Key{Name: signal.Spec(role, w).Name, Kind: language.Pin, Doc: "that wire of the wheel's sensor"})
		}
	}
	return keys
}

func motorPins() []language.Key {
	var keys []language.Key
	for _, w := range signal.Wheels {
		keys = append(keys, language.Key{Name: signal.Spec(signal.Motor, w).Name, Kind: language.Pin, Example: "GPIO5", Doc: "the motor command from the board"})
	}
	return keys
}

var interlockTable = language.NewTable("the interlock", "What stands between the rig and a powered motor. Above signals_only all three are needed.", []language.Key{
	{Name: "stop", Kind: language.Pin, Doc: "input: high while the normally closed stop contact is closed, low when it opens or its wire breaks; left out: not wired"},
	{Name: "relay", Kind: language.Pin, Example: "GPIO22", Doc: "output: high closes the relay of the motors' supply; left out: not wired"},
	{Name: "heartbeat", Kind: language.Pin, Example: "GPIO27", Doc: "output: its edges keep the dead-man relay closed; left out: not wired"},
	{Name: "motor_limit", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "100 %", Example: "40 %", Doc: "where motors are powered: a command beyond it, either way, cuts their supply; left out: 25 %"},
})
