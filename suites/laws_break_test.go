package suites_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// breach is one way in which a board does not keep a key of its policy.
type breach struct {
	key   string
	names []string // with which the checks that find it may begin
	// does it; false where this board cannot break it so.
	do func(b *board.Settings, p *law.Policy) bool
}

// beyond is by how many tolerances a number is off.
const beyond = 1.5

// another returns a word that is not the one.
func another[T comparable](word *T, words ...T) bool {
	i := slices.Index(words, *word)
	*word = words[(i+1)%len(words)]
	return true
}

// endsOtherwise gives a loss another ending.
func endsOtherwise(l board.Loss) func(b *board.Settings, p *law.Policy) bool {
	return func(b *board.Settings, _ *law.Policy) bool {
		then := &b.Endings[l].Then
		if *then == board.ThenIgnored {
			*then = board.ThenIdle
		} else {
			*then = board.ThenIgnored
		}
		return l != board.ReceiverLost || b.Bus.Line != "" // on single lines the pulses are lost too
	}
}

// tooLate has a loss noticed too late.
func tooLate(l board.Loss, loss func(p *law.Policy) *law.Loss, timeout func(b *board.Settings) *signal.Time) func(b *board.Settings, p *law.Policy) bool {
	return func(b *board.Settings, p *law.Policy) bool {
		*timeout(b) = signal.Time(float64(loss(p).Within) * beyond)
		return loss(p).Within > 0 && b.Endings[l].Then != board.GainAtValue
	}
}

