package search

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/suites/file"
)

// loss is a wire that is lost while a drive holds its only piece.
type loss struct {
	key   string // of the policy, that says what the board does then
	fault string // as a suite file has it
	stops bool   // by the policy all motors are to stop
	two   bool   // something else is lost too, which must not keep the motors running: only where they are to stop
	other bool   // what is told meanwhile would have the shift the other way
	after int    // what is played behind it: 0 nothing, 1 that it is over, 2 that the throttle then comes again
}

// losses are those that are drawn, by the policy's key. They are the ones of the standard suite.
var losses = []loss{
	{key: "throttle_lost", fault: "{wire: throttle, is: lost}"},
	{key: "throttle_lost", fault: "{wire: yaw_rate, is: lost}, {wire: throttle, is: lost}", two: true},
	{key: "throttle_lost", fault: "{wire: rear_left, is: lost}, {wire: throttle, is: lost}", two: true},
	{key: "receiver_lost", fault: "{wire: yaw_rate, is: lost}, {wire: receiver, is: lost}", two: true},
	{key: "steer_lost", fault: "{wire: steer, is: lost}"},
	{key: "gain_lost", fault: "{wire: gain, is: lost}"},
	{key: "receiver_lost", fault: "{wire: receiver, is: lost}"},
	{key: "receiver_flag", fault: "{wire: receiver, is: failsafe_flag}"},
	{key: "yaw_lost", fault: "{wire: yaw_rate, is: lost}"},
	{key: "yaw_frozen", fault: "{wire: yaw_rate, is: stuck}"},
	{key: "sequence_frozen", fault: "{wire: yaw_rate, is: sequence_stuck}"},
	{key: "bad_checksum", fault: "{wire: yaw_rate, is: wrong_checksum}", other: true},
	{key: "spike", fault: "{wire: yaw_rate, is: spike, by: 400 deg/s, frames: 1, after: 400 ms}"},
	{key: "spike", fault: "{wire: yaw_rate, is: spike, by: -400 deg/s, frames: 1, after: 400 ms}"},
	{key: "bad_pulse", fault: "{wire: steer, is: bad_pulse, width: 300 us, after: 400 ms}"},
	{key: "bad_pulse", fault: "{wire: steer, is: bad_pulse, width: 2900 us, after: 400 ms}"},
	{key: "bad_pulse", fault: "{wire: throttle, is: bad_pulse, width: 300 us, after: 400 ms}"},
	{key: "bad_pulse", fault: "{wire: throttle, is: bad_pulse, width: 2900 us, after: 400 ms}"},
	{key: "encoder_lost", fault: "{wire: front_left, is: lost}"},
	{key: "encoder_lost", fault: "{wire: front_right, is: lost}"},
	{key: "encoder_lost", fault: "{wire: rear_left, is: lost}"},
	{key: "encoder_lost", fault: "{wire: rear_right, is: lost}"},
	{key: "encoder_lost", fault: "{wire: front_left_a, is: stuck}"},
	{key: "encoder_lost", fault: "{wire: front_right_b, is: stuck}"},
	{key: "encoder_lost", fault: "{wire: rear_left_b, is: stuck}"},
	{key: "encoder_lost", fault: "{wire: rear_right_a, is: stuck}"},
}

// lossesOf returns those that a car's policy says something of.
func lossesOf(car *file.Car) []loss {
	all := slices.DeleteFunc(slices.Clone(losses), func(l loss) bool { return !slices.Contains(car.Asked, l.key) })
	for i := range all {
		then := assertions.LossNamed(&car.Policy, all[i].key)
		all[i].stops = then != nil && then.Then == law.LossIdle
	}
	return slices.DeleteFunc(all, func(l loss) bool { return l.two && !l.stops })
}

// lossCase writes a case in which the wire is lost and comes back.
func (d *drive) lossCase(b *strings.Builder) {
	l, p := d.loss, &d.pieces[0]
	b.WriteString("  - case: loss\n    where_wired: yes\n    baseline: {gain: 0 %}\n")
	for c, v := range p.values {
		fmt.Fprintf(b, "    %s: %s\n", written[c].key, v.text(channel(c)))
	}
	fmt.Fprintf(b, "    steps:\n      - {step: before, settle: %d ms, observe: %d ms}\n", d.settle()-100, p.length)
	told := ""
	if l.other {
		told = "yaw_rate: 160 % of demand, "
	}
	fmt.Fprintf(b, "      - {step: lost, %ssettle: 100 ms, observe: 600 ms, faults: [%s]}\n", told, l.fault)
	behind := []string{"{step: after, settle: 200 ms, observe: 600 ms}", "{step: throttle let go, throttle: 0 %, settle: 200 ms, observe: 600 ms}", "{step: again, settle: 200 ms, observe: 600 ms}"}
	expect := []string{fmt.Sprintf("{policy: %s, step: lost}", l.key)}
	switch {
	case l.key == "spike", l.key == "bad_pulse", l.other, l.two: // nothing is lost
		behind = nil
	case l.after == 0:
		behind = nil
	case l.after == 1:
		behind = behind[:1]
		expect = append(expect, "{policy: recovers, step: after}")
	default:
		expect = append(expect, "{policy: recovers, step: after}", "{policy: recovers, step: again}")
	}
	for _, s := range behind {
		b.WriteString("      - " + s + "\n")
	}
	b.WriteString("    expect:\n")
	for _, s := range expect {
		b.WriteString("      - " + s + "\n")
	}
}
