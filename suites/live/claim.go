package live

import "hilrig/rig/raspberry/claim"

// Claim claims lines for a command, by way of what claims them. A worker under a supervisor has
// its supervisor's claim already, and gets nil.
func Claim(worker bool, of func() (*claim.Claim, error)) (*claim.Claim, error) {
	if worker {
		return nil, nil
	}
	c, err := of()
	if err != nil {
		return nil, Unavailable{err}
	}
	return c, nil
}

// Release releases a claim, where there is one.
func Release(lines *claim.Claim) {
	if lines != nil {
		_ = lines.Release() // it ends with the program at the latest
	}
}
