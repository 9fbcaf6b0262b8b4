package stand

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// telemetry is what the controller sends of itself.
type telemetry struct {
	settings  Telemetry
	polePairs float64
	line      line
	noise     portable.Noise
	next      signal.Time
	frame     [10]byte

	charge                 float64 // A s
	voltage, supply, phase float64 // V, A, sums of steps since the last frame
	count                  int
	dropped, corrupted     float64 // shares of frames
}

func newTelemetry(s *Settings, esc *ESC, at signal.Time) telemetry {
	t := telemetry{
		settings: s.Telemetry, polePairs: float64(s.Motor.PolePairs), line: findLine(s.Layout, signal.ESCTelemetry),
		noise: portable.NewNoise(s.Seed, "stand: telemetry"), next: at + s.Telemetry.Period,
		dropped: esc.Dropped, corrupted: esc.Corrupted,
	}
	if !t.line.there {
		t.next = never
	}
	return t
}

// add adds one step.
func (t *telemetry) add(d *drive) {
	const h = float64(step) / 1e9
	t.voltage += d.voltage
	t.supply += d.supply
	t.phase += math.Abs(d.current)
	t.charge += float64(h * d.supply)
	t.count++
}

// send appends the edges of a frame that begins now.
func (t *telemetry) send(temperature, speed float64, out []signal.Edge) []signal.Edge {
	at, n := t.next, float64(max(t.count, 1))
	t.next += t.settings.Period
	current := t.supply / n
	if t.settings.Phase {
		current = t.phase / n
	}
	current += float64(t.settings.Noise * t.noise.Norm())
	t.pack(temperature, t.voltage/n, current, speed)
	t.voltage, t.supply, t.phase, t.count = 0, 0, 0, 0
	drop, corrupt, which := t.noise.Float64(), t.noise.Float64(), t.noise.Uint64()
	if drop < t.dropped {
		return out
	}
	if corrupt < t.corrupted {
		t.frame[which%10] ^= 1 << (which >> 32 % 8)
	}
	for i, b := range t.frame {
		out = t.byte(b, at, int64(i)*10, out)
	}
	return out
}

// pack fills the frame: temperature in degrees Celsius, hundredths of volts and of
// amperes, mA h, hundreds of electrical turns in a minute, the checksum. Larger values of two bytes
// have the upper one first.
func (t *telemetry) pack(temperature, voltage, current, speed float64) {
	t.frame[0] = byte(min(max(temperature+0.5, 0), 255))
	word := func(i int, x float64) {
		n := uint16(min(max(float64(x)+0.5, 0), 65535))
		t.frame[i], t.frame[i+1] = byte(n>>8), byte(n)
	}
	word(1, voltage*100)
	word(3, current*100)
	word(5, t.charge/3.6)
	word(7, math.Abs(speed)*t.polePairs*60/(2*math.Pi)/100)
	t.frame[9] = checksum(t.frame[:9])
}

// checksum is CRC-8 with polynomial 0x07, initial value 0.
func checksum(data []byte) byte {
	sum := byte(0)
	for _, b := range data {
		sum ^= b
		for range 8 {
			carry := sum & 0x80
			sum <<= 1
			if carry != 0 {
				sum ^= 0x07
			}
		}
	}
	return sum
}

// byte appends the edges of one byte, whose start bit is that bit of the frame that begins at the time at.
func (t *telemetry) byte(b byte, at signal.Time, bit int64, out []signal.Edge) []signal.Edge {
	word := uint32(b)<<1 | 1<<9 // start bit 0, eight bits, stop bit 1
	level := true
	for i := range int64(10) {
		next := word>>i&1 == 1
		if next == level {
			continue
		}
		level = next
		when := at + signal.Time((bit+i)*int64(signal.Second)/int64(t.settings.Baud))
		out = append(out, signal.Edge{At: when, Line: t.line.index, Level: level == t.line.idle})
	}
	return out
}
