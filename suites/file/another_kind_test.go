package file

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// benchTopTable is a kind of file that this package does not have: one motor command on one line.
var benchTopTable = language.NewTable("a bench-top file", "", []language.Key{
	{Name: "bench_top", Kind: language.Text, Required: true, Doc: "its name"},
	{Name: "throttle", Kind: language.Group, Required: true, Forms: commandForms("the throttle line", nil, nil), Doc: "the command that is sent"},
	{Name: "pins", Kind: language.Group, Table: language.NewTable("its pins", "", []language.Key{
		{Name: "throttle", Kind: language.Pin, Doc: "the command"}, {Name: "steer", Kind: language.Pin, Doc: "no line of it"}}), Doc: "the pins"},
	{Name: "interlock", Kind: language.Group, Table: interlockTable, Doc: "what cuts the supply"},
})

// topped reads a file of that kind.
func topped(text string) (decode.Motor, float64, Header, language.Problems) {
	r, v := open(language.Source{Path: "top.yaml", Data: []byte(text)}, benchTopTable)
	m := r.command("throttle", v.Sub("throttle"), nil)
	rate := r.commandRate("throttle", v.Sub("throttle"), m)
	layout := signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.ThrottlePulse, signal.NoWheel)}}
	return m, rate, r.header(layout, v.Sub("pins"), v.Sub("interlock"), nil), r.Problems
}

func TestAnotherKindOfFileHasMotorCommandsAndPins(t *testing.T) {
	m, rate, h, problems := topped("bench_top: a\nthrottle: {kind: dshot300, two_direction: yes, forward: lower, rate: 1 kHz}\npins: {throttle: GPIO18}\ninterlock: {stop: GPIO17, relay: GPIO22, heartbeat: GPIO27, motor_limit: 40 %}\n")
	require.Empty(t, problems)
	assert.Equal(t, decode.Motor{Kind: decode.DShot300, DShot: decode.DShot{TwoDirection: true, ForwardLower: true}}, m)
	assert.Equal(t, 1000.0, rate)
	assert.Equal(t, Header{Pins: map[string]int{"throttle": 18}, Interlock: Interlock{Stop: 17, Relay: 22, Heartbeat: 27, MotorLimit: 0.4}}, h)
}

func TestMistakesOfAnotherKindOfFileSpeakOfIt(t *testing.T) {
	for text, want := range map[string]string{
		"throttle: {kind: servo_pulse, idle: 1000 us, full: 1000 us}\n":                                         "top.yaml:2:52: throttle: idle and full are the same width; give two widths",
		"throttle: {kind: oneshot125, rate: 50 kHz}\n":                                                          "throttle: commands of up to 0.25 ms do not fit 50 kHz",
		"throttle: {kind: dshot600, wheels: {}}\n":                                                              `key "wheels" is not known in the throttle line as digital frames`,
		"throttle: {kind: dshot600}\npins: {steer: GPIO5}\n":                                                    "this bench_top has no wire steer",
		"throttle: {kind: dshot600}\npins: {throttle: GPIO22}\ninterlock: {relay: GPIO22, heartbeat: GPIO27}\n": "GPIO22 is used twice, for throttle on line 3 and for relay",
		"throttle: {kind: dshot600}\ninterlock: {relay: GPIO4}\n":                                               "relay is on GPIO4, which is pulled high from power-up",
	} {
		_, _, _, problems := topped("bench_top: a\n" + text)
		assert.ErrorContains(t, problems, want, text)
	}
}
