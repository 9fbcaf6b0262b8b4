package chardev

import (
	"errors"
	"fmt"
	"time"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
)

// followsWithin is how long a level may take from one end of a jumper to the other, and
// a pull to move a line: far longer than both need.
const followsWithin = 50 * time.Millisecond

// checkConnected makes sure, before anything is driven, that nobody else drives either line, and
// then that one follows the other. It leaves Out driven low, or, where it fails, both
// lines inputs.
func (j Link) checkConnected(lines hostlines.Lines) error {
	err := j.nobodyDrives(lines)
	if err == nil {
		err = j.follows(lines)
	}
	if err != nil {
		return errors.Join(err, j.letGo(lines))
	}
	return nil
}

// nobodyDrives pulls both lines up, then down: only lines that nobody drives go along.
func (j Link) nobodyDrives(lines hostlines.Lines) error {
	for _, pull := range []hostlines.Pull{hostlines.PullUp, hostlines.PullDown} {
		for _, n := range []int{j.Out, j.In} {
			if err := lines.Input(n, pull); err != nil {
				return err
			}
		}
		for _, n := range []int{j.Out, j.In} {
			is, err := comes(lines, n, pull == hostlines.PullUp)
			if err != nil {
				return err
			}
			if !is {
				return fmt.Errorf("something holds %s %s, and nothing was driven: take off whatever is wired to %v but the jumper", pinout.GPIO(n), levelWord(pull == hostlines.PullDown), j)
			}
		}
	}
	return nil
}

// follows drives one line against the pull of the other.
func (j Link) follows(lines hostlines.Lines) error {
	if err := lines.Output(j.Out, false); err != nil {
		return err
	}
	for _, level := range []bool{true, false} {
		pull := hostlines.PullDown
		if !level {
			pull = hostlines.PullUp
		}
		err := errors.Join(lines.Input(j.In, pull), lines.Write(j.Out, level))
		if err != nil {
			return err
		}
		is, err := comes(lines, j.In, level)
		if err != nil {
			return err
		}
		if !is {
			return fmt.Errorf("%s was driven %s and %s stays %s: lay a jumper from pin %d of the header to pin %d", pinout.GPIO(j.Out), levelWord(level), pinout.GPIO(j.In), levelWord(!level), pinout.Position(j.Out), pinout.Position(j.In))
		}
	}
	return nil
}

// letGo leaves both lines inputs, pulled low.
func (j Link) letGo(lines hostlines.Lines) error {
	return errors.Join(lines.Input(j.Out, hostlines.PullDown), lines.Input(j.In, hostlines.PullDown))
}

// comes waits for a line to come to a level, and says whether it did.
func comes(lines hostlines.Lines, gpio int, level bool) (bool, error) {
	for end := time.Now().Add(followsWithin); ; realtime.Pause(100 * 1000) {
		is, err := lines.Read(gpio)
		if err != nil || is == level {
			return err == nil, err
		}
		if time.Now().After(end) {
			return false, nil
		}
	}
}

func levelWord(high bool) string {
	if high {
		return "high"
	}
	return "low"
}
