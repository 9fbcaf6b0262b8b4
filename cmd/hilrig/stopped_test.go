package main

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestStoppedCommandsExitWithNotShown(t *testing.T) {
	for _, test := range []struct {
		name string
		args []string
		want string // on stdout
	}{
		{"run", []string{"run", "--record", "none"}, "NOT SHOWN  the run was stopped, 0 of 34 policy keys asked, "},
		{"play", []string{"play", "steer=8deg"}, ""},
		{"faults", []string{"faults", "split"}, "NOT SHOWN  0 of 108 faults found, 6 not asked, 102 not run: the run was stopped; without a fault: built-in NOT SHOWN, built-in/moment NOT SHOWN"},
		{"null boards", []string{"faults", "--null", "split"}, "NOT SHOWN  the run was stopped; torque split does not fail on silent; "},
	} {
		t.Run(test.name, func(t *testing.T) {
			ctx, stop := context.WithCancel(t.Context())
			stop()
			var out, errs bytes.Buffer
			assert.Equal(t, exitNotShown, run(ctx, test.args, &out, &errs))
			assert.Contains(t, out.String(), test.want)
		})
	}
}
