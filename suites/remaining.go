package suites

import "time"

const (
	// trusted is for how much of a run in real time the estimated lengths are believed
	// over what the cases so far took: one that was played again says little of the rest.
	trusted = 60 * time.Second
	// enoughPlayed is which share of a run in virtual time has to be over before its
	// pace tells how long the rest takes, and enoughTime how long that has to have taken.
	enoughPlayed = 0.05
	enoughTime   = time.Second
	// settled is about how many cases it takes the pace that is shown to follow
	// a changed one.
	settled = 5
)

// Remaining estimates how long a run still takes, by what its cases were estimated to take
// and the pace so far. The zero value is at the beginning of a run.
type Remaining struct {
	began time.Time
	pace  float64 // time on the clock for each second estimated, evened out; 0 before it is known
}

// At returns how long a run still takes that has come to p now. It is not known where too
// little has been played.
func (t *Remaining) At(p Progress, now time.Time) (left time.Duration, known bool) {
	if t.began.IsZero() {
		t.began = now
	}
	pace, known := paceOf(p, now.Sub(t.began))
	if !known {
		return 0, false
	}
	if t.pace == 0 {
		t.pace = pace
	}
	t.pace += (pace - t.pace) / settled
	return time.Duration(t.pace * float64(p.Left)), true
}

// paceOf returns how much time on the clock a second of what was estimated has taken.
func paceOf(p Progress, took time.Duration) (pace float64, known bool) {
	if p.RealTime {
		return max(1, float64(trusted+took)/float64(trusted+time.Duration(p.Played))), true
	}
	if took < enoughTime || float64(p.Played) < enoughPlayed*float64(p.Played+p.Left) {
		return 0, false
	}
	return float64(took) / float64(p.Played), true
}
