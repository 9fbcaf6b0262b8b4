package decode

import (
	"math/bits"

	"hilrig/rig/signal"
)

// A board's timer begins the bits of a frame at even distances. Sixteen stamps that are each uncertain by
// some hundred nanoseconds together leave the line through them far less room than a single one does, and
// where a pulse begins is then known by that line. What a pulse may be follows from where its end was seen.

// slots reads the frame's bits from their places on a grid. Where the rising edges lie on none, or a pulse
// is neither bit there, what the stamps say one by one stays: a board may send bits of unequal length.
func (f *dshotFrame) slots(t *dshotTiming) {
	var g grid
	if !g.fit(&f.rises, t) {
		return
	}
	word, either := uint32(0), uint32(0)
	for i := range f.falls {
		first, last := g.slot(i)
		fall := float64(f.falls[i].at - f.rises[0].at)
		zero, one := t.may(signal.Time(fall-float64(f.falls[i].late)-last), signal.Time(fall-first)+1)
		word, either = word<<1, either<<1
		switch {
		case zero && one:
			either |= 1
		case one:
			word |= 1
		case !zero:
			return
		}
	}
	f.word, f.either = word, either
}

// settle finds the one bit that is open by the checksum, and says whether it did.
func (f *dshotFrame) settle(inverted bool) bool {
	if bits.OnesCount32(f.either) != 1 {
		return false
	}
	for _, word := range [...]uint32{f.word, f.word | f.either} {
		if sound(word, inverted) {
			f.word, f.either = word, 0
			return true
		}
	}
	return false
}

// grid is the set of all lines that go through the stamps of a frame's rising edges: a convex polygon
// of where the first of them and the last may lie, in ns from the first stamp.
type grid struct {
	corner [2][4 + 2*frameBits]place
	n      int
	at     int // which of corner is in use
}

// place is where the first and the last rising edge are.
type place struct{ first, last float64 }

// last is the number of the last bit.
const last = frameBits - 1

// fit fits a line to the stamps, and says whether there is one.
func (g *grid) fit(rises *[frameBits]stamp, t *dshotTiming) bool {
	room := func(i int) (from, to float64) {
		r := &rises[i]
		at := float64(r.at - rises[0].at)
		return at - float64(r.late+t.offGrid), at + float64(t.offGrid)
	}
	a, b := room(0)
	c, d := room(last)
	g.n = copy(g.corner[0][:], []place{{a, c}, {b, c}, {b, d}, {a, d}})
	g.cut(-1, 1, last*float64(t.bitLeast))
	g.cut(1, -1, -last*float64(t.bitMost))
	for i := 1; i < last && g.n > 0; i++ {
		share := float64(i) / last
		from, to := room(i)
		g.cut(1-share, share, from)
		g.cut(share-1, -share, -to)
	}
	return g.n > 0
}

// cut leaves of the polygon what has a*first + b*last of at least most.
func (g *grid) cut(a, b, least float64) {
	from, to := &g.corner[g.at], &g.corner[1-g.at]
	side := func(p place) float64 { return float64(a*p.first) + float64(b*p.last) - least }
	n, whole := 0, true
	for i := range g.n {
		p := from[i]
		q := from[(i+1)%g.n]
		of, next := side(p), side(q)
		if of >= 0 {
			to[n] = p
			n++
		} else {
			whole = false
		}
		if of >= 0 != (next >= 0) && n < len(to) {
			share := of / (of - next)
			to[n] = place{p.first + float64(share*(q.first-p.first)), p.last + float64(share*(q.last-p.last))}
			n++
		}
	}
	if !whole {
		g.n, g.at = n, 1-g.at
	}
}

// slot returns the earliest and the latest that rising edge i may have been.
func (g *grid) slot(i int) (earliest, latest float64) {
	share := float64(i) / last
	for k := range g.n {
		p := g.corner[g.at][k]
		at := p.first + float64(share*(p.last-p.first))
		if k == 0 || at < earliest {
			earliest = at
		}
		if k == 0 || at > latest {
			latest = at
		}
	}
	return earliest, latest
}
