package main

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// What the worker found counts, as far as it got; after a trip nothing of the interlock has
// passed, and that is noted where it was tried at all. A rehearsal notes nothing.
func TestWhatTheWorkerFoundCounts(t *testing.T) {
	whole := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	all := []string{"pins", "board", "stop", "relay"}
	for _, tt := range []struct {
		name   string
		found  func(r *readiness) // in the worker; nil: it leaves nothing
		ending supervisor.Ending
		err    error
		code   int
		says   string
		left   string
		noted  []interlock.Parts
	}{
		{"all well", func(r *readiness) { r.Began, r.Asked, r.Passed = all, true, whole },
			supervisor.Ending{Worker: "exit status 0"}, nil, exitGo, "READY  for", "", []interlock.Parts{whole}},
		{"the relay wrong", func(r *readiness) { r.Began, r.Asked, r.Passed.Stop, r.Wrong = all, true, true, 1 },
			supervisor.Ending{Worker: "exit status 0"}, nil, exitNotShown, "1 thing wrong", "motors", []interlock.Parts{{Stop: true}}},
		{"the board wrong", func(r *readiness) { r.Began, r.Left, r.Wrong = all[:2], []string{"yaw_serial", "stop", "relay"}, 4 },
			supervisor.Ending{Worker: "exit status 0"}, nil, exitNotShown, "4 things wrong", "yaw_serial, stop, relay, motors", nil},
		{"tripped before the interlock", func(r *readiness) { r.Began = all[:2] },
			supervisor.Ending{Tripped: true, Why: "Ctrl-C", Worker: "exit status 4"}, nil, exitTripped, "the interlock tripped: Ctrl-C", "stop, relay, motors", nil},
		{"tripped as the interlock was tried", func(r *readiness) { r.Began, r.Asked, r.Passed = all, true, whole },
			supervisor.Ending{Tripped: true, Why: "the terminal was closed", Worker: "signal: killed"}, nil, exitTripped, "the interlock tripped: the terminal was closed", "motors", []interlock.Parts{{}}},
		{"a line not safe", func(r *readiness) { r.Began, r.Asked, r.Passed = all, true, whole },
			supervisor.Ending{Worker: "exit status 0"}, errors.New("relay: no such line"), exitNotShown, "relay: no such line", "motors", []interlock.Parts{{}}},
		{"it died before it began", nil,
			supervisor.Ending{Worker: "exit status 3", Code: exitWrong}, nil, exitNotShown, "ended with exit status 3", "pins, board, stop, relay, motors", nil},
		{"not started", nil,
			supervisor.Ending{}, errors.New("interlock: relay: busy; end what has it"), exitNotShown, "interlock: relay: busy", "pins, board, stop, relay, motors", nil},
	} {
		for _, rehearsal := range []bool{false, true} {
			t.Run(tt.name, func(t *testing.T) {
				r, _, c, out := trying(t, interlock.SignalsOnly, "")
				r.inputs = live.NewInputs(record.ReadRegular)
				r.turning = func() (supervisor.Parts, error) { return supervisor.Parts{}, nil }
				var noted []interlock.Parts
				var path string
				if !rehearsal {
					r.note = func(passed interlock.Parts) error { noted = append(noted, passed); return nil }
				}
				r.supervised = func(s supervisor.Settings) (supervisor.Ending, error) {
					assert.True(t, s.Untested && s.Proof && s.Confirmed && s.Power == interlock.SignalsOnly && !s.Trial, "%+v", s)
					worker := &readiness{}
					for _, e := range s.Env {
						if of, yes := strings.CutPrefix(e, foundKey+"="); yes {
							path, worker.Found = of, of
						}
					}
					if tt.found != nil {
						tt.found(worker)
						require.NoError(t, worker.HandOver())
					}
					return tt.ending, tt.err
				}
				err := r.superviseAll(c, nil)
				code := exitGo
				var e ended
				if errors.As(err, &e) {
					code = e.code
				}
				assert.Equal(t, tt.code, code, out.String())
				assert.Contains(t, out.String(), tt.says)
				assert.Equal(t, tt.left, strings.Join(r.Left, ", "))
				if !rehearsal {
					assert.Equal(t, tt.noted, noted)
				}
				assert.NoFileExists(t, path)
			})
		}
	}
}

// With nobody there relay and heartbeat are not moved by anybody.
func TestNobodyThereMeansNoProof(t *testing.T) {
	r, _, c, _ := trying(t, interlock.SignalsOnly, "")
	r.Person, r.inputs = nil, live.NewInputs(record.ReadRegular)
	r.turning = func() (supervisor.Parts, error) { return supervisor.Parts{}, nil }
	r.supervised = func(s supervisor.Settings) (supervisor.Ending, error) {
		assert.True(t, s.Untested)
		assert.False(t, s.Proof)
		return supervisor.Ending{Worker: "exit status 0"}, nil
	}
	_ = r.superviseAll(c, nil) // there is no worker
}

// Each stage that drives a line is the worker's.
func TestTheStagesOfTheWorker(t *testing.T) {
	r := &readiness{Readiness: live.Readiness{Found: filepath.Join(t.TempDir(), "none", "found")}}
	require.ErrorContains(t, r.HandOver(), "what was found is not handed over")
	assert.Equal(t, []string{"lines", "pins", "board", "throttle", "stop", "relay"}, (&live.Readiness{Of: &live.Wired{Power: interlock.MotorsNoWheels}, Pins: true}).Stages())
	assert.Equal(t, []string{"pins", "loopback", "board", "stop", "relay"}, (&live.Readiness{Of: &live.Wired{Power: interlock.MotorsNoWheels}, Loopback: true}).Stages())
}
