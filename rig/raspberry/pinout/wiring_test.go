package pinout

import (
	"bytes"
	"encoding/xml"
	"io"
	"slices"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// demoWires is a bench with a line of each group.
func demoWires() Wires {
	return Wires{
		Layout: signal.Layout{
			Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}},
			Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 2, Baud: 115200, Inverted: true}},
		},
		Devices: map[string]string{"yaw_serial": "/dev/ttyAMA0"},
		Reset:   "line",
	}
}

// Positions as the public documentation of the header has them
// (raspberrypi/documentation, gpio-on-raspberry-pi.adoc; from memory).
func TestHeaderPositions(t *testing.T) {
	for gpio, position := range map[int]int{2: 3, 14: 8, 15: 10, 17: 11, 27: 13, 22: 15, 9: 21, 8: 24, 0: 27, 5: 29, 26: 37, 21: 40, 28: 0} {
		assert.Equal(t, position, Position(gpio), "GPIO%d", gpio)
	}
	seen := map[int]int{}
	for _, h := range Holes {
		seen[h.GPIO]++
	}
	assert.Equal(t, 12, seen[-1], "two of 3.3 V, two of 5 V, eight of ground")
	for n := range 28 {
		assert.Equal(t, 1, seen[n], "GPIO%d", n)
	}
}

func TestProposedPinsCanBeUsed(t *testing.T) {
	w, proposed, err := demoWires().Propose()
	require.NoError(t, err)
	assert.Len(t, proposed, 9)
	used := map[int]bool{}
	for _, r := range w.Table() {
		assert.NotZero(t, r.Position, r.Signal)
		assert.False(t, used[r.GPIO], "%s is on a pin used twice", r.Signal)
		used[r.GPIO] = true
		if r.Group == Receiver || r.Group == Interlock || r.Group == Motor {
			assert.False(t, PulledUp(r.GPIO), r.Signal)
		}
		assert.Equal(t, r.Group == Serial, slices.Contains(r.Chain, inverter), r.Signal)
	}
	assert.Equal(t, 14, w.Pins["yaw_serial"])
}

func TestMoreWiresThanPins(t *testing.T) {
	w := Wires{}
	for i := range 30 {
		w.Layout.Lines = append(w.Layout.Lines, signal.LineSpec{Name: string(rune('A' + i))})
	}
	_, _, err := w.Propose()
	assert.ErrorContains(t, err, "too few")
}

func TestTheDrawingIsXMLAndNamesEveryWire(t *testing.T) {
	w, _, err := demoWires().Propose()
	require.NoError(t, err)
	svg := HeaderSVG("a < b", w.Table())
	d := xml.NewDecoder(bytes.NewReader(svg))
	for err == nil {
		_, err = d.Token()
	}
	assert.ErrorIs(t, err, io.EOF)
	var page bytes.Buffer
	WriteHeader(&page, w.Table())
	for _, r := range w.Table() {
		assert.Contains(t, string(svg), r.Signal)
		assert.Contains(t, page.String(), r.Signal)
		for _, p := range r.Chain {
			assert.Contains(t, string(svg), ">"+p.Name+"<", r.Signal)
		}
	}
	for _, supply := range []string{"3.3 V", "5 V", "ground"} {
		assert.Contains(t, string(svg), ">"+supply+"<", "a supply is told by its word")
	}
}

// Whoever drives a wire has the resistor behind the buffer; whoever listens has it at the pin.
// What means go has a resistor that keeps it low, and a reset one that keeps the board running.
func TestWhichSideOfABufferAResistorStands(t *testing.T) {
	w, _, err := demoWires().Propose()
	require.NoError(t, err)
	want := map[string]string{
		"steer":            "74HCT541 at 5 V, 330 ohm; 4.7 kohm to ground",
		"front_left_a":     "74HCT541 at 5 V, 330 ohm",
		"motor_front_left": "330 ohm, 74LVC541 at 3.3 V",
		"yaw_serial":       "74HCT14 inverter at 5 V, 330 ohm",
		"reset":            "74LVC1G07 open drain, 330 ohm; 4.7 kohm to 3.3 V",
		"stop":             "U2 optocoupler; 10 kohm to ground",
		"relay":            "1 kohm, transistor, K5; 4.7 kohm to ground",
		"heartbeat":        "330 ohm, U1 monostable, K4; 4.7 kohm to ground",
		"supply":           "U3 optocoupler; 10 kohm to ground",
	}
	for _, r := range w.Table() {
		assert.Equal(t, want[r.Signal], chainText(r.Chain), r.Signal)
		assert.Equal(t, r.Signal == "reset", r.Boot == "high, by a resistor", "%s: a board that starts before the Pi is not held in reset", r.Signal)
	}
}

