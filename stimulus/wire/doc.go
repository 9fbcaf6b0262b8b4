// Package wire turns values to edges and bytes: what each wire between the rig
// and the board carries when a quantity has a certain value.
//
// A [WheelSensor] is one wheel's sensor: speed in, edges out, by a
// [QuadratureEncoder], a [Tacho] or a [DutyEncoder]. A [PulseEncoder] is one receiver channel: a value in,
// pulses out. A [FrameEncoder] is one message of a serial sensor: values in,
// bytes out, with noise, quantisation, checks and stuffing as [Frame] declares them, or
// a [Sentence]. A [Replier] sends such messages when it is asked. A [Bus] is a receiver that sends all
// its channels in one frame. A [ThrottleEncoder] gives a speed controller its commands, and a
// [CellClock] reads out the converter of a load cell. A
// [UART] turns bytes to the levels of a serial line, for benches that have no
// port of their own. Each is declared by a plain struct that is checked when
// its encoder is made; after that nothing on the tick path fails or allocates,
// except where the slice that it appends to has to grow.
//
// An encoder remembers where it is and is used by one goroutine.
//
// # Units and signs
//
// SI units: rad/s for wheels, positive rolling forward. Level true is high.
//
// # Time
//
// signal.Time, whole nanoseconds since the run began. Encoders are asked for
// spans [from, to) that follow on each other; edges lie at their exact times
// within the span, not at its beginning, and do not depend on how time is cut
// into spans.
//
// # Sources
//
// The quadrature sequence is the Gray code that incremental encoders share.
// Check values of the cyclic redundancy checks: G. Cook, catalogue of
// parametrised CRC algorithms, as the crc-catalog crate 2.5.0 prints them.
package wire
