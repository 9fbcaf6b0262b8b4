package file_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// The file of a dynamometer lies where the stand file is, whatever the working folder; what is
// wrong with it is told at its own place.
func TestDynamometerIsLookedForWhereTheStandFileIs(t *testing.T) {
	const text = "stand: dyno\nmeasure:\n  file: {path: runs/dyno.csv, command: {column: throttle, unit: '%'}, torque: {column: torque, unit: N m}}\nheld: [{kind: locked, level_limit: 1 s, starts_locked: yes}]\n"
	var asked []string
	nowhere := errors.New("nowhere")
	for _, where := range []string{"mine/stand.yaml", "stand.yaml", "/mine/stand.yaml"} {
		_, err := file.ParseStand(language.Source{Path: where, Data: []byte(text)}, func(path string) ([]byte, error) {
			asked = append(asked, path)
			return nil, nowhere
		})
		require.ErrorContains(t, err, "nowhere")
	}
	assert.Equal(t, []string{"mine/runs/dyno.csv", "runs/dyno.csv", "/mine/runs/dyno.csv"}, asked)
}
