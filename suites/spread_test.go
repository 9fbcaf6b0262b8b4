package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRoundStep(t *testing.T) {
	for _, test := range []struct {
		name    string
		x, want float64
	}{
		{"nothing", 0, 0.001}, {"one", 1, 1}, {"a little more", 1.1, 2}, {"three", 3, 5}, {"six", 6, 10}, {"small", 0.013, 0.02},
	} {
		t.Run(test.name, func(t *testing.T) { assert.InEpsilon(t, test.want, roundStep(test.x), 1e-9) })
	}
}
