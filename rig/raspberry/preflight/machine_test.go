package preflight

import (
	"errors"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// demoWires is a bench with a line of each group.
func demoWires() pinout.Wires {
	return pinout.Wires{
		Layout: signal.Layout{
			Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}},
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
		"proc/self/status":                                     mayAll,
		"proc/sys/kernel/version":                              "#1 SMP PREEMPT_RT Debian\n",
		"proc/sys/kernel/sched_rt_runtime_us":                  "-1\n",
		"proc/cmdline":                                         "console=tty1 root=/dev/mmcblk0p2\n",
		"sys/devices/system/cpu/isolated":                      "2-3\n",
		"sys/devices/system/cpu/cpu0/cpufreq/scaling_governor": "performance\n",
		"sys/module/pcie_aspm/parameters/policy":               "default [performance] powersave\n",
		"sys/class/hwmon/hwmon1/name":                          "rpi_volt\n",
		"sys/class/hwmon/hwmon1/in0_lcrit_alarm":               "0\n",
	} {
		f[path] = &fstest.MapFile{Data: []byte(text)}
	}
	return f
}

// grades returns the checks that came out so, in order.
func grades(found []Result, g Grade) string {
	var names []string
	for _, f := range found {
		if f.Grade == g {
			names = append(names, f.Check)
		}
	}
	return strings.Join(names, " ")
}

// sound holds results to having a remedy where one is due.
func sound(t *testing.T, found []Result) {
	t.Helper()
	for _, f := range found {
		assert.Equal(t, f.Grade == Well, f.Remedy == "", f.Check)
		assert.NotEmpty(t, f.Says, f.Check)
	}
}

const mayAll = "Uid:\t1000\t1000\nCapPrm:\t0000000000804000\nCapEff:\t0000000000804000\nCapBnd:\t000001ffffffffff\nCapAmb:\t0000000000000000\nNoNewPrivs:\t0\n"

// Each row breaks one thing of a ready machine, and that check alone finds it.
func TestReadyFindsWhatIsWrong(t *testing.T) {
	tests := []struct{ name, path, text, wrong, warning string }{
		{"all well", "proc/other", "", "", ""},
		{"no Pi", "proc/device-tree/compatible", "x86\x00", "computer pins", ""},
		{"another Pi", "proc/device-tree/compatible", "raspberrypi,4-model-b\x00brcm,bcm2711\x00", "computer", ""},
		{"root", "proc/self/status", strings.Replace(mayAll, "1000\t1000", "0\t0", 1), "user", ""},
		{"no priority", "proc/self/status", strings.Replace(mayAll, "CapEff:\t0000000000804000", "CapEff:\t0000000000004000", 1), "priority", ""},
		{"no locked memory", "proc/self/status", strings.Replace(mayAll, "CapEff:\t0000000000804000", "CapEff:\t0000000000800000", 1), "locked memory", ""},
		{"stock kernel", "proc/sys/kernel/version", "#1 SMP PREEMPT", "", "kernel"},
		{"no isolated core", "sys/devices/system/cpu/isolated", "\n", "", "cores"},
		{"governor", "sys/devices/system/cpu/cpu1/cpufreq/scaling_governor", "ondemand", "", "governor"},
		{"share", "proc/sys/kernel/sched_rt_runtime_us", "950000", "", "real-time share"},
		{"console", "proc/cmdline", "console=serial0,115200", "serial console", ""},
		{"link", "sys/module/pcie_aspm/parameters/policy", "default performance [powersave]", "", "link to the pins"},
		{"under-voltage", "sys/class/hwmon/hwmon1/in0_lcrit_alarm", "1\n", "the Pi's supply", ""},
		{"another sensor's alarm", "sys/class/hwmon/hwmon0/in0_lcrit_alarm", "1\n", "", ""},
		{"under-voltage, as the firmware says", "sys/devices/platform/soc/soc:firmware/get_throttled", "50005\n", "the Pi's supply", ""},
		{"throttled now", "sys/devices/platform/soc/soc:firmware/get_throttled", "40004\n", "", "the Pi's supply"},
		{"under-voltage since the start", "sys/devices/platform/soc/soc:firmware/get_throttled", "0x10000\n", "", "the Pi's supply"},
		{"throttled since the start", "sys/devices/platform/soc/soc:firmware/get_throttled", "80000\n", "", "the Pi's supply"},
		{"well, as the firmware says", "sys/devices/platform/soc/soc:firmware/get_throttled", "0\n", "", ""},
		{"no driver for the voltage", "sys/class/hwmon/hwmon1/name", "other\n", "", "the Pi's supply"},
		{"a kernel with a fair server", "proc/sys/kernel/osrelease", "6.12.25+rpt-rpi-2712\n", "", "fair server"},
		{"an older kernel", "proc/sys/kernel/osrelease", "6.6.51\n", "", ""},
		{"a driver on a pin", "dev/spidev0.0", "", "front_left_a", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := play("brcm,bcm2712")
			f[tt.path] = &fstest.MapFile{Data: []byte(tt.text)}
			w := demoWires()
			w.Pins = map[string]int{"front_left_a": 9}
			m := Machine{Root: f, Open: func(string) error { return nil }, Meant: pinout.Pi5, Users: nobody}
			found := m.Ready(&w)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.warning, grades(found, Warning))
		})
	}
	t.Run("a fair server that gives nothing away", func(t *testing.T) {
		for path, well := range map[string]bool{"sys/kernel/debug/sched/fair_server/cpu3/runtime": true, "run/hilrig/fair_server": true, "sys/kernel/debug/sched/fair_server/cpu2/runtime": false} {
			f := play("brcm,bcm2711")
			f["proc/sys/kernel/osrelease"] = &fstest.MapFile{Data: []byte("6.13.0\n")}
			f[path] = &fstest.MapFile{Data: []byte("0\n")}
			m := Machine{Root: f}
			found := m.fairServer()
			sound(t, found)
			assert.Equal(t, !well, grades(found, Warning) == "fair server", path)
			f[path].Data = []byte("50000000\n")
			assert.Equal(t, "fair server", grades(m.fairServer(), Warning))
		}
	})
	t.Run("nothing opens", func(t *testing.T) {
		w := demoWires()
		m := Machine{Root: play("brcm,bcm2711"), Open: func(string) error { return errors.New("no way in") }, Users: nobody}
		assert.Equal(t, "pins port yaw_serial", grades(m.Ready(&w), Wrong))
	})
	t.Run("root where it does no harm", func(t *testing.T) {
		w, f := demoWires(), play("brcm,bcm2711")
		f["proc/self/status"].Data = []byte(strings.Replace(mayAll, "1000\t1000", "0\t0", 1))
		m := Machine{Root: f, Open: func(string) error { return nil }, Users: nobody}
		assert.Equal(t, "user", grades(m.Ready(&w), Warning))
	})
}

