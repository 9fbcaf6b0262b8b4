package live

import (
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// SupportWords is how a degree of support is said.
var SupportWords = [...]string{pinout.No: "no", pinout.Marginal: "marginal", pinout.Yes: "yes"}

// TimedJSON is a timing in the form of its JSON, in s and Hz.
type TimedJSON struct {
	On         string         `json:"measured_on"`            // the machine and what moves its lines, in words
	OfAPi      bool           `json:"says_something_of_a_pi"` // false where no Pi's pins were moved
	ForS       float64        `json:"for_s"`                  // how long it was measured
	Scheduling SchedulingJSON `json:"scheduling"`
	Denied     []string       `json:"refused"`        // what the loop's scheduling lacked, each with the remedy
	ReadsHz    *float64       `json:"reads_hz"`       // how often the lines were read; null: they were not
	AskedHz    float64        `json:"edges_asked_hz"` // edges that were to be put out a second
	Planned    uint64         `json:"edges_planned"`  // edges that were to be put out
	Played     uint64         `json:"edges_played"`   // of them, that were put out
	Skipped    uint64         `json:"edges_skipped"`  // of them, left out as their time was past
	Back       uint64         `json:"edges_back"`     // of them, read back
	Lost       uint64         `json:"edges_lost"`     // of them, not read back
	Gaps       *HistogramJSON `json:"gaps"`           // null by the character device, where nothing is read over and over
	Late       HistogramJSON  `json:"late"`
	Ticks      HistogramJSON  `json:"ticks"`
	Device     *DeviceJSON    `json:"character_device"` // null on a bank
	Motors     []MotorJSON    `json:"motors"`
	EncoderHz  *float64       `json:"encoder_edges_hz"`            // edges a second that can be played for the wheels; null: not found out
	Lines      int            `json:"encoder_lines_at_90_turns_s"` // of an encoder, that can be played at 90 turns a second
	Why        string         `json:"encoder_why"`                 // what that rests on
}

// SchedulingJSON is what the loop was asked to have.
type SchedulingJSON struct {
	CPU      *int `json:"cpu"`           // counted from 0; null: any
	Priority int  `json:"priority"`      // of the real-time scheduler; 0: none
	Lock     bool `json:"memory_locked"` // whether memory was locked
}

// HistogramJSON is a histogram with all its classes.
type HistogramJSON struct {
	Count     uint64      `json:"count"`     // of all values
	MostS     *float64    `json:"most_s"`    // the largest; null: there is none
	Quantiles []ShareJSON `json:"quantiles"` // within which a share of all values lies
	Classes   []ClassJSON `json:"classes"`   // rising, from the first with a value in it to the last
}

// ShareJSON is a quantile.
type ShareJSON struct {
	Share  float64  `json:"share"`    // of all values
	Within *float64 `json:"within_s"` // that they lie within
}

// ClassJSON is one class of a histogram.
type ClassJSON struct {
	Least *float64 `json:"least_s"` // where it begins
	Below *float64 `json:"below_s"` // where it ends
	Count uint64   `json:"count"`   // values in it
}

// MotorJSON says whether one format of motor commands can be captured.
type MotorJSON struct {
	Format      string   `json:"format"`                               // of motor commands
	Support     string   `json:"fit"`                                  // "yes", "marginal" or "no"
	Samples     *float64 `json:"samples_in_shortest_pulse,omitempty"`  // looks at the line within its shortest pulse
	Uncertainty *float64 `json:"uncertainty_share_of_range,omitempty"` // of a command
	Out         *float64 `json:"left_out_share"`                       // of all commands, that would be left out; null: not found out
	Why         string   `json:"why"`                                  // in a sentence
}

// JSON returns what was measured in the form of its JSON.
func (t *Timed) JSON() *TimedJSON {
	k := t.Common()
	e := k.Encoders
	x := TimedJSON{
		On: t.On, OfAPi: !t.NoPi, ForS: k.For.Seconds(), AskedHz: t.Asked,
		Scheduling: SchedulingJSON{Priority: t.Scheduling.Priority, Lock: t.Scheduling.Lock}, Denied: append([]string{}, k.Denied...),
		EncoderHz: record.Number(e.Edges), Lines: e.Lines, Why: e.Why,
		Planned: k.Planned, Played: k.Played, Skipped: k.Skipped, Late: inJSON(&k.Late), Ticks: inJSON(&k.Ticks),
	}
	if t.Scheduling.CPU > 0 {
		n := t.Scheduling.CPU - 1
		x.Scheduling.CPU = &n
	}
	if t.Char != nil {
		x.device(t.Char)
	} else {
		x.bank(t.Measured)
	}
	for _, f := range k.Motors {
		m := MotorJSON{Format: f.Kind.String(), Support: SupportWords[f.Support], Out: record.Number(f.Out), Why: f.Why}
		if f.Kind.Digital() {
			m.Samples = record.Number(f.Samples)
		} else {
			m.Uncertainty = record.Number(f.Uncertainty)
		}
		x.Motors = append(x.Motors, m)
	}
	return &x
}

// bank takes over what was measured on a bank.
func (x *TimedJSON) bank(k *registers.Measurement) {
	gaps := inJSON(&k.Gaps)
	x.ReadsHz, x.Gaps = record.Number(ReadsHz(k)), &gaps
	x.Back, x.Lost = k.Back, k.Lost
}

// inJSON returns a histogram with all its classes, in s. The longest and the quantiles of
// nothing are null.
func inJSON(h *realtime.Histogram) HistogramJSON {
	out := HistogramJSON{Count: h.Count, Classes: []ClassJSON{}}
	span := func(t signal.Time) *float64 {
		if h.Count == 0 {
			return nil
		}
		return record.Number(t.Seconds())
	}
	out.MostS = span(h.Most)
	for _, share := range []float64{0.5, 0.9, 0.99, 0.999, 0.9999, 0.99999, 0.999999} {
		out.Quantiles = append(out.Quantiles, ShareJSON{share, span(h.Quantile(share))})
	}
	for _, c := range h.Classes() {
		out.Classes = append(out.Classes, ClassJSON{record.Number(c.Least.Seconds()), record.Number(c.Below.Seconds()), c.Count})
	}
	return out
}

// DeviceJSON is what timing measured by the character device.
type DeviceJSON struct {
	Calls   HistogramJSON  `json:"calls_of_one_line"`          // how long the kernel takes for one line
	Several *HistogramJSON `json:"calls_of_three_lines"`       // for three lines in one call; null with a jumper
	Read    []int          `json:"lines_read_in_place_of_set"` // GPIO numbers of lines that were read, for they may not be driven
	Jumper  *JumperJSON    `json:"jumper"`                     // null: no pin was driven
}

// JumperJSON is what came over a jumper.
type JumperJSON struct {
	Out       int           `json:"out"` // GPIO number of the line that is driven
	In        int           `json:"in"`  // GPIO number of the line that is read
	Stamps    HistogramJSON `json:"call_to_stamp"`
	Widths    HistogramJSON `json:"width_by_stamps_against_calls"`
	Read      HistogramJSON `json:"stamp_to_read"`
	Extra     uint64        `json:"edges_nobody_put_out"`         // that came without having been put out
	Turned    uint64        `json:"edges_in_the_wrong_direction"` // that came as rising for falling, or the other way round
	Rungs     []RungJSON    `json:"rates_tried"`
	HighestHz *float64      `json:"highest_without_loss_hz"` // edges a second of the fastest rate without a loss; null: none was without
}

// RungJSON is one rate that was tried over a jumper.
type RungJSON struct {
	RateHz  float64 `json:"edges_hz"`          // edges a second
	Planned uint64  `json:"planned"`           // edges that were to be put out
	Lost    uint64  `json:"lost"`              // of them, that did not come
	LateS   float64 `json:"late_99_percent_s"` // 99 % were put out no later than this
	Behind  bool    `json:"behind"`            // the rate could not be kept up
}

// device takes over what was measured by the character device.
func (x *TimedJSON) device(k *chardev.Measurement) {
	x.Device = &DeviceJSON{Calls: inJSON(&k.Calls), Read: append([]int{}, k.Read...)}
	j := k.Jumper
	if j == nil {
		several := inJSON(&k.Several)
		x.Device.Several = &several
		return
	}
	x.Back, x.Lost = j.Heard, j.Lost
	x.Device.Jumper = &JumperJSON{
		Out: j.Out, In: j.In,
		Stamps: inJSON(&j.Stamps), Widths: inJSON(&j.Widths), Read: inJSON(&j.Read),
		Extra: j.Extra, Turned: j.Turned, Rungs: []RungJSON{}, HighestHz: record.Number(j.Highest),
	}
	for _, r := range j.Rungs {
		x.Device.Jumper.Rungs = append(x.Device.Jumper.Rungs, RungJSON{r.Rate, r.Planned, r.Lost, r.Late.Seconds(), r.Behind})
	}
}
