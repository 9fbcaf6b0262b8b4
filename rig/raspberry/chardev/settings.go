package chardev

import (
	"errors"
	"fmt"
	"strings"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// StampDoubt is how far apart the kernel's stamps of equal edges lie, and so the Late of
// an edge that a [CharBench] captures: what a pulse's width is uncertain by.
//
// On a Pi 5 stamps are 7 to 20 us late, with several us of spread (jclark/satpulse, issue
// 460 and plan/gpio-poll.md); on another small computer 98 % lie within 2.6 us (dan.drown.org,
// timer capture against interrupts, 2015). What they are late by in common falls out of a
// width. It stays in the times: a board looks slower by it.
const StampDoubt = 3 * signal.Microsecond

// settled is how long after its edge an event is waited for: the kernel wakes a thread
// of real-time priority for it (gpiolib-cdev.c), which takes tens of microseconds on a
// loaded Pi (common practice, no source). One that comes later is told with a longer
// Late.
const settled = 100 * signal.Microsecond

// ResetFor is how long a board is held in reset, far longer than controllers ask for
// (common practice, no source).
const ResetFor = 50 * signal.Millisecond

// CharSettings say what a [CharBench] is made of.
type CharSettings struct {
	Layout     signal.Layout
	Path       string              // of the chip, as /dev/gpiochip0; see [HeaderChip]
	Pins       registers.Pins      // offset on the chip, on a Pi the GPIO number, by line of Layout, each once
	Scheduling realtime.Scheduling // of the player
	// Formats are those of the captured lines. One that the kernel's stamps are too
	// coarse for is refused.
	Formats []decode.MotorKind
	// Reset is the GPIO number of the board's reset line, or of its supply's relay: high
	// while the board runs, low to restart it. 0: none, the bench cannot restart.
	Reset    int
	ResetFor signal.Time // how long it is low; 0: 50 ms
	Doubt    signal.Time // of a captured edge; 0: StampDoubt
	// Devices are the serial devices of ports by name, "/dev/ttyUSB0". The bench does not
	// drive the line of such a port, and its pin may be NoPin. On another it reads back
	// the wire of an adapter. The pin of a UART of the Pi's own it leaves alone: to
	// listen there would take it from the UART.
	Devices map[string]string
	// Feed is called at the end of every Wait in which all was played and told, by the
	// goroutine that waits. nil disables it. It neither blocks nor allocates.
	Feed func()
}

// CharTiming is how well a bench on the character device kept time.
type CharTiming struct {
	Late  realtime.Histogram // of edges played: of the end of the kernel's call, after the time planned
	Calls realtime.Histogram // how long each call took
	CharCount
}

// CharCount counts what the kernel did not tell as it was.
type CharCount struct {
	Lost     int64 // edges that it counted and did not deliver
	Repeated int64 // events in the direction of the one before: an edge between was missed, or a pulse was too short
	Overdue  int64 // events that came after all up to their time was told
}

// check fills in what was left out and refuses what cannot be.
func (s *CharSettings) check() error {
	if s.Path == "" {
		return errors.New("bench on the character device: no chip; give its path, as /dev/gpiochip0")
	}
	if err := refuses(s.Formats); err != nil {
		return err
	}
	if err := registers.CheckPinsBut(s.Layout, s.Pins, s.Devices); err != nil {
		return err
	}
	for i, p := range s.Pins {
		if s.Reset > 0 && int(p) == s.Reset {
			return fmt.Errorf("bench on the character device: %s and the board's reset are both on %s; give each a pin of its own", s.Layout.Lines[i].Name, pinout.GPIO(s.Reset))
		}
	}
	if s.Reset < 0 || s.ResetFor < 0 || s.Doubt < 0 {
		return fmt.Errorf("bench on the character device: reset %d for %v and doubt %v; none can be below 0", s.Reset, s.ResetFor, s.Doubt)
	}
	if s.ResetFor == 0 {
		s.ResetFor = ResetFor
	}
	if s.Doubt == 0 {
		s.Doubt = StampDoubt
	}
	return nil
}

// refuses says why the kernel's stamps will not do for a format. A Pi 5 is the model that
// is reached by the character device.
func refuses(formats []decode.MotorKind) error {
	limits := pinout.Pi5.Limits()
	for _, k := range formats {
		if k >= decode.MotorKinds || limits.Motors[k] == pinout.No {
			why := "it is not known"
			if k < decode.MotorKinds {
				why = limits.Reason[k]
			}
			return fmt.Errorf("bench on the character device: %v cannot be captured: %s; let the board send servo_pulse, or use a Pi 3B+ or 4B", k, why)
		}
	}
	return nil
}

// device returns the serial device of the port whose line it is; empty for none.
func (s *CharSettings) device(line signal.Line) string {
	for _, p := range s.Layout.Ports {
		if p.Line == line {
			return s.Devices[p.Name]
		}
	}
	return ""
}

// OwnUART says whether a device is a UART of the computer's own, not an adapter
// (torvalds/linux, Documentation/admin-guide/devices.txt; serial0 and serial1 are Raspberry
// Pi OS's names).
func OwnUART(device string) bool {
	for _, start := range []string{"/dev/ttyAMA", "/dev/ttyS", "/dev/serial0", "/dev/serial1"} {
		if strings.HasPrefix(device, start) {
			return true
		}
	}
	return false
}
