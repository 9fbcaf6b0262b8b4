package supervisor

import (
	"errors"
	"fmt"
	"strings"
	"syscall"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// How long a supervisor tries to have a line that another one, which just died, still holds, and
// how often.
const (
	mostHeld = 2 * signal.Second
	retry    = 5 * signal.Millisecond
)

// openLines opens the supervisor's own lines, all of them safe. The stop contact has to be closed,
// unless it is about to be tried.
func openLines(p *Parts, clock realtime.Clock, untested bool) (hostlines.Lines, error) {
	lines, err := p.Open()
	if err != nil {
		return nil, err
	}
	err = patiently(clock, func() error { return p.openRelay(lines) })
	if pin := p.Pins.Stop; pin != 0 && err == nil {
		if err = patiently(clock, func() error { return lines.Input(pin, hostlines.PullDown) }); err == nil {
			var closed bool
			if closed, err = lines.Read(pin); err == nil && !closed && !untested {
				err = errors.New("the stop contact is open; close it, or see to its wire")
			}
		}
	}
	if pin := p.Pins.Supply; pin != 0 && err == nil {
		err = patiently(clock, func() error { return lines.Input(pin, hostlines.PullDown) })
	}
	if err != nil {
		lines.Close()
		return nil, fmt.Errorf("interlock: %w", err)
	}
	return lines, nil
}

// patiently does something with a line, again and again while another process holds it.
func patiently(clock realtime.Clock, do func() error) error {
	until := clock.Now() + mostHeld
	for {
		err := do()
		if !errors.Is(err, syscall.EBUSY) || clock.Now() >= until {
			return err
		}
		clock.SleepUntil(clock.Now() + retry)
	}
}

// Tidy looks whether an earlier run left relay, heartbeat or driven lines otherwise than
// safe, as one does whose processes were both killed or stopped, and makes them safe then:
// the relay first. It returns what it found, in words; empty where all was safe, and then no
// line was changed. It comes before anything else, a question to a person included.
//
// A line whose safe level is high is low on a machine that has just been started, and says
// nothing by itself.
func (p *Parts) Tidy() (found string, err error) { return p.tidy(realtime.System{}) }

func (p *Parts) tidy(clock realtime.Clock) (found string, err error) {
	lines, err := p.Open()
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, lines.Close()) }()
	var high []string
	look := func(name string, pin int) {
		if pin == 0 || err != nil {
			return
		}
		err = patiently(clock, func() error {
			level, err := lines.Read(pin)
			if level && err == nil {
				high = append(high, name+fmt.Sprintf("GPIO%d", pin))
			}
			return err
		})
	}
	look("relay on ", p.Pins.Relay)
	look("heartbeat on ", p.Pins.Heartbeat)
	for _, l := range p.Safe {
		if !l.High {
			look("", l.GPIO)
		}
	}
	if err != nil {
		return "", fmt.Errorf("interlock: what an earlier run left: %w", err)
	}
	if len(high) == 0 {
		return "", nil
	}
	found = "an earlier run had left lines high, and they were made safe: " + strings.Join(high, ", ")
	return found, errors.Join(p.openRelay(lines), p.makeSafe(lines))
}
