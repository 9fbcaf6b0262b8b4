package suites_test

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/suites/language"
)

// drawnLaw is a policy drawn at random over all its keys and words, with a car and a bench to
// it. The board that is to keep it is made of whole; held to it is what car declares, which
// leaves some of that out.
type drawnLaw struct {
	whole, car, bench language.Source
	keys              []policyLine
	strong            bool // its shifts run into limits
}

// policyLine is one key of a policy as a file has it.
type policyLine struct{ key, value string }

// lawDraw is one law being drawn.
type lawDraw struct {
	lot
	lines    []policyLine
	bothWays bool
	bus      bool
	tacho    bool
	strong   bool
	armed    bool
	rest     float64 // s
	receiver float64 // Hz
	frames   float64 // Hz
	smooth   float64 // ms
}

// drawLaw draws the n-th law.
func drawLaw(n uint64) drawnLaw {
	d := &lawDraw{lot: lot{portable.NewNoise(n, "laws")}}
	d.bothWays, d.bus, d.tacho, d.strong = d.one(4), d.one(4), d.one(6), d.one(5)
	d.receiver, d.frames = pick(&d.lot, 50.0, 70, 100, 143), pick(&d.lot, 100.0, 200, 400)
	wheelbase := d.between(0.280, 0.450, 0.005)
	linear := d.coin()
	d.turn(wheelbase, linear)
	d.size()
	d.limits()
	d.when()
	d.timing()
	d.losses()
	d.outputs()
	d.start(n)
	bench := d.bench()
	left := slices.Clone(d.lines)
	left = slices.DeleteFunc(left, func(l policyLine) bool { return !needed[l.key] && d.one(8) && !l.denied() })
	left = slices.DeleteFunc(left, func(l policyLine) bool { return !hasWhatItNeeds(left, l.key) })
	declared := slices.Clone(left)
	left = slices.DeleteFunc(left, func(l policyLine) bool { return l.saysAnother(d.lines, declared) })
	return drawnLaw{
		whole: d.car(wheelbase, linear, d.lines), car: d.car(wheelbase, linear, left),
		bench: bench, keys: left, strong: d.strong,
	}
}

// needed are keys that suites cannot be read without, since their values are shares of the demand.
// Whether start_waits_for is declared is drawn with its words.
var needed = map[string]bool{"demand": true, "start_waits_for": true}

// hasWhatItNeeds says whether what a key means nothing without is declared too.
func hasWhatItNeeds(lines []policyLine, key string) bool {
	needs := map[string]string{"opposite_lock_share": "opposite_lock", "opposite_lock": "opposite_lock_share", "at_the_cap": "cap", "at_the_floor": "floor"}
	other, ok := needs[key]
	if !ok {
		return true
	}
	i := slices.IndexFunc(lines, func(l policyLine) bool { return l.key == key })
	if key == "opposite_lock" && lines[i].value != "share" {
		return true
	}
	return slices.ContainsFunc(lines, func(l policyLine) bool { return l.key == other })
}

// denied says whether a policy without the line declares that the board does not do what the line says: of these
// keys a policy that leaves one out is no policy that leaves it open.
func (l policyLine) denied() bool {
	switch l.key {
	case "smoothing", "traction_control", "sum_cap", "start_at_rest", "arms":
		return true
	case "dead_band":
		return l.value != "0 deg/s"
	case "throttle_lost", "steer_lost", "gain_lost": // where it stops something, for with the receiver that wire is lost too, and receiver_lost may ask for less
		return strings.Contains(l.value, "within")
	}
	return false
}

// saysAnother says whether a line, without those of the whole that are not declared, says what the whole does
// not: at_the_limit goes for the cap and for the floor where these have no word of their own, and a size that is
// declared at a gain that is no step of a switch needs the steps beside it.
func (l policyLine) saysAnother(whole, declared []policyLine) bool {
	leftOut := func(key, without string) bool {
		drawn := func(l policyLine) bool { return l.key == key && !strings.Contains(l.value, without) }
		return slices.ContainsFunc(whole, drawn) && !slices.ContainsFunc(declared, drawn)
	}
	switch l.key {
	case "at_the_limit":
		return leftOut("at_the_cap", " ") || leftOut("at_the_floor", " ")
	case "shift_at":
		return leftOut("gain_steps", "50 %")
	case "recovers": // for a loss that is not declared it says what the drawn word of that loss may not
		return slices.ContainsFunc(whole, func(l policyLine) bool {
			return strings.Contains(l.value, "recovers:") && !slices.Contains(declared, l)
		})
	}
	return false
}

// one is true once in so many.
func (d *lawDraw) one(in uint64) bool { return d.Uint64()%in == 0 }

func (d *lawDraw) add(key, format string, args ...any) {
	d.lines = append(d.lines, policyLine{key, fmt.Sprintf(format, args...)})
}

