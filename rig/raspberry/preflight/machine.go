package preflight

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
)

// Grade is how a check of a machine or a bench came out.
type Grade uint8

// The grades.
const (
	Well    Grade = iota
	Warning       // it may do; what to expect is said
	Wrong         // nothing may be powered before it is mended
	NotTried
)

var gradeWords = [...]string{"well", "warning", "WRONG", "not tried"}

// String returns the grade's words, "well".
func (g Grade) String() string { return gradeWords[min(int(g), len(gradeWords)-1)] }

// Result is what one check of a machine or a bench came to, with the remedy where it is not well.
type Result struct {
	Check  string // "governor"
	Grade  Grade
	Says   string // what is there
	Remedy string // what to do; empty where it is well
}

// AnyWrong says whether one of the results is wrong.
func AnyWrong(found []Result) bool {
	return slices.ContainsFunc(found, func(r Result) bool { return r.Grade == Wrong })
}

// Machine is a computer that is looked at before anything is powered.
type Machine struct {
	Root fs.FS                   // holds proc, sys and dev
	Open func(path string) error // tries to open a device file for reading and writing
	// Users returns who has lines of the header, by GPIO number, those that nobody has left
	// out; its error says why that cannot be found out. nil: the kernel of this machine is asked.
	Users func(gpios []int) (map[int]string, error)
	// Meant is the computer that the bench file is written for; NoPi: any.
	Meant pinout.Model
}

// Ready checks a machine for the bench that w wires, touching no pin: which computer
// it is, what the program may do, kernel, processors, and the ports. It returns
// every check, those that are well included.
func (m *Machine) Ready(w *pinout.Wires) []Result {
	host := pinout.Identify(m.Root)
	limits := host.Model.Limits()
	says := host.Name
	switch {
	case host.Model == pinout.NoPi && says == "":
		says = "this is no Raspberry Pi"
	case host.Model == pinout.NoPi:
		says = "this is no Raspberry Pi but " + says
	}
	found := []Result{result("computer", limits.Access != pinout.NoAccess, says, "run hilrig on a Pi 3B+, 4B or 5: "+limits.Why)}
	if m.Meant != pinout.NoPi && m.Meant != host.Model && limits.Access != pinout.NoAccess {
		found[0] = result("computer", false, says+"; the bench file is written for a "+m.Meant.String(), "write computer: "+host.Model.String()+" into it and run hilrig lint, which knows the limits")
	}
	found = append(found, m.pins(limits.Access), m.root(host.Model))
	for i := range rightsNeeded {
		found = append(found, m.right(&rightsNeeded[i]))
	}
	found = append(found, m.settings(host.Model)...)
	if host.Model != pinout.NoPi {
		found = append(found, m.feed())
	}
	found = append(found, m.fairServer()...)
	found = append(found, m.console())
	for _, p := range w.Layout.Ports {
		found = append(found, m.device(p.Name, w.Devices[p.Name], w.Pins[p.Name], host.Model))
	}
	found = append(found, m.owned(w)...)
	if limits.Access == pinout.NoAccess {
		return found
	}
	return append(found, m.inUse(w)...)
}

// result returns a result that is well or wrong.
func result(check string, ok bool, says, remedy string) Result {
	return graded(check, ok, Wrong, says, remedy)
}

// warning returns a result that is well or a warning.
func warning(check string, ok bool, says, remedy string) Result {
	return graded(check, ok, Warning, says, remedy)
}

// graded returns a result that is well, or of a grade and with its remedy.
func graded(check string, ok bool, otherwise Grade, says, remedy string) Result {
	if ok {
		return Result{Check: check, Says: says}
	}
	return Result{check, otherwise, says, remedy}
}

// unknown stands for what the kernel does not say.
const unknown = "not known"

// pins tries to open what leads to the pins.
func (m *Machine) pins(access pinout.Access) Result {
	path := "/dev/gpiomem"
	if access != pinout.Mapped {
		path = "/dev/gpiochip0"
	}
	switch err := m.Open(path); {
	case err == nil:
		return result("pins", access != pinout.NoAccess, path+" opens", "none that hilrig knows")
	case errors.Is(err, fs.ErrNotExist):
		return result("pins", false, "there is no "+path, "a Pi with its usual kernel has it: start that kernel")
	case errors.Is(err, fs.ErrPermission):
		return result("pins", false, "this user may not open "+path, "sudo usermod -aG gpio,dialout $USER, then log in again")
	default:
		return result("pins", false, err.Error(), "whatever has it open has to let it go")
	}
}

// root reports a program that may do more than it needs. On a Pi 5 whatever took the
// pins for those of an older chip would write to memory.
func (m *Machine) root(model pinout.Model) Result {
	uid := m.status("Uid:")
	says := "user number " + cmp.Or(uid, unknown)
	remedy := "run it as a user in the groups gpio and dialout, with capabilities"
	if model == pinout.Pi5 {
		return result("user", uid != "0", says, remedy+"; on a Pi 5 root could write to memory that is no register")
	}
	return warning("user", uid != "0", says, remedy)
}

