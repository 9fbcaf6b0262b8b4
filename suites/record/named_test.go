package record

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A record is found by what hilrig records shows of it, and by where it lies.
func TestARecordIsFoundByFolderNameOrLabel(t *testing.T) {
	home := t.TempDir()
	_, err := Named("", home)
	require.EqualError(t, err, "no record in "+home+"; hilrig run keeps one")
	early := shelved(t, home, began, true)
	late := shelved(t, home, began.Add(time.Hour), true)
	for name, folder := range map[string]string{
		"": late, early: early, filepath.Base(early): early, "split 2": late, home: home,
	} {
		found, err := Named(name, home)
		require.NoError(t, err, name)
		assert.Equal(t, folder, found, name)
	}
	nowhere := "there is no folder %s, and in " + home + " no record of that name or label; "
	for name, says := range map[string]string{
		"spilt 2":                nowhere + "use split 2",
		"mine":                   nowhere + "hilrig records lists what is kept",
		filepath.Join("no", "x"): "there is no folder %s; hilrig records lists what is kept",
	} {
		_, err := Named(name, home)
		assert.EqualError(t, err, fmt.Sprintf(says, name))
	}
}