// turn draws when the car turns too little or too much, and who then moves.
func (d *lawDraw) turn(wheelbase float64, linear bool) {
	demand := fmt.Sprintf("model: single_track, wheelbase: %.3f m, understeer_gradient: %.4f rad/(m/s2), within: %.1f %%", wheelbase, d.between(0, 0.004, 0.0001), d.between(4, 8, 0.5))
	demand += ", speed_from: " + pick(&d.lot, "mean", "front_mean", "rear_mean", "slowest", "second_slowest", "second_fastest", "fastest")
	if linear {
		demand += ", steer: linear"
	}
	if d.one(4) {
		demand += fmt.Sprintf(", lateral_limit: %.1f m/s2", d.between(8, 14, 0.5))
	}
	if d.one(3) {
		demand += fmt.Sprintf(", yaw_limit: %.0f deg/s", d.between(150, 300, 10))
	}
	if d.one(3) {
		demand += fmt.Sprintf(", steer_rate: %.0f ms", d.between(10, 40, 5))
	}
	d.add("demand", "{%s}", demand)
	d.add("turn_from", "%s", pick(&d.lot, "yaw_rate", "steer", "demand"))
	lock := pick(&d.lot, "oversteer", "no_shift", "understeer", "share")
	d.add("opposite_lock", "%s", lock)
	if lock == "share" {
		d.add("opposite_lock_share", "%.0f %%", d.between(30, 80, 10))
	}
	under, over := d.split(pick(&d.lot, understeerPairs...)), d.split(pick(&d.lot, oversteerPairs...))
	d.add("understeer", "{%s}", under)
	d.add("oversteer", "{%s}", over)
	if !strings.Contains(under+over, "front:") && !strings.Contains(under+over, "rear:") {
		d.add("sum", "kept")
	}
}

// split draws the shares of a branch.
func (d *lawDraw) split(pair board.Split) string {
	s := fmt.Sprintf("raise: %s, lower: %s", motors(pair.Raise), motors(pair.Lower))
	if len(pair.Raise) < 2 {
		if all := motors(pair.Raise) + motors(pair.Lower); d.one(4) && strings.Contains(all, "front") {
			s += fmt.Sprintf(", front: %.0f %%", d.between(60, 140, 10))
		}
		return s
	}
	switch d.Uint64() % 3 {
	case 0:
		s += fmt.Sprintf(", front: %.0f %%, rear: %.0f %%", d.between(40, 120, 10), d.between(60, 140, 10))
	case 1:
		s += ", shares: vary"
	}
	return s
}

// size draws by how much the motors move.
func (d *lawDraw) size() {
	err := d.between(40, 80, 5)
	is := d.between(0.08, 0.16, 0.01) * err
	if d.strong {
		is = d.between(0.3, 0.6, 0.05) * err
	}
	grows := pick(&d.lot, "proportional", "proportional", "saturating", "integrating")
	at := fmt.Sprintf("error: %.0f deg/s, gain: 50 %%, is: %.2f %%, within: %.0f %%, grows: %s", err, is, d.between(6, 12, 1), grows)
	if grows != "proportional" {
		at += fmt.Sprintf(", most: %.2f %%", min(is*d.between(1.2, 2.4, 0.2), 90))
	}
	d.add("shift_at", "{%s}", at)
	if d.coin() {
		d.add("dead_shift", "1 %%")
	}
	band := pick(&d.lot, 0.0, 0, 2, 4)
	if grows == "integrating" {
		band = pick(&d.lot, 4.0, 6)
	}
	d.add("dead_band", "%.0f deg/s", band)
	straight := []string{}
	if d.one(3) {
		from := d.between(0.5, 2, 0.5)
		straight = append(straight, fmt.Sprintf("no_shift_below: %.1f deg, full_from: %.1f deg", from, from+d.between(0, 2, 0.5)))
	}
	if d.one(3) {
		from := d.between(3, 12, 1)
		straight = append(straight, fmt.Sprintf("demand_below: %.0f deg/s, demand_full_from: %.0f deg/s", from, from+d.between(0, 10, 1)))
	}
	if len(straight) > 0 {
		d.add("straight", "{%s}", strings.Join(straight, ", "))
	}
	if d.one(3) {
		d.add("gain_steps", "%s", pick(&d.lot, "[0 %, 50 %, 100 %]", "[0 %, 100 %]", "[0 %, 25 %, 50 %, 75 %, 100 %]"))
	}
}

// limits draws between what the commands stay.
func (d *lawDraw) limits() {
	words := []string{"cap", "move_partner", "partner_only", "scale"}
	cut := pick(&d.lot, "", ", cut: before_shift", ", cut: after_shift")
	d.add("cap", "{of: %.0f %%, steer_above: %.1f deg%s}", d.between(84, 98, 1), d.between(0, 4, 0.5), cut)
	d.add("floor", "%.0f %%", pick(&d.lot, 0.0, 0, 2, 5))
	d.add("at_the_limit", "%s", pick(&d.lot, words...))
	if d.one(3) {
		d.add("at_the_cap", "%s", pick(&d.lot, words...))
	}
	if d.one(3) {
		d.add("at_the_floor", "%s", pick(&d.lot, words...))
	}
	if d.one(4) {
		d.add("sum_cap", "%.0f %%", d.between(300, 390, 10))
	}
	if d.one(4) {
		d.add("traction_control", "%.0f %%", d.between(15, 40, 5))
	}
}

