package search

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant/portable"
	"hilrig/suites"
	"hilrig/suites/language"
)

// Of each kind of drive that is drawn some show the mistake that it is drawn for, and none shows anything in a healthy board.
func TestKindsOfDrivesShowWhatTheyAreDrawnFor(t *testing.T) {
	branch := func(d *drive) bool {
		return d.point != nil && (d.point.of == "understeer" || d.point.of == "oversteer")
	}
	tests := []struct {
		board, fault string
		kind         func(d *drive) bool
	}{
		{"built-in", "short_pulse_believed", func(d *drive) bool {
			return d.loss != nil && strings.Contains(d.loss.fault, "steer, is: bad_pulse, width: 300 us")
		}},
		{"built-in", "yaw_zeroed_driving", func(d *drive) bool { return d.straight != 0 && d.point.of == "on_demand" }},
		{"built-in", "speed_clipped", func(d *drive) bool {
			return d.point != nil && d.point.of == "oversteer" && d.pieces[0].values[speed].to > 14
		}},
		{"built-in/moment", "calibration_skipped", func(d *drive) bool { return d.point != nil && d.point.of == "start_at_rest" }},
		{"built-in/moment", "gap_in_power", func(d *drive) bool {
			return branch(d) && d.pieces[0].values[speed].to > 5.5 && d.pieces[0].values[throttle].to > 65
		}},
		{"built-in/moment", "fade_late", func(d *drive) bool {
			return branch(d) && d.pieces[0].values[speed].to > 2 && d.pieces[0].values[speed].to < 3
		}},
	}
	for _, tt := range tests {
		t.Run(tt.board+" "+tt.fault, func(t *testing.T) {
			shown := 0
			for _, board := range []string{tt.board + ":" + tt.fault, tt.board} {
				setup, err := suites.Load(filesFor(board, 1))
				require.NoError(t, err)
				setup, err = setup.Measured(t.Context())
				require.NoError(t, err)
				s := &searcher{setup: setup, result: &Result{}}
				s.artist = newArtist(setup.Car, s.plays)
				var sources []language.Source
				for n := 0; len(sources) < 8; n++ {
					require.Less(t, n, 20000, "such a drive is not drawn")
					if d := s.artist.drive(1, n, nil); tt.kind(&d) {
						sources = append(sources, d.suite(titled(n+1, 1), "Drawn."))
					}
				}
				all, err := s.play(t.Context(), 1, sources)
				require.NoError(t, err)
				for i := range all {
					if board == tt.board {
						assert.Empty(t, all[i].fails, string(sources[i].Data))
					} else if len(all[i].fails) > 0 {
						shown++
					}
				}
			}
			assert.Positive(t, shown)
		})
	}
}

// Every situation that is drawn for a car is one that the language takes there.
func TestEachSituationIsPlayed(t *testing.T) {
	for _, board := range []string{"built-in", "built-in/moment"} {
		setup, err := suites.Load(filesFor(board, 1))
		require.NoError(t, err)
		s := &searcher{setup: setup, result: &Result{}}
		s.artist = newArtist(setup.Car, s.plays)
		d := drawing{s.artist, portable.NewNoise(1, "situations")}
		for _, of := range append(slices.Clone(s.artist.points), s.artist.long...) {
			taken := 0
			for range 10 {
				if one := d.at(&of); s.plays(&one) {
					taken++
				}
			}
			assert.Greater(t, taken, 5, "%s: %s, %s", board, of.of, of.powerUp)
		}
		for _, l := range s.artist.losses {
			one := drive{pieces: d.lost().pieces, loss: &l}
			assert.True(t, s.plays(&one), "%s: %s", board, l.fault)
		}
	}
}
