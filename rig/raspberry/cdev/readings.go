//go:build linux

package cdev

import (
	"fmt"

	"golang.org/x/sys/unix"
)

// Readings is lines that are held and whose edges nobody watches. Its methods may be
// called by several goroutines at once, Close last.
type Readings struct{ held }

// Plain takes lines as inputs without watching their edges. User is the name that
// others see in [Chip.Line], at most 31 bytes of it. It fails with unix.EBUSY where a
// line is in use, and has then taken none.
func (c *Chip) Plain(user string, lines []uint32, pull Pull) (*Readings, error) {
	if int(pull) >= len(pullFlags) {
		return nil, fmt.Errorf("%s: pull %d: %w; give one of the package's", c.path, pull, unix.EINVAL)
	}
	return c.readings(user, lines, flagInput|pullFlags[pull])
}

// AsTheyAre takes lines and changes nothing about them: an output stays one, at its
// level. It fails like [Chip.Plain].
func (c *Chip) AsTheyAre(user string, lines []uint32) (*Readings, error) {
	return c.readings(user, lines, 0)
}

func (c *Chip) readings(user string, lines []uint32, flags uint64) (*Readings, error) {
	fd, err := c.request(user, lines, unix.GPIOV2LineConfig{Flags: flags}, 0)
	if err != nil {
		return nil, err
	}
	return &Readings{held{fd, allOf(len(lines))}}, nil
}
