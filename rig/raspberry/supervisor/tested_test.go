package supervisor

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
)

func TestTestedHoldsForThePinsAndUntilTheNextStart(t *testing.T) {
	pins := Pins{Stop: 17, Relay: 22, Heartbeat: 27}
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	for _, test := range []struct {
		name   string
		noted  []interlock.Parts
		asked  Pins
		reboot bool
		want   interlock.Parts
	}{
		{"nothing noted", nil, pins, false, interlock.Parts{}},
		{"all", []interlock.Parts{all}, pins, false, all},
		{"one", []interlock.Parts{{Relay: true}}, pins, false, interlock.Parts{Relay: true}},
		{"failed the second time", []interlock.Parts{all, {Stop: true, Relay: true}}, pins, false, interlock.Parts{Stop: true, Relay: true}},
		{"another pin", []interlock.Parts{all}, Pins{Stop: 17, Relay: 23, Heartbeat: 27}, false, interlock.Parts{Stop: true, Heartbeat: true}},
		{"not wired", []interlock.Parts{{Stop: true}}, Pins{Stop: 17}, false, interlock.Parts{Stop: true}},
		{"before the last start", []interlock.Parts{all}, pins, true, interlock.Parts{}},
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

func TestTheRotationHoldsForTheWiringAndUntilTheInterlockIsTestedAnew(t *testing.T) {
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	pins := Pins{Stop: 17, Relay: 22, Heartbeat: 27}
	for _, test := range []struct {
		name  string
		after func(t *testing.T, state, boot string) error // what happened since it was seen with wiring "a"
		asked string
		want  bool
	}{
		{"seen", nil, "a", true},
		{"another wiring", nil, "b", false},
		{"no wiring", func(_ *testing.T, state, _ string) error { return NoteRotation(state, "", true) }, "", false},
		{"seen wrong later", func(_ *testing.T, state, _ string) error { return NoteRotation(state, "a", false) }, "a", false},
		{"seen with another wiring later", func(_ *testing.T, state, _ string) error { return NoteRotation(state, "b", true) }, "a", false},
		{"the interlock tested anew", func(_ *testing.T, state, _ string) error { return NoteTested(state, pins, all) }, "a", false},
		{"started anew", func(_ *testing.T, _, boot string) error { return os.WriteFile(boot, []byte("two\n"), 0o600) }, "a", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			state := t.TempDir()
			bootPath = filepath.Join(t.TempDir(), "boot_id")
			t.Cleanup(func() { bootPath = "/proc/sys/kernel/random/boot_id" })
			require.NoError(t, os.WriteFile(bootPath, []byte("one\n"), 0o600))
			require.NoError(t, NoteTested(state, pins, all))
			require.NoError(t, NoteRotation(state, "a", true))
			parts, err := Tested(state, pins)
			require.NoError(t, err)
			assert.Equal(t, all, parts, "the interlock's note stays")
			if test.after != nil {
				require.NoError(t, test.after(t, state, bootPath))
			}
			got, err := Rotation(state, test.asked)
			require.NoError(t, err)
			assert.Equal(t, test.want, got)
		})
	}
}

func TestTestedReportsWhatItCannotRead(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, stampName), []byte("{"), 0o600))
	got, err := Tested(folder, Pins{Stop: 17})
	require.ErrorContains(t, err, "delete it and test anew")
	assert.Zero(t, got)
	right, err := Rotation(folder, "a")
	require.ErrorContains(t, err, "delete it and test anew")
	assert.False(t, right)
	require.Error(t, NoteRotation(folder, "a", true))
	bootPath = filepath.Join(folder, "none")
	defer func() { bootPath = "/proc/sys/kernel/random/boot_id" }()
	got, err = Tested(folder, Pins{Stop: 17})
	require.ErrorContains(t, err, "which start of the machine this is")
	assert.Zero(t, got)
	require.Error(t, NoteTested(folder, Pins{}, interlock.Parts{}))
}
