package trace

import (
	"encoding/binary"
	"io"
	"math"
)

// Hash writes all of the trace to w in a fixed form, for a digest: times as
// they are, values by their bits. It never fails; w's errors are ignored, as a
// hash has none.
func (t *Trace) Hash(w io.Writer) {
	h := hasher{w: w}
	h.int(int64(t.Start))
	h.int(int64(t.Tick))
	for _, c := range t.Column {
		h.int(int64(len(c)))
		for _, v := range c {
			h.float(v)
		}
	}
	for _, s := range t.Sent {
		h.int(int64(len(s)))
		for i := range s {
			h.int(int64(s[i].Start))
			h.int(int64(s[i].End))
			h.float(s[i].Value)
			h.bool(s[i].Bad)
		}
	}
	for i := range t.Motor {
		m := &t.Motor[i]
		h.int(int64(len(m.Frames)))
		for j := range m.Frames {
			f := &m.Frames[j]
			h.int(int64(f.Start))
			h.int(int64(f.End))
			h.float(f.Value)
			h.float(f.Doubt)
		}
		h.int(int64(len(m.Events)))
		for _, e := range m.Events {
			h.int(int64(e.At))
			h.int(int64(e.Kind))
		}
	}
	h.flush()
}

// hasher gathers words to write them in blocks.
type hasher struct {
	w   io.Writer
	buf [4096]byte
	n   int
}

func (h *hasher) int(v int64) {
	if h.n+8 > len(h.buf) {
		h.flush()
	}
	binary.LittleEndian.PutUint64(h.buf[h.n:], uint64(v))
	h.n += 8
}

func (h *hasher) bool(v bool) {
	if v {
		h.int(1)
	} else {
		h.int(0)
	}
}

func (h *hasher) float(v float64) { h.int(int64(math.Float64bits(v))) }

func (h *hasher) flush() {
	_, _ = h.w.Write(h.buf[:h.n])
	h.n = 0
}
