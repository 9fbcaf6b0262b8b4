package wire

// SetPhase places the wheel within the count that its lines show: share 0 is
// the count's beginning, just below 1 its end. It makes no edge. It is clipped to
// that range; NaN is 0.
func (e *QuadratureEncoder) SetPhase(share float64) {
	e.whole = e.shown
	switch {
	case share >= 1:
		e.fraction = oneCount - 1
	case share > 0:
		e.fraction = uint64(share * float64(oneCount))
	default:
		e.fraction = 0
	}
}

// Sent returns what the last frame says of the first channel, 0 where no channel is carried.
func (e *FrameEncoder) Sent() float64 {
	if len(e.said) == 0 {
		return 0
	}
	return e.said[0]
}
