package supervisor

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
)

// Pins are the lines of an interlock.
type Pins struct {
	Stop      int `json:"stop"`      // input; high while the stop contact is closed
	Relay     int `json:"relay"`     // output; high closes the relay of the motors' supply
	Heartbeat int `json:"heartbeat"` // output; its edges keep the dead-man relay closed
	// Supply is an input, high while the motors' supply is on behind what opens it.
	Supply int `json:"supply,omitempty"`
}

// own are those that the supervisor has, as it reports their levels.
func (p Pins) own() [4]int { return [4]int{p.Stop, p.Relay, p.Heartbeat, p.Supply} }

// Wired says which parts there are.
func (p Pins) Wired() interlock.Parts {
	return interlock.Parts{Stop: p.Stop != 0, Relay: p.Relay != 0, Heartbeat: p.Heartbeat != 0}
}

// stampName is the file in the state folder that notes a test.
const stampName = "interlock.json"

// stamp is what a test leaves behind.
type stamp struct {
	Boot   string `json:"boot"`   // the start of the machine that it belongs to
	Passed Pins   `json:"passed"` // the lines of the parts that passed; 0: did not
	// Rotation is the wiring with which each motor was seen to turn the right way; empty:
	// none.
	Rotation string `json:"rotation,omitempty"`
	// Fell is the longest time that the motors' supply took to go once the relay had opened, as
	// it was seen; 0: never.
	Fell signal.Time `json:"fell_ns,omitempty"`
}

// bootPath is a file of the kernel's that changes with each start
// (torvalds/linux, Documentation/admin-guide/sysctl/kernel.rst).
var bootPath = "/proc/sys/kernel/random/boot_id"

func bootID() (string, error) {
	data, err := os.ReadFile(bootPath)
	if err != nil {
		return "", fmt.Errorf("interlock: which start of the machine this is: %w", err)
	}
	return strings.TrimSpace(string(data)), nil
}

// NoteTested notes in the user's state folder that parts of an interlock on these pins
// were tested just now. What passed replaces what was noted before: a part that does
// not pass any more is not tested, and the motors are to be seen turning once more.
func NoteTested(stateDir string, pins Pins, passed interlock.Parts) error {
	boot, err := bootID()
	if err != nil {
		return err
	}
	of := func(pin int, passed bool) int {
		if passed {
			return pin
		}
		return 0
	}
	s := stamp{Boot: boot, Passed: Pins{of(pins.Stop, passed.Stop), of(pins.Relay, passed.Relay), of(pins.Heartbeat, passed.Heartbeat), of(pins.Supply, passed.Relay)}}
	return s.writeStamp(stateDir)
}

// writeStamp writes the stamp.
func (s *stamp) writeStamp(stateDir string) error {
	data, err := json.Marshal(s)
	if err == nil {
		err = os.MkdirAll(stateDir, 0o700)
	}
	path := filepath.Join(stateDir, stampName)
	if err == nil {
		err = os.WriteFile(path+".part", append(data, '\n'), 0o600)
	}
	if err == nil {
		err = os.Rename(path+".part", path)
	}
	if err != nil {
		return fmt.Errorf("interlock: the test is not noted: %w", err)
	}
	return nil
}

// readStamp reads the stamp of this start of the machine. Where nothing is noted it is one
// on which nothing has passed.
func readStamp(stateDir string) (stamp, error) {
	boot, err := bootID()
	if err != nil {
		return stamp{}, err
	}
	none := stamp{Boot: boot}
	path := filepath.Join(stateDir, stampName)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return none, nil
	}
	if err != nil {
		return stamp{}, fmt.Errorf("interlock: what was tested: %w", err)
	}
	var s stamp
	if err := json.Unmarshal(data, &s); err != nil {
		return stamp{}, fmt.Errorf("interlock: %s: %w; delete it and test anew", path, err)
	}
	if s.Boot != boot {
		return none, nil
	}
	return s, nil
}

// Tested returns which parts of an interlock on these pins have passed their test since
// the machine was started. Where nothing is noted none has.
func Tested(stateDir string, pins Pins) (interlock.Parts, error) {
	s, err := readStamp(stateDir)
	if err != nil {
		return interlock.Parts{}, err
	}
	same := func(passed, pin int) bool { return pin != 0 && passed == pin }
	return interlock.Parts{
		Stop:      same(s.Passed.Stop, pins.Stop),
		Relay:     same(s.Passed.Relay, pins.Relay) && s.Passed.Supply == pins.Supply, // tried together
		Heartbeat: same(s.Passed.Heartbeat, pins.Heartbeat),
	}, nil
}

// NoteRotation notes whether each motor was seen to turn the right way just now, with
// this wiring: words of the caller's that change when the motors' wires do, not empty.
// It replaces what was noted before.
func NoteRotation(stateDir, wiring string, right bool) error {
	s, err := readStamp(stateDir)
	if err != nil {
		return err
	}
	if s.Rotation = ""; right {
		s.Rotation = wiring
	}
	return s.writeStamp(stateDir)
}

// Rotation says whether each motor was seen to turn the right way with this wiring since
// the machine was started and the interlock was last tested.
func Rotation(stateDir, wiring string) (bool, error) {
	s, err := readStamp(stateDir)
	return err == nil && s.Rotation == wiring && wiring != "", err
}

// NoteFall notes how long the motors' supply took to go; the longest since the interlock was
// last tested stays.
func NoteFall(stateDir string, fell signal.Time) error {
	s, err := readStamp(stateDir)
	if err != nil || fell <= s.Fell {
		return err
	}
	s.Fell = fell
	return s.writeStamp(stateDir)
}

// Fell returns the longest time that the motors' supply took to go since the interlock was last
// tested, 0 where it was not seen to.
func Fell(stateDir string) (signal.Time, error) {
	s, err := readStamp(stateDir)
	return s.Fell, err
}
