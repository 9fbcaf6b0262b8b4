package raspberry

import (
	"errors"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/raspberry/header"
	"hilrig/rig/signal"
)

// demoWires is a bench with a line of each group.
func demoWires() header.Wires {
	return header.Wires{
		Layout: signal.Layout{
			Lines: []signal.LineSpec{{Name: "steer"}, {Name: "front_left_a"}, {Name: "yaw_serial", Idle: true}, {Name: "motor_front_left", Direction: signal.Capture}},
			Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 2, Baud: 115200, Inverted: true}},
		},
		Devices: map[string]string{"yaw_serial": "/dev/ttyAMA0"},
		Reset:   "line",
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
