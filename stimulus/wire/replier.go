package wire

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"hilrig/rig/signal"
)

// Replier is the sensors on one port that speak when they are asked: a
// [signal.Timed] that hears what the board sends, and answers each request with
// its frame. A request is known by its last bytes; a reply waits for one under way.
//
// What the frames say is set tick by tick with Say, ahead of time.
type Replier struct {
	port    signal.PortSpec
	uart    UART
	hears   listener
	heard   []byte // the last bytes, up to the longest request
	replies []reply
	busy    signal.Time // end of the last reply
	data    []byte
}

// reply is one frame with its request.
type reply struct {
	frame   *FrameEncoder
	request []byte
	delay   signal.Time
	says    [2]Saying // the older first; the second holds from its time on
	count   int       // frames sent
	sent    []Replied
}

// Saying is what one frame of a [Replier] says from a time on.
type Saying struct {
	From   signal.Time
	Values []float64 // in the order of the frame's channels; kept by copy
	Lost   bool      // it does not answer
	Stuck  bool      // see [FrameEncoder.SetStuck]
	Every  int       // every so many-th frame has a wrong checksum; 0 means none
	// Standing says that its counters stand still; see [FrameEncoder.SetSequenceStuck].
	Standing bool
}

// Replied is one reply that was sent.
type Replied struct {
	Start, End signal.Time // the end of its last stop bit
	Said       []float64   // what it says of each channel; see [FrameEncoder.Said]
	Bad        bool        // its checksum was made wrong on purpose
}

// NewReplier returns the replier of a port with those frames, each with a request and
// a source of noise of its own. The error says what is wrong with which frame.
func NewReplier(port signal.PortSpec, frames []Frame, noise []Normal) (*Replier, error) {
	uart, err := NewUART(port)
	switch {
	case err != nil:
		return nil, err
	case !port.Asked:
		return nil, fmt.Errorf("port %s has no line by which it is asked; give it one", port.Name)
	case len(frames) != len(noise):
		return nil, errors.New("as many sources of noise as frames are needed")
	}
	r := &Replier{port: port, uart: uart, hears: listener{uart: uart}}
	longest := 0
	for i, f := range frames {
		if len(f.Request) == 0 {
			return nil, fmt.Errorf("port %s answers requests, and frame %d has none; give it a request, or a port of its own", port.Name, i+1)
		}
		e, err := NewFrames(f, noise[i], 0)
		if err != nil {
			return nil, fmt.Errorf("frame %d on %s: %w", i+1, port.Name, err)
		}
		for j := range r.replies {
			if other := r.replies[j].request; bytes.Contains(other, f.Request) || bytes.Contains(f.Request, other) {
				return nil, fmt.Errorf("the requests % X and % X on %s cannot be told apart; give requests of which none contains the other", other, f.Request, port.Name)
			}
		}
		one := reply{frame: e, request: slices.Clone(f.Request), delay: f.Delay}
		for j := range one.says {
			one.says[j].Values = make([]float64, len(e.Channels()))
		}
		r.replies = append(r.replies, one)
		longest = max(longest, len(f.Request))
	}
	r.heard = make([]byte, 0, longest)
	return r, nil
}

// Port returns the port that the replier answers on.
func (r *Replier) Port() signal.PortSpec { return r.port }

// Latency returns the least time from the last bit of a request, as it is heard, to the
// answer.
func (r *Replier) Latency() signal.Time {
	least := signal.Second
	for i := range r.replies {
		least = min(least, r.replies[i].delay)
	}
	return least
}

// Frame returns the encoder of frame i, in the order in which they were given.
func (r *Replier) Frame(i int) *FrameEncoder { return r.replies[i].frame }

// Say sets what frame i says from s.From on, which is not before an earlier call's.
// What an earlier call set holds until then; what was set before that is gone.
func (r *Replier) Say(i int, s Saying) {
	says := &r.replies[i].says
	says[0], says[1] = says[1], says[0]
	values := says[1].Values
	says[1] = s
	says[1].Values = append(values[:0], s.Values...)
}

// Sent returns the replies of frame i since the last call; the slice is the
// replier's own and holds until the next reply.
func (r *Replier) Sent(i int) []Replied {
	sent := r.replies[i].sent
	r.replies[i].sent = sent[:0]
	return sent
}

// Respond implements [signal.Responder] for the line that the port is asked on.
func (r *Replier) Respond(e signal.Edge, dst []signal.Edge) []signal.Edge {
	if e.Line != r.port.Input {
		return dst
	}
	dst = r.Until(e.At, dst)
	r.hears.edge(e)
	return dst
}

// Until implements [signal.Timed].
func (r *Replier) Until(t signal.Time, dst []signal.Edge) []signal.Edge {
	b, end, ok := r.hears.until(t)
	if !ok {
		return dst
	}
	if len(r.heard) == cap(r.heard) {
		r.heard = r.heard[:copy(r.heard, r.heard[1:])]
	}
	r.heard = append(r.heard, b)
	for i := range r.replies {
		if one := &r.replies[i]; bytes.HasSuffix(r.heard, one.request) {
			r.heard = r.heard[:0]
			return r.answer(one, max(end+one.delay, t), dst) // late where nobody told of time
		}
	}
	return dst
}

// answer appends the edges of one's frame, sent at time at or when the line is free.
func (r *Replier) answer(one *reply, at signal.Time, dst []signal.Edge) []signal.Edge {
	at = max(at, r.busy)
	s := &one.says[0]
	if at >= one.says[1].From {
		s = &one.says[1]
	}
	if s.Lost {
		return dst
	}
	one.count++
	bad := s.Every > 0 && one.count%s.Every == 0
	one.frame.SetStuck(s.Stuck)
	one.frame.SetSequenceStuck(s.Standing)
	one.frame.SetWrongChecksum(bad)
	one.frame.next = at
	r.data = one.frame.Build(r.data[:0], s.Values)
	dst, r.busy = r.uart.Append(dst, at, r.data)
	one.list(Replied{Start: at, End: r.busy, Bad: bad})
	return dst
}

// list keeps a reply that was sent, with room that earlier ones left.
func (o *reply) list(sent Replied) {
	if n := len(o.sent); n < cap(o.sent) {
		sent.Said = o.sent[:n+1][n].Said
	}
	sent.Said = append(sent.Said[:0], o.frame.Said()...)
	o.sent = append(o.sent, sent)
}
