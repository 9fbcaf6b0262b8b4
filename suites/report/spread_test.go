package report

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

func TestRows(t *testing.T) {
	assert.Equal(t, []string{
		"      1.0 ms |##### 1",
		"      2.0 ms |########## 2",
		"      3.0 ms |",
		"      4.0 ms |##### 1",
	}, Rows([]float64{0.0011, 0.0021, 0.0029, 0.0049}, 4, 10))
	assert.Len(t, Rows([]float64{0.003, 0.003}, 12, 10), 1, "all the same")
	assert.Empty(t, Rows(nil, 12, 10))
}
