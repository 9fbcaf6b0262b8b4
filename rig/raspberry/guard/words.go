package guard

import (
	"encoding/binary"
	"errors"
	"io"

	"hilrig/rig/signal"
)

// wordKind is what a word from the worker says.
type wordKind byte

// The words of a worker.
const (
	wordFed    wordKind = iota + 1 // all was played and sampled up to now
	wordLive                       // it wants to go live, and waits for an answer
	wordBegin                      // it plays
	wordLeave                      // it is done with the bench, and waits until the relay is open
	wordClosed                     // its lines are safe
	wordSilent                     // the board sends no commands any more
	wordLimit                      // a command exceeded the limit
	wordLost                       // it lost its timing
	wordBye                        // it is about to end
	wordKinds
)

// wordSize is the length of every word, less than what a pipe takes whole.
const wordSize = 16

// put writes a word of a moment.
func (k wordKind) put(dst *[wordSize]byte, at signal.Time) {
	binary.LittleEndian.PutUint64(dst[:], uint64(at))
	dst[8] = byte(k)
}

// wordOf reads a word. A kind that is none is wrong.
func wordOf(src []byte) (k wordKind, at signal.Time, err error) {
	k = wordKind(src[8])
	if k == 0 || k >= wordKinds {
		return 0, 0, errors.New("the worker speaks something else")
	}
	return k, signal.Time(binary.LittleEndian.Uint64(src)), nil
}

// orderKind is what a guard tells its worker.
type orderKind byte

// The orders of a guard.
const (
	orderGranted orderKind = iota + 1 // it is live
	orderRefused                      // it is not; the text says why
	orderIdle                         // command the motors to idle and leave; the text says why
	orderTripped                      // make safe and end; the text says why. The last order.
	orderOpen                         // the relay is open
)

// put returns an order as it is written.
func (k orderKind) put(text string) []byte {
	if len(text) > 1<<10 {
		text = text[:1<<10]
	}
	out := binary.LittleEndian.AppendUint16([]byte{byte(k)}, uint16(len(text)))
	return append(out, text...)
}

// readOrder reads the next order.
func readOrder(from io.Reader) (orderKind, string, error) {
	var head [3]byte
	if _, err := io.ReadFull(from, head[:]); err != nil {
		return 0, "", err
	}
	text := make([]byte, binary.LittleEndian.Uint16(head[1:]))
	if _, err := io.ReadFull(from, text); err != nil {
		return 0, "", err
	}
	return orderKind(head[0]), string(text), nil
}
