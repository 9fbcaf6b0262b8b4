package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites/esc"
)

// on puts the setup on the bench that flags and stand file name.
func (f *escFlags) on(_ *cobra.Command, s *esc.Setup) error {
	if f.live.bank != "" || s.Stand.Kind != "simulated" {
		return fmt.Errorf("%s: a stand in real time cannot be played yet; write kind: simulated, and leave --bank out", s.Stand.Source.Path)
	}
	return nil
}
