package guard

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
)

func TestTestedHoldsForThePinsAndUntilTheNextStart(t *testing.T) {
	pins := Pins{Stop: 17, Relay: 22, Heartbeat: 27}
	all := rig.InterlockParts{Stop: true, Relay: true, Heartbeat: true}
	for _, test := range []struct {
		name   string
		noted  []rig.InterlockParts
		asked  Pins
		reboot bool
		want   rig.InterlockParts
	}{
		{"nothing noted", nil, pins, false, rig.InterlockParts{}},
		{"all", []rig.InterlockParts{all}, pins, false, all},
		{"one", []rig.InterlockParts{{Relay: true}}, pins, false, rig.InterlockParts{Relay: true}},
		{"failed the second time", []rig.InterlockParts{all, {Stop: true, Relay: true}}, pins, false, rig.InterlockParts{Stop: true, Relay: true}},
		{"another pin", []rig.InterlockParts{all}, Pins{Stop: 17, Relay: 23, Heartbeat: 27}, false, rig.InterlockParts{Stop: true, Heartbeat: true}},
		{"not wired", []rig.InterlockParts{{Stop: true}}, Pins{Stop: 17}, false, rig.InterlockParts{Stop: true}},
		{"before the last start", []rig.InterlockParts{all}, pins, true, rig.InterlockParts{}},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder := t.TempDir()
			state := filepath.Join(folder, "state", "hilrig")
			bootPath = filepath.Join(folder, "boot_id")
			t.Cleanup(func() { bootPath = "/proc/sys/kernel/random/boot_id" })
			require.NoError(t, os.WriteFile(bootPath, []byte("one\n"), 0o600))
			for _, passed := range test.noted {
				require.NoError(t, NoteTested(state, pins, passed))
			}
			if test.reboot {
				require.NoError(t, os.WriteFile(bootPath, []byte("two\n"), 0o600))
			}
			got, err := Tested(state, test.asked)
			require.NoError(t, err)
			assert.Equal(t, test.want, got)
		})
	}
}

func TestTestedTellsWhatItCannotRead(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, stampName), []byte("{"), 0o600))
	got, err := Tested(folder, Pins{Stop: 17})
	require.ErrorContains(t, err, "delete it and test anew")
	assert.Zero(t, got)
	bootPath = filepath.Join(folder, "none")
	defer func() { bootPath = "/proc/sys/kernel/random/boot_id" }()
	got, err = Tested(folder, Pins{Stop: 17})
	require.ErrorContains(t, err, "which start of the machine this is")
	assert.Zero(t, got)
	require.Error(t, NoteTested(folder, Pins{}, rig.InterlockParts{}))
}
