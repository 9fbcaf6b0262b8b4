package law

import "hilrig/assertions/measure"

// words are those of at_the_limit that may hold at a limit, as bits.
type words uint8

const (
	wordCap         words = 1 << (LimitCap - 1)
	wordMovePartner words = 1 << (LimitMovePartner - 1)
	wordPartnerOnly words = 1 << (LimitPartnerOnly - 1)
	wordScale       words = 1 << (LimitScale - 1)
	anyWord               = wordCap | wordMovePartner | wordPartnerOnly | wordScale
)

// wordsAt returns the words that may hold for motors to be moved in the sense of sign, when they
// are limited. At an end of the range that is no cap and no floor firmware need not do
// what the policy says of these; and where the policy leaves out where the limit is, nothing is known
// of what is done there.
func (r *reckoning) wordsAt(sign float64) words {
	p := &r.l.p
	known := p.Floor != nil
	w, declared := p.AtTheFloor, r.lowest.Low > r.l.scale.Lowest || known && *p.Floor <= r.l.scale.Lowest
	if sign > 0 {
		known = p.Cap != nil
		w, declared = p.AtTheCap, r.highest.High < 1 || known && p.Cap.Of >= 1
	}
	if w == 0 {
		w = p.AtTheLimit
	}
	switch {
	case w == 0 || !known:
		return anyWord
	case declared:
		return 1 << (w - 1)
	}
	return 1<<(w-1) | wordCap
}

// limit is whether something stands at its limit.
type limit struct{ perhaps, surely bool }

// shifting is one branch's shift in a turn to one side, being worked out.
type shifting struct {
	m      *moves
	sizes  [4]measure.Interval // of each motor's shift, were there no limits
	room   [4]measure.Interval // from where the motor stands to its limit, at least 0
	at     [4]limit            // its shift would take it past that
	some   [2]limit            // of those raised, of those lowered: some perhaps, all surely
	words  [2]words            // that may hold there
	scaled limit               // all shifts are made smaller by one factor
}

// move brings in the shift of one branch in a turn to one side, amount being the least and the
// most that is asked for.
func (r *reckoning) move(m *moves, amount measure.Interval) {
	x := shifting{m: m, words: [2]words{r.wordsAt(1), r.wordsAt(-1)}}
	for i, sign := range m.signs {
		if sign != 0 {
			x.sizes[i] = r.sizeOf(amount, m.shares[i])
			r.roomOf(i, &x)
			r.a.Past[i] = r.a.Past[i] && x.at[i].surely
		}
	}
	x.sum()
	for i, sign := range m.signs {
		if sign == 0 {
			r.none(i)
			r.a.Past[i] = false
			continue
		}
		by := x.moved(i)
		c := measure.Interval{Low: r.base[i].Low + by.Low, High: r.base[i].High + by.High}
		if sign < 0 {
			c = measure.Interval{Low: r.base[i].Low - by.High, High: r.base[i].High - by.Low}
		}
		r.include(i, c, r.shifted(i, sign, by))
		r.notes(i, c)
		if min(by.Low, x.sizes[i].Low) < r.l.dead { // what is asked may count as none
			r.none(i)
		}
	}
}

// sizeOf returns by how much a motor would be shifted for an amount, were there no limits. Of a whole shift of which no more is
// known than that it is one, a motor with a lesser share moves by that share.
func (r *reckoning) sizeOf(amount, share measure.Interval) measure.Interval {
	size := both(amount, share)
	if r.l.shown && share.Low > 0 && r.a.Open&^OfSize == 0 {
		size.Low = max(size.Low, min(r.l.dead*min(share.Low, 1), size.High))
	}
	return size
}

// roomOf works out a motor's room, and whether it is limited. Near the limit, by what a command may be
// off, it may be either; and where what it is asked for may count as none.
func (r *reckoning) roomOf(i int, x *shifting) {
	near, base, by := r.l.resolution, r.base[i], x.sizes[i]
	room := measure.Interval{Low: r.highest.Low - base.High, High: r.highest.High - base.Low}
	if x.m.signs[i] < 0 {
		room = measure.Interval{Low: base.Low - r.lowest.High, High: base.High - r.lowest.Low}
	}
	x.at[i] = limit{perhaps: by.High > 0 && by.High > room.Low-near, surely: by.Low >= r.l.dead && by.Low > room.High+near}
	x.room[i] = measure.Interval{Low: max(room.Low, 0), High: max(room.High, 0)}
}

// senseOf returns the index of those raised or lowered.
func senseOf(sign float64) int {
	if sign > 0 {
		return 0
	}
	return 1
}

// sum sums up which motors are limited.
func (x *shifting) sum() {
	x.some[0].surely, x.some[1].surely = true, true
	for i, sign := range x.m.signs {
		if sign == 0 {
			continue
		}
		k := senseOf(sign)
		x.some[k].perhaps = x.some[k].perhaps || x.at[i].perhaps
		x.some[k].surely = x.some[k].surely && x.at[i].surely
		if x.words[k]&wordScale != 0 {
			x.scaled.perhaps = x.scaled.perhaps || x.at[i].perhaps
			x.scaled.surely = x.scaled.surely || x.at[i].surely && x.words[k] == wordScale
		}
	}
	for k := range x.some {
		x.some[k].surely = x.some[k].surely && x.some[k].perhaps // none is of this sense
	}
}

// moved returns by how much a motor may be moved, whatever of the words at a limit may hold.
func (x *shifting) moved(i int) measure.Interval {
	k := senseOf(x.m.signs[i])
	own, partner := x.at[i], x.some[1-k]
	size := x.sizes[i]
	by := measure.RangeOf()
	if !own.surely && !partner.surely && !x.scaled.surely {
		by = hull(by, size)
	}
	if own.perhaps {
		if x.words[k]&(wordCap|wordMovePartner) != 0 {
			by = hull(by, size)
		}
		if x.words[k]&wordPartnerOnly != 0 {
			by = hull(by, measure.Interval{})
		}
	}
	if partner.perhaps {
		if x.words[1-k]&wordCap != 0 {
			by = hull(by, size)
		}
		if x.words[1-k]&(wordMovePartner|wordPartnerOnly) != 0 {
			by = hull(by, measure.Interval{Low: 2 * size.Low, High: 2 * size.High})
		}
	}
	if x.scaled.perhaps {
		by = hull(by, x.smaller(i))
	}
	return by
}

// smaller returns by how much a motor may be moved where all shifts are made smaller, so that
// the farthest comes just to its limit.
func (x *shifting) smaller(i int) measure.Interval {
	by, own := x.sizes[i], x.m.shares[i]
	for k, sign := range x.m.signs {
		words := x.words[senseOf(sign)]
		if sign == 0 || words&wordScale == 0 {
			continue
		}
		share := x.m.shares[k]
		if x.at[k].perhaps && share.High > 0 {
			by.Low = min(by.Low, x.room[k].Low*(own.Low/share.High))
		}
		if x.at[k].surely && words == wordScale && share.Low > 0 {
			by.High = min(by.High, x.room[k].High*(own.High/share.Low))
		}
	}
	return by
}