var breaches = []breach{
	{"demand", []string{"demand"}, func(b *board.Settings, p *law.Policy) bool {
		b.Wheelbase = p.Demand.Wheelbase / (1 + beyond*p.Demand.Within)
		b.UndersteerGradient = p.Demand.UndersteerGradient / (1 + beyond*p.Demand.Within)
		return true
	}},
	{"turn_from", []string{"opposite lock", "turn from", "reverse"}, func(b *board.Settings, p *law.Policy) bool {
		if b.TurnFrom == board.TurnFromYawRate {
			b.TurnFrom = board.TurnFromSteer
		} else {
			b.TurnFrom = board.TurnFromYawRate
		}
		return p.OppositeLock != law.OppositeLockNoShift
	}},
	{"opposite_lock", []string{"opposite lock"}, func(b *board.Settings, _ *law.Policy) bool {
		if b.OppositeLock == board.OppositeLockNoShift {
			b.OppositeLock = board.OppositeLockOversteer
		} else {
			b.OppositeLock = board.OppositeLockNoShift
		}
		return true
	}},
	{"understeer", []string{"understeer", "proportional", "follows"}, func(b *board.Settings, _ *law.Policy) bool {
		b.Understeer.Raise, b.Understeer.Lower = b.Understeer.Lower, b.Understeer.Raise
		return true
	}},
	{"oversteer", []string{"oversteer", "proportional", "follows"}, func(b *board.Settings, _ *law.Policy) bool {
		b.Oversteer = board.Split{}
		return true
	}},
	{"shift_at", []string{"understeer: size", "oversteer: size", "proportional", "understeer", "oversteer"}, func(b *board.Settings, p *law.Policy) bool {
		b.ShiftIs = p.ShiftAt.Is * (1 + beyond*p.ShiftAt.Within)
		return p.ShiftAt.Grows <= law.GrowthProportional
	}},
	{"dead_band", []string{"dead band", "demand: dead band"}, func(b *board.Settings, p *law.Policy) bool {
		b.DeadBand = *p.DeadBand + 0.15
		return b.DeadBand < b.ShiftError
	}},
	{"straight", []string{"straight"}, func(b *board.Settings, p *law.Policy) bool {
		b.Straight = board.Straight{}
		return true
	}},
	{"gain_steps", []string{"gain", "understeer"}, func(b *board.Settings, p *law.Policy) bool {
		b.GainSteps = nil
		return true
	}},
	{"cap", []string{"cap"}, func(b *board.Settings, p *law.Policy) bool { b.Cap = min(p.Cap.Of+0.05, 1); return true }},
	{"floor", []string{"floor", "at the limit"}, func(b *board.Settings, p *law.Policy) bool { b.Floor = 0; return *p.Floor > 0.01 }},
	{"sum_cap", []string{"sum"}, func(b *board.Settings, p *law.Policy) bool { b.SumCap = 0; return *p.SumCap < 3.5 }},
	{"at_the_limit", []string{"at the limit", "cap", "floor"}, func(b *board.Settings, p *law.Policy) bool {
		if p.AtTheCap != 0 || p.AtTheFloor != 0 {
			return false
		}
		b.AtCap, b.AtFloor = "", ""
		return another(&b.AtTheLimit, board.LimitCap, board.LimitPartnerOnly)
	}},
	{"standstill", []string{"standstill"}, func(b *board.Settings, _ *law.Policy) bool { b.Standstill, b.StandFull = 0, 0; return true }},
	{"braking", []string{"braking"}, func(b *board.Settings, _ *law.Policy) bool { b.NoShiftInBraking = false; return true }},
	{"reverse", []string{"reverse"}, func(b *board.Settings, _ *law.Policy) bool {
		if b.Reverse == board.ReverseNoShift {
			b.Reverse = board.ReverseAsForward
		} else {
			b.Reverse = board.ReverseNoShift
		}
		return true
	}},
	{"loop_rate", []string{"loop rate"}, func(b *board.Settings, p *law.Policy) bool {
		b.LoopPeriod = signal.FromSeconds(beyond / *p.LoopRate)
		return true
	}},
	{"response", []string{"response"}, func(b *board.Settings, p *law.Policy) bool {
		b.Shaping.Delay = [4]signal.Time{p.Response.AtMost, p.Response.AtMost, p.Response.AtMost, p.Response.AtMost}
		return p.Response.AtMost < 50*b.LoopPeriod
	}},
	{"throttle_lost", []string{"throttle lost"}, endsOtherwise(board.ThrottleLost)},
	{"steer_lost", []string{"steer lost"}, endsOtherwise(board.SteerLost)},
	{"gain_lost", []string{"gain lost"}, func(b *board.Settings, _ *law.Policy) bool {
		then := &b.Endings[board.GainLost].Then
		if *then == board.ThenIdle {
			*then = board.ThenNoShift
		} else {
			*then = board.ThenIdle
		}
		return true
	}},
	{"receiver_lost", []string{"receiver lost"}, endsOtherwise(board.ReceiverLost)},
	{"receiver_flag", []string{"receiver flag"}, endsOtherwise(board.ReceiverFlag)},
	{"yaw_lost", []string{"yaw lost"}, endsOtherwise(board.YawLost)},
	{"yaw_lost", []string{"yaw lost"}, tooLate(board.YawLost, func(p *law.Policy) *law.Loss { return p.YawLost }, func(b *board.Settings) *signal.Time { return &b.YawTimeout })},
	{"yaw_frozen", []string{"yaw frozen"}, endsOtherwise(board.YawFrozen)},
	{"sequence_frozen", []string{"sequence"}, endsOtherwise(board.SequenceFrozen)},
	{"encoder_lost", []string{"encoder lost"}, endsOtherwise(board.EncoderLost)},
	{"recovers", []string{"recovers"}, func(b *board.Settings, _ *law.Policy) bool {
		if b.Recovers == board.ByItself {
			b.Recovers = board.AtPowerCycle
		} else {
			b.Recovers = board.ByItself
		}
		return true
	}},
	{"safe_state", []string{"throttle lost", "receiver lost", "safe state"}, func(b *board.Settings, _ *law.Policy) bool {
		idles := b.Endings[board.ThrottleLost].Then == board.ThenIdle || b.Endings[board.ReceiverLost].Then == board.ThenIdle
		return another(&b.SafeState, board.Idle, board.Silent) && idles
	}},
	{"start", []string{"start"}, func(b *board.Settings, _ *law.Policy) bool { return another(&b.StartState, board.Idle, board.Silent) }},
	{"start_at_rest", []string{"start"}, func(b *board.Settings, _ *law.Policy) bool { b.AtRestFor = 0; return true }},
	{"arms", []string{"arms", "start"}, func(b *board.Settings, _ *law.Policy) bool { b.ArmsAtIdle = false; return true }},
	{"outputs_together", []string{"outputs together"}, func(b *board.Settings, p *law.Policy) bool {
		return byFault("outputs_staggered")(b, p) && b.OutputPeriod > 900*signal.Microsecond // else there is no room for it
	}},
	{"motors_equal_within", []string{"motors equal", "on demand"}, func(b *board.Settings, p *law.Policy) bool {
		b.Trim = [4]float64{3: -beyond * *p.MotorsEqualWithin / 0.4} // at 40 % throttle
		return true
	}},
	{"resolution", []string{"resolution"}, func(b *board.Settings, p *law.Policy) bool { b.Step = beyond * *p.Resolution; return true }},
	{"bad_checksum", []string{"bad checksum", "checksum"}, byFault("checksum_unchecked")},
	{"spike", []string{"spike"}, byFault("spike_believed")},
}

