//go:build linux

package chardev

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

var errCharLinesClosed = errors.New("character device: its lines are given back; open it anew")

// charUser is the name under which other programs see the lines that are held.
const charUser = "hilrig"

// charLines is the lines of a chip, each held by a request of its own from its first
// use until Close. Those that nobody asked for are free to other programs.
type charLines struct {
	chip *cdev.Chip // nil: closed
	line map[int]charLine
}

// charLine is one line that is held. out is nil for one that is not driven.
type charLine struct {
	out  *cdev.Outputs
	held interface {
		Levels() (uint64, error)
		Close() error
	}
}

// OpenLines returns the lines of the GPIO chip at path, as /dev/gpiochip0, by their
// offsets there, which on a Pi are the GPIO numbers; it takes none yet. A line that
// another program holds is an error for which errors.Is(err, unix.EBUSY) holds. Read
// of a line that is neither input nor output yet holds it as it is from then on. What
// an output does after Close is up to the chip's driver.
func OpenLines(path string) (hostlines.Lines, error) {
	chip, err := cdev.Open(path)
	if err != nil {
		return nil, err
	}
	return &charLines{chip, map[int]charLine{}}, nil
}

// Output makes a line an output at level. One that is an output already keeps being
// one.
func (c *charLines) Output(gpio int, level bool) error {
	if err := c.check(gpio); err != nil {
		return err
	}
	if c.line[gpio].out != nil {
		return c.Write(gpio, level)
	}
	return c.reuse(gpio, func() (charLine, error) {
		out, err := c.chip.Outputs(charUser, []uint32{uint32(gpio)}, oneBit(level))
		return charLine{out, out}, err
	})
}

// Input makes a line an input.
func (c *charLines) Input(gpio int, pull hostlines.Pull) error {
	if err := c.check(gpio); err != nil {
		return err
	}
	if pull > hostlines.PullUp {
		return fmt.Errorf("character device: pull %d of %s; give PullNone, PullDown or PullUp", pull, pinout.GPIO(gpio))
	}
	kernels := [...]cdev.Pull{hostlines.PullNone: cdev.PullNone, hostlines.PullDown: cdev.PullDown, hostlines.PullUp: cdev.PullUp}[pull]
	return c.reuse(gpio, func() (charLine, error) {
		in, err := c.chip.Plain(charUser, []uint32{uint32(gpio)}, kernels)
		return charLine{nil, in}, err
	})
}

// reuse gives the line back, where it is held, and requests it for another use.
func (c *charLines) reuse(gpio int, request func() (charLine, error)) error {
	if l, ok := c.line[gpio]; ok {
		delete(c.line, gpio)
		if err := l.held.Close(); err != nil {
			return fmt.Errorf("character device: give %s back: %w", pinout.GPIO(gpio), err)
		}
	}
	l, err := request()
	if err != nil {
		return err
	}
	c.line[gpio] = l
	return nil
}

// Write changes the level of a line that [charLines.Output] has made an output.
func (c *charLines) Write(gpio int, level bool) error {
	if err := c.check(gpio); err != nil {
		return err
	}
	out := c.line[gpio].out
	if out == nil {
		return fmt.Errorf("character device: %s is no output; make it one first", pinout.GPIO(gpio))
	}
	if err := out.Set(1, oneBit(level)); err != nil {
		return fmt.Errorf("character device: %s: %w", pinout.GPIO(gpio), err)
	}
	return nil
}

// Read reads a line, which stays what it is.
func (c *charLines) Read(gpio int) (bool, error) {
	if err := c.check(gpio); err != nil {
		return false, err
	}
	if _, ok := c.line[gpio]; !ok {
		err := c.reuse(gpio, func() (charLine, error) {
			in, err := c.chip.AsTheyAre(charUser, []uint32{uint32(gpio)})
			return charLine{nil, in}, err
		})
		if err != nil {
			return false, err
		}
	}
	levels, err := c.line[gpio].held.Levels()
	if err != nil {
		return false, fmt.Errorf("character device: %s: %w", pinout.GPIO(gpio), err)
	}
	return levels != 0, nil
}

// Close gives the lines back. It may be called more than once.
func (c *charLines) Close() error {
	if c.chip == nil {
		return nil
	}
	var failed []error
	for _, l := range c.line {
		failed = append(failed, l.held.Close())
	}
	failed = append(failed, c.chip.Close())
	c.line, c.chip = nil, nil
	return errors.Join(failed...)
}

func (c *charLines) check(gpio int) error {
	if c.chip == nil {
		return errCharLinesClosed
	}
	if n := c.chip.Info().Lines; gpio < 0 || gpio >= n {
		return fmt.Errorf("character device: line %d; the chip has lines 0 to %d", gpio, n-1)
	}
	return nil
}

func oneBit(level bool) uint64 {
	if level {
		return 1
	}
	return 0
}
