package moment

import "hilrig/rig/signal"

const (
	gyroSize = 8
	gyroHead = 0x7B

	// A byte that comes so long after the last one begins a frame.
	gyroGap = 500 * signal.Microsecond
)

// gyro takes the frames of the yaw-rate sensor: 0x7B, a counter, the yaw rate in 24 bits with its
// lowest byte first, a byte of status, and a checksum over all behind the first byte, its low byte first.
type gyro struct {
	uart  uart
	frame [gyroSize]byte
	n     int // bytes of the frame so far; below 0: it is corrupt
	last  signal.Time

	any     bool        // a good frame has come since power-up
	good    signal.Time // when the last one did
	counter byte        // of the last one
	raw     int32       // counts
	fresh   bool        // a good frame has come that calibration has not taken
	offset  float64     // counts at rest
}

// newGyro returns the sensor's receiver, of whose pin the level is known.
func newGyro(baud int64, level bool) gyro {
	return gyro{uart: newUART(baud, false, false, level)}
}

// look reads the bit that is due. unchecked leaves out the checksum, trusting the counter.
func (g *gyro) look(unchecked, trusting bool) {
	at, data, good, ended := g.uart.look()
	if !ended {
		return
	}
	if at-g.last > gyroGap {
		g.n = 0
	}
	g.last = at
	switch {
	case g.n < 0 || g.n == gyroSize:
		return
	case !good:
		g.n = -1
		return
	}
	g.frame[g.n] = data
	if g.n++; g.n == gyroSize {
		g.accept(at, unchecked, trusting)
	}
}

// accept uses a whole frame. One whose counter stands still is the last one once more: the
// sensor behind it has stopped.
func (g *gyro) accept(at signal.Time, unchecked, trusting bool) {
	f := &g.frame
	sum := uint16(f[6]) | uint16(f[7])<<8
	if f[0] != gyroHead || !unchecked && sum != crc(f[1:6]) {
		return
	}
	if g.any && f[1] == g.counter && !trusting {
		return
	}
	g.counter = f[1]
	g.raw = int32(uint32(f[2])<<8|uint32(f[3])<<16|uint32(f[4])<<24) >> 8
	g.any, g.good, g.fresh = true, at, true
}

// rate returns the last yaw rate in rad/s, and whether the sensor is there.
func (g *gyro) rate(at signal.Time, s *Settings) (yaw float64, present bool) {
	present = g.any && (at-g.good <= s.YawTimeout || s.has(yawHeld))
	return float64((float64(g.raw) - g.offset) * s.YawScale), present
}

// crc returns the checksum of data, bit by bit with the highest first.
func crc(data []byte) uint16 {
	sum := uint16(0xFFFF)
	for _, b := range data {
		for i := 7; i >= 0; i-- {
			top := sum>>15 ^ uint16(b>>i)&1
			sum <<= 1
			if top == 1 {
				sum ^= 0x1021
			}
		}
	}
	return sum
}
