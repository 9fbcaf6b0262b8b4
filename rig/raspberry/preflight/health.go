package preflight

import (
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"hilrig/rig/raspberry/realtime"
)

// The bits of what the firmware says of its supply and clock, now, and sixteen higher since the
// start (raspberrypi/firmware, documented with vcgencmd get_throttled; raspberrypi/linux,
// pull request 2397, for the file).
const (
	underVoltage = 1 << iota
	capped
	throttled
	warm
	sinceStart = 16
)

// feed looks whether the Pi itself has the voltage that it needs, and its clock: by the kernel's
// driver for the voltage, rpi_volt, and by what the firmware says.
func (m *Machine) feed() Result {
	const check, thicker = "the Pi's supply", "use the supply made for this Pi, a shorter and thicker lead, and a hub of its own for what is on USB; then start it anew"
	known := false
	for _, path := range must(fs.Glob(m.Root, "sys/class/hwmon/hwmon*/in0_lcrit_alarm")) {
		if realtime.KernelText(m.Root, strings.TrimSuffix(path, "in0_lcrit_alarm")+"name") != "rpi_volt" {
			continue
		}
		if known = true; realtime.KernelText(m.Root, path) == "1" {
			return result(check, false, "under-voltage: less than about 4.6 V", thicker)
		}
	}
	said := ""
	for _, pattern := range []string{"sys/devices/platform/*firmware/get_throttled", "sys/devices/platform/*/*firmware/get_throttled"} {
		for _, path := range must(fs.Glob(m.Root, pattern)) {
			said = realtime.KernelText(m.Root, path)
		}
	}
	bits, err := strconv.ParseUint(strings.TrimPrefix(said, "0x"), 16, 32)
	known = known || err == nil
	switch before := bits >> sinceStart; {
	case bits&underVoltage != 0:
		return result(check, false, "under-voltage: less than about 4.6 V", thicker)
	case bits&(capped|throttled|warm) != 0:
		return warning(check, false, "the clock is slowed down, for heat or voltage", "a heat sink or a fan; else expect pauses and late edges")
	case before&underVoltage != 0:
		return warning(check, false, "there was under-voltage since the start", thicker)
	case before&(capped|throttled|warm) != 0:
		return warning(check, false, "the clock was slowed down since the start", "a heat sink or a fan; it will be again under load")
	case !known:
		return warning(check, false, unknown, "where the kernel has no driver for it: vcgencmd get_throttled says 0x0 on a Pi that is well")
	}
	return result(check, true, "voltage and clock are well, and were since the start", "")
}

// must returns what a pattern found, which is one.
func must(paths []string, err error) []string {
	if err != nil {
		panic(err)
	}
	return paths
}

// The fair server came with Linux 6.12: it gives other programs up to 50 ms of each second of every
// processor, also where the share of real-time programs is the whole (torvalds/linux, commit 63ba8422f876
// and those behind it; ni/meta-nilrt, pull request 864).
const fairSince = 6*1000 + 12

// fairNote is where the unit that runs at start leaves what it read back, as a user may not look.
const fairNote = "run/hilrig/fair_server"

// fairServer looks whether the kernel takes the loop's processor away for other programs.
func (m *Machine) fairServer() (found []Result) {
	const check = "fair server"
	var major, minor int
	release := realtime.KernelText(m.Root, "proc/sys/kernel/osrelease")
	if _, err := fmt.Sscanf(release, "%d.%d", &major, &minor); err != nil || major*1000+minor < fairSince {
		return nil
	}
	loop := realtime.DefaultScheduling(m.Root)
	if loop.CPU == 0 {
		return nil
	}
	file := fmt.Sprintf("sys/kernel/debug/sched/fair_server/cpu%d/runtime", loop.CPU-1)
	says := realtime.KernelText(m.Root, file)
	if says == "" {
		says = realtime.KernelText(m.Root, fairNote)
	}
	remedy := "echo 0 | sudo tee /" + file + ", at each start: the unit in rig/raspberry/README.md does so"
	switch says {
	case "0":
		return []Result{result(check, true, fmt.Sprintf("gives nothing of processor %d away", loop.CPU-1), "")}
	case "":
		return []Result{warning(check, false, unknown+" on Linux "+release+", which may give 50 ms of each second of the loop's processor away", remedy)}
	}
	return []Result{warning(check, false, fmt.Sprintf("gives %s ns of each second of processor %d to other programs", says, loop.CPU-1), remedy)}
}
