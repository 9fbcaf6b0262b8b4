package live

import (
	"fmt"
	"strings"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
)

// Place is where the lines of a bench in real time are: on this machine's pins, or in a bank
// that is a file.
type Place struct {
	Model   pinout.Model     // which computer this machine is
	PinBank string           // path of the bank; empty means the pins of this machine
	Turns   *registers.Turns // as for [InMemory]
}

// Claim claims the lines of the place for a command, as [Claim] does. On a machine of which
// hilrig can drive no pin it returns nil: the command then reports what the machine lacks.
func (p Place) Claim(worker bool) (*claim.Claim, error) {
	switch {
	case p.PinBank == "" && p.Model.Limits().Access == pinout.NoAccess:
		return nil, nil
	case p.PinBank == "":
		return Claim(worker, claim.Pins)
	}
	if err := registers.MakePinBank(p.PinBank); err != nil {
		return nil, err
	}
	return Claim(worker, func() (*claim.Claim, error) { return claim.PinBank(p.PinBank) })
}

// On returns a bench on the place, and its lines for a supervisor. It is [Pinned] or [InFile].
func (p Place) On(w *Wired) (*suites.Real, supervisor.Parts, error) {
	if p.PinBank == "" {
		return Pinned(w, p.Model)
	}
	return InFile(w, p.PinBank, p.Turns)
}

// Parts returns the lines of a bench on the place, for a supervisor. Unlike [Place.On] it does not
// look whether the bench could be played there.
func (p Place) Parts(w *Wired) (supervisor.Parts, error) {
	if p.PinBank == "" {
		return PinParts(w, p.Model), nil
	}
	_, parts, err := p.On(w)
	return parts, err
}

// ParsePinBank reads what --bank says: nothing, "memory" or "memory:FILE". Path is FILE, empty where
// no file is named.
func ParsePinBank(text string) (memory bool, path string, err error) {
	kind, path, named := strings.Cut(text, ":")
	switch {
	case text == "":
		return false, "", nil
	case kind != "memory" || named && path == "":
		return false, "", fmt.Errorf("--bank %q is not known; use memory or memory:FILE, or leave it out", text)
	}
	return true, path, nil
}