// status returns the first word behind a key of the program's own status.
func (m *Machine) status(key string) string { return m.behind("proc/self/status", key) }

// behind returns the first word behind a key that begins a line of a file of the kernel's, empty
// where there is none.
func (m *Machine) behind(path, key string) string {
	for line := range strings.Lines(realtime.KernelText(m.Root, path)) {
		rest, ok := strings.CutPrefix(line, key)
		if words := strings.Fields(rest); ok && len(words) > 0 {
			return words[0]
		}
	}
	return ""
}

// settings checks what the kernel says of itself.
func (m *Machine) settings(model pinout.Model) (found []Result) {
	cores := realtime.KernelText(m.Root, "sys/devices/system/cpu/isolated")
	isolated := "isolated: " + cores
	if cores == "" {
		isolated = "no isolated core"
	}
	version := realtime.KernelText(m.Root, "proc/sys/kernel/version")
	governors := m.governors()
	limit := realtime.KernelText(m.Root, "proc/sys/kernel/sched_rt_runtime_us")
	found = []Result{
		warning("kernel", strings.Contains(version, "PREEMPT_RT"), cmp.Or(version, unknown), "expect pauses of a few hundred microseconds now and then, cases played again, and some undecided; a kernel with PREEMPT_RT has fewer"),
		warning("cores", cores != "", isolated, "expect the loop to be disturbed by whatever else runs; add isolcpus=managed_irq,domain,2,3 irqaffinity=0,1 to cmdline.txt"),
		warning("governor", governors == "performance", cmp.Or(governors, unknown), "the clock may be low when a run begins: echo performance | sudo tee /sys/devices/system/cpu/cpu*/cpufreq/scaling_governor"),
		warning("real-time share", limit == "-1", cmp.Or(limit, unknown)+" us of a second, -1 is all of it", "the kernel may stop the loop for the rest of each second: sudo sysctl kernel.sched_rt_runtime_us=-1"),
	}
	if model == pinout.Pi5 {
		policy := realtime.KernelText(m.Root, "sys/module/pcie_aspm/parameters/policy")
		found = append(found, warning("link to the pins", strings.Contains(policy, "[performance]"), "power saving policy "+cmp.Or(policy, unknown), "writes may be bunched: add pcie_aspm.policy=performance to cmdline.txt"))
	}
	return found
}

// governors lists what chooses the clock of the processors, each once.
func (m *Machine) governors() string {
	paths, _ := fs.Glob(m.Root, "sys/devices/system/cpu/cpu*/cpufreq/scaling_governor")
	var words []string
	for _, p := range paths {
		words = append(words, realtime.KernelText(m.Root, p))
	}
	slices.Sort(words)
	return strings.Join(slices.Compact(words), ", ")
}

// console looks for a boot console on a serial port of the header.
func (m *Machine) console() Result {
	for word := range strings.FieldsSeq(realtime.KernelText(m.Root, "proc/cmdline")) {
		for _, device := range []string{"serial0", "ttyAMA0", "ttyS0"} {
			if word == "console="+device || strings.HasPrefix(word, "console="+device+",") {
				return result("serial console", false, word+": the kernel writes to the board", "take it out of cmdline.txt and start again")
			}
		}
	}
	return result("serial console", true, "off", "")
}

// inUse reports pins of the bench that another program or a driver of the kernel has as
// GPIO lines.
func (m *Machine) inUse(w *pinout.Wires) []Result {
	const check = "others on the pins"
	ask, uses := raspberry.Asker(m.Users), raspberry.UsesOf(w)
	if ask == nil {
		ask = raspberry.AskKernel
	}
	users, err := ask(raspberry.GpiosOf(uses))
	if err != nil {
		return []Result{{check, Warning, "could not be looked up: " + err.Error(), "a program or driver that has a pin of the bench would drive it beside hilrig unseen: see that there is none"}}
	}
	var found []Result
	for _, u := range uses {
		if user, ok := users[u.GPIO]; ok {
			found = append(found, result(u.Signal, false, raspberry.UsedBy(u.GPIO, user), raspberry.UsedRemedy))
		}
	}
	if found == nil {
		found = append(found, result(check, true, fmt.Sprintf("nobody has one of the bench's %d", len(uses)), ""))
	}
	return found
}

// owned reports pins of the bench that a driver of the kernel has for a peripheral of
// the chip, which the kernel does not count as lines in use.
func (m *Machine) owned(w *pinout.Wires) []Result {
	var found []Result
	for _, d := range []struct {
		path, name, off string
		pins            []int
	}{
		{"dev/spidev0.0", "SPI", "dtparam=spi=off", []int{7, 8, 9, 10, 11}},
		{"dev/i2c-1", "I2C", "dtparam=i2c_arm=off", []int{2, 3}},
	} {
		if _, err := fs.Stat(m.Root, d.path); err != nil {
			continue
		}
		for _, r := range w.Table() {
			if slices.Contains(d.pins, r.GPIO) {
				found = append(found, result(r.Signal, false, fmt.Sprintf("%s is taken by %s", pinout.GPIO(r.GPIO), d.name), d.off+" in config.txt"))
			}
		}
	}
	return found
}
