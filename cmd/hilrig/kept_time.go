package main

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
)

// keptTime says in a line what the rig's own timing cost a suite; "" where that is
// nothing.
func keptTime(t *record.Timing) string {
	if t == nil {
		return ""
	}
	var parts []string
	if t.Uncertain > 0 {
		parts = append(parts, fmt.Sprintf("%s left out (sampler's gaps up to %s us)", count(int(t.Uncertain), "motor command"), fixed(float64(t.LongestGapNS)/1e3, 0)))
	}
	if t.LeftOut > 0 {
		parts = append(parts, fmt.Sprintf("%d readings not used by checks", t.LeftOut))
	}
	if t.Late > 0 {
		parts = append(parts, fmt.Sprintf("%s played late, up to %s us", count(int(t.Late), "edge"), fixed(float64(t.LatestNS)/1e3, 0)))
	}
	if t.Again > 0 {
		parts = append(parts, count(t.Again, "play")+" done again")
	}
	if len(parts) == 0 {
		return ""
	}
	return "rig's timing: " + strings.Join(parts, ", ")
}
