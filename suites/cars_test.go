package suites_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

const degree = 3.14159265358979323846 / 180

// owners are cars of other owners, with other policies than the demo car's. The
// board of each has the settings that its car file declares.
var owners = []struct {
	name  string
	board func(s *board.Settings)
}{
	{"thistle", func(s *board.Settings) { // another pair in oversteer, no shift under opposite lock
		s.LoopPeriod, s.OutputPeriod = 4*signal.Millisecond, 4*signal.Millisecond
		s.WheelRadius, s.EncoderLines = 0.045, 128
		s.SteerAtSpan = 25 * degree
		s.Wheelbase, s.UndersteerGradient = 0.270, 0.002
		s.ShiftError, s.ShiftIs = 80*degree, 0.10
		s.TurnFrom, s.OppositeLock = board.TurnFromYawRate, board.OppositeLockNoShift
		s.Oversteer = board.Split{Raise: []board.Place{board.InsideRear}, Lower: []board.Place{board.OutsideRear}}
		s.Cap, s.CapAbove, s.Floor = 0.88, 3*degree, 0.04
		s.Standstill = 0.8
		s.ThrottleTimeout, s.SteerTimeout = 120*signal.Millisecond, 120*signal.Millisecond
		s.Recovers, s.SafeState = board.AtPowerCycle, board.Silent
	}},
	{"sorrel", func(s *board.Settings) { // the front axle only, and the partner makes up for a motor at its limit
		s.LoopPeriod, s.OutputPeriod = 3500*signal.Microsecond, 2500*signal.Microsecond
		s.WheelRadius, s.EncoderLines = 0.056, 200
		s.SteerSpan = 400 * signal.Microsecond
		s.MotorIdle, s.MotorFull = 1100*signal.Microsecond, 1900*signal.Microsecond
		s.Wheelbase, s.UndersteerGradient = 0.310, 0.0015
		s.ShiftIs, s.DeadBand = 0.06, 4*degree
		s.Understeer = board.Split{Raise: []board.Place{board.OutsideFront}, Lower: []board.Place{board.InsideFront}}
		s.Oversteer = board.Split{Raise: []board.Place{board.InsideFront}, Lower: []board.Place{board.OutsideFront}}
		s.Cap, s.AtTheLimit = 1, board.LimitMovePartner
		s.Standstill = 0.4
		s.StartState = board.Silent
	}},
	{"yarrow", func(s *board.Settings) { // K = 0 and a limit of lateral acceleration, all four motors, a latch after a loss
		s.LoopPeriod, s.OutputPeriod = 2500*signal.Microsecond, 4*signal.Millisecond
		s.WheelRadius, s.EncoderLines, s.Baud = 0.070, 100, 57600
		s.SteerAtSpan = 35 * degree
		s.Wheelbase, s.UndersteerGradient, s.LateralLimit = 0.400, 0, 9
		s.ShiftError, s.ShiftIs = 50*degree, 0.07
		outside, inside := []board.Place{board.OutsideFront, board.OutsideRear}, []board.Place{board.InsideFront, board.InsideRear}
		s.Understeer = board.Split{Raise: outside, Lower: inside}
		s.Oversteer = board.Split{Raise: inside, Lower: outside}
		s.Cap, s.CapAbove = 0.95, 0
		s.YawTimeout, s.YawFrozen = 80*signal.Millisecond, 120*signal.Millisecond
		s.Recovers = board.AtThrottleAtIdle
	}},
}

// owned returns an owner's car and bench with the settings of a board; named
// suites, none: all.
func owned(t *testing.T, car, name string, change func(s *board.Settings), names ...string) *suites.Setup {
	t.Helper()
	f := bramble("", names...)
	for path, to := range map[string]*language.Source{"testdata/" + car + ".yaml": &f.Car, "testdata/" + car + "_bench.yaml": &f.Bench} {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		*to = language.Source{Path: path, Data: data}
	}
	s := load(t, f)
	settings := board.Bramble()
	change(&settings)
	s.WithBoard(name, settings)
	return s
}

// TestOtherOwnersCarsPass plays the standard suites to three other cars, each
// with the board that its policy describes.
func TestOtherOwnersCarsPass(t *testing.T) {
	for i, o := range owners {
		if !drawn.Row(i, 2) {
			continue
		}
		t.Run(o.name, func(t *testing.T) {
			names := ownedSuites
			if testing.Short() {
				names = []string{"split"}
			}
			r, _ := play(t, owned(t, o.name, o.name, o.board, names...), suites.Options{})
			assert.Equal(t, record.Go, r.Outcome)
			assert.Empty(t, strings.Join(troubles(r), "\n"))
			t.Logf("%d checks passed, %d not asked, policy keys not asked: %v", r.Counts.Pass, r.Counts.NotAsked, notAsked(r))
		})
	}
}

// TestCrossedCarAndBoardFail plays each car's policy to the others' boards.
func TestCrossedCarAndBoardFail(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	for i, car := range owners {
		for j, other := range owners {
			if i == j || !drawn.Row(i*len(owners)+j, 4) {
				continue
			}
			t.Run(car.name+" with the board of "+other.name, func(t *testing.T) {
				r, _ := play(t, owned(t, car.name, other.name, other.board, "split"), suites.Options{Only: crossedCases})
				assert.Equal(t, record.NoGo, r.Outcome)
			})
		}
	}
}
