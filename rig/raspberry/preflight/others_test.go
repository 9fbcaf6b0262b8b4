package preflight

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// A span is written as so many of these.
const ms = signal.Millisecond

// nobody has a line.
func nobody([]int) (map[int]string, error) { return nil, nil }

// somebody has these lines, and may be asked about pins of the header alone.
func somebody(t *testing.T, users map[int]string) raspberry.Asker {
	return func(gpios []int) (map[int]string, error) {
		found := map[int]string{}
		for _, gpio := range gpios {
			assert.NotZero(t, pinout.Position(gpio), "GPIO%d", gpio)
			if user, ok := users[gpio]; ok {
				found[gpio] = user
			}
		}
		return found, nil
	}
}

func TestReadyFindsWhoHasThePins(t *testing.T) {
	w := demoWires()
	w.Pins = map[string]int{"steer": 23, "front_left_a": 9, "yaw_serial": 14}
	w.Relay = 16
	ready := func(chip string, users raspberry.Asker) []Result {
		m := Machine{Root: play(chip), Open: func(string) error { return nil }, Users: users}
		found := m.Ready(&w)
		sound(t, found)
		return found
	}
	for _, chip := range []string{"brcm,bcm2711", "brcm,bcm2712"} {
		found := ready(chip, somebody(t, map[int]string{16: "other", 23: "gpio_ir_recv", 14: "uart"}))
		assert.Equal(t, "steer relay", grades(found, Wrong))
		last := found[len(found)-1]
		assert.Equal(t, "GPIO16 (pin 36, has it: other)", last.Says)
		assert.Contains(t, last.Remedy, "dtoverlay")

		found = ready(chip, nobody)
		assert.Equal(t, "nobody has one of the bench's 3", found[len(found)-1].Says)

		found = ready(chip, func([]int) (map[int]string, error) { return nil, errors.New("there is no GPIO chip") })
		assert.Equal(t, "others on the pins", grades(found, Warning))
		assert.Equal(t, "could not be looked up: there is no GPIO chip", found[len(found)-1].Says)
	}
	found := ready("x86", func([]int) (map[int]string, error) { t.Error("asked where there are no pins"); return nil, nil })
	assert.Equal(t, "computer pins", grades(found, Wrong))
}
