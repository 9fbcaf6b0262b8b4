//go:build !full

package characteristic_test

import "testing"

func TestTruthLiesInItsInterval(t *testing.T) { statistics(t, 100, 90, 300) } // 184 of 200 with the tag full; of 95.45 in 100, chance takes 5
