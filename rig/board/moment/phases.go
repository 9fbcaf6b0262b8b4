package moment

// phases draws: each number is the state, moved on and mixed.
type phases uint64

// below returns a number from 0 to n-1; n is above 0. That the low ones come by 2^-40 more often
// for such n as loops have does not matter.
func (p *phases) below(n uint64) uint64 {
	*p += 0x9E3779B97F4A7C15
	z := uint64(*p)
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return (z ^ z>>31) % n
}
