package measure

import "math"

// StepResponse is what a response to one step of an input looks like, after the
// definitions of ISO 7401 for a step of the steering wheel.
type StepResponse struct {
	Begin    float64 // value before the step
	Steady   float64 // value that it came to: the mean of the last fifth
	Half     float64 // s, when the input had made half of its change, in the times passed
	Response float64 // s, from Half until the response first reaches 90 % of its change; infinite if it never does
	Peak     float64 // s, from Half until the peak
	// Overshoot is how far the peak goes past Steady, a share of the change from
	// Begin to Steady, at least 0.
	Overshoot float64
	// Settling is the time in s from Half after which the response stays within 5 % of
	// its change about Steady; infinite if it has not settled.
	Settling float64
}

const (
	reached = 0.9  // share of the change at which the response time ends
	band    = 0.05 // share of the change within which a response has settled
	last    = 5    // the last fifth is what the steady value is read from
)

// StepResponseOf reads the response of output to a step of input. The values stand
// dt seconds apart, dt above 0; the first is of time 0. The first from values,
// at least one, are those before the step, from which the values before are
// taken. A change of input between two neighbours counts as a ramp between
// them, and one of half of the whole change or more as a jump at the later. ok
// is false where the input does not change, or where fewer than ten values follow.
func StepResponseOf(input, output []float64, from int, dt float64) (s StepResponse, ok bool) {
	if from < 1 || len(input) != len(output) || len(input) < from+10 || !(dt > 0) {
		return StepResponse{}, false
	}
	half, ok := halfWay(input, from)
	if !ok {
		return StepResponse{}, false
	}
	s.Half = half * dt
	s.Begin = Describe(output[:from]).Mean
	tail := (len(output) - from) / last
	s.Steady = Describe(output[len(output)-tail:]).Mean
	s.Response = math.Inf(1)
	change := s.Steady - s.Begin
	share := func(i int) float64 { return (output[i] - s.Begin) / change }
	first := int(math.Ceil(half))
	peak, settled := first, first
	for i := first; i < len(output); i++ {
		if share(i) > share(peak) {
			peak = i
		}
		if !(math.Abs(share(i)-1) <= band) {
			settled = i + 1
		}
		if math.IsInf(s.Response, 1) && share(i) >= reached {
			s.Response = (crossing(share, i, reached) - half) * dt
		}
	}
	s.Peak = (float64(peak) - half) * dt
	s.Overshoot = max(share(peak)-1, 0)
	s.Settling = settling(share, settled, len(output), half) * dt
	return s, true
}

// halfWay returns the index, with its fraction, at which input has made half of
// its change.
func halfWay(input []float64, from int) (float64, bool) {
	begin := Describe(input[:from]).Mean
	end := input[len(input)-1]
	change := end - begin
	if !(math.Abs(change) > 0) || math.IsInf(change, 0) {
		return 0, false
	}
	share := func(i int) float64 { return (input[i] - begin) / change }
	for i := from; i < len(input); i++ {
		if share(i) < 0.5 {
			continue
		}
		if share(i)-share(i-1) >= 0.5 {
			return float64(i), true
		}
		return crossing(share, i, 0.5), true
	}
	return 0, false
}

// crossing returns the index, with its fraction, at which values that stand
// below level at i-1 and not below it at i pass it.
func crossing(values func(int) float64, i int, level float64) float64 {
	if i == 0 {
		return 0
	}
	before, after := values(i-1), values(i)
	if !(before < level) || !(after > before) {
		return float64(i)
	}
	return float64(i) - (after-level)/(after-before)
}

// settling returns how many steps after half the values stay in the band, of
// which index settled is the first that does.
func settling(share func(int) float64, settled, n int, half float64) float64 {
	// In the stretch that the steady value is read from it would be settled by itself.
	if settled >= n-n/(2*last) {
		return math.Inf(1)
	}
	if float64(settled) <= half {
		return 0
	}
	edge := 1 - band
	if share(settled-1) > 1 {
		edge = 1 + band
	}
	before, after := share(settled-1)-edge, share(settled)-edge
	if before == after {
		return float64(settled) - half
	}
	return float64(settled) - after/(after-before) - half
}