// What the kernel lets a program do has many sources (capabilities(7), systemd.exec(5)).
func TestRightsCountWhereverTheyComeFrom(t *testing.T) {
	const none, both, all = "0000000000000000", "0000000000804000", "000001ffffffffff"
	status := func(permitted, effective, bounding, ambient, noNew string) string {
		return "CapPrm:\t" + permitted + "\nCapEff:\t" + effective + "\nCapBnd:\t" + bounding + "\nCapAmb:\t" + ambient + "\nNoNewPrivs:\t" + noNew + "\n"
	}
	const stock = "Max locked memory         8388608              8388608              bytes\nMax realtime priority     0                    0\n"
	const lifted = "Max locked memory         unlimited            unlimited            bytes\nMax realtime priority     95                   95\n"
	tests := []struct{ name, status, limits, wrong, says, remedy string }{
		{"of the file", status(both, both, all, none, "0"), stock, "", "has CAP_SYS_NICE", ""},
		{"ambient", status(both, both, all, both, "1"), stock, "", "from who started it", ""},
		{"limits alone", status(none, none, all, none, "0"), lifted, "", "its limit is 95", ""},
		{"limits too low", status(none, none, all, none, "0"), strings.ReplaceAll(strings.ReplaceAll(lifted, "95", "10"), "unlimited", "1000000000"), "priority locked memory", "lacks CAP_SYS_NICE", "setcap"},
		{"none", status(none, none, all, none, "0"), stock, "priority locked memory", "lacks CAP_SYS_NICE", "again after each copy"},
		{"not effective", status(both, none, all, none, "0"), stock, "priority locked memory", "may have it", "with the e"},
		{"bounded", status(none, none, none, none, "0"), stock, "priority locked memory", "kept from ever", "CapabilityBoundingSet"},
		{"no new ones", status(none, none, all, none, "1"), stock, "priority locked memory", "no effect", "AmbientCapabilities"},
		{"unreadable", "", "", "priority locked memory", "lacks CAP_SYS_NICE", "setcap"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := Machine{Root: fstest.MapFS{"proc/self/status": {Data: []byte(tt.status)}, "proc/self/limits": {Data: []byte(tt.limits)}}}
			found := []Result{m.right(&rightsNeeded[0]), m.right(&rightsNeeded[1])}
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Contains(t, found[0].Says, tt.says)
			assert.Contains(t, found[0].Remedy, tt.remedy)
		})
	}
}

