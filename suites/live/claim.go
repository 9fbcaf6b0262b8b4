package live

import (
	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
)

// Claim claims lines for a command, by way of what claims them. A player under a supervisor has
// its supervisor's claim already, and gets nil.
func Claim(player bool, of func() (*claim.Claim, error)) (*claim.Claim, error) {
	if player {
		return nil, nil
	}
	c, err := of()
	if err != nil {
		return nil, Lacking{err}
	}
	return c, nil
}

// ClaimPins claims the pins of this machine, which is a model, for a command. Where hilrig
// can drive none of them it returns nil: the command is told what the machine lacks.
func ClaimPins(model pinout.Model, player bool) (*claim.Claim, error) {
	if model.Limits().Way == pinout.NoWay {
		return nil, nil
	}
	return Claim(player, claim.Pins)
}

// ClaimFile claims the bank in the file at path for a command.
func ClaimFile(path string, player bool) (*claim.Claim, error) {
	if err := registers.MakeBank(path); err != nil {
		return nil, err
	}
	return Claim(player, func() (*claim.Claim, error) { return claim.Bank(path) })
}

// Release releases a claim, where there is one.
func Release(lines *claim.Claim) {
	if lines != nil {
		_ = lines.Release() // it ends with the program at the latest
	}
}
