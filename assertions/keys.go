package assertions

// commandKeys are the keys of a policy that every check of where commands stand is held to.
var commandKeys = []string{"demand", "turn_from", "dead_shift", "straight", "gain_steps", "smoothing", "throttle_curve"}

// keysBeside are the keys of a policy, beside the one of its own name, that the checks of a
// situation hold the board to.
var keysBeside = map[string][]string{
	"understeer":    append([]string{"shift_at", "sum"}, commandKeys...),
	"oversteer":     append([]string{"shift_at", "sum"}, commandKeys...),
	"opposite_lock": {"opposite_lock_share", "turn_from"},
	"on_demand":     {"motors_equal_within", "demand", "dead_shift"},
	"zero_gain":     {"motors_equal_within", "dead_shift"},
	"cap":           {"sum_cap"},
	"at_the_limit":  {"at_the_cap", "at_the_floor", "shift_at"},
	"follows": append([]string{"understeer", "oversteer", "opposite_lock", "shift_at", "dead_band", "standstill", "reverse", "braking", "cap", "sum_cap", "floor",
		"at_the_limit", "traction_control"}, commandKeys...),
	"proportional":  {"shift_at", "demand", "understeer", "oversteer"},
	"monotone":      {"understeer", "oversteer", "demand"},
	"no_wind_up":    {"response", "at_the_limit"},
	"throttle_lost": {"safe_state"},
	"receiver_lost": {"safe_state"},
	"receiver_flag": {"safe_state"},
}

// KeysOf returns the keys of a policy that the checks of a situation hold the board to, where
// the policy has them. The slice is the caller's.
func KeysOf(situation string) []string { return append([]string{situation}, keysBeside[situation]...) }
