//go:build full

package characteristic_test

import "testing"

func TestTruthLiesInItsInterval(t *testing.T) { statistics(t, 200, 184, 1000) }
