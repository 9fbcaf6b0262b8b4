package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestBar(t *testing.T) {
	for _, test := range []struct {
		name  string
		marks float64
		want  string
	}{
		{"none", 0, "          |"},
		{"under half a mark", -0.4, "          |"},
		{"lowered", -3, "       ###|"},
		{"raised", 2.6, "          |###"},
		{"beyond its end", 40, "          |##########"},
		{"beyond its other end", -40, "##########|"},
	} {
		t.Run(test.name, func(t *testing.T) { assert.Equal(t, test.want, Bar(test.marks, 1)) })
	}
}

func TestASingleCountHasABarBesideMany(t *testing.T) {
	assert.Empty(t, LogBar(0, 1000))
	assert.Equal(t, "#", LogBar(1, 1e9))
	assert.Len(t, LogBar(1e9, 1e9), logBarMost)
	assert.Len(t, LogBar(1e6, 1e9), 22)
	assert.Equal(t, "#", LogBar(1, 1))
}
