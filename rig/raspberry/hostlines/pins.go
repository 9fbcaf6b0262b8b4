package hostlines

import (
	"fmt"
	"strings"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Pins is the GPIO number of each line of a layout, 0 to 31, by signal.Line.
type Pins []uint8

// NoPin stands for the pin of a line that has none: that of a serial port on a device
// whose wire is not read back.
const NoPin = 255

// Settings say what a bench on a header is made of, whatever moves its lines.
type Settings struct {
	Layout     signal.Layout
	Pins       Pins                // by line of Layout, each once
	Scheduling realtime.Scheduling // of the thread that plays
	// Formats are those of the motor commands, on the captured lines or the one that a stand
	// drives; empty: they are not known.
	Formats []decode.MotorKind
	// Reset is the GPIO number of the board's reset line, or of its supply's relay: high
	// while the board runs, low to restart it. 0: none, the bench cannot restart.
	Reset int
	// Devices are the serial devices of ports by name, "/dev/ttyAMA0". The bench does not
	// drive the line of such a port, and reads it back where that can be done; its pin may be
	// NoPin. A port without a device is put out as levels of its line.
	Devices map[string]string
}

// Check refuses a line without a pin of its own, but lets ports with a device go without.
func (s *Settings) Check() error {
	if len(s.Pins) != len(s.Layout.Lines) {
		return fmt.Errorf("bench on pins: %d lines and %d pins; give each line one", len(s.Layout.Lines), len(s.Pins))
	}
	var taken [32]string
	if s.Reset < 0 || s.Reset > 31 {
		return fmt.Errorf("bench on pins: the board's reset is on GPIO%d; give it one of GPIO1 to GPIO31, or 0 for none", s.Reset)
	}
	if s.Reset > 0 {
		taken[s.Reset] = "the board's reset"
	}
	for i, p := range s.Pins {
		name := s.Layout.Lines[i].Name
		if p == NoPin && s.Devices[name] != "" {
			continue
		}
		if p > 31 {
			return fmt.Errorf("bench on pins: %s is on GPIO%d; a bank has GPIO0 to GPIO31", name, p)
		}
		if taken[p] != "" {
			return fmt.Errorf("bench on pins: %s and %s are both on %s; give each a pin of its own", taken[p], name, pinout.GPIO(int(p)))
		}
		taken[p] = name
	}
	return nil
}

// Device returns the serial device of the port whose line it is; empty for none.
func (s *Settings) Device(line signal.Line) string {
	return s.Devices[s.Layout.Lines[line].Name]
}

// Claims says whether the bench makes a line's pin an input or an output: not where there is
// none, nor where it is a UART's, which drives it.
func (s *Settings) Claims(line signal.Line) bool {
	device := s.Device(line)
	return device == "" || !OwnUART(device) && int(line) < len(s.Pins) && s.Pins[line] != NoPin
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
