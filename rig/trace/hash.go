package trace

import (
	"encoding/binary"
	"io"
	"math"
)

// Hash writes all of the trace to w in a fixed form, for a digest: times as
// they are, values by their bits. Of a trace that folds that is the SHA-256 of what was
// folded, as it was folded, and then the rest. It never fails; w's errors are ignored, as a
// hash has none.
func (t *Trace) Hash(w io.Writer) {
	if t.folded != nil {
		_, _ = w.Write(t.folded.sum.Sum(nil))
	}
	t.hash(&hasher{w: w})
}

func (t *Trace) hash(h *hasher) {
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
			h.words(uint64(s[i].Start), uint64(s[i].End), math.Float64bits(s[i].Value))
			h.sent(&s[i])
		}
	}
	for i := range t.Motor {
		m := &t.Motor[i]
		h.int(int64(len(m.Frames)))
		for j := range m.Frames {
			x := wordsOfFrame(&m.Frames[j])
			h.words(x[:4]...)
		}
		h.int(int64(len(m.Events)))
		for _, e := range m.Events {
			h.words(uint64(e.At), uint64(e.Kind))
		}
	}
	if len(t.Delays)+len(t.NotSampled) > 0 {
		h.int(int64(len(t.Delays)))
	}
	for _, s := range t.NotSampled {
		h.words(uint64(s.From), uint64(s.To))
	}
	for _, d := range t.Delays {
		h.words(uint64(d.From), uint64(d.To), uint64(d.Worst))
	}
	h.flush()
}

// sent writes what else there is to one pulse or frame. What was played when it
// was due leaves nothing of its timing.
func (h *hasher) sent(s *Sent) {
	kind := int64(0)
	if s.Bad {
		kind |= 1
	}
	if s.Late != 0 || s.EndUncertainty != 0 {
		kind |= 2
	}
	if s.ValueUncertainty != 0 {
		kind |= 4
	}
	h.int(kind)
	if kind&2 != 0 {
		h.words(uint64(s.Late), uint64(s.EndUncertainty))
	}
	if kind&4 != 0 {
		h.float(s.ValueUncertainty)
	}
}

// hasher gathers words to write them in blocks.
type hasher struct {
	w   io.Writer
	buf [4096]byte
	n   int
}

// words writes times, or values by their bits.
func (h *hasher) words(all ...uint64) {
	for _, w := range all {
		h.int(int64(w))
	}
}

func (h *hasher) int(v int64) {
	if h.n+8 > len(h.buf) {
		h.flush()
	}
	binary.LittleEndian.PutUint64(h.buf[h.n:], uint64(v))
	h.n += 8
}

func (h *hasher) float(v float64) { h.int(int64(math.Float64bits(v))) }

func (h *hasher) flush() {
	_, _ = h.w.Write(h.buf[:h.n])
	h.n = 0
}
