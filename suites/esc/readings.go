package esc

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"

	"hilrig/assertions/characteristic"
	"hilrig/rig/signal"
)

// ReadingsName is the file of a record that keeps all readings.
const ReadingsName = "readings.csv"

// Readings returns all readings of the outcome as CSV: one row each, of all sets, with the commands in percent,
// outputs in the unit that the row names and times in seconds.
func (o *Outcome) Readings() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(readingsHeader)
	for _, set := range o.Sets {
		writeReadings(w, set)
	}
	w.Flush()
	return b.Bytes()
}

var readingsHeader = []string{"held", "kind", "command_percent", "from_percent", "direction", "cycle", "at_s", "output", "unit", "standard_uncertainty", "status", "why"}

// readingsOf returns the readings of one set.
func readingsOf(set *characteristic.Set) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	writeReadings(w, set)
	w.Flush()
	return b.Bytes()
}

// csvDigits is how many significant digits a number of a CSV has: as many as a record's.
const csvDigits = 9

func number(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return signal.Digits(x, csvDigits)
}

func share(x float64) string { return signal.Digits(100*x, 6) }

// writeReadings writes the rows of a set: readings, the first point before and after them, small changes, starts and steps.
func writeReadings(w *csv.Writer, set *characteristic.Set) {
	row := func(cells ...string) { _ = w.Write(append([]string{set.Held}, cells...)) }
	list := func(kind string, readings []characteristic.Reading) {
		for i := range readings {
			r := &readings[i]
			output, u := number(r.Output), number(r.Standard)
			if r.Status != characteristic.Read {
				output, u = "", ""
			}
			row(kind, share(set.Levels[r.Level]), "", r.Direction.String(), strconv.Itoa(r.Cycle+1), number(r.At.Seconds()), output, set.Unit, u, r.Status.String(), r.Why)
		}
	}
	list("first", set.First)
	list("reading", set.Readings)
	list("again", set.Repeated)
	for _, f := range set.Fine {
		kind := "resolution"
		if f.Reversal {
			kind = "reversal"
		}
		row(kind, share(f.Level+f.Change), share(f.Level), "", strconv.Itoa(f.Cycle+1), "", number(f.Output-f.Before), set.Unit, number(f.Standard), "read", "")
	}
	for _, s := range set.Starts {
		row("start", share(s.Level), share(s.Below), "up", strconv.Itoa(s.Cycle+1), "", "", "", "", "read", "")
	}
	for _, s := range set.Steps {
		row("delay", share(s.To), share(s.From), "", strconv.Itoa(s.Cycle+1), "", number(s.Delay), "s", number(s.DelayStandard), "read", "")
		row("rise", share(s.To), share(s.From), "", strconv.Itoa(s.Cycle+1), "", number(s.Rise), "s", number(s.RiseStandard), "read", "")
	}
}
