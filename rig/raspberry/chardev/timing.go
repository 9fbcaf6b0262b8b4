package chardev

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// Trial plays edges by the GPIO character device, as a [Bench] does, and tells
// how well the machine keeps time there.
//
// Without a jumper no pin changes: where a bench would set lines, the trial has the
// kernel read as many that are inputs and that nobody uses, and they stay as they are.
// Such a read goes the same way as a set, down to the registers, and waits for their
// answer besides. What it shows is how late the edge output is and what a call takes; of
// stamps it shows nothing, for there are no edges to stamp.
//
// With a jumper one line is driven and another listened to: then the kernel's stamps are
// held against the calls, and what was lost against what was put out.
type Trial struct {
	Path       string              // of the chip; see [HeaderChip]
	Jumper     *Link               // nil: no pin is driven
	Scheduling realtime.Scheduling // of the edge output
	For        signal.Time
	// Edges a second, 0 to MostEdges: of four wheels' eight lines together, beside a
	// receiver's three channels that are set by one call; with a jumper those of its one
	// line, in bursts (see [JumperMeasurement]).
	Edges float64
	// Progress is called now and then with how much of For has passed; nil disables it.
	Progress func(done signal.Time)
}

// MostEdges is the highest rate of edges that a [Trial] plays, per second: more
// than any call of the kernel lets through.
const MostEdges = 5e6

// Measurement is how well a machine kept time by the character device. Late goes from the time
// planned to the return of the kernel's call.
type Measurement struct {
	timing.Measurement
	Calls   realtime.Histogram // how long the kernel's calls for one line took
	Several realtime.Histogram // and those for three lines at once; empty with a jumper

	Read   []int              // lines that were read where others would have been set; none with a jumper
	Jumper *JumperMeasurement // nil: there was none
}

// JumperMeasurement is what came over a jumper. Edges are played in bursts, with a rest after
// each that is far longer than any stamp is late: what belongs together is known then,
// burst by burst, though edges are lost.
type JumperMeasurement struct {
	Link
	Stamps realtime.Histogram // from the begin of the call that put an edge out to the kernel's stamp
	Widths realtime.Histogram // by how much the time from edge to edge differed between stamps and calls
	Read   realtime.Histogram // from the stamp to when the edge had been read

	Heard       uint64 // edges that were reported
	Lost        uint64 // put out and not reported
	Extra       uint64 // reported and not put out: the wire catches something
	Turned      uint64 // reported in the wrong direction: the next edge had come before the kernel looked
	Invalidated uint64 // bursts with any of these; their edges are in no histogram of stamps

	Rungs   []Rung  // rates that were tried one after the other, each higher, until one failed
	Highest float64 // edges a second of the highest at which all was well; 0: of none
}

// Rung is one rate that was tried over a jumper.
type Rung struct {
	Rate    float64 // edges a second, in bursts
	Planned uint64
	Lost    uint64      // edges that were skipped, or not reported, or not as they were
	Late    signal.Time // after the time planned: 99 % of them were put out within
	Behind  bool        // they did not get out at that rate
}

// Well says whether nothing was lost.
func (r Rung) Well() bool { return r.Planned > 0 && r.Lost == 0 && !r.Behind }

// Link is a jumper: a piece of wire from one line of a chip to another, by their offsets, on a Pi
// the GPIO numbers.
type Link struct{ Out, In int }

// String returns "GPIO17 to GPIO22".
func (j Link) String() string { return pinout.GPIO(j.Out) + " to " + pinout.GPIO(j.In) }

// Check refuses lines of a Pi's header that a jumper has no business on. Out is
// driven: it may not be one that is high from power-up.
func (j Link) Check() error {
	if j.Out == j.In {
		return fmt.Errorf("a jumper from %v: it joins two lines; name the one that is driven, then the one that listens", j)
	}
	for _, n := range []int{j.Out, j.In} {
		why := ""
		switch {
		case pinout.Position(n) == 0:
			why = "it is not on the header"
		case n == 14 || n == 15:
			why = "it belongs to the serial port"
		case n == 0 || n == 1:
			why = "the Pi asks there at start what is plugged on it"
		case n == 2 || n == 3:
			why = "a resistor of 1.8 kohm on the Pi pulls it high"
		case n == j.Out && pinout.PulledUp(n):
			why = "it is high from power-up, and so nothing to drive"
		}
		if why != "" {
			return fmt.Errorf("a jumper from %v: %s: %s; drive one of GPIO9 to GPIO27, and listen on one of GPIO4 to GPIO27, 14 and 15 left out", j, pinout.GPIO(n), why)
		}
	}
	return nil
}

func (t Trial) check() error {
	switch j := t.Jumper; {
	case j == nil:
	case j.Out < 0 || j.In < 0 || j.Out == j.In || max(j.Out, j.In) >= hostlines.NoPin:
		return fmt.Errorf("timing: a jumper from line %d to %d; name two of 0 to %d", j.Out, j.In, hostlines.NoPin-1)
	case t.Edges == 0:
		return errors.New("timing: 0 edges a second over a jumper; ask for more")
	}
	return timing.Check(t.Edges, MostEdges, t.For)
}
