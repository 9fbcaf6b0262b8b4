//go:build full

package suites_test

import "testing"

func TestStandardSuitesInRealTime(t *testing.T) {
	fitForRealTime(t)
	for _, name := range []string{"split", "timing"} {
		t.Run(name, func(t *testing.T) { holdRealTime(t, bramble("built-in", name), "") })
	}
}
