package suites

import (
	"hilrig/suites/record"
)

// RateJSON is a rate in the form of its JSON, in s and Hz. What was not found is null.
type RateJSON struct {
	Decided  bool           `json:"decided"`           // whether all that was looked for was found
	Outcome  string         `json:"outcome,omitempty"` // absent: nothing was held against a policy
	Held     []HeldJSON     `json:"held,omitempty"`    // against the policy, by its keys
	Loop     FigureJSON     `json:"loop_hz"`
	LoopGap  *float64       `json:"loop_longest_gap_s"`       // from reading to reading, at least; null: the frames show none
	LoopLeft int            `json:"loop_left_out"`            // motor frames not used, for the rig was late
	Channel  string         `json:"response_to"`              // whose changes were answered: "yaw_rate" or "throttle"
	Trials   int            `json:"trials"`                   // changes that were played
	LeftOut  int            `json:"trials_left_out"`          // of them, not used for one motor at least, for the rig was late or may have missed the answer
	Slowest  string         `json:"response_motor,omitempty"` // the motor that response_s and times_s are of
	Response []QuantileJSON `json:"response_s"`
	Why      string         `json:"response_why,omitempty"` // why no response was found
	Times    []float64      `json:"times_s"`                // the single responses, in the order of the trials; null: there are none
	Motors   []MotorJSON    `json:"motors"`                 // those that move
	Still    []string       `json:"still,omitempty"`        // motors that the policy's shift moves, and that did not move
	Outputs  []OutputJSON   `json:"outputs"`
	SkewS    *float64       `json:"skew_most_s"` // how far apart changes of the four commands stood at most; null: there were none
	DrivenS  float64        `json:"driven_s"`    // time played on the bench
	PowerUpS float64        `json:"power_up_s"`  // before that
	TickS    float64        `json:"tick_s"`      // of the rig's loop
}

// MotorJSON is one motor's response.
type MotorJSON struct {
	Motor      string         `json:"motor"`             // the wheel that it drives
	Trials     int            `json:"trials"`            // changes that were played
	LeftOut    int            `json:"trials_left_out"`   // of them, not used for the rig was late
	Unanswered int            `json:"trials_unanswered"` // of them, without an answer that was seen
	Response   []QuantileJSON `json:"response_s"`
}

// HeldJSON is a figure held against the policy, in unit. Limits are absent on a side that is open.
type HeldJSON struct {
	Policy    string   `json:"policy"`               // the key
	Verdict   string   `json:"verdict"`              // "pass", "fail" or "undecided"
	Unit      string   `json:"unit,omitempty"`       // of all its numbers
	Estimate  *float64 `json:"estimate"`             // null: nothing was measured
	Low       *float64 `json:"low"`                  // end of its interval
	High      *float64 `json:"high"`                 // the other end
	LimitLow  *float64 `json:"limit_low,omitempty"`  // that the policy sets; absent: open
	LimitHigh *float64 `json:"limit_high,omitempty"` // that the policy sets; absent: open
	Why       string   `json:"why,omitempty"`        // in a sentence
}

// FigureJSON is an estimate with its interval, null where it was not found.
type FigureJSON struct {
	Estimate *float64 `json:"estimate"`      // in the unit that the key's name ends in
	Low      *float64 `json:"low"`           // end of its interval
	High     *float64 `json:"high"`          // the other end
	Why      string   `json:"why,omitempty"` // why it was not found
}

// QuantileJSON is the figure of a share of all trials.
type QuantileJSON struct {
	Share float64 `json:"share"` // of all trials, that were no slower: 0.5 is the median
	FigureJSON
}

// OutputJSON is what one motor line carries.
type OutputJSON struct {
	Line    string   `json:"line"`                       // of which motor: "front_left"
	Format  string   `json:"format"`                     // as the bench file says
	Found   string   `json:"found,omitempty"`            // what the line looks like, where it was asked with --find
	Frames  int      `json:"frames"`                     // complete commands that were seen
	Open    int      `json:"frames_left_open,omitempty"` // by the sampler
	RateHz  *float64 `json:"rate_hz"`                    // of the commands; null: too few were seen
	JitterS *float64 `json:"jitter_rms_s"`               // of the time from command to command, its standard deviation
	FrameS  *float64 `json:"frame_s"`                    // how long a command is
}

// JSON returns what was measured in the form of its JSON; held says that it was to be held
// against the policy.
func (r *Rate) JSON(held bool) *RateJSON {
	x := &r.Response
	out := &RateJSON{
		Decided: r.Decided(), Channel: x.Channel.String(), Trials: x.Changes, LeftOut: x.LeftOut, LoopLeft: r.Loop.LeftOut, Why: x.Why,
		DrivenS: r.Driving.Seconds(), PowerUpS: r.PowerUp.Seconds(), TickS: r.Tick.Seconds(), Loop: FigureJSON{Why: r.Loop.Why},
	}
	if held {
		out.Outcome = r.Outcome()
		for i := range r.Held {
			c := &r.Held[i]
			out.Held = append(out.Held, HeldJSON{c.Name, c.Verdict, c.Unit, c.Estimate, c.Low, c.High, c.LimitLow, c.LimitHigh, c.Why})
		}
	}
	if r.Loop.Rate > 0 {
		out.Loop.Estimate, out.Loop.Low, out.Loop.High = record.Number(r.Loop.Rate), record.Number(r.Loop.Within.Low), record.Number(r.Loop.Within.High)
	}
	for i := range x.Motors {
		m := &x.Motors[i]
		out.Motors = append(out.Motors, MotorJSON{m.Wheel.String(), m.Trials, m.LeftOut, m.Unanswered, m.json()})
		if i == x.Slowest {
			out.Slowest, out.Response, out.Times = m.Wheel.String(), m.json(), m.Times
		}
	}
	for _, w := range x.Still {
		out.Still = append(out.Still, w.String())
	}
	if r.Loop.Longest.High > 0 {
		out.LoopGap = record.Number(r.Loop.Longest.Low)
	}
	if r.Skew.Updates > 0 {
		out.SkewS = &r.Skew.Most
	}
	for i := range r.Outputs {
		o := &r.Outputs[i]
		x := OutputJSON{Line: o.Wheel.String(), Format: o.Format, Frames: o.Frames, Open: o.LeftOpen()}
		if o.Timed() {
			x.RateHz, x.JitterS, x.FrameS = &o.Rate, &o.Jitter, &o.Length
		}
		if len(o.Guesses) > 0 {
			x.Found = o.Guesses[0].Kind.String()
		}
		out.Outputs = append(out.Outputs, x)
	}
	return out
}

// json returns the motor's quantiles in the form of their JSON.
func (m *MotorResponse) json() (out []QuantileJSON) {
	for _, q := range m.Quantiles {
		out = append(out, QuantileJSON{q.Share, FigureJSON{
			Estimate: record.Number(q.Value), Low: record.Number(q.Within.Low), High: record.Number(q.Within.High),
		}})
	}
	return out
}
