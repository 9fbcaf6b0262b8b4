//go:build !full

package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheEvenControllerIsGo(t *testing.T) { goes(t, 3) } // 100 with the tag full

func TestTruthLiesInItsInterval(t *testing.T) { // 200 with the tag full
	for _, constant := range []bool{false, true} {
		held, _ := within(t, 3, constant)
		assert.GreaterOrEqual(t, held, 2)
	}
}