// when draws in what states of the car there is a shift, and what the commands go through.
func (d *lawDraw) when() {
	from := d.between(0.3, 0.9, 0.1)
	d.add("standstill", "{no_shift_below: %.1f m/s, full_from: %.1f m/s}", from, from+pick(&d.lot, 0.0, 0, 0.5))
	if d.bothWays {
		d.add("braking", "no_shift")
	}
	if !d.tacho {
		d.add("reverse", "%s", pick(&d.lot, "no_shift", "as_forward", "mirrored"))
	}
	smoothing := []string{}
	if d.one(4) {
		filter := d.between(5, 20, 5)
		smoothing, d.smooth = append(smoothing, fmt.Sprintf("filter: %.0f ms", filter)), d.smooth+filter
	}
	if d.one(4) {
		slew := d.between(100, 400, 50)
		smoothing, d.smooth = append(smoothing, fmt.Sprintf("full_range_in: %.0f ms", slew)), d.smooth+slew/50
	}
	if len(smoothing) > 0 {
		d.add("smoothing", "{%s}", strings.Join(smoothing, ", "))
	}
	d.add("throttle_curve", "%s", pick(&d.lot, "none", "calibrated", "any"))
}

// timing draws how fast the board is.
func (d *lawDraw) timing() {
	d.add("loop_rate", "{at_least: %.0f Hz}", d.between(180, 450, 10))
	d.add("response", "{at_most: %.0f ms, of: 95 %%}", d.between(14, 24, 1)+d.smooth)
	d.add("longest_gap", "%.0f ms", d.between(10, 30, 5))
	d.add("corrupt_frames", "%.1f %%", d.between(0.1, 1, 0.1))
}

// position returns a gain, or the last position of a gain trim that is a switch without it.
func (d *lawDraw) position(gain string) string {
	for _, l := range d.lines {
		if positions := strings.Split(strings.Trim(l.value, "[]"), ", "); l.key == "gain_steps" && !slices.Contains(positions, gain) {
			return positions[len(positions)-1]
		}
	}
	return gain
}

// losses draws what the board does when a wire fails.
func (d *lawDraw) losses() {
	recovers := []string{"by_itself", "throttle_at_idle", "power_cycle"}
	ending := func(key string, from float64, words ...string) {
		word := pick(&d.lot, words...)
		text := word
		switch word {
		case "held", "ignored":
			d.add(key, "{%s: yes}", word)
			return
		case "value":
			text = fmt.Sprintf("value: %s, within", d.position(pick(&d.lot, "0 %", "25 %", "100 %")))
		}
		text = fmt.Sprintf("%s: %.0f ms", text, d.between(from, from+100, 10))
		if d.one(3) {
			text += ", recovers: " + pick(&d.lot, recovers...)
		}
		d.add(key, "{%s}", text)
	}
	receiver, frames := 60+2e3/d.receiver, 60+2e3/d.frames
	all := []string{"no_shift_within", "idle_within", "ignored"}
	if d.bus {
		ending("receiver_lost", receiver, all...)
		ending("receiver_flag", receiver, all...)
	} else {
		ending("throttle_lost", receiver, all...)
		ending("steer_lost", receiver, all...)
		ending("gain_lost", receiver, "held", "no_shift_within", "idle_within", "value")
		ending("receiver_lost", receiver, "idle_within")
		d.add("bad_pulse", "ignored")
	}
	ending("yaw_lost", frames, all...)
	ending("yaw_frozen", frames+40, all...)
	ending("sequence_frozen", frames+40, all...)
	ending("encoder_lost", 120, all...)
	d.add("bad_checksum", "ignored")
	d.add("spike", "{at_most: 5 %%}")
	d.add("recovers", "%s", pick(&d.lot, recovers...))
}

// start draws what the board waits for after power-up, apart from all else.
func (d *lawDraw) start(n uint64) {
	l := &lot{portable.NewNoise(n, "starts of laws")}
	switch words := pick(l, "", "", "yaw_rate", "[steer, yaw_rate]", "[steer, gain, yaw_rate]"); {
	case words != "" && d.bus:
		d.add("start_waits_for", "yaw_rate") // its channels come together
	case words != "":
		d.add("start_waits_for", "%s", words)
	}
}

// outputs draws what the motor lines carry when nothing drives them, and how the four go together.
func (d *lawDraw) outputs() {
	d.add("safe_state", "%s", pick(&d.lot, "idle", "silent"))
	d.add("start", "%s", pick(&d.lot, "idle", "silent"))
	if d.one(3) {
		d.rest = d.between(0.5, 1.5, 0.25)
		d.add("start_at_rest", "%.2f s", d.rest)
	}
	if d.one(3) {
		d.armed = true
		d.add("arms", "throttle_at_idle")
	}
	d.add("outputs_together", "500 us")
	d.add("motors_equal_within", "%.1f %%", d.between(1, 2, 0.5))
	least := 0.4 // a pulse that is counted in us jumps by up to two of them, of 800 or, both ways, of 500
	if d.bothWays {
		least = 0.6
	}
	d.add("resolution", "%.1f %%", d.between(least, 0.9, 0.1))
}
