package suites_test

import (
	"fmt"
	"strings"

	"hilrig/suites/language"
)

// car writes the car with a policy.
func (d *lawDraw) car(wheelbase float64, linear bool, lines []policyLine) language.Source {
	var w strings.Builder
	size := wheelbase / 0.330
	mass := 3.9 * size * size
	fmt.Fprintf(&w, "car: drawn\nabout: Drawn at random.\nmass: %.3f kg\nwheelbase: %.3f m\ntrack: %.3f m\n", mass, wheelbase, wheelbase)
	fmt.Fprintf(&w, "wheel_radius: 54 mm\nweight_front: 55 %%\nyaw_inertia: %.5f kg m2\ncg_height: 65 mm\nwheel_inertia: 0.0003 kg m2\nsteering:\n", mass*wheelbase*wheelbase*0.175)
	for i, pulse := range []int{1000, 1250, 1500, 1750, 2000} {
		angle := float64(i-2) * 14
		if !linear { // less to the right, and the more the farther
			angle -= 0.4 * float64((i-2)*(i-2))
		}
		fmt.Fprintf(&w, "  - {pulse: %d us, left: %.2f deg, right: %.2f deg}\n", pulse, angle, angle)
	}
	w.WriteString("tyre:\n  longitudinal: {b: 5, c: 1.6, e: 0, mu: 0.65}\n  lateral: {b: 4, c: 1.6, e: 0, mu: 0.6}\n  load_sensitivity: 0.35\n")
	fmt.Fprintf(&w, "motor: {stall_torque: %.2f N m, no_load_speed: 278 rad/s, drag_brake: 5 %%, torque_lag: 4 ms}\nservo: {rate: 300 deg/s, lag: 10 ms}\npolicy:\n", 2*mass/3.9)
	for _, l := range lines {
		fmt.Fprintf(&w, "  %s: %s\n", l.key, l.value)
	}
	return language.Source{Path: "car.yaml", Data: []byte(w.String())}
}

// bench draws the wires.
func (d *lawDraw) bench() language.Source {
	var w strings.Builder
	w.WriteString("bench: drawn\n")
	d.wheels(&w)
	d.channels(&w)
	d.yawPort(&w)
	d.motorLines(&w)
	w.WriteString("board:\n  reset: line\n  ready_after: 3 s\n")
	if d.armed {
		w.WriteString("  arm: [{throttle: 0 %, for: 500 ms}]\n")
	}
	w.WriteString("  between_cases: {throttle: 0 %, steer: 0 deg, yaw_rate: 0 deg/s, for: 1 s}\n")
	return language.Source{Path: "bench.yaml", Data: []byte(w.String())}
}

func (d *lawDraw) wheels(w *strings.Builder) {
	switch {
	case d.tacho:
		fmt.Fprintf(w, "encoders: {kind: tacho, pulses: %d}\n", pick(&d.lot, 100, 200, 400))
	case d.one(5):
		fmt.Fprintf(w, "encoders: {kind: duty, period: 1 ms, least: 5 %%, most: 95 %%, steps: %d, reverse: %s}\n", pick(&d.lot, 4096, 16384), pick(&d.lot, "yes", "no"))
	default:
		fmt.Fprintf(w, "encoders: {kind: quadrature, lines: %d, wheels: {front_left: {reverse: %s}, rear_right: {lines: %d}}}\n",
			pick(&d.lot, 64, 100, 128, 200, 256, 360, 500), pick(&d.lot, "yes", "no"), pick(&d.lot, 128, 256))
	}
}

func (d *lawDraw) channels(w *strings.Builder) {
	if d.bus {
		fmt.Fprintf(w, "receiver:\n  bus:\n    port: receiver_bus\n    rate: %.0f Hz\n    upright: %s\n", d.receiver, pick(&d.lot, "yes", "no"))
		fmt.Fprintf(w, "    steer: {channel: 1, counts: [172, 1811], pulses: [988 us, 2012 us]}\n    throttle: {channel: 3, idle: %s}\n    gain: {channel: 6, idle: %s}\n",
			d.throttle("172, full: 1811", "1811, full: 172", "992, full: 1811"), pick(&d.lot, "172, full: 1811", "1811, full: 172"))
		return
	}
	fmt.Fprintf(w, "receiver:\n  steer: {rate: %.0f Hz}\n  throttle: {rate: %.0f Hz, idle: %s}\n  gain: {rate: %.0f Hz, idle: %s}\n",
		d.receiver, d.receiver, d.throttle("1000 us, full: 2000 us", "1900 us, full: 1100 us", "1500 us, full: 2000 us"),
		d.receiver, pick(&d.lot, "1000 us, full: 2000 us", "2000 us, full: 1000 us"))
}

