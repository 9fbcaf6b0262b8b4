package serial

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

const ms = signal.Millisecond

// What a device is to send is written when it is due, in order, and dropped by Safe.
func TestADevicesMessagesAreWrittenWhenDue(t *testing.T) {
	now := signal.Time(0)
	out := &recordedBytes{}
	p, err := Start(signal.PortSpec{Name: "yaw_serial", Baud: 115200}, out, func() signal.Time { return now }, InTurns)
	require.NoError(t, err)
	assert.Equal(t, realtime.Never, p.Due())
	_, err = p.Send(5*ms, []byte{1, 2})
	require.NoError(t, err)
	end, err := p.Send(5*ms, []byte{3})
	require.NoError(t, err)
	assert.Equal(t, 5*ms, p.Due())
	p.PutDue(5*ms - 1)
	assert.Empty(t, out.data)
	p.PutDue(5 * ms)
	assert.Equal(t, []byte{1, 2}, out.data, "the other follows the bytes under way")
	p.PutDue(end)
	assert.Equal(t, []byte{1, 2, 3}, out.data)
	_, err = p.Send(20*ms, []byte{4})
	require.NoError(t, err)
	now = 10 * ms
	require.NoError(t, p.Safe())
	p.PutDue(30 * ms)
	assert.Len(t, out.data, 3, "it was dropped")
	require.NoError(t, p.Close())
	assert.True(t, out.closed)
	_, err = p.Send(40*ms, []byte{5})
	assert.Error(t, err)
}

// keptBytes is a device that keeps what is written to it.
type recordedBytes struct {
	data   []byte
	closed bool
}

func (w *recordedBytes) Write(data []byte) (int, error) {
	w.data = append(w.data, data...)
	return len(data), nil
}
func (w *recordedBytes) ResetOutputBuffer() error { return nil }
func (w *recordedBytes) Close() error             { w.closed = true; return nil }
