package esc

import (
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// Event is something odd that was seen on the way.
type Event struct {
	At    signal.Time // when it was seen first
	Place string      // what it was seen of: "encoder", "telemetry", "load_cell", "bus_sensor", "supply", "throttle"
	Text  string      // in words
	Count int64       // how often, at least 1
}

// events keeps each event once, in the order in which they were seen.
type events struct{ list []Event }

// add notes an event that was seen so often.
func (e *events) add(at signal.Time, place, text string, count int64) {
	if count <= 0 {
		return
	}
	for i := range e.list {
		if o := &e.list[i]; o.Place == place && o.Text == text {
			o.Count += count
			return
		}
	}
	e.list = append(e.list, Event{At: at, Place: place, Text: text, Count: count})
}

// recorded returns the events as a record keeps them.
func (e *events) recorded() (list []record.Event) {
	for _, o := range e.list {
		r := record.Event{AtNS: int64(o.At), Place: o.Place, Text: o.Text}
		if o.Count > 1 {
			r.Count = o.Count
		}
		list = append(list, r)
	}
	return list
}
