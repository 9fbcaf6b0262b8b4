package supervisor

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

func TestMessagesAndCommandsComeAcross(t *testing.T) {
	for kind := messageFed; kind < messageKinds; kind++ {
		var message [messageSize]byte
		kind.put(&message, -5*signal.Second)
		k, at, err := messageOf(message[:])
		require.NoError(t, err)
		assert.Equal(t, kind, k)
		assert.Equal(t, -5*signal.Second, at)
	}
	for _, kind := range []messageKind{0, messageKinds, messageKinds + 1, 255} {
		var message [messageSize]byte
		kind.put(&message, 0)
		_, _, err := messageOf(message[:])
		assert.Error(t, err, "%d is no message", kind)
	}
	both := append(commandIdle.put("Ctrl-C"), commandTripped.put(strings.Repeat("long ", 1000))...)
	kind, text, long := commandOf(both)
	assert.Equal(t, commandIdle, kind)
	assert.Equal(t, "Ctrl-C", text)
	for n := range len(both) - long {
		_, _, none := commandOf(both[long:][:n])
		assert.Zero(t, none, "%d bytes of it", n)
	}
	kind, text, long = commandOf(both[long:])
	assert.Equal(t, commandTripped, kind)
	assert.Len(t, text, 1024)
	assert.Equal(t, 1027, long)
}

func FuzzWordOf(f *testing.F) {
	f.Add([]byte("0123456789abcdef"))
	f.Add(make([]byte, messageSize))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) < messageSize {
			return
		}
		k, _, err := messageOf(data)
		assert.Equal(t, err == nil, k > 0 && k < messageKinds)
		_, text, long := commandOf(data)
		assert.LessOrEqual(t, long, len(data))
		assert.True(t, long == 0 && text == "" || long == commandHeader+len(text))
	})
}

func TestAProofComesAcross(t *testing.T) {
	for n := range 16 {
		p := interlock.Proof{Relay: n&1 != 0, Beats: n&2 != 0, High: n&4 != 0, Open: n&8 != 0}
		var message [messageSize]byte
		putProof(&message, p)
		messageProve.put(&message, 7)
		assert.Equal(t, p, proofOf(message[:]))
		kind, at, err := messageOf(message[:])
		require.NoError(t, err)
		assert.Equal(t, messageProve, kind)
		assert.EqualValues(t, 7, at)
	}
}