// A receiver's bus beside a yaw port: the second serial port of a Pi 4 and 5 is on pins of its
// own, and a Pi 3 has none (raspberrypi/documentation, configuration/uart.adoc).
func TestASecondSerialPortHasPinsOfItsOwn(t *testing.T) {
	two := func(m Model) (Wires, []string, error) {
		w := demoWires()
		w.Model = m
		w.Layout.Lines = append(w.Layout.Lines, signal.LineSpec{Name: "bus", Idle: true, Role: signal.SerialData})
		w.Layout.Ports = append(w.Layout.Ports, signal.PortSpec{Name: "bus", Line: signal.Line(len(w.Layout.Lines) - 1), Baud: 100000})
		return w.Propose()
	}
	for m, device := range map[Model]string{NoPi: "/dev/ttyAMA3", Pi4: "/dev/ttyAMA3", Pi5: "/dev/ttyAMA2"} {
		w, proposed, err := two(m)
		require.NoError(t, err)
		assert.Contains(t, proposed, "bus")
		assert.Equal(t, []int{14, 15, 4, 5}, []int{w.Pins["yaw_serial"], w.Pins["yaw_serial_request"], w.Pins["bus"], w.Pins["bus_request"]}, m)
		assert.Equal(t, device, w.Devices["bus"], m)
		var yaml, page bytes.Buffer
		WriteYAML(&yaml, &w, w.Table())
		u, ok := m.UARTAt(4)
		require.True(t, ok)
		assert.Contains(t, yaml.String(), "# at port bus: device: "+device+", pin: GPIO4; config.txt: "+u.Setting+"\n")
		WriteHeader(&page, w.Table())
		assert.Contains(t, page.String(), "bus: RX, not wired")
	}
	_, _, err := two(Pi3)
	assert.ErrorContains(t, err, "put a serial port on a USB adapter")
	_, ok := Pi3.UARTAt(12)
	assert.False(t, ok)
	u, _ := Pi5.UARTAt(14)
	assert.Equal(t, "dtparam=uart0=on", u.Setting, "enable_uart=1 does not do on a Pi 5 (raspberrypi/documentation, pull request 3294)")
}

// The serial port of the header has both its lines, whichever of them is used; a pin on
// which an adapter's wire is read back is no such port.
func TestTheOtherLineOfASerialPortIsNotFree(t *testing.T) {
	drawn := func(pin int, device string) (text, svg string) {
		w := Wires{
			Layout: signal.Layout{Lines: []signal.LineSpec{{Name: "yaw_serial", Idle: true, Role: signal.SerialData}}, Ports: []signal.PortSpec{{Name: "yaw_serial"}}},
			Pins:   map[string]int{"yaw_serial": pin}, Devices: map[string]string{"yaw_serial": device},
		}
		var page bytes.Buffer
		WriteHeader(&page, w.Table())
		return page.String(), string(HeaderSVG("", w.Table()))
	}
	const says = "yaw_serial: RX, not wired"
	text, svg := drawn(14, "/dev/ttyAMA0")
	assert.Contains(t, text, "10  GPIO15      "+says+"\n")
	assert.Contains(t, svg, says)
	text, svg = drawn(14, "/dev/ttyUSB0")
	assert.NotContains(t, text+svg, says)
	text, svg = drawn(17, "/dev/ttyAMA0")
	assert.NotContains(t, text+svg, says)
}

func TestModelsAreRecognisedByTheirChip(t *testing.T) {
	for chip, want := range map[string]Model{"brcm,bcm2837": Pi3, "brcm,bcm2711": Pi4, "brcm,bcm2712": Pi5, "brcm,bcm2835": Other} {
		assert.Equal(t, want, Identify(fstest.MapFS{"proc/device-tree/compatible": {Data: []byte("raspberrypi,model-b\x00" + chip + "\x00")}}).Model, chip)
	}
	assert.Equal(t, NoPi, Identify(fstest.MapFS{}).Model)
	assert.Equal(t, CharacterDevice, Pi5.Limits().Access)
	assert.Equal(t, No, Pi5.Limits().Motors[decode.DShot150])
	assert.Equal(t, Mapped, Pi4.Limits().Access)
}
