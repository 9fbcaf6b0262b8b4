package trace

import (
	"encoding/binary"
	"math"
)

// runs keeps a column in few bytes, without loss: each value with the number of rows that
// have it.
type runs struct {
	book   // with a mark each markEvery rows
	rows   int
	value  uint64 // of the run that is not written yet
	length uint64 // of it
}

const mostRun = binary.MaxVarintLen64 + 8

// add packs one row.
func (r *runs) add(x float64) {
	bits := math.Float64bits(x)
	if r.length > 0 && (bits != r.value || r.rows%markEvery == 0) {
		r.flush()
	}
	if r.rows%markEvery == 0 {
		page := r.page(mostRun)
		r.marks = append(r.marks, mark{page: page, offset: len(r.pages[page])})
	}
	r.value = bits
	r.length++
	r.rows++
}

// hold packs one row like the last one.
func (r *runs) hold() { r.add(math.Float64frombits(r.value)) }

func (r *runs) flush() {
	b := &r.pages[r.page(mostRun)]
	*b = binary.AppendUvarint(*b, r.length)
	*b = binary.LittleEndian.AppendUint64(*b, r.value)
	r.length = 0
}

// appendTo appends the rows [from, to) to dst.
func (r *runs) appendTo(dst []float64, from, to int) []float64 {
	if from >= to {
		return dst
	}
	m := r.marks[from/markEvery]
	page, offset := m.page, m.offset
	for row := from / markEvery * markEvery; row < to; {
		length, value := r.length, r.value
		if page < len(r.pages) && offset == len(r.pages[page]) {
			page, offset = page+1, 0
		}
		if page < len(r.pages) && offset < len(r.pages[page]) {
			n := 0
			length, n = binary.Uvarint(r.pages[page][offset:])
			value = binary.LittleEndian.Uint64(r.pages[page][offset+n:])
			offset += n + 8
		}
		next := row + int(length)
		for row = max(row, from); row < min(next, to); row++ {
			dst = append(dst, math.Float64frombits(value))
		}
		row = next
	}
	return dst
}
