package raspberry

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
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
			Lines: []signal.LineSpec{{Name: "steer"}, {Name: "front_left_a"}, {Name: "yaw_serial", Idle: true}, {Name: "motor_front_left", Direction: signal.Capture}},
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
	for _, h := range Header {
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
	assert.Len(t, proposed, 7)
	used := map[int]bool{}
	for _, r := range w.Table() {
		assert.NotZero(t, r.Position, r.Signal)
		assert.False(t, used[r.GPIO], "%s is on a pin used twice", r.Signal)
		used[r.GPIO] = true
		if r.Group == Receiver || r.Group == Interlock {
			assert.False(t, PulledUp(r.GPIO), r.Signal)
		}
		assert.Equal(t, r.Group == Serial, r.Inverter, r.Signal)
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
	}
}

// play returns the files of a Pi with that chip, ready for a bench.
func play(chip string) fstest.MapFS {
	f := fstest.MapFS{}
	for path, text := range map[string]string{
		"proc/device-tree/model":                               "Raspberry Pi Rev 1.4\x00",
		"proc/device-tree/compatible":                          "raspberrypi,model-b\x00" + chip + "\x00",
		"proc/self/status":                                     "Name:\thilrig\nUid:\t1000\t1000\nCapEff:\t0000000000804000\n",
		"proc/sys/kernel/version":                              "#1 SMP PREEMPT_RT Debian\n",
		"proc/sys/kernel/sched_rt_runtime_us":                  "-1\n",
		"proc/cmdline":                                         "console=tty1 root=/dev/mmcblk0p2\n",
		"sys/devices/system/cpu/isolated":                      "2-3\n",
		"sys/devices/system/cpu/cpu0/cpufreq/scaling_governor": "performance\n",
		"sys/module/pcie_aspm/parameters/policy":               "default [performance] powersave\n",
	} {
		f[path] = &fstest.MapFile{Data: []byte(text)}
	}
	return f
}

func TestModelsAreToldByTheirChip(t *testing.T) {
	for chip, want := range map[string]Model{"brcm,bcm2837": Pi3, "brcm,bcm2711": Pi4, "brcm,bcm2712": Pi5, "brcm,bcm2835": Other} {
		assert.Equal(t, want, Identify(play(chip)).Model, chip)
	}
	assert.Equal(t, NoPi, Identify(fstest.MapFS{}).Model)
	assert.Equal(t, CharacterDevice, Pi5.Limits().Way)
	assert.Equal(t, No, Pi5.Limits().Motors[decode.DShot150])
	assert.Equal(t, Mapped, Pi4.Limits().Way)
}

// Each row breaks one thing of a ready machine, and that check alone finds it.
func TestReadyFindsWhatIsWrong(t *testing.T) {
	tests := []struct{ name, path, text, check string }{
		{"all well", "proc/other", "", ""},
		{"no Pi", "proc/device-tree/compatible", "x86\x00", "computer pins"},
		{"root", "proc/self/status", "Uid:\t0\t0\nCapEff:\t0000000000804000\n", "user"},
		{"no priority", "proc/self/status", "Uid:\t1\t1\nCapEff:\t0000000000004000\n", "priority"},
		{"no locked memory", "proc/self/status", "Uid:\t1\t1\nCapEff:\t0000000000800000\n", "locked memory"},
		{"kernel", "proc/sys/kernel/version", "#1 SMP PREEMPT", "kernel"},
		{"cores", "sys/devices/system/cpu/isolated", "\n", "cores"},
		{"governor", "sys/devices/system/cpu/cpu1/cpufreq/scaling_governor", "ondemand", "governor"},
		{"share", "proc/sys/kernel/sched_rt_runtime_us", "950000", "real-time share"},
		{"console", "proc/cmdline", "console=serial0,115200", "serial console"},
		{"link", "sys/module/pcie_aspm/parameters/policy", "default performance [powersave]", "link to the pins"},
		{"a driver on a pin", "dev/spidev0.0", "", "front_left_a"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := play("brcm,bcm2712")
			f[tt.path] = &fstest.MapFile{Data: []byte(tt.text)}
			w := demoWires()
			w.Pins = map[string]int{"front_left_a": 9}
			m := Machine{Root: f, Open: func(string) error { return nil }}
			wrong := ""
			for _, x := range m.Ready(&w) {
				assert.Equal(t, x.OK, x.Cure == "", x.Check)
				if !x.OK {
					wrong += " " + x.Check
				}
			}
			if wrong != "" {
				wrong = wrong[1:]
			}
			assert.Equal(t, tt.check, wrong)
		})
	}
	t.Run("nothing opens", func(t *testing.T) {
		w := demoWires()
		m := Machine{Root: play("brcm,bcm2711"), Open: func(string) error { return errors.New("no way in") }}
		wrong := 0
		for _, x := range m.Ready(&w) {
			if !x.OK {
				wrong++
			}
		}
		assert.Equal(t, 2, wrong, "pins and port")
	})
}
