package trace

import (
	"encoding/binary"
	"sort"
)

const (
	pageSize  = 64 << 10
	mostItem  = 1 + 7*binary.MaxVarintLen64 // bytes of one packed item, at most
	markEvery = 1024                        // items from mark to mark
)

// item is one frame, event or pulse as words: when it began and ended in ns, then values
// by their bits. An event has one time, twice.
type item [7]uint64

// pack keeps items in few bytes, without loss: of each only what could not be guessed from
// those before it. Items are added in order of their ends and read from a mark on.
type pack struct {
	book
	n     int
	guess guess
}

// book is memory that grows by pages, with marks in it.
type book struct {
	pages [][]byte
	marks []mark
}

// page returns the number of the page to write on, which has room for so many bytes.
func (b *book) page(room int) int {
	if n := len(b.pages); n == 0 || pageSize-len(b.pages[n-1]) < room {
		b.pages = append(b.pages, make([]byte, 0, pageSize))
	}
	return len(b.pages) - 1
}

// bytes is what the book takes in memory.
func (b *book) bytes() int { return len(b.pages)*pageSize + len(b.marks)*24 }

// mark is where reading may begin.
type mark struct {
	end    int64 // of the item there
	page   int
	offset int
}

// guess tells what the next item will be like: it begins as long after the last one as that
// did after its own, lasts as long, and says what the last one of that length said.
type guess struct {
	last item
	step uint64
	said [256]struct{ length, value, uncertainty uint64 }
}

// word returns what word i of an item will be, given those before it.
func (g *guess) word(i int, x *item) uint64 {
	switch i {
	case 0:
		return g.last[0] + g.step
	case 1:
		return x[0] + g.last[1] - g.last[0]
	case 2, 3:
		length := x[1] - x[0]
		if s := &g.said[place(length)]; s.length == length {
			if i == 2 {
				return s.value
			}
			return s.uncertainty
		}
	}
	return g.last[i]
}

func (g *guess) learn(x *item) {
	length := x[1] - x[0]
	s := &g.said[place(length)]
	s.length, s.value, s.uncertainty = length, x[2], x[3]
	g.step, g.last = x[0]-g.last[0], *x
}

// place is where the guess for a length stands.
func place(length uint64) uint8 { return uint8(length * 0x9E3779B97F4A7C15 >> 56) }

func zigzag(v uint64) uint64 { return v<<1 ^ uint64(int64(v)>>63) }

func zagzig(v uint64) uint64 { return v>>1 ^ -(v & 1) }

// add packs one item.
func (p *pack) add(x *item) {
	at := p.page(mostItem)
	b := p.pages[at]
	if p.n%markEvery == 0 {
		p.marks = append(p.marks, mark{int64(x[1]), at, len(b)})
		p.guess = guess{}
	}
	head := len(b)
	b = append(b, 0)
	for i := range x {
		expected := p.guess.word(i, x)
		if x[i] == expected {
			continue
		}
		b[head] |= 1 << i
		if i == 2 || i == 3 {
			b = binary.LittleEndian.AppendUint64(b, x[i])
		} else {
			b = binary.AppendUvarint(b, zigzag(x[i]-expected))
		}
	}
	p.pages[at] = b
	p.guess.learn(x)
	p.n++
}

// each calls f with the items from mark first on, until it returns false. The item is f's
// until it returns.
func (p *pack) each(first int, f func(x *item) bool) {
	if first >= len(p.marks) {
		return
	}
	page, offset := p.marks[first].page, p.marks[first].offset
	var g guess
	var x item
	for n := first * markEvery; n < p.n; n++ {
		if offset == len(p.pages[page]) {
			page, offset = page+1, 0
		}
		if n%markEvery == 0 {
			g = guess{}
		}
		offset += read(p.pages[page][offset:], &g, &x)
		g.learn(&x)
		if !f(&x) {
			return
		}
	}
}

// read unpacks one item from b and returns how many bytes it took.
func read(b []byte, g *guess, x *item) int {
	n := 1
	for i := range x {
		x[i] = g.word(i, x)
		switch {
		case b[0]>>i&1 == 0:
		case i == 2 || i == 3:
			x[i] = binary.LittleEndian.Uint64(b[n:])
			n += 8
		default:
			by, length := binary.Uvarint(b[n:])
			x[i] += zagzig(by)
			n += length
		}
	}
	return n
}

// before returns the number of the last mark whose item ended before t, 0 where none did.
func (p *pack) before(t int64) int {
	return max(0, sort.Search(len(p.marks), func(i int) bool { return p.marks[i].end >= t })-1)
}

// within returns how many items may have ended in [from, to), at most.
func (p *pack) within(from, to int64) int {
	first, last := p.before(from), p.before(to)
	return min(p.n-first*markEvery, (last+2-first)*markEvery)
}
