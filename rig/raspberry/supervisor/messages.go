package supervisor

import (
	"encoding/binary"
	"errors"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

// messageKind is what a message from the worker says.
type messageKind byte

// The messages of a worker.
const (
	messageFed          messageKind = iota + 1 // all was played and sampled up to now
	messageLive                                // it wants to go live, and waits for an answer
	messageBegin                               // it plays
	messageLeave                               // it is done with the bench, and waits until the relay is open
	messageClosed                              // its lines are safe
	messageSilent                              // the board sends no motor commands any more
	messageLimit                               // a motor command exceeded the limit
	messageLost                                // it lost its timing
	messageExiting                             // it is about to end
	messageUnsupervised                        // it had no message from the supervisor for too long
	messageProve                               // relay and heartbeat are to do something as they are tried, and it waits for an answer
	messageLook                                // it wants to know the levels of the supervisor's lines
	messageSourceLost                          // nothing comes of what a run of a speed controller is bounded by
	messageLevelTimeout                        // a level took more than twice its time
	messageTurning                             // a motor is commanded to turn, or seen to
	messageGone                                // it wants to know when the motors' supply was seen to go, and waits for it
	messageKinds
)

// messageSize is the length of every message, less than what a pipe takes whole.
const messageSize = 16

// proofByte is where a message that has relay and heartbeat tried says what they do.
const proofByte = 9

// proofBits are what relay and heartbeat are to do, a bit of that byte each, from the lowest.
func proofBits(p *interlock.Proof) [4]*bool { return [...]*bool{&p.Relay, &p.Beats, &p.High, &p.Open} }

// putProof writes what relay and heartbeat are to do.
func putProof(dst *[messageSize]byte, p interlock.Proof) {
	for bit, does := range proofBits(&p) {
		if *does {
			dst[proofByte] |= 1 << bit
		}
	}
}

// proofOf reads what relay and heartbeat are to do.
func proofOf(src []byte) (p interlock.Proof) {
	for bit, does := range proofBits(&p) {
		*does = src[proofByte]>>bit&1 == 1
	}
	return p
}

// put writes a message of a moment.
func (k messageKind) put(dst *[messageSize]byte, at signal.Time) {
	binary.LittleEndian.PutUint64(dst[:], uint64(at))
	dst[8] = byte(k)
}

// messageOf reads a message. A kind that is none is wrong.
func messageOf(src []byte) (k messageKind, at signal.Time, err error) {
	k = messageKind(src[8])
	if k == 0 || k >= messageKinds {
		return 0, 0, errors.New("the worker speaks something else")
	}
	return k, signal.Time(binary.LittleEndian.Uint64(src)), nil
}

// commandKind is what a supervisor tells its worker.
type commandKind byte

// The commands of a supervisor.
const (
	commandGranted commandKind = iota + 1 // it is live
	commandDenied                         // it is not; the text says why
	commandIdle                           // command the motors to idle and leave; the text says why
	commandTripped                        // make safe and end; the text says why. The last of all.
	commandOpen                           // the relay is open
	commandGone                           // the motors' supply was seen to go, or nobody looks
	commandAlive                          // the supervisor does its work
	commandFound                          // the text says what an earlier run had left
	commandStood                          // the text says in ns for how long the supervisor itself stood still
	commandProved                         // relay and heartbeat do what was asked
	commandLevels                         // the text holds the levels of stop, relay, heartbeat and supply
)

// Every command begins with its kind and the length of its text. The longest is less than
// what a pipe takes whole.
const (
	commandHeader = 3
	mostText      = 1 << 10
)

// put returns a command as it is written.
func (k commandKind) put(text string) []byte {
	text = text[:min(len(text), mostText)]
	out := binary.LittleEndian.AppendUint16([]byte{byte(k)}, uint16(len(text)))
	return append(out, text...)
}

// commandOf reads the command at the beginning of src and returns how long it is; 0 where it
// is not all there yet.
func commandOf(src []byte) (k commandKind, text string, long int) {
	if len(src) < commandHeader {
		return 0, "", 0
	}
	long = commandHeader + int(binary.LittleEndian.Uint16(src[1:]))
	if len(src) < long {
		return 0, "", 0
	}
	return commandKind(src[0]), string(src[commandHeader:long]), long
}
