package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites/live"
)

// turnsKey is the variable that has a program of these tests do what it does in memory, supervisor
// and worker among it, on a clock of its own: the result is the same on every machine. It
// says what goes wrong meanwhile, and when, in words:
//
//	on                nothing
//	stall=500ms+30ms  the loop that plays and samples stands still
//	often=100ms+15ms  it does so again and again, for a minute
//	tick=500ms+30ms   what hands over to it does
//	supervisor=1s+25ms     the supervisor's process does, from when it was started on
//	worker=1s+25ms    the worker's does
//	ctrl-c=600ms      a person wants it to end
//	wires:ctrl-c=1s   the same for the worker that tries wires and board in ready, before
//	                  any motor has its supply; as well for the two above
//	tried=bench.yaml  before all that is tried before a bench's motors are powered has passed
const turnsKey = "HILRIG_TEST_TURNS"

// began is the time of the clock when such a program begins: a machine's is not 0 either.
const began = 100 * signal.Second

// stepClock has this program do so, unless nothing is said.
func stepClock(words string) {
	if words == "" {
		return
	}
	clock := new(realtime.Manual)
	clock.SleepUntil(began)
	turns = &registers.Turns{Clock: clock}
	paired := map[bool][]func(p *supervisor.Pair){} // of those that try wires, and of others
	for word := range strings.FieldsSeq(words) {
		what, when, _ := strings.Cut(word, "=")
		if what == "tried" {
			noteTried(when)
			continue
		}
		from, long := spanOf(when)
		what, wires := strings.CutPrefix(what, "wires:")
		pair := func(do func(p *supervisor.Pair)) { paired[wires] = append(paired[wires], do) }
		switch what {
		case "on":
		case "stall":
			turns.Stalls = append(turns.Stalls, registers.Stall{At: began + from, For: long})
		case "often":
			for at := from; at < 60*signal.Second; at += from {
				turns.Stalls = append(turns.Stalls, registers.Stall{At: began + at, For: long})
			}
		case "tick":
			turns.Delays = append(turns.Delays, registers.Stall{At: began + from, For: long})
		case "supervisor":
			pair(func(p *supervisor.Pair) { p.Stall(supervisor.TheSupervisor, clock.Now()+from, long) })
		case "worker":
			pair(func(p *supervisor.Pair) { p.Stall(supervisor.TheWorker, clock.Now()+from, long) })
		case "ctrl-c":
			pair(func(p *supervisor.Pair) { clock.At(clock.Now()+from, func() { p.Ask("Ctrl-C") }) })
		default:
			panic(turnsKey + ": " + word)
		}
	}
	runSupervisor = func(s supervisor.Settings) (supervisor.Ending, error) { return runPair(clock, s, paired[s.Untested]) }
}

// noteTried notes that all which hilrig ready tries has passed on the bench of a file.
func noteTried(path string) {
	if err := noteTriedOn(path); err != nil {
		panic(turnsKey + ": " + err.Error())
	}
}

func noteTriedOn(path string) error {
	b, err := readBench(path)
	if err != nil {
		return err
	}
	of := live.OfBench(b)
	w, _, err := of.Wires.Propose()
	if err != nil {
		return err
	}
	state, err := stateFolder()
	if err != nil {
		return err
	}
	pins := supervisor.Pins{Stop: w.Stop, Relay: w.Relay, Heartbeat: w.Heartbeat}
	return errors.Join(supervisor.NoteTested(state, pins, interlock.Parts{Stop: true, Relay: true, Heartbeat: true}), supervisor.NoteRotation(state, of.Motors, true))
}

// spanOf reads a time and a length behind a plus.
func spanOf(text string) (from, long signal.Time) {
	at, length, _ := strings.Cut(text, "+")
	for _, one := range []struct {
		text string
		to   *signal.Time
	}{{at, &from}, {length, &long}} {
		if one.text != "" {
			d, err := time.ParseDuration(one.text)
			if err != nil {
				panic(turnsKey + ": " + err.Error())
			}
			*one.to = signal.Time(d)
		}
	}
	return from, long
}

// runPair is supervisor.Run with the worker in the supervisor's own process. It says afterwards how
// often the relay closed, and whether it is closed.
func runPair(clock *realtime.Manual, s supervisor.Settings, faults []func(p *supervisor.Pair)) (supervisor.Ending, error) {
	relay := &watchedRelay{gpio: s.Pins.Relay}
	s.Open = relay.opener(s.Open)
	p, err := supervisor.NewPair(clock, s)
	if err != nil {
		return supervisor.Ending{}, err
	}
	for _, do := range faults {
		do(p)
	}
	turns.Clock = p.Clock()
	defer func() { turns.Clock = clock }()
	if s.Input != nil {
		stdin := os.Stdin
		os.Stdin = s.Input
		defer func() { os.Stdin = stdin }()
	}
	for _, e := range s.Env {
		if name, value, _ := strings.Cut(e, "="); name == rehearsedKey || name == partKey || name == foundKey {
			os.Setenv(name, value)
		}
	}
	inputs, err := live.ReadInputs(s.Extra[live.InheritedInputs])
	if err != nil {
		return supervisor.Ending{}, err
	}
	ending := p.Run(func(w *supervisor.Worker) int {
		code := run(withInputs(context.WithValue(w.Context(), workerKey{}, w), inputs), os.Args[1:], os.Stdout, os.Stderr)
		if w.Why() != "" {
			code = exitTripped
		}
		return code
	})
	for _, note := range p.Notes() {
		fmt.Fprintln(os.Stderr, "hilrig:", note)
	}
	fmt.Fprintf(os.Stderr, "test: the relay closed %d times and is closed: %v\n", relay.closed, relay.level)
	return ending, nil
}

// watchedRelay counts how often a relay closes.
type watchedRelay struct {
	gpio   int
	level  bool
	closed int
}

// opener returns open with the relay watched.
func (w *watchedRelay) opener(open func() (hostlines.Lines, error)) func() (hostlines.Lines, error) {
	return func() (hostlines.Lines, error) {
		lines, err := open()
		if err != nil {
			return nil, err
		}
		return &relayLines{lines, w}, nil
	}
}

// relayLines are lines of which one is watched.
type relayLines struct {
	hostlines.Lines
	relay *watchedRelay
}

func (l *relayLines) Output(gpio int, level bool) error {
	l.relay.note(gpio, level)
	return l.Lines.Output(gpio, level)
}

func (l *relayLines) Write(gpio int, level bool) error {
	l.relay.note(gpio, level)
	return l.Lines.Write(gpio, level)
}

func (w *watchedRelay) note(gpio int, level bool) {
	if gpio != w.gpio {
		return
	}
	if level && !w.level {
		w.closed++
	}
	w.level = level
}
