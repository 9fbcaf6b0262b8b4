package main

import (
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// dropTyped throws away what was typed at a terminal and not read yet, a line that is not
// at its end included.
func dropTyped(terminal *os.File) error {
	if err := unix.IoctlSetInt(int(terminal.Fd()), unix.TCFLSH, unix.TCIFLUSH); err != nil {
		return fmt.Errorf("the terminal's input: %w", err)
	}
	return nil
}
