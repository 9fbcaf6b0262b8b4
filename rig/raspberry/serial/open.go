package serial

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"go.bug.st/serial"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Open opens a port's device: 8 data bits, no flow control. The port begins at
// rest; what comes in is not read. now tells the bench's time, from any goroutine; the
// port's own goroutine asks for that scheduling.
//
// A device sends upright: an inverted port needs an inverter behind it.
func Open(spec signal.PortSpec, device string, now func() signal.Time, writer realtime.Scheduling) (*Port, error) {
	lock, err := lockDevice(device)
	if err != nil {
		return nil, refusal(spec, device, err)
	}
	out, err := serial.Open(device, modeOf(spec))
	if err != nil {
		lock.Close()
		return nil, refusal(spec, device, err)
	}
	both := locked{out, lock}
	if err := checkSpeed(lock, spec.Baud); err != nil {
		both.Close()
		return nil, refusal(spec, device, err)
	}
	p, err := Start(spec, both, now, writer)
	if err != nil {
		both.Close()
	}
	return p, err
}

// modeOf is a port's form for the driver.
func modeOf(spec signal.PortSpec) *serial.Mode {
	m := &serial.Mode{BaudRate: spec.Baud, DataBits: 8}
	switch spec.Parity {
	case signal.EvenParity:
		m.Parity = serial.EvenParity
	case signal.OddParity:
		m.Parity = serial.OddParity
	}
	if spec.StopBits == 2 {
		m.StopBits = serial.TwoStopBits
	}
	return m
}

// locked is a device with the lock that keeps other programs from it.
type locked struct {
	serial.Port
	lock *os.File
}

// Close gives the device back.
func (l locked) Close() error { return errors.Join(l.Port.Close(), l.lock.Close()) }

var (
	errBusy  = errors.New("another program has it")
	errSpeed = errors.New("it cannot be that fast or slow")
)

// refusal says why a device could not be opened, and what to do.
func refusal(spec signal.PortSpec, device string, err error) error {
	var p *serial.PortError
	code := serial.PortErrorCode(-1)
	if errors.As(err, &p) {
		code = p.Code()
	}
	remedy := "name another device"
	switch {
	case errors.Is(err, fs.ErrNotExist) || code == serial.PortNotFound:
		remedy = "plug it in, or write enable_uart=1 into config.txt, for /dev/ttyAMA0 on a Pi 3 or 4 also dtoverlay=disable-bt, and start the Pi anew"
	case errors.Is(err, fs.ErrPermission) || code == serial.PermissionDenied:
		remedy = "put the user into the group dialout (sudo usermod -aG dialout NAME) and log in anew"
	case errors.Is(err, errBusy) || code == serial.PortBusy:
		remedy = "end it; a serial console is switched off with raspi-config"
	case errors.Is(err, errSpeed) || code == serial.InvalidSpeed:
		remedy = fmt.Sprintf("%d baud need another device", spec.Baud)
	case code == serial.InvalidSerialPort:
		remedy = "name the file of a serial device, like /dev/ttyAMA0"
	}
	return fmt.Errorf("port %s: device %s: %w; %s", spec.Name, device, err, remedy)
}
