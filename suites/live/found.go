package live

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/supervisor"
)

// foundName is the file in the state folder that keeps what was found on the lines until a
// record has it.
const foundName = "found"

// Tidy makes safe what an earlier run left otherwise, and notes it in the folder state. It
// returns what it found; empty where all was safe.
func Tidy(parts *supervisor.Parts, state string) (found string, err error) {
	found, err = parts.Tidy()
	if found == "" {
		return "", err
	}
	all := strings.TrimPrefix(Unrecorded(state)+"; "+found, "; ")
	noted := os.MkdirAll(state, 0o700)
	if noted == nil {
		noted = os.WriteFile(filepath.Join(state, foundName), []byte(all), 0o600)
	}
	return found, errors.Join(err, noted)
}

// Unrecorded returns what was noted and no record has yet; empty where nothing was.
func Unrecorded(state string) string {
	data, _ := os.ReadFile(filepath.Join(state, foundName)) // there is none
	return string(data)
}

// Recorded forgets what was noted in the folder state, as a record has it.
func Recorded(state string) error {
	if err := os.Remove(filepath.Join(state, foundName)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("what was found on the lines stays noted, and the next record has it too: %w", err)
	}
	return nil
}

// BehindStopped returns the error of a claim that another program has. Where that program is
// stopped, with its worker, nobody but this one can take the supply away: relay and lines are
// made safe, which found tells, and nothing is played.
func BehindStopped(denied error, state string, parts func() (supervisor.Parts, error)) (found string, err error) {
	var used *claim.InUse
	if !errors.As(denied, &used) || !standsStill(used.Process) {
		return "", denied
	}
	p, err := parts()
	if err == nil {
		found, err = Tidy(&p, state)
	}
	return found, errors.Join(fmt.Errorf("%w: it is stopped; kill -CONT %d has it end, its relay open", denied, used.Process), err)
}

// standsStill says whether a process is stopped, by a signal or by its terminal.
//
// Source: torvalds/linux, Documentation/filesystems/proc.rst, table 1-4.
func standsStill(process int) bool {
	data, _ := os.ReadFile(fmt.Sprintf("/proc/%d/stat", process)) // it may have ended
	at := strings.LastIndex(string(data), ") ")
	return at >= 0 && strings.HasPrefix(string(data[at+2:]), "T")
}
