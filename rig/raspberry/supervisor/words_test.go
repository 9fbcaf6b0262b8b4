package supervisor

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

func TestWordsAndOrdersComeAcross(t *testing.T) {
	for kind := wordFed; kind < wordKinds; kind++ {
		var word [wordSize]byte
		kind.put(&word, -5*signal.Second)
		k, at, err := wordOf(word[:])
		require.NoError(t, err)
		assert.Equal(t, kind, k)
		assert.Equal(t, -5*signal.Second, at)
	}
	for _, kind := range []wordKind{0, wordKinds, wordKinds + 1, 255} {
		var word [wordSize]byte
		kind.put(&word, 0)
		_, _, err := wordOf(word[:])
		assert.Error(t, err, "%d is no word", kind)
	}
	both := append(orderIdle.put("Ctrl-C"), orderTripped.put(strings.Repeat("long ", 1000))...)
	kind, text, long := orderOf(both)
	assert.Equal(t, orderIdle, kind)
	assert.Equal(t, "Ctrl-C", text)
	for n := range len(both) - long {
		_, _, none := orderOf(both[long:][:n])
		assert.Zero(t, none, "%d bytes of it", n)
	}
	kind, text, long = orderOf(both[long:])
	assert.Equal(t, orderTripped, kind)
	assert.Len(t, text, 1024)
	assert.Equal(t, 1027, long)
}

func FuzzWordOf(f *testing.F) {
	f.Add([]byte("0123456789abcdef"))
	f.Add(make([]byte, wordSize))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) < wordSize {
			return
		}
		k, _, err := wordOf(data)
		assert.Equal(t, err == nil, k > 0 && k < wordKinds)
		_, text, long := orderOf(data)
		assert.LessOrEqual(t, long, len(data))
		assert.True(t, long == 0 && text == "" || long == orderHead+len(text))
	})
}

func TestAProofComesAcross(t *testing.T) {
	for n := range 16 {
		p := interlock.Proof{Relay: n&1 != 0, Beats: n&2 != 0, High: n&4 != 0, Open: n&8 != 0}
		var word [wordSize]byte
		putProof(&word, p)
		wordProve.put(&word, 7)
		assert.Equal(t, p, proofOf(word[:]))
		kind, at, err := wordOf(word[:])
		require.NoError(t, err)
		assert.Equal(t, wordProve, kind)
		assert.EqualValues(t, 7, at)
	}
}
