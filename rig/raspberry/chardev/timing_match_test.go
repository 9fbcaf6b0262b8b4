package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Whatever is lost, and however late stamps are below the rest between bursts: every
// edge is in one of the counts, and none is taken for another.
func TestMatchedIsWhatBelongsTogether(t *testing.T) {
	const us = signal.Microsecond
	rapid.Check(t, func(t *rapid.T) {
		k := &JumperMeasurement{}
		m := matcher{measured: k}
		now, level := signal.Time(0), false
		sent, lost, wholeBursts, most := uint64(0), uint64(0), uint64(0), signal.Time(0)
		var waiting []stamped // not read yet
		for range rapid.IntRange(1, 20).Draw(t, "bursts") {
			n := rapid.IntRange(1, 30).Draw(t, "edges")
			whole, worst := true, signal.Time(0)
			for range n {
				took := signal.Time(rapid.IntRange(100, 5000).Draw(t, "took"))
				late := signal.Time(rapid.IntRange(0, int(150*us)).Draw(t, "late"))
				level = !level
				m.out = append(m.out, putOut{now, now + took, level})
				at := now + late
				if len(waiting) > 0 {
					at = max(at, waiting[len(waiting)-1].at) // one line's events are in order
				}
				sent++
				if rapid.IntRange(0, 99).Draw(t, "lose") == 0 {
					lost++
					whole = false
				} else {
					waiting = append(waiting, stamped{at, level})
					worst = max(worst, at-now)
				}
				now += took + 10*us
			}
			if whole {
				wholeBursts += uint64(n)
				most = max(most, worst)
			}
			now += 500 * us
			if rapid.Bool().Draw(t, "settle") {
				m.reported = append(m.reported, waiting...)
				waiting = waiting[:0]
				m.settle(now)
			}
		}
		m.reported = append(m.reported, waiting...)
		m.end()
		if k.Heard != sent-lost || k.Lost != lost || k.Extra != 0 || k.Turned != 0 {
			t.Fatalf("%d sent, %d lost: %d heard, %d lost, %d extra, %d turned", sent, lost, k.Heard, k.Lost, k.Extra, k.Turned)
		}
		if k.Stamps.Count != wholeBursts || k.Stamps.Most != most {
			t.Fatalf("%d stamps in whole bursts, up to %v late: %d, up to %v", wholeBursts, most, k.Stamps.Count, k.Stamps.Most)
		}
	})
}

func TestMatchedReportsWhatIsWrong(t *testing.T) {
	const us = signal.Microsecond
	out := []putOut{{100 * us, 101 * us, true}, {200 * us, 203 * us, false}, {900 * us, 901 * us, true}}
	tests := []struct {
		name                             string
		reported                         []stamped
		lost, extra, turned, invalidated uint64
		widths                           []signal.Time
	}{
		{"all well", []stamped{{107 * us, true}, {212 * us, false}, {905 * us, true}}, 0, 0, 0, 0, []signal.Time{4 * us, 6 * us}},
		{"one lost", []stamped{{107 * us, true}, {905 * us, true}}, 1, 0, 0, 1, nil},
		{"the direction was read too late", []stamped{{107 * us, false}, {212 * us, false}, {905 * us, true}}, 0, 0, 1, 1, nil},
		{"a glitch", []stamped{{107 * us, true}, {150 * us, false}, {151 * us, true}, {212 * us, false}, {905 * us, true}}, 0, 2, 0, 1, nil},
		{"something before all", []stamped{{10 * us, true}, {107 * us, true}, {212 * us, false}, {905 * us, true}}, 0, 1, 0, 0, []signal.Time{4 * us, 6 * us}},
		{"nothing at all", nil, 3, 0, 0, 2, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := &JumperMeasurement{}
			m := matcher{measured: k, out: append([]putOut(nil), out...), reported: tt.reported}
			m.settle(signal.Millisecond)
			m.end()
			assert.Equal(t, []uint64{tt.lost, tt.extra, tt.turned, tt.invalidated}, []uint64{k.Lost, k.Extra, k.Turned, k.Invalidated})
			assert.EqualValues(t, len(tt.reported), k.Heard)
			want := realtime.Histogram{}
			for _, w := range tt.widths {
				want.Add(w)
			}
			assert.Equal(t, want, k.Widths)
		})
	}
}
