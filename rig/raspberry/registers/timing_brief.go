package registers

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Brief says in a line how well time was kept, as far as it matters for pulses of a
// millisecond.
func (k *Measurement) Brief() string {
	long := longestGapOf[decode.ServoPulse]
	return fmt.Sprintf("99.99 %% of gaps within %.3g us, %.3g a second over %.3g us, the longest %.3g ms; 99 %% of edges at most %.4g ms late, the latest %.3g ms",
		1e6*k.Gaps.Quantile(0.9999).Seconds(), k.hides(), 1e6*long.Seconds(), 1e3*k.Gaps.Most.Seconds(),
		1e3*k.Late.Quantile(0.99).Seconds(), 1e3*k.Late.Most.Seconds())
}

// BearsPulses says whether a second of it had so few gaps that can hide something of a pulse
// of a millisecond, and so few late edges, that most of what is played and read in real
// time is neither late nor uncertain: at most NeededGaps gaps of more than 200 us a second,
// and 99 % of edges at most NeededLate late.
func (k *Measurement) BearsPulses() bool {
	return k.hides() <= NeededGaps && k.Late.Quantile(0.99) <= NeededLate
}

// What BearsPulses wants: 20 gaps a second hit one in fifty pulses of a millisecond, and 50 us
// are a twentieth of such a pulse's range.
const (
	NeededGaps = 20 // a second
	NeededLate = 50 * signal.Microsecond
)

// Needed says in words what BearsPulses wants.
func Needed() string {
	return fmt.Sprintf("at most %d gaps a second over %.3g us, and 99 %% of edges at most %.3g us late", NeededGaps, 1e6*longestGapOf[decode.ServoPulse].Seconds(), 1e6*NeededLate.Seconds())
}

// hides returns how many gaps a second can hide something of a pulse.
func (k *Measurement) hides() float64 {
	if k.For <= 0 {
		return 0
	}
	return float64(k.Gaps.Above(longestGapOf[decode.ServoPulse])) / k.For.Seconds()
}

// MeasureTime measures for a second, on a bank in memory, how well this machine keeps time.
// Meanwhile Go collects no garbage.
func MeasureTime() (*Measurement, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(max(realtime.LeastProcs, runtime.NumCPU())))
	return TimingTrial{PinBank: &Memory{}, For: signal.Second, Edges: 100e3}.Run(context.Background())
}
