package characteristic

// Range is the levels that the figures of a set are taken over.
type Range struct {
	Commands []float64 // ascending
	// Averages are of the means of up and down readings of each level, in the set's unit: what the
	// straight lines of linearity are placed beside.
	Averages []float64
	Span     float64 // of the output, in the set's unit: what shares of span are of
}

// RangeOf returns the range of levels that the figures of a set are taken over. It is empty where
// no level was read.
func RangeOf(s *Set) Range {
	l := levelsOf(s)
	if len(l.x) == 0 {
		return Range{}
	}
	r := Range{Commands: l.x, Averages: make([]float64, len(l.x)), Span: span(l.y)}
	l.averages(r.Averages, l.y)
	return r
}
