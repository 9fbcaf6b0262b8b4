//go:build !full

package characteristic_test

import "testing"

func TestTruthLiesInItsInterval(t *testing.T) { statistics(t, 100, 300) } // 200 with the tag full
