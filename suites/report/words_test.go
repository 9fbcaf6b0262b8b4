package report

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
)

func TestNotAskedKeepsPartsOfKeysApart(t *testing.T) {
	assert.Equal(t, []string{"not asked  the policy leaves it out: cap, reverse", "not asked  gain_lost: value  no size is asked", "not asked  shift_at: is  no size is asked"},
		NotAsked([]record.Note{{Key: "cap", Text: "the policy leaves it out"}, {Key: "gain_lost", Part: "value", Text: "no size is asked"},
			{Key: "shift_at", Part: "is", Text: "no size is asked"}, {Key: "reverse", Text: "the policy leaves it out"}}))
}

func TestTimeLeftInWords(t *testing.T) {
	for _, tt := range []struct {
		name string
		left time.Duration
		want string
	}{
		{"nothing", 0, ""},
		{"seconds", 4 * time.Second, "a few seconds left"},
		{"tens of seconds", 44 * time.Second, "about 40 s left"},
		{"under two minutes", 89 * time.Second, "about 90 s left"},
		{"minutes", 100 * time.Second, "about 2 min left"},
		{"an hour", 3600 * time.Second, "about 60 min left"},
		{"hours", 9000 * time.Second, "about 2.5 h left"},
	} {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, AboutLeft(tt.left.Seconds())) })
	}
}
