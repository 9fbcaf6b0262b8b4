package pinout

// UART is a serial port of the chip on the header.
type UART struct {
	Sends   int    // GPIO number; it receives on the next
	Device  string // its device file
	Setting string // line of config.txt that switches it on
}

// UARTs returns the serial ports of a model that can be had on the header, in order of choice:
// the one that a board's sensor is on first. Where the model is not known it is what a Pi 4B has.
// Of those beside the first, that on GPIO4 rests high from power-up on, as a serial line does,
// and takes no pin that is low then.
//
// GPIO0 is left out: the Pi looks for a memory of a board on top there while it starts.
//
// Sources: raspberrypi/documentation, configuration/uart.adoc, and its pull request 3294 for
// uart0 on a Pi 5; names of its overlays in raspberrypi/utils, gpiochip_rp1.c. That a port's
// device carries its number: from memory, for kernels of 2023 and later; ls -l /dev/ttyAMA*
// shows it.
func (m Model) UARTs() []UART {
	first := UART{14, "/dev/ttyAMA0", "enable_uart=1, dtoverlay=disable-bt"}
	switch m {
	case Pi3:
		return []UART{first}
	case Pi5:
		first.Setting = "dtparam=uart0=on"
		return []UART{first, {4, "/dev/ttyAMA2", "dtoverlay=uart2-pi5"}, {12, "/dev/ttyAMA4", "dtoverlay=uart4-pi5"}, {8, "/dev/ttyAMA3", "dtoverlay=uart3-pi5"}}
	}
	return []UART{first, {4, "/dev/ttyAMA3", "dtoverlay=uart3"}, {12, "/dev/ttyAMA5", "dtoverlay=uart5"}, {8, "/dev/ttyAMA4", "dtoverlay=uart4"}}
}

// UARTAt returns the serial port of a model that sends on a pin.
func (m Model) UARTAt(gpio int) (u UART, ok bool) {
	for _, u = range m.UARTs() {
		if u.Sends == gpio {
			return u, true
		}
	}
	return UART{}, false
}
