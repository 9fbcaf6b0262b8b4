package suites

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// holdWord is one thing that a hold by hand can be told.
type holdWord struct {
	name      string
	quantity  language.Quantity
	low, high float64 // SI
	example   string
	set       func(h *Hold, x float64)
}

// holdWords lists the words of a hold by hand, with the range of each.
var holdWords = []holdWord{
	{"speed", language.Speed, -50, 50, "speed=4m/s", func(h *Hold, x float64) { h.Speed = x }},
	{"steer", language.Angle, -1, 1, "steer=8deg", func(h *Hold, x float64) { h.Steer = x }},
	{"yaw", language.AngularRate, -50, 50, "yaw=20deg/s or yaw=70%", func(h *Hold, x float64) { h.YawRate, h.OfDemand = x, false }},
	{"throttle", language.Share, -1, 1, "throttle=40%", func(h *Hold, x float64) { h.Throttle = x }},
	{"gain", language.Share, 0, 1, "gain=50%", func(h *Hold, x float64) { h.Gain = x }},
	{"for", language.Duration, 0.05, 600, "for=400ms", func(h *Hold, x float64) { h.Observe = signal.FromSeconds(x) }},
}

// ofDemand is the word yaw with a percentage.
var ofDemand = holdWord{"yaw", language.Share, -10, 10, "yaw=70%", func(h *Hold, x float64) { h.YawRate, h.OfDemand = x, true }}

// HoldOf reads the words of a hold, as "steer=8deg"; what is left out is as on a straight at part throttle.
func HoldOf(args []string) (Hold, error) {
	h := Hold{Speed: 4, Throttle: 0.4, Gain: 0.5, YawRate: 1, OfDemand: true, Observe: 400 * signal.Millisecond}
	var seen []string
	for _, arg := range args {
		name, value, ok := strings.Cut(arg, "=")
		at := slices.IndexFunc(holdWords, func(w holdWord) bool { return w.name == name })
		switch {
		case !ok:
			return h, fmt.Errorf("%q says no value; write it like steer=8deg", arg)
		case at < 0:
			return h, fmt.Errorf("%q: %q is nothing to hold; use speed, steer, yaw, throttle, gain or for", arg, name)
		case slices.Contains(seen, name):
			return h, fmt.Errorf("%q: %s is told twice; leave one out", arg, name)
		}
		w := holdWords[at]
		if name == "yaw" && strings.HasSuffix(value, "%") {
			w = ofDemand
		}
		seen = append(seen, name)
		x, err := language.ParseQuantity(value, w.quantity)
		if err != nil {
			wrong, _, _ := strings.Cut(err.Error(), "; ") // its remedy is for files, where a blank may stand
			return h, fmt.Errorf("%q: %s; write it like %s", arg, wrong, w.example)
		}
		if x < w.low || x > w.high {
			return h, fmt.Errorf("%q: %s goes from %s to %s", arg, name, w.quantity.Format(w.low), w.quantity.Format(w.high))
		}
		w.set(&h, x)
	}
	return h, nil
}

// HoldWords lists how the words of a hold begin, as "steer=".
func HoldWords() (all []string) {
	for _, w := range holdWords {
		all = append(all, w.name+"=")
	}
	return all
}
