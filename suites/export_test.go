package suites

import "hilrig/rig/signal"

// FoldAfter has the traces of cases fold that play longer.
func (s *Setup) FoldAfter(length signal.Time) { s.foldAfter = length }
