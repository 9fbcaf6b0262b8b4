package benchtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// length returns how long n bytes take on the subject's port.
func (s *subject) length(n int) signal.Time {
	p := s.Bench.Layout().Ports[s.Port]
	bits := 10
	if p.Parity != signal.NoParity {
		bits++
	}
	if p.StopBits == 2 {
		bits++
	}
	return signal.Time(int64(n*bits) * int64(signal.Second) / int64(p.Baud))
}

func testSend(t *testing.T, s *subject) {
	const rounding = 2 // ns
	at := s.Bench.Now() + 10*ms
	data := []byte{0x00, 0xFF, 0x55, 0xA5, 0x5A, 0x01}
	end, err := s.Bench.Send(s.Port, at, data)
	require.NoError(t, err)
	assert.InDelta(t, int64(at+s.length(6)), int64(end), rounding)

	next, err := s.Bench.Send(s.Port, at, data[:2])
	require.NoError(t, err)
	assert.InDelta(t, int64(end+s.length(2)), int64(next), rounding, "bytes under way are finished first")

	later := next + 10*ms
	last, err := s.Bench.Send(s.Port, later, data[:1])
	require.NoError(t, err)
	assert.InDelta(t, int64(later+s.length(1)), int64(last), rounding)

	s.wait(last + ms)
	s.captured()
}

func testSendRefused(t *testing.T, s *subject) {
	now := s.Bench.Now() + 10*ms
	s.wait(now) // a real bench may be far beyond by then
	_, err := s.Bench.Send(s.Port, now-5*ms, []byte{1})
	assert.Error(t, err, "of the past")
	_, err = s.Bench.Send(signal.Port(len(s.Bench.Layout().Ports)), s.Bench.Now()+10*ms, []byte{1})
	assert.Error(t, err, "on no port")
	if s.Strict {
		assert.Error(t, s.Bench.Wait(now+10*ms), "it ended")
		return
	}
	_, err = s.Bench.Send(s.Port, s.Bench.Now()+10*ms, []byte{1})
	assert.NoError(t, err, "a good one after bad ones")
}
