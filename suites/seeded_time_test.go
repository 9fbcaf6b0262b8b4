package suites_test

import "maps"

// nearestInTime is nearest for the faults that show in time; those that show only after minutes are hunted by a campaign.
var nearestInTime = map[string]foundBy{
	"counter_ignored":      {"losses", "counter of the yaw frames", "sequence frozen"},
	"gain_loss_full":       {"losses", "gain trim lost at half", "gain lost"},
	"latched_by_full":      {"limits", "again after full throttle", "understeer"},
	"latched_by_reverse":   {"limits", "again after rolling backwards", "understeer"},
	"loop_stalls":          {"timing", "response to yaw (turn left)", "every command within the policy"},
	"millis_overflow":      {"split", "", "every command within the policy"},
	"motor_half_rate":      {"split", "understeer turns", "updates: longest gap"},
	"rear_late":            {"timing", "response to the throttle", "outputs together: changes within"},
	"rear_very_late":       {"timing", "response to the throttle", "outputs together: changes within"},
	"recovery_kick":        {"losses", "yaw-rate sensor lost", "every command within the policy"},
	"resets_at_full":       {"limits", "cap holds", "updates: longest gap"},
	"short_pulse_believed": {"losses", "pulse far too short", "bad pulse"},
	"slow_release":         {"timing", "response to the throttle", "every command within the policy"},
	"slow_speed_filter":    {"timing", "loop rate (turn left)", "every command within the policy"},
	"updates_pause":        {"split", "understeer turns", "updates: longest gap"},
	"yaw_loss_masks":       {"losses", "throttle and yaw-rate sensor lost", "throttle lost"},
}

func init() { maps.Copy(nearest, nearestInTime) }
