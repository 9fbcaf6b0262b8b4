package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const pulses = `  steer: {rate: 100 Hz} # what the pulse stands for is in the car's steering table
  throttle: {rate: 100 Hz, idle: 1000 us, full: 2000 us}
  gain: {rate: 100 Hz, idle: 1000 us, full: 2000 us}
`

const busKeys = `  bus:
    port: receiver_bus
    rate: 100 Hz
    steer: {channel: 1, counts: [172, 1811], pulses: [1000 us, 2000 us]}
    throttle: {channel: 2, idle: 172, full: 1811}
    gain: {channel: 5, idle: 1811, full: 172}
    end: 0x04
`

func TestAReceiverOnABus(t *testing.T) {
	c, b := changed(t, pulses, busKeys)
	want := wire.Bus{
		Port: "receiver_bus", Period: 10 * signal.Millisecond, End: 4,
		Steer:    wire.BusChannel{Number: 1, Low: 172, High: 1811, HighValue: 1},
		Throttle: wire.BusChannel{Number: 2, Low: 172, High: 1811, HighValue: 1},
		Gain:     wire.BusChannel{Number: 5, Low: 1811, High: 172, HighValue: 1},
	}
	for i := range want.Rest {
		want.Rest[i] = 992
	}
	assert.Equal(t, want, b.Wiring.Bus)
	assert.Zero(t, b.Wiring.Throttle)
	layout := b.Wiring.Layout()
	assert.Equal(t, "receiver_bus", layout.Lines[0].Name)

	// The demo car's table: 30 deg per 500 us about 1500 us.
	w, err := file.Complete(b, c)
	require.NoError(t, err)
	assert.InDelta(t, -30*deg, w.Bus.Steer.LowValue, 1e-12)
	assert.InDelta(t, 30*deg, w.Bus.Steer.HighValue, 1e-12)
	_, err = w.Bus.Frame()
	assert.NoError(t, err)
}

func TestMessagesOfEverySort(t *testing.T) {
	_, b := changed(t, "    frames:\n      - rate: 200 Hz\n", `    frames:
      - {nmea: vtg, rate: 5 Hz, talker: GN, noise: 0.1 m/s}
      - rate: 10 Hz
        stuffing: cobs
        fields:
          - {channel: speed, as: f32, order: little, noise: 0.1 m/s}
          - {channel: yaw_rate, as: f64, scale: 1 deg/s, noise: 0.1 deg/s, range: [-300 deg/s, 300 deg/s]}
          - packed: [{bits: 11, channel: throttle, scale: 0.1 %}, {bits: 3, sequence: yes}, {bits: 2, value: 3}]
            first: low
      - rate: 20 Hz
        stuffing: {delimiter: 0x7E, escape: 0x7D, delimiter_as: 0x5E, escape_as: 0x5D, leading: yes}
        fields: [{bytes: [1]}]
      - rate: 200 Hz
        stuffing: slip
`)
	frames := b.Wiring.Frames
	require.Len(t, frames, 4)
	assert.Equal(t, wire.Frame{Port: "yaw_serial", Period: 200 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.VTG, Talker: "GN", Noise: 0.1}}, frames[0])
	assert.Equal(t, wire.Frame{Port: "yaw_serial", Period: 100 * signal.Millisecond, Stuffing: wire.COBS, Fields: []wire.Field{
		{Kind: wire.Float32, LittleEndian: true, Channel: "speed", Noise: 0.1},
		{Kind: wire.Float64, Channel: "yaw_rate", Scale: deg, Noise: 0.1 * deg, Min: -300 * deg, Max: 300 * deg},
		{Kind: wire.Bits, LowFirst: true, Parts: []wire.Field{
			{Kind: wire.Integer, Width: 11, Channel: "throttle", Scale: 0.001},
			{Kind: wire.Sequence, Width: 3},
			{Width: 2, Value: 3},
		}},
	}}, frames[1])
	assert.Equal(t, wire.Stuffing{Kind: wire.Escaped, Delimiter: 0x7E, Escape: 0x7D, DelimiterAs: 0x5E, EscapeAs: 0x5D, Leading: true}, frames[2].Stuffing)
	assert.Equal(t, wire.SLIP, frames[3].Stuffing)
}

func TestFramesOnRequest(t *testing.T) {
	_, b := changed(t, "      - rate: 200 Hz\n", "      - reply_to: [0x52, 0x01]\n        after: 250 us\n")
	require.Len(t, b.Wiring.Frames, 1)
	assert.Equal(t, []byte{0x52, 1}, b.Wiring.Frames[0].Request)
	assert.Equal(t, 250*signal.Microsecond, b.Wiring.Frames[0].Delay)
	_, ok := b.Wiring.Layout().Line("yaw_serial_request")
	assert.True(t, ok)
	_, err := b.Wiring.Repliers(1)
	assert.NoError(t, err)
	_, err = linted(t, b, "  - {case: a, hold: {yaw_rate: 60 deg/s, faults: [{wire: yaw_serial, is: jitter, by: 1 us}]}, expect: [{policy: oversteer}]}\n")
	assert.ErrorContains(t, err, "port yaw_serial answers requests, and its replies cannot have a jitter")
}

