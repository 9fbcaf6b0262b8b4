package board

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// Three turns one way at 10 turns a second and three back: the angle goes over its end without a leap.
func TestAngleSensorFollowsTheWheel(t *testing.T) {
	d := &DutyInput{Period: signal.Millisecond, Least: 0.05, Most: 0.95}
	var a angleInput
	var e encoder
	at := func(ms int) float64 { // turns
		if ms > 300 {
			ms = 600 - ms
		}
		return float64(ms) / 100
	}
	for ms := range 600 {
		rise := signal.Time(ms) * signal.Millisecond
		turn := at(ms) - float64(int(at(ms)))
		a.edge(true, rise, d, &e)
		a.edge(false, rise+signal.Time((0.05+0.9*turn)*1e6), d, &e)
		if ms%10 == 5 {
			speed := a.read(rise+signal.Millisecond, d)
			if ms < 10 || ms > 300 && ms < 315 {
				continue
			}
			want := 20 * 3.14159265
			if ms > 300 {
				want = -want
			}
			assert.InDelta(t, want, speed, 0.1, "at %d ms", ms)
		}
	}
	assert.Zero(t, a.read(signal.Second, d), "without pulses it stands")
	assert.Equal(t, signal.Time(599), e.gotOn/signal.Millisecond)
}

// Two turns a second in 4096 steps, each pulse off by a step to either side in turns: 8 steps a pulse, read every 3 ms.
func TestAngleSensorIsReadOverMoreThanAFewSteps(t *testing.T) {
	d := &DutyInput{Period: signal.Millisecond, Least: 0.05, Most: 0.95}
	var a angleInput
	var e encoder
	for ms := range 400 {
		step := ms*8192/1000 + ms%2*2 - 1
		rise := signal.Time(ms) * signal.Millisecond
		a.edge(true, rise, d, &e)
		a.edge(false, rise+signal.Time((0.05+0.9*float64(max(step, 0)%4096)/4096)*1e6), d, &e)
		if speed := a.read(rise+signal.Millisecond, d); ms%3 == 0 && ms > 20 {
			assert.InEpsilon(t, 4*3.14159265, speed, 0.04, "at %d ms", ms)
		}
	}
}

func TestBusChannelsBecomePulses(t *testing.T) {
	var steer, throttle, gain pulseInput
	for _, p := range []*pulseInput{&steer, &throttle, &gain} {
		p.least, p.most = 800, 2200
	}
	c := BusChannel{Low: 172, High: 1811, LowPulse: 988 * signal.Microsecond, HighPulse: 2012 * signal.Microsecond}
	cfg := BusInput{Line: "bus", Steer: c, Throttle: c, Gain: c}
	cfg.Steer.Number, cfg.Throttle.Number, cfg.Gain.Number = 2, 1, 3
	require.NoError(t, cfg.check())
	p := busParser{cfg: cfg, steer: &steer, throttle: &throttle, gain: &gain}
	// READ: a frame captured from a receiver; its channels begin with 1024, 998, 1696 (CALC by a second implementation).
	frame := []byte{0x0F, 0x00, 0x34, 0x1F, 0xA8, 0x09, 0x08, 0x6A, 0x50, 0x03, 0x10, 0x80, 0x00, 0x04, 0x20, 0x00, 0x01, 0x08, 0x07, 0x38, 0x00, 0x10, 0x80, 0x00, 0x04}
	send := func(from signal.Time, flags byte) {
		for i, b := range frame {
			if i == 23 {
				b = flags
			}
			p.parse(b, from+signal.Time(i)*120*signal.Microsecond)
		}
	}
	send(10*signal.Millisecond, 0)
	pulse := func(count int) int64 { return int64(988 + float64(count-172)*1024/1639 + 0.5) }
	assert.Equal(t, pulse(998), steer.width)
	assert.Equal(t, pulse(1024), throttle.width)
	assert.Equal(t, pulse(1696), gain.width)
	assert.True(t, steer.fresh(20*signal.Millisecond, 8*signal.Millisecond))
	send(30*signal.Millisecond, linkLost)
	assert.False(t, steer.fresh(40*signal.Millisecond, 8*signal.Millisecond), "a frame of a lost link says nothing")
	p.parse(busStart, 50*signal.Millisecond) // cut off
	send(60*signal.Millisecond, 0)
	assert.True(t, steer.fresh(70*signal.Millisecond, 8*signal.Millisecond))

	cfg.Gain.Number = 17
	assert.ErrorContains(t, cfg.check(), "number 17")
}

// Whatever comes on a bus, the receiver neither panics nor leaves the range of pulses.
func FuzzBus(f *testing.F) {
	f.Add([]byte{1, 2, 3, 200, 17, 12, 12, 12})
	f.Fuzz(func(t *testing.T, gaps []byte) {
		in := pulseInput{least: 800, most: 2200}
		c := BusChannel{Number: 16, Low: 172, High: 1811, LowPulse: 988 * signal.Microsecond, HighPulse: 2012 * signal.Microsecond}
		p := busParser{cfg: BusInput{Line: "bus", Steer: c, Throttle: c, Gain: c}, steer: &in, throttle: &in, gain: &in}
		r := serialInput{baud: busBaud, even: true}
		at, level := signal.Time(0), false
		for _, g := range gaps {
			at += signal.Time(g) * 5 * signal.Microsecond
			level = !level
			r.edge(level, at, &p)
		}
		r.advance(at+signal.Second, &p)
		if in.seen && (in.width < in.least || in.width > in.most) {
			t.Fatalf("width %d", in.width)
		}
	})
}

func TestWheelSettingsAreChecked(t *testing.T) {
	s := Bramble()
	s.Wheels = "resolver"
	assert.ErrorContains(t, s.check(), `Wheels is "resolver"`)
	s.Wheels = Duty
	assert.ErrorContains(t, s.check(), "WheelDuty.Period")
	s.WheelDuty = DutyInput{Period: signal.Millisecond, Least: 0.9, Most: 0.1}
	assert.ErrorContains(t, s.check(), "WheelDuty.Most less WheelDuty.Least")
	s.WheelDuty = DutyInput{Period: signal.Millisecond, Least: 0.1, Most: 0.9}
	assert.NoError(t, s.check())
}
