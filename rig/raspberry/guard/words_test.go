package guard

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
	var both bytes.Buffer
	both.Write(orderIdle.put("Ctrl-C"))
	both.Write(orderTripped.put(strings.Repeat("long ", 1000)))
	kind, text, err := readOrder(&both)
	require.NoError(t, err)
	assert.Equal(t, orderIdle, kind)
	assert.Equal(t, "Ctrl-C", text)
	kind, text, err = readOrder(&both)
	require.NoError(t, err)
	assert.Equal(t, orderTripped, kind)
	assert.Len(t, text, 1024)
	_, _, err = readOrder(&both)
	require.ErrorIs(t, err, io.EOF)
	_, _, err = readOrder(strings.NewReader("\x01\x05\x00half"))
	require.ErrorIs(t, err, io.ErrUnexpectedEOF)
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
		if _, text, err := readOrder(bytes.NewReader(data)); err != nil {
			assert.True(t, errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF))
			assert.Empty(t, text)
		}
	})
}
