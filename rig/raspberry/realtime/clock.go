package realtime

import (
	"slices"
	"sort"

	"hilrig/rig/signal"
)

// Clock tells the time and lets it pass.
type Clock interface {
	// Now returns the time since an origin of the clock's own. It never goes back.
	Now() signal.Time
	// SleepUntil lets time pass until t. It returns at once where t is past, and may
	// return early, so that a caller that has to be sure looks at the clock again.
	SleepUntil(t signal.Time)
}

// Never is later than every time.
const Never = signal.Time(1<<63 - 1)

// Manual is a clock whose time passes only in SleepUntil. What is to happen meanwhile is
// scheduled by At. It is used by one goroutine.
type Manual struct {
	now     signal.Time
	pending []event // the next one first
}

// ByHand says that the clock is brought forward by hand.
func (m *Manual) ByHand() {}

// ByHand says whether a clock's time passes only while somebody sleeps on it.
func ByHand(c Clock) bool {
	_, yes := c.(interface{ ByHand() })
	return yes
}

// Now returns the time to which the clock has been brought.
func (m *Manual) Now() signal.Time { return m.now }

// SleepUntil brings the time to t. On the way it calls whatever is scheduled up to and
// including t, in order of time, then of the calls of At, each with Now at its time. What is
// called may schedule more, and must not sleep.
func (m *Manual) SleepUntil(t signal.Time) {
	for len(m.pending) > 0 && m.pending[0].at <= t {
		e := m.pending[0]
		m.pending = slices.Delete(m.pending, 0, 1)
		m.now = max(m.now, e.at)
		e.do()
	}
	m.now = max(m.now, t)
}

// At schedules a call for the time t. One of the past is called as soon as time passes.
func (m *Manual) At(t signal.Time, do func()) {
	behind := sort.Search(len(m.pending), func(i int) bool { return m.pending[i].at > t })
	m.pending = slices.Insert(m.pending, behind, event{at: t, do: do})
}

// event is a call that is scheduled.
type event struct {
	at signal.Time
	do func()
}
