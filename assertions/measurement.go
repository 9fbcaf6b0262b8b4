package assertions

// Measurement is what a check measured and what it held that against. Estimate, Low,
// High and the ends of Limit are in Unit. Estimate and its interval are finite.
type Measurement struct {
	Quantity string  // what was estimated: "shift of outside_rear (rear_right)"
	Unit     string  // "%", "deg/s", "ms"; empty for a count
	Estimate float64 // with the interval Low..High
	Low      float64
	High     float64
	Limit    Limit // infinite on a side that is open
	Budget   Budget
}

// Budget is what an interval is made of, standard uncertainties in the measurement's
// unit (JCGM 100).
type Budget struct {
	Statistics float64 // the spread of what was read
	Instrument float64 // what resolution and sampling leave, however long it is observed
	Known      bool    // the interval is made of these two; otherwise both say nothing
}

// Measurement returns what the result measured. It is false where nothing was measured,
// whether the check was not asked, blocked, or had nothing to read; Why then says why.
func (r *Result) Measurement() (m Measurement, ok bool) { return r.measured, r.Measured() }

// Measured says whether the result holds a measurement.
func (r *Result) Measured() bool { return r.measured.Quantity != "" }
