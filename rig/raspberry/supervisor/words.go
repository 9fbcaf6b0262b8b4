package supervisor

import (
	"encoding/binary"
	"errors"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

// wordKind is what a word from the worker says.
type wordKind byte

// The words of a worker.
const (
	wordFed          wordKind = iota + 1 // all was played and sampled up to now
	wordLive                             // it wants to go live, and waits for an answer
	wordBegin                            // it plays
	wordLeave                            // it is done with the bench, and waits until the relay is open
	wordClosed                           // its lines are safe
	wordSilent                           // the board sends no commands any more
	wordLimit                            // a command exceeded the limit
	wordLost                             // it lost its timing
	wordBye                              // it is about to end
	wordUnsupervised                     // it had no word from the supervisor for too long
	wordProve                            // relay and heartbeat are to do something as they are tried, and it waits for an answer
	wordLook                             // it wants to know the levels of the supervisor's lines
	wordKinds
)

// wordSize is the length of every word, less than what a pipe takes whole.
const wordSize = 16

// proofByte is where a word that has relay and heartbeat tried says what they do.
const proofByte = 9

// The bits of that byte.
const (
	proofRelay = 1 << iota
	proofBeats
	proofHigh
	proofOpen
)

// putProof writes what relay and heartbeat are to do.
func putProof(dst *[wordSize]byte, p interlock.Proof) {
	for bit, yes := range map[byte]bool{proofRelay: p.Relay, proofBeats: p.Beats, proofHigh: p.High, proofOpen: p.Open} {
		if yes {
			dst[proofByte] |= bit
		}
	}
}

// proofOf reads what relay and heartbeat are to do.
func proofOf(src []byte) interlock.Proof {
	b := src[proofByte]
	return interlock.Proof{Relay: b&proofRelay != 0, Beats: b&proofBeats != 0, High: b&proofHigh != 0, Open: b&proofOpen != 0}
}

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

// orderKind is what a supervisor tells its worker.
type orderKind byte

// The orders of a supervisor.
const (
	orderGranted orderKind = iota + 1 // it is live
	orderRefused                      // it is not; the text says why
	orderIdle                         // command the motors to idle and leave; the text says why
	orderTripped                      // make safe and end; the text says why. The last order.
	orderOpen                         // the relay is open
	orderAlive                        // the supervisor does its work
	orderFound                        // the text says what an earlier run had left
	orderStood                        // the text says in ns for how long the supervisor itself stood still
	orderProved                       // relay and heartbeat do what was asked
	orderLevels                       // the text holds the levels of stop, relay and heartbeat
)

// Every order begins with its kind and the length of its text. The longest is less than
// what a pipe takes whole.
const (
	orderHead = 3
	orderMost = 1 << 10
)

// put returns an order as it is written.
func (k orderKind) put(text string) []byte {
	text = text[:min(len(text), orderMost)]
	out := binary.LittleEndian.AppendUint16([]byte{byte(k)}, uint16(len(text)))
	return append(out, text...)
}

// orderOf reads the order at the beginning of src and returns how long it is; 0 where it
// is not all there yet.
func orderOf(src []byte) (k orderKind, text string, long int) {
	if len(src) < orderHead {
		return 0, "", 0
	}
	long = orderHead + int(binary.LittleEndian.Uint16(src[1:]))
	if len(src) < long {
		return 0, "", 0
	}
	return orderKind(src[0]), string(src[orderHead:long]), long
}
