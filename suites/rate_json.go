package suites

import (
	"hilrig/suites/record"
)

// RateJSON is a rate in the form of its JSON, in s and Hz. What was not found is null.
type RateJSON struct {
	Decided  bool           `json:"decided"`
	Loop     FigureJSON     `json:"loop_hz"`
	LoopLeft int            `json:"loop_left_out"` // motor frames not used, for the rig was late
	Channel  string         `json:"response_to"`
	Trials   int            `json:"trials"`
	LeftOut  int            `json:"trials_left_out"` // further ones not used, for the rig was late or may have missed the answer
	Response []QuantileJSON `json:"response_s"`
	Why      string         `json:"response_why,omitempty"`
	Times    []float64      `json:"times_s"`
	Outputs  []OutputJSON   `json:"outputs"`
	SkewS    *float64       `json:"skew_most_s"`
	DrivenS  float64        `json:"driven_s"`
	PowerUpS float64        `json:"power_up_s"` // before that
	TickS    float64        `json:"tick_s"`     // of the rig's loop
}

// FigureJSON is an estimate with its interval, null where it was not found.
type FigureJSON struct {
	Estimate *float64 `json:"estimate"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
	Why      string   `json:"why,omitempty"`
}

// QuantileJSON is the figure of a share of all trials.
type QuantileJSON struct {
	Share float64 `json:"share"`
	FigureJSON
}

// OutputJSON is what one motor line carries.
type OutputJSON struct {
	Line    string   `json:"line"`
	Format  string   `json:"format"`
	Found   string   `json:"found,omitempty"`
	Frames  int      `json:"frames"`
	Open    int      `json:"frames_left_open,omitempty"` // by the sampler
	RateHz  *float64 `json:"rate_hz"`
	JitterS *float64 `json:"jitter_rms_s"`
	FrameS  *float64 `json:"frame_s"`
}

// JSON returns what was measured in the form of its JSON.
func (r *Rate) JSON() *RateJSON {
	out := &RateJSON{
		Decided: r.Decided(), Channel: r.Response.Channel.String(), Trials: r.Response.Trials, LeftOut: r.Response.LeftOut, LoopLeft: r.Loop.LeftOut, Why: r.Response.Why,
		Times: r.Response.Times, DrivenS: r.Driving.Seconds(), PowerUpS: r.PowerUp.Seconds(), TickS: r.Tick.Seconds(), Loop: FigureJSON{Why: r.Loop.Why},
	}
	if r.Loop.Rate > 0 {
		out.Loop.Estimate, out.Loop.Low, out.Loop.High = record.Number(r.Loop.Rate), record.Number(r.Loop.Within.Low), record.Number(r.Loop.Within.High)
	}
	for _, q := range r.Response.Quantiles {
		out.Response = append(out.Response, QuantileJSON{q.Share, FigureJSON{
			Estimate: record.Number(q.Value), Low: record.Number(q.Within.Low), High: record.Number(q.Within.High),
		}})
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
