package process

import (
	"os/exec"
	"syscall"
)

// inGroup has the command start in a process group of its own, with which its children are found.
func inGroup(c *exec.Cmd) {
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
}

// killGroup kills what is left of a command and its children.
func killGroup(c *exec.Cmd) { _ = syscall.Kill(-c.Process.Pid, syscall.SIGKILL) } // none is left: well
