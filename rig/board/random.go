package board

import "hilrig/rig/signal"

// random is the generator SplitMix64.
type random uint64

// next returns 64 evenly spread bits.
func (r *random) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	z := uint64(*r)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// phase returns a time spread evenly over 1 ns to period.
func (r *random) phase(period signal.Time) signal.Time {
	return 1 + signal.Time(r.next()%uint64(period))
}
