package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/report"
)

// follow plays cases of an estimated length to a clock of its own: each takes what took
// says. It returns the time that is left as it stands after each case, in seconds.
func follow(realTime bool, cases int, length signal.Time, took func(i int) time.Duration) (shown []float64, words []string) {
	var left suites.Remaining
	now := time.Unix(0, 0)
	for i := range cases + 1 {
		p := suites.Progress{Done: i, Total: cases, RealTime: realTime, Played: signal.Time(i) * length, Left: signal.Time(cases-i) * length}
		rest, _ := left.At(p, now)
		words = append(words, report.AboutLeft(rest.Seconds()))
		shown = append(shown, rest.Seconds())
		now = now.Add(took(i))
	}
	return shown, words
}

// In real time the whole length is reported before the first case, counts down as the run
// goes, and is at most shifted by cases that take longer, each by no more than it took
// itself and what follows from that for the rest.
func TestTimeLeftInRealTime(t *testing.T) {
	const cases = 220 // of 6 s: 22 min
	_, words := follow(true, cases, 6*signal.Second, func(int) time.Duration { return 6 * time.Second })
	assert.Equal(t, "about 22 min left", words[0])
	assert.Equal(t, "about 11 min left", words[cases/2])
	assert.Equal(t, "about 60 s left", words[cases-10])
	assert.Equal(t, "a few seconds left", words[cases-1])
	assert.Equal(t, "", words[cases])

	// One in ten is played twice again: the run takes 1.2 times as long.
	shown, _ := follow(true, cases, 6*signal.Second, func(i int) time.Duration {
		if i%10 == 3 {
			return 18 * time.Second
		}
		return 6 * time.Second
	})
	for i := 1; i <= cases; i++ {
		assert.InDelta(t, shown[i-1], shown[i], 0.03*shown[0], "case %d", i)
	}
	assert.InDelta(t, 1.2*660, shown[cases/2], 0.05*660)
}

// In virtual time nothing is reported until the pace is known, and then it is reported by the
// pace and not by what is estimated.
func TestTimeLeftInVirtualTime(t *testing.T) {
	const cases = 100 // of 60 s, and 200 ms each on the clock
	shown, words := follow(false, cases, 60*signal.Second, func(i int) time.Duration {
		return time.Duration(150+100*(i%2)) * time.Millisecond
	})
	assert.Equal(t, "", words[0])
	assert.Equal(t, "", words[4])
	assert.Equal(t, "about 20 s left", words[6])
	assert.Equal(t, "about 10 s left", words[45])
	for i := 7; i <= cases; i++ {
		assert.InDelta(t, shown[i-1], shown[i], 0.05*20, "case %d", i)
	}
}

// Both a share of the run and a time on the clock have to be over before a pace is reported.
func TestPaceOfVirtualTimeIsKnownLate(t *testing.T) {
	for _, tt := range []struct {
		name  string
		part  signal.Time // of a run of 100
		took  time.Duration
		known bool
	}{
		{"too little of it", 4, time.Minute, false},
		{"too short", 50, 900 * time.Millisecond, false},
		{"enough", 5, time.Second, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var r suites.Remaining
			r.At(suites.Progress{Left: 100}, time.Unix(0, 0))
			_, known := r.At(suites.Progress{Played: tt.part, Left: 100 - tt.part}, time.Unix(0, 0).Add(tt.took))
			assert.Equal(t, tt.known, known)
		})
	}
}

// A machine that is slowed to a third in the midst of a run does not make what is shown
// jump.
func TestTimeLeftFollowsGently(t *testing.T) {
	const cases = 100
	shown, _ := follow(false, cases, 60*signal.Second, func(i int) time.Duration {
		if i >= 50 {
			return 900 * time.Millisecond
		}
		return 300 * time.Millisecond
	})
	for i := 7; i <= cases; i++ {
		assert.Less(t, shown[i], 1.05*shown[i-1], "case %d", i)
	}
	assert.Greater(t, shown[60], 1.1*40*0.3, "it is seen, though")
}
