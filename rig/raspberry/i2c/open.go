package i2c

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"sync"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/i2c/i2creg"
	"periph.io/x/host/v3/sysfs"
)

// prefix begins the path of every bus.
const prefix = "/dev/i2c-"

// Number returns the number of the bus at a path, as "/dev/i2c-1".
func Number(path string) (int, error) {
	digits, ok := strings.CutPrefix(path, prefix)
	n, err := strconv.ParseUint(digits, 10, 16)
	if !ok || err != nil || digits != strconv.FormatUint(n, 10) {
		return 0, fmt.Errorf("%s is no I2C bus; write the kernel's device file, as /dev/i2c-1 for the header's pins 3 and 5", path)
	}
	return int(n), nil
}

var registering sync.Mutex

// Open opens the bus at a path, as "/dev/i2c-1". The error says what to do. It may be called
// by several goroutines.
func Open(path string) (i2c.BusCloser, error) {
	number, err := Number(path)
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, refusal(path, err)
	}
	f.Close()
	if err := known(path, number); err != nil {
		return nil, err
	}
	bus, err := i2creg.Open(path)
	if err != nil {
		return nil, refusal(path, err)
	}
	return bus, nil
}

// known has the registry of buses know the one at path, and none besides: no driver is asked
// what there is.
func known(path string, number int) error {
	registering.Lock()
	defer registering.Unlock()
	for _, r := range i2creg.All() {
		if r.Name == path {
			return nil
		}
	}
	return i2creg.Register(path, nil, number, func() (i2c.BusCloser, error) {
		bus, err := sysfs.NewI2C(number)
		if err != nil {
			return nil, err // not a nil *I2C in the interface
		}
		return bus, nil
	})
}

// refusal says why a bus could not be opened, and what to do.
func refusal(path string, err error) error {
	remedy := "name another bus"
	switch {
	case errors.Is(err, fs.ErrNotExist):
		remedy = "write dtparam=i2c_arm=on into config.txt and i2c-dev into /etc/modules, and start the Pi anew"
	case errors.Is(err, fs.ErrPermission):
		remedy = "put the user into the group i2c (sudo usermod -aG i2c NAME) and log in anew"
	}
	return fmt.Errorf("I2C bus %s: %w; %s", path, err, remedy)
}
