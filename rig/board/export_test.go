package board

import "hilrig/rig/signal"

// Age lets the board's counters have run for longer.
func (b *BuiltIn) Age(by signal.Time) { b.inTime.powered -= by }
