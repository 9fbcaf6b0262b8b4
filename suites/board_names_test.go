package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEveryBoardThatIsListedIsThere(t *testing.T) {
	all := Boards()
	assert.Greater(t, len(all), 50)
	for _, name := range all {
		_, err := boardNamed(name)
		assert.NoError(t, err)
	}
}

func TestTheNearestBoardIsNamed(t *testing.T) {
	for name, want := range map[string]string{
		"built_in":                `board "built_in" is not known; use built-in`,
		"from_policy":             `board "from_policy" is not known; use from-policy`,
		"null:silnt":              `null board "silnt" is not known; use silent`,
		"built-in:yaw_sgn":        `board built-in has no fault "yaw_sgn"; use yaw_sign (hilrig faults --list says what each does)`,
		"built-in/moment:yawheld": `board built-in/moment has no fault "yawheld"; use yaw_held (hilrig faults --list says what each does)`,
		"mine":                    `board "mine" is not known; use built-in, built-in:FAULT (hilrig faults --list), built-in/moment, built-in/moment:FAULT, from-policy or null:KIND`,
	} {
		_, err := boardNamed(name)
		assert.EqualError(t, err, want)
	}
}