// throttle returns the ends of the throttle, the last where it goes both ways.
func (d *lawDraw) throttle(up, down, both string) string {
	if d.bothWays {
		return both
	}
	return pick(&d.lot, up, up, down)
}

// yawPort draws how the yaw rate comes.
func (d *lawDraw) yawPort(w *strings.Builder) {
	port := pick(&d.lot, "yaw_serial", "imu", "gyro_port")
	fmt.Fprintf(w, "serial:\n  - port: %s\n    baud: %d Bd\n    parity: %s\n    stop_bits: %d\n    inverted: %s\n    frames:\n      - rate: %.0f Hz\n",
		port, pick(&d.lot, 115200, 230400, 460800), pick(&d.lot, "none", "none", "even", "odd"), pick(&d.lot, 1, 1, 2), pick(&d.lot, "no", "no", "yes"), d.frames)
	order := pick(&d.lot, "big", "little")
	value := pick(&d.lot,
		"as: i16, order: "+order+", scale: 0.0625 deg/s, noise: 0.15 deg/s, range: [-2000 deg/s, 2000 deg/s]",
		"as: i24, order: "+order+", scale: 0.002 deg/s, noise: 0.1 deg/s, range: [-2000 deg/s, 2000 deg/s]",
		"as: u16, order: "+order+", scale: 0.0625 deg/s, offset: -2000 deg/s, noise: 0.12 deg/s, range: [-2000 deg/s, 2000 deg/s]",
		"as: f32, order: "+order+", noise: 0.1 deg/s",
		"as: i32, order: "+order+", scale: -0.0001 deg/s, noise: 0.1 deg/s, range: [-2000 deg/s, 2000 deg/s]")
	check := pick(&d.lot,
		"check: crc8, poly: 0x07, init: 0, from: 2", "check: crc8, poly: 0x31, init: 0xFF, xor_out: 0x55, reflected: yes, from: 1", "check: sum8, from: 1", "check: xor8, from: 2",
		"check: crc16, poly: 0x1021, init: 0xFFFF, from: 2, order: "+order, "check: crc16, poly: 0x8005, init: 0, reflected: yes, from: 2, order: little")
	if stuffing := pick(&d.lot, "", "", "slip", "cobs"); stuffing != "" {
		fmt.Fprintf(w, "        stuffing: %s\n", stuffing)
	}
	w.WriteString("        fields:\n          - {bytes: [0xA5, 0x5A]}\n")
	counter := pick(&d.lot, "          - {sequence: u8}\n", "          - {sequence: u16, order: "+order+"}\n", "          - packed: [{bits: 6, sequence: yes}, {bits: 2, value: 1}]\n            first: low\n")
	w.WriteString(counter)
	fmt.Fprintf(w, "          - {channel: yaw_rate, %s}\n          - {%s}\n", value, check)
}

// motorLines draws the motor commands.
func (d *lawDraw) motorLines(w *strings.Builder) {
	inverted := pick(&d.lot, "no", "no", "yes")
	switch d.Uint64() % 4 {
	case 0:
		ends := pick(&d.lot, "idle: 1000 us, full: 2000 us", "idle: 1100 us, full: 1900 us", "idle: 1900 us, full: 1100 us")
		if d.bothWays {
			ends = "idle: 1500 us, full: 2000 us, with_neutral: yes"
		}
		fmt.Fprintf(w, "motors: {kind: servo_pulse, %s, inverted: %s, rate: %.0f Hz}\n", ends, inverted, d.between(250, 400, 10))
	case 1:
		neutral := ""
		if d.bothWays {
			neutral = ", with_neutral: yes"
		}
		fmt.Fprintf(w, "motors: {kind: oneshot125, inverted: %s, rate: %.0f Hz%s}\n", inverted, d.between(400, 1500, 50), neutral)
	default:
		both := ""
		if d.bothWays {
			both = ", two_direction: yes, forward: " + pick(&d.lot, "upper", "lower")
		}
		fmt.Fprintf(w, "motors: {kind: %s, inverted: %s, stop_is_idle: %s, rate: %.0f Hz%s}\n",
			pick(&d.lot, "dshot150", "dshot300", "dshot600"), inverted, pick(&d.lot, "yes", "no"), d.between(500, 2000, 100), both)
	}
}
