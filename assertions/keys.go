package assertions

import (
	"math"
	"reflect"
	"slices"

	"hilrig/assertions/law"
)

// commandKeys are the keys of a policy that every check of where commands stand is held to.
var commandKeys = []string{"demand", "turn_from", "dead_shift", "straight", "gain_steps", "smoothing", "throttle_curve"}

// keysBeside are the keys of a policy, beside the one of its own name, that the checks of a
// situation hold the board to.
var keysBeside = map[string][]string{
	"understeer":    append([]string{"shift_at", "sum"}, commandKeys...),
	"oversteer":     append([]string{"shift_at", "sum"}, commandKeys...),
	"opposite_lock": {"opposite_lock_share", "turn_from"},
	"demand_side":   append([]string{"understeer", "oversteer", "shift_at"}, commandKeys...),
	"on_demand":     {"motors_equal_within", "demand", "dead_shift"},
	"zero_gain":     {"motors_equal_within", "dead_shift"},
	"at_the_limit":  {"at_the_cap", "at_the_floor", "shift_at"},
	"follows": append([]string{"understeer", "oversteer", "opposite_lock", "shift_at", "dead_band", "standstill", "reverse", "braking", "cap", "sum_cap", "floor",
		"at_the_limit", "traction_control"}, commandKeys...),
	"derivative":        {"shift_at"},
	"steer_rate":        {"demand"},
	"proportional":      {"shift_at", "demand", "understeer", "oversteer"},
	"monotone":          {"understeer", "oversteer", "demand"},
	"no_wind_up":        {"response", "at_the_limit"},
	"winds_back":        {"shift_at"},
	"throttle_as_it_is": {"throttle_curve"},
	"arms":              {"start"},
	"start":             {"start_waits_for"},
	"throttle_lost":     {"safe_state"},
	"receiver_lost":     {"safe_state"},
	"receiver_flag":     {"safe_state"},
}

// KeysOf returns the keys of a policy that the checks of a situation hold the board to, where
// the policy has them. The slice is the caller's.
func KeysOf(situation string) []string { return append([]string{situation}, keysBeside[situation]...) }

// tellDemand are the situations that measure the demand, whatever is declared of the size of a shift: in all others that look at
// which motors move, it may be anything on the same side of the yaw rate.
var tellDemand = []string{"demand", "demand_side", "on_demand", "follows"}

// KeysAsked returns those of [KeysOf] that the checks of a situation ask by a policy: what the motors carry after a loss is
// asked where that stops them, what they carry until it is armed where that is idle, and the demand where it is measured: by itself,
// or by how far motors move where that is in proportion to the yaw error. The slice is the caller's.
func KeysAsked(situation string, p *law.Policy) []string {
	const safe, start, demand = "safe_state", "start", "demand"
	measured := sized(p) || slices.Contains(tellDemand, situation)
	keys := slices.DeleteFunc(KeysOf(situation), func(k string) bool {
		return k == safe || k == start && situation != start && p.StartState != law.OutputsIdle || k == demand && !measured
	})
	if loss := LossNamed(p, situation); loss != nil && loss.Then == law.LossIdle {
		keys = append(keys, safe)
	}
	return keys
}

// decisive are the keys that may decide what the law says of a step.
var decisive = []string{"demand", "turn_from", "opposite_lock", "opposite_lock_share", "understeer", "oversteer", "shift_at", "dead_band", "straight", "gain_steps",
	"cap", "sum_cap", "floor", "at_the_limit", "at_the_cap", "at_the_floor", "traction_control", "standstill", "braking", "reverse"}

// byTheLaw are the situations whose checks are views of what the law says of a step.
var byTheLaw = []string{"understeer", "oversteer", "demand_side", "on_demand", "opposite_lock", "zero_gain", "standstill", "reverse", "straight", "braking", "at_the_limit", "dead_band"}

// KeysDecided returns the keys of a policy that may decide what is asked in a situation, beside those of
// [KeysOf]; none where it is no view of what the law says of a step. The slice is the caller's.
func KeysDecided(situation string) []string {
	if !slices.Contains(byTheLaw, situation) {
		return nil
	}
	return slices.Clone(decisive)
}

// keysOf returns the keys of the policy that something that is asked asks. Of a view of the law they are
// its situation's own, and those without which the law would say something else of the step.
func (b *branch) keysOf(a *ask) (keys []string) {
	switch {
	case a.keys != nil:
		keys = a.keys
	case b.of == "follows": // the whole law at once
	case slices.Contains(byTheLaw, b.of):
		keys = append([]string{b.of}, slices.DeleteFunc(slices.Clone(decisive), func(k string) bool { return k == b.of || !b.decides(k) })...)
	default:
		keys = KeysOf(b.of)
	}
	return slices.DeleteFunc(slices.Clone(keys), func(k string) bool { return !says(b.p, k) })
}

// says tells whether a policy says something at a key.
func says(p *law.Policy, key string) bool { return !reflect.DeepEqual(p.Without(key), *p) }

// general are keys whose words hold where others, of less, have none of their own. A word that is the same as the general one
// is still what decides.
var general = map[string]string{"at_the_cap": "at_the_limit", "at_the_floor": "at_the_limit"}

// decides tells whether the law would say something else of the step, as it is meant, if the policy left a
// key out.
func (b *branch) decides(key string) bool {
	if !says(b.p, key) {
		return false
	}
	is, without := b, b.p.Without(key)
	if g, ok := general[key]; ok {
		is, without = b.by(b.p.Without(g)), without.Without(g)
	}
	return is.apart(b.by(without))
}

// by returns the same situation by another policy.
func (b *branch) by(p law.Policy) *branch {
	other := *b
	other.e, other.p = b.e.unplayed(), &p
	other.e.Policy = &p
	return &other
}

// apart tells whether the laws of two policies say different things of a step, as it is meant.
func (b *branch) apart(other *branch) bool {
	is, would := b.meant(b.s), other.meant(b.s)
	if is.missing != would.missing {
		return true
	}
	for i, x := range is.shifts {
		if y := would.shifts[i]; math.Abs(x.Low-y.Low) > little || math.Abs(x.High-y.High) > little {
			return true
		}
	}
	return false
}