// Where the device of a port leads, and what that means on which model.
func TestPortsAreLookedAt(t *testing.T) {
	for _, tt := range []struct {
		name, device string
		links        map[string]string
		open         error
		pin          int
		model        pinout.Model
		grade        Grade
		says, remedy string
	}{
		{"as it should be", "/dev/ttyAMA0", nil, nil, 14, pinout.Pi4, Well, "/dev/ttyAMA0 opens", ""},
		{"by its name", "/dev/serial0", map[string]string{"dev/serial0": "ttyAMA0"}, nil, 14, pinout.Pi4, Well, "/dev/serial0, which leads to /dev/ttyAMA0 opens", ""},
		{"the small one", "/dev/serial0", map[string]string{"dev/serial0": "ttyS0"}, nil, 14, pinout.Pi4, Wrong, "leads to /dev/ttyS0: it follows the clock", "dtoverlay=disable-bt"},
		{"between the displays", "/dev/serial0", map[string]string{"dev/serial0": "ttyAMA10"}, nil, 14, pinout.Pi5, Wrong, "leads to /dev/ttyAMA10: on a Pi 5", "dtparam=uart0=on"},
		{"Bluetooth's", "/dev/ttyAMA0", map[string]string{"dev/serial1": "ttyAMA0"}, nil, 14, pinout.Pi4, Wrong, "Bluetooth has it", "hciuart"},
		{"not switched on", "/dev/ttyAMA0", nil, fs.ErrNotExist, 14, pinout.Pi5, Wrong, "there is no /dev/ttyAMA0", "dtparam=uart0=on"},
		{"not switched on, older", "/dev/ttyAMA0", nil, fs.ErrNotExist, 14, pinout.Pi3, Wrong, "there is no /dev/ttyAMA0", "enable_uart=1"},
		{"the second not switched on", "/dev/ttyAMA3", nil, fs.ErrNotExist, 4, pinout.Pi4, Wrong, "there is no /dev/ttyAMA3", "dtoverlay=uart3"},
		{"a pulled adapter", "/dev/ttyUSB0", nil, fs.ErrNotExist, 0, pinout.Pi4, Wrong, "no USB adapter is at /dev/ttyUSB0", "ls -l /dev/serial/by-id"},
		{"an adapter by its name", "/dev/serial/by-id/x", map[string]string{"dev/serial/by-id/x": "../../ttyUSB0"}, nil, 0, pinout.Pi4, Well, "which leads to /dev/ttyUSB0 opens", ""},
		{"no right", "/dev/ttyAMA0", nil, fs.ErrPermission, 14, pinout.Pi4, Wrong, "this user may not open /dev/ttyAMA0", "dialout"},
		{"in use", "/dev/ttyAMA0", nil, errors.New("busy"), 14, pinout.Pi4, Wrong, "busy", "another program"},
		{"another number", "/dev/ttyAMA1", nil, nil, 14, pinout.Pi4, Warning, "the port on GPIO14 is /dev/ttyAMA0 as a rule", "comes out at the pin"},
		{"none named", "", nil, nil, 14, pinout.Pi4, Wrong, "names no device", "add device"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			root := fstest.MapFS{}
			for from, to := range tt.links {
				root[from] = &fstest.MapFile{Data: []byte(to), Mode: fs.ModeSymlink}
			}
			m := Machine{Root: root, Open: func(string) error { return tt.open }}
			f := m.device("yaw_serial", tt.device, tt.pin, tt.model)
			sound(t, []Result{f})
			assert.Equal(t, tt.grade, f.Grade)
			assert.Contains(t, f.Says, tt.says)
			assert.Contains(t, f.Remedy, tt.remedy)
		})
	}
}

// What keeps the pins from being opened is told in words of its own, each with what cures it.
func TestPinsThatDoNotOpen(t *testing.T) {
	for _, tt := range []struct {
		open         error
		says, remedy string
	}{
		{&fs.PathError{Op: "open", Path: "/dev/gpiomem", Err: fs.ErrNotExist}, "there is no /dev/gpiomem", "usual kernel"},
		{&fs.PathError{Op: "open", Path: "/dev/gpiomem", Err: fs.ErrPermission}, "this user may not open /dev/gpiomem", "usermod -aG gpio"},
		{errors.New("busy"), "busy", "let it go"},
	} {
		m := Machine{Open: func(string) error { return tt.open }}
		r := m.pins(pinout.Mapped)
		sound(t, []Result{r})
		assert.Equal(t, Wrong, r.Grade)
		assert.Equal(t, tt.says, r.Says)
		assert.Contains(t, r.Remedy, tt.remedy)
	}
}