// byFault breaks a policy by a seeded fault.
func byFault(name string) func(b *board.Settings, p *law.Policy) bool {
	return func(b *board.Settings, _ *law.Policy) bool {
		faulty, err := board.WithFault(*b, name)
		*b = faulty
		return err == nil
	}
}

// TestABrokenPointOfADrawnLawIsFound breaks each drawn law in one point that it declares, by another
// word or a number that is off by one and a half times its tolerance, and counts how often the
// run is NO-GO and names the point.
func TestABrokenPointOfADrawnLawIsFound(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	found, told, all := 0, 0, 0
	missed := map[string][]string{}
	for n := range uint64(brokenLaws) {
		d := drawLaw(n + 1)
		b := boardOf(t, n+1, &d)
		f := bramble("")
		f.Car, f.Bench, f.Seed = d.car, d.bench, n+1
		s := load(t, f)
		broken, settings := breakOne(t, n, &d, s, b)
		s.WithBoard("broken", settings)
		r, _ := play(t, s, suites.Options{})
		all++
		if r.Outcome == record.NoGo {
			found++
		}
		if fails := failing(r); slices.ContainsFunc(fails, broken.named) {
			told++
		} else {
			missed[broken.key] = append(missed[broken.key], fmt.Sprintf("law %d: %s; failed: %s", n+1, r.Outcome, strings.Join(fails[:min(len(fails), 4)], "; ")))
		}
	}
	for _, key := range slices.SortedFunc(maps.Keys(missed), func(a, b string) int { return cmp.Or(len(missed[b])-len(missed[a]), cmp.Compare(a, b)) }) {
		t.Logf("%3d not named: %s (%s)", len(missed[key]), key, missed[key][0])
	}
	t.Logf("of %d broken laws %d are NO-GO, and %d name the point", all, found, told)
	assert.NotZero(t, found)
}

// breakOne draws a breach of a key that the law declares.
func breakOne(t *testing.T, n uint64, d *drawnLaw, s *suites.Setup, b board.Settings) (breach, board.Settings) {
	t.Helper()
	l := &lot{portable.NewNoise(n+1, "breaches")}
	from := int(l.Uint64() % uint64(len(breaches)))
	for i := range breaches {
		x := breaches[(from+i)%len(breaches)]
		if !slices.ContainsFunc(d.keys, func(line policyLine) bool { return line.key == x.key }) {
			continue
		}
		broken := b
		if x.do(&broken, &s.Car.Policy) {
			return x, broken
		}
	}
	require.Fail(t, "no breach fits")
	return breach{}, b
}

// named says whether a check names what is broken.
func (x *breach) named(check string) bool {
	return slices.ContainsFunc(x.names, func(name string) bool { return strings.HasPrefix(check, name) })
}

// failing lists the names of the checks that failed, each once.
func failing(r *record.Result) (names []string) {
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, x := range c.Checks {
				if x.Verdict == record.Fail && !slices.Contains(names, x.Name) {
					names = append(names, x.Name)
				}
			}
		}
	}
	return names
}
