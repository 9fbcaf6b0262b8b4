package preflight

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"hilrig/rig/raspberry/pinout"
)

// leads returns where a device file leads in the end, /dev/serial0 to /dev/ttyAMA0.
func (m *Machine) leads(device string) string {
	for range 8 {
		to, err := fs.ReadLink(m.Root, strings.TrimPrefix(device, "/"))
		if err != nil {
			return device
		}
		if !path.IsAbs(to) {
			to = path.Join(path.Dir(device), to)
		}
		device = to
	}
	return device
}

// device checks the device of a port, which sends on a pin: 0, on none that is known.
func (m *Machine) device(port, device string, pin int, model pinout.Model) Result {
	check := "port " + port
	if device == "" {
		return result(check, false, "the bench file names no device", "add device: /dev/ttyAMA0 to the port")
	}
	on := "config.txt: " + model.UARTs()[0].Setting
	if u, ok := model.UARTAt(pin); ok {
		on = "config.txt: " + u.Setting
	}
	at := m.leads(device)
	says := device
	if at != device {
		says += ", which leads to " + at
	}
	switch err := m.Open(device); {
	case errors.Is(err, fs.ErrNotExist) && pinout.OnAdapter(device):
		return result(check, false, "no USB adapter is at "+device, "plug it in; where it has come back under another name, ls -l /dev/serial/by-id shows one that stays")
	case errors.Is(err, fs.ErrNotExist):
		return result(check, false, "there is no "+says, "switch the port on in "+on+", and start again")
	case errors.Is(err, fs.ErrPermission):
		return result(check, false, "this user may not open "+says, "sudo usermod -aG gpio,dialout $USER, then log in again")
	case err != nil:
		return result(check, false, err.Error(), "where another program has it, end that")
	case at == "/dev/ttyS0":
		return result(check, false, says+": it follows the clock of the graphics core", "dtoverlay=disable-bt in config.txt, then /dev/ttyAMA0")
	case at == "/dev/ttyAMA10":
		return result(check, false, says+": on a Pi 5 that is the connector between the displays, and not the header", "write device: /dev/ttyAMA0; "+on)
	case !pinout.OnAdapter(device) && m.leads("/dev/serial1") == at && model < pinout.Pi5:
		return result(check, false, says+": Bluetooth has it", "dtoverlay=disable-bt in config.txt, sudo systemctl disable hciuart, and start again")
	}
	if u, ok := model.UARTAt(pin); ok && !pinout.OnAdapter(device) && at != u.Device {
		return warning(check, false, fmt.Sprintf("%s opens; the port on %s is %s as a rule", says, pinout.GPIO(pin), u.Device), "look whether what is sent comes out at the pin, as hilrig ready does below")
	}
	return result(check, true, says+" opens", "")
}
