package suites_test

import "maps"

// nearestAtPlaces is nearest for the faults that show at a place alone: the cases are played at one.
var nearestAtPlaces = map[string]foundBy{
	"cap_always":           {"limits", "full throttle straight on", "every command within the policy"},
	"cap_late":             {"limits", "cap holds from its steer angle on", "cap"},
	"count_jitters":        {"split", "no shift at standstill", "every command within the policy"},
	"count_wraps":          {"demand", "demand by sweep (turn left, speed near 6 m/s", "every command within the policy"},
	"gap_in_power":         {"grid", "understeer all over (turn left, speed near 6 m/s", "understeer: outside_rear raised"},
	"gap_in_speed":         {"grid", "understeer all over (turn left, speed near 10 m/s", "understeer: outside_rear raised"},
	"gap_in_throttle":      {"grid", "understeer all over (turn left, speed near 3 m/s", "understeer: outside_rear raised"},
	"reversed_in_power":    {"grid", "understeer all over (turn right, speed near 6 m/s", "understeer: outside_rear raised"},
	"reversed_in_speed":    {"grid", "understeer all over (turn right, speed near 10 m/s", "understeer: outside_rear raised"},
	"reversed_in_throttle": {"grid", "understeer all over (turn right, speed near 3 m/s", "understeer: outside_rear raised"},
	"slow_loop_fast":       {"grid", "loop rate at speed", "loop rate"},
	"speed_clipped":        {"grid", "on demand all over (turn left, speed near 20 m/s", "on demand"},
	"speed_of_one_axle":    {"demand", "demand with the front axle faster (turn left", "demand: yaw rate by the mean of all wheels"},
	"speed_of_one_wheel":   {"demand", "demand with one wheel faster (turn left", "demand: yaw rate by the mean of all wheels"},
	"standstill_fifth":     {"grid", "no shift below the standstill speed", "standstill"},
	"standstill_twice":     {"grid", "shift from the standstill speed on", "understeer"},
	"steer_clipped":        {"grid", "on demand all over (turn left, speed near 7 m/s", "on demand"},
	"steer_dead_zone":      {"grid", "on demand all over (turn left, speed near 10 m/s", "on demand"},
	"yaw_clipped":          {"grid", "on demand all over (turn left, speed near 7 m/s", "on demand"},
	"yaw_wraps":            {"grid", "on demand all over (turn right, speed near 7 m/s", "on demand"},
	"yaw_zeroed_driving":   {"grid", "nothing is learnt on the straight", "on demand"},
}

func init() { maps.Copy(nearest, nearestAtPlaces) }
