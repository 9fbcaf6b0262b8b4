package main

import (
	"bytes"
	"context"
	"path/filepath"
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
		{"faults", []string{"faults", "split"}, "\ninterrupted after 0 of 108 faults; what suites find of the rest is not known\n\nNOT SHOWN  0 of 108 faults found, 108 not run: the run was stopped; without a fault: built-in NOT SHOWN, built-in/moment NOT SHOWN"},
		{"null boards", []string{"faults", "--null", "split"}, "\ninterrupted after 0 of 4 (each suite on each board); what the rest would come to is not known\n\nNOT SHOWN  the run was stopped\n"},
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

// Where a document or a file was asked for, the line that says so stands beside it.
func TestWhatAStoppedCampaignLeavesWhole(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	var out, errs bytes.Buffer
	assert.Equal(t, exitNotShown, run(ctx, []string{"faults", "--json", "split"}, &out, &errs))
	assert.Contains(t, out.String(), `"verdict": "not run"`)
	assert.Contains(t, errs.String(), "interrupted after 0 of 108 faults; ")
	kept := filepath.Join(t.TempDir(), "table.jsonl")
	out.Reset()
	errs.Reset()
	assert.Equal(t, exitNotShown, run(ctx, []string{"faults", "--table", kept, "split"}, &out, &errs))
	assert.Empty(t, out.String())
	assert.Equal(t, "interrupted; a table has each fault or would say that nothing fails with it, so that none was written\n", errs.String())
	assert.NoFileExists(t, kept)
}
