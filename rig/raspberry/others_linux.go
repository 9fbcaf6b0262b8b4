package raspberry

import (
	"fmt"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/chardev"
)

// AskKernel is the [Asker] of this machine's kernel.
func AskKernel(gpios []int) (map[int]string, error) {
	path, err := chardev.HeaderChip()
	if err != nil {
		return nil, err
	}
	return askChip(path, gpios)
}

// askChip asks the chip at path, whose offsets are the GPIO numbers.
func askChip(path string, gpios []int) (users map[int]string, err error) {
	chip, err := cdev.Open(path)
	if err != nil {
		return nil, err
	}
	defer chip.Close()
	users = map[int]string{}
	for _, gpio := range gpios {
		if gpio < 0 {
			return nil, fmt.Errorf("GPIO%d is no line", gpio)
		}
		line, err := chip.Line(uint32(gpio))
		if err != nil {
			return nil, err
		}
		if line.Used {
			users[gpio] = line.User
		}
	}
	return users, nil
}
