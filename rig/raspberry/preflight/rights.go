package preflight

import (
	"fmt"
	"strconv"

	"hilrig/rig/raspberry/realtime"
)

// right is something that the kernel grants to a capability, or to anybody within a
// limit.
type right struct {
	check, capability string
	bit               uint   // of the capability (linux/capability.h)
	limit             string // its row in /proc/self/limits
	enough            int64  // the limit that does without the capability; -1: none but unlimited
}

// Memory that Go asks for later has to fit the limit too, or the program dies: no
// limit but none is safe.
var rightsNeeded = []right{
	{"priority", "CAP_SYS_NICE", 23, "Max realtime priority", realtime.LoopPriority},
	{"locked memory", "CAP_IPC_LOCK", 14, "Max locked memory", -1},
}

// right checks something that the program may do. What counts is what it has at this moment,
// wherever that came from: the file's capabilities, ambient ones of a unit file, or a
// limit. Whether the kernel grants it in the end, the timing run shows.
func (m *Machine) right(r *right) Result {
	has := func(set string) bool {
		bits, err := strconv.ParseUint(m.status(set), 16, 64)
		return err == nil && bits>>r.bit&1 == 1
	}
	limit := m.behind("proc/self/limits", r.limit+" ")
	most, err := strconv.ParseInt(limit, 10, 64)
	switch {
	case has("CapEff:") && has("CapAmb:"):
		return result(r.check, true, "has "+r.capability+", from who started it", "")
	case has("CapEff:"):
		return result(r.check, true, "has "+r.capability, "")
	case limit == "unlimited" || r.enough >= 0 && err == nil && most >= r.enough:
		return result(r.check, true, fmt.Sprintf("lacks %s, but its limit is %s", r.capability, limit), "")
	}
	says := "lacks " + r.capability
	switch {
	case has("CapPrm:"):
		return result(r.check, false, says+", though it may have it", "sudo setcap cap_sys_nice,cap_ipc_lock+ep hilrig, with the e")
	case m.status("CapBnd:") != "" && !has("CapBnd:"):
		return result(r.check, false, says+", and is kept from ever having it", "start it outside the container, or add it to CapabilityBoundingSet= of the unit file")
	case m.status("NoNewPrivs:") == "1":
		return result(r.check, false, says+": capabilities of the file have no effect here", "AmbientCapabilities=CAP_SYS_NICE CAP_IPC_LOCK in the unit file, or NoNewPrivileges=no")
	}
	return result(r.check, false, says, "sudo setcap cap_sys_nice,cap_ipc_lock+ep hilrig, again after each copy; or AmbientCapabilities=CAP_SYS_NICE CAP_IPC_LOCK in its unit file")
}