func TestGlitchAndJitterAreRead(t *testing.T) {
	car, bench := bramble(t)
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(`suite: s
defaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}
cases:
  - case: a
    hold:
      yaw_rate: 70 % of demand
      steer: 8 deg
      faults: [{wire: rear_left_a, is: glitch, rate: 50 Hz, width: 2 us, after: 10 ms, for: 20 ms}, {wire: yaw_serial, is: jitter, by: 5 us}]
    expect: [{policy: understeer}]
`)}, car, bench)
	require.NoError(t, err)
	step := s.Cases[0].Steps[len(s.Cases[0].Steps)-1]
	require.Len(t, step.Faults, 2)
	assert.Equal(t, stimulus.Fault{Kind: stimulus.Glitch, Wire: "rear_left_a", Rate: 50, Width: 2 * signal.Microsecond, From: 10 * signal.Millisecond, To: 30 * signal.Millisecond}, step.Faults[0])
	assert.Equal(t, stimulus.Jitter, step.Faults[1].Kind)
	assert.InDelta(t, 5e-6, step.Faults[1].By, 1e-18)
}

// What a bus would clip is a mistake of the case.
func TestWhatABusCannotCarryIsAMistake(t *testing.T) {
	_, b := changed(t, pulses, busKeys)
	// By hand: 172 + 1639 x 80/60 counts.
	_, err := linted(t, b, "  - {case: a, hold: {steer: 50 deg, yaw_rate: 1 deg/s}, expect: [{policy: oversteer}]}\n")
	assert.ErrorContains(t, err, "steer 50 deg would be 2357 counts on the receiver's bus, which is clipped")
	_, err = linted(t, b, "  - {case: a, hold: {steer: 36 deg, yaw_rate: 1 deg/s}, expect: [{policy: oversteer}]}\n")
	assert.NoError(t, err)
}

// Where what follows is said of the throttle and of no receiver as a whole, the throttle of a
// bus is lost with the bus.
func TestWhatABusLosesTogether(t *testing.T) {
	const cases = "suite: s\ndefaults: {speed: 4 m/s, steer: 8 deg, yaw_rate: 40 % of demand, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, where_wired: yes, hold: {faults: [FAULT]}, expect: [{policy: throttle_lost}]}\n"
	car, bus := changed(t, pulses, busKeys)
	_, lines := bramble(t)
	tests := []struct {
		name, fault string
		bench       *file.Bench
		whole       bool // the policy says what follows when the receiver is lost
		missing     string
		wires       []string
	}{
		{"throttle", "{wire: throttle, is: lost}", bus, false, "", []string{"throttle"}},
		{"throttle where the whole is declared", "{wire: throttle, is: lost}", bus, true, "no wire of its own for throttle", []string{"throttle"}},
		{"throttle on lines", "{wire: throttle, is: lost}", lines, true, "", []string{"throttle"}},
		{"receiver", "{wire: receiver, is: lost}", bus, true, "", []string{"steer", "throttle", "gain"}},
		{"receiver on lines", "{wire: receiver, is: lost}", lines, true, "", []string{"steer", "throttle", "gain"}},
		{"flag", "{wire: receiver, is: failsafe_flag}", bus, true, "", []string{"throttle"}},
		{"flag on lines", "{wire: receiver, is: failsafe_flag}", lines, true, "no receiver bus, whose frames have a failsafe flag", []string{"receiver"}},
		{"counter", "{wire: yaw_rate, is: sequence_stuck}", lines, true, "", []string{"yaw_serial"}},
		{"no counter", "{wire: yaw_rate, is: sequence_stuck}", otherBench(t, "          - {sequence: u8}\n", "", ", from: 2}", "}"), true, "no counter in the frames on yaw_serial", []string{"yaw_serial"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			own := *car
			if tt.whole {
				own.Policy.ReceiverLost = &law.Loss{Then: law.LossIdle}
			}
			s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(cases, "FAULT", tt.fault, 1))}, &own, tt.bench)
			require.NoError(t, err)
			assert.Equal(t, tt.missing, s.Cases[0].Missing)
			var wires []string
			for _, f := range s.Cases[0].Steps[1].Faults {
				wires = append(wires, f.Wire)
			}
			if tt.missing == "" {
				assert.Equal(t, tt.wires, wires)
			}
		})
	}
	for _, fault := range []string{"{wire: receiver, is: stuck}", "{wire: yaw_rate, is: failsafe_flag}", "{wire: steer, is: sequence_stuck}"} {
		_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(cases, "FAULT", fault, 1))}, car, bus)
		assert.Error(t, err, fault)
	}
}

// A channel of a bus cannot be lost alone; a case that allows for that is skipped.
func TestLosingOneChannelOfABusIsSkippedWhereWired(t *testing.T) {
	car, b := changed(t, pulses, busKeys)
	text := "suite: s\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, where_wired: yes, hold: {steer: 8 deg, yaw_rate: 40 % of demand, faults: [{wire: steer, is: lost}]}, expect: [{policy: steer_lost}]}\n"
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(text)}, car, b)
	require.NoError(t, err)
	assert.Equal(t, "no wire of its own for steer", s.Cases[0].Missing)
}
