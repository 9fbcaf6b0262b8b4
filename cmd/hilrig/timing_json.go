package main

import (
	"encoding/json"
	"fmt"
	"io"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// timedJSON is what timing prints as JSON, in s and Hz.
type timedJSON struct {
	On        string         `json:"measured_on"`
	OfAPi     bool           `json:"says_something_of_a_pi"`
	ForS      float64        `json:"for_s"`
	Seat      seatJSON       `json:"seat"`
	Refused   []string       `json:"refused"`
	ReadsHz   *float64       `json:"reads_hz"`
	AskedHz   float64        `json:"edges_asked_hz"`
	Planned   uint64         `json:"edges_planned"`
	Played    uint64         `json:"edges_played"`
	Skipped   uint64         `json:"edges_skipped"`
	Back      uint64         `json:"edges_back"`
	Lost      uint64         `json:"edges_lost"`
	Gaps      *histogramJSON `json:"gaps"` // null by the character device, where nothing is read over and over
	Late      histogramJSON  `json:"late"`
	Ticks     histogramJSON  `json:"ticks"`
	Device    *deviceJSON    `json:"character_device"` // null on a bank
	Motors    []motorJSON    `json:"motors"`
	EncoderHz *float64       `json:"encoder_edges_hz"`
	Lines     int            `json:"encoder_lines_at_90_turns_s"`
	Why       string         `json:"encoder_why"`
}

type seatJSON struct {
	Processor *int `json:"processor"` // counted from 0; null: any
	Rank      int  `json:"rank"`
	Lock      bool `json:"memory_locked"`
}

type histogramJSON struct {
	Count     uint64      `json:"count"`
	MostS     *float64    `json:"most_s"`
	Quantiles []shareJSON `json:"quantiles"`
	Classes   []classJSON `json:"classes"`
}

type shareJSON struct {
	Share  float64  `json:"share"`
	Within *float64 `json:"within_s"`
}

type classJSON struct {
	Least *float64 `json:"least_s"`
	Below *float64 `json:"below_s"`
	Count uint64   `json:"count"`
}

type motorJSON struct {
	Format  string   `json:"format"`
	Fit     string   `json:"fit"`
	Samples *float64 `json:"samples_in_shortest_pulse,omitempty"`
	Doubt   *float64 `json:"doubt_share_of_range,omitempty"`
	Out     *float64 `json:"left_out_share"`
	Why     string   `json:"why"`
}

// printJSON writes what was measured as JSON.
func (t *timed) printJSON(out io.Writer) error {
	k := t.Common()
	e := k.Encoders
	x := timedJSON{
		On: t.On, OfAPi: !t.NoPi, ForS: k.For.Seconds(), AskedHz: t.Asked,
		Seat: seatJSON{Rank: t.Seat.Rank, Lock: t.Seat.Lock}, Refused: append([]string{}, k.Refused...),
		EncoderHz: record.Number(e.Edges), Lines: e.Lines, Why: e.Why,
		Planned: k.Planned, Played: k.Played, Skipped: k.Skipped, Late: inJSON(k.Late), Ticks: inJSON(k.Ticks),
	}
	if t.Seat.Processor > 0 {
		n := t.Seat.Processor - 1
		x.Seat.Processor = &n
	}
	if t.Char != nil {
		x.device(t.Char)
	} else {
		x.bank(t.Kept)
	}
	for _, f := range k.Motors {
		m := motorJSON{Format: f.Kind.String(), Fit: fitWords[f.Fit], Out: record.Number(f.Out), Why: f.Why}
		if f.Kind.Digital() {
			m.Samples = record.Number(f.Samples)
		} else {
			m.Doubt = record.Number(f.Doubt)
		}
		x.Motors = append(x.Motors, m)
	}
	data, err := json.MarshalIndent(x, "", "  ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s\n", data)
	return err
}

// bank takes over what was measured on a bank.
func (x *timedJSON) bank(k *registers.Kept) {
	gaps := inJSON(&k.Gaps)
	x.ReadsHz, x.Gaps = record.Number(float64(k.Reads)/k.For.Seconds()), &gaps
	x.Back, x.Lost = k.Back, k.Lost
}

// inJSON returns a histogram with all its classes, in s. The longest and the quantiles of
// nothing are null.
func inJSON(h *realtime.Histogram) histogramJSON {
	out := histogramJSON{Count: h.Count, Classes: []classJSON{}}
	span := func(t signal.Time) *float64 {
		if h.Count == 0 {
			return nil
		}
		return record.Number(t.Seconds())
	}
	out.MostS = span(h.Most)
	for _, share := range []float64{0.5, 0.9, 0.99, 0.999, 0.9999, 0.99999, 0.999999} {
		out.Quantiles = append(out.Quantiles, shareJSON{share, span(h.Quantile(share))})
	}
	for _, c := range h.Classes() {
		out.Classes = append(out.Classes, classJSON{record.Number(c.Least.Seconds()), record.Number(c.Below.Seconds()), c.Count})
	}
	return out
}
