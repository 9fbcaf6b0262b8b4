package board

// fault is one seeded fault, an index into a [faultSet].
type fault uint8

// faultSet is a set of seeded faults, with room for all that a fault can be. The zero value
// is empty.
type faultSet [4]uint64

// with returns the set with f in it.
func (s faultSet) with(f fault) faultSet {
	s[f/64] |= 1 << (f % 64)
	return s
}

// has says whether f is in the set.
func (s *faultSet) has(f fault) bool { return s[f/64]>>(f%64)&1 != 0 }
