package file

import (
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/suites/language"
)

// limitsTable declares what an owner accepts, in the words of IEC 61298-2 where it has them.
var limitsTable = language.NewTable("the limits", "Each may be left out: what is left out is measured and not judged.", []language.Key{
	{Name: "linearity", Kind: language.Group, Table: linearityTable, Doc: "how far torque may lie from a straight line of throttle"},
	{Name: "start_threshold", Kind: language.Measure, Quantity: language.Share, Least: "0.1 %", Most: "100 %", Example: "6 %", Doc: "the first command with torque, at most"},
	{Name: "dead_band", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "1 %", Doc: "change of command without change of torque on reversal, at most; a share of the span of commands"},
	{Name: "resolution", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "1 %", Doc: "the least change of command that changes torque, at most; a share of the span of commands"},
	{Name: "hysteresis", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "2 %", Doc: "difference of torque between up and down, at most; a share of the span of torque"},
	{Name: "repeatability", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "2 %", Doc: "difference of torque between cycles of the same way, at most; a share of the span of torque"},
	{Name: "drift", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "2 %", Doc: "change of the first point, at the highest level, until the end of the run, at most; a share of the span of torque"},
	{Name: "monotone", Kind: language.Flag, Doc: "yes: torque never falls as the command rises; left out: not asked"},
	{Name: "first_tenth", Kind: language.Measure, Many: language.Pair, Quantity: language.Factor, Least: "0", Most: "100", Example: "1.2", Doc: "slope over the first tenth of the commands above the start, against that over the rest: 1 is even, more is a sharpened low end"},
	{Name: "delay", Kind: language.Measure, Quantity: language.Duration, Least: "0.1 ms", Most: "10 s", Example: "20 ms", Doc: "from a step of the command to the first answer, at most"},
	{Name: "rise_time", Kind: language.Measure, Quantity: language.Duration, Least: "0.1 ms", Most: "10 s", Example: "40 ms", Doc: "from 10 % to 90 % of the answer to a step, at most"},
})

var linearityTable = language.NewTable("the linearity", "", []language.Key{
	{Name: "sense", Kind: language.Word, Words: senseWords, Doc: "which straight line: independent is that from which the largest deviation is least, least_squares that with the least sum of squares, terminal_based that through both ends, zero_based that through the lower end; left out: independent"},
	{Name: "at_most", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.01 %", Most: "100 %", Example: "3 %", Doc: "the largest deviation, as a share of the span of torque"},
})

// senseWords are the senses of linearity.
var senseWords = func() (words []string) {
	for _, s := range characteristic.Senses() {
		words = append(words, s.String())
	}
	return words
}()

// limitsOf reads what an owner accepts.
func limitsOf(v *language.Mapping) characteristic.Limits {
	l := characteristic.Limits{
		StartThreshold: v.Optional("start_threshold"), DeadBand: v.Optional("dead_band"), Resolution: v.Optional("resolution"),
		Hysteresis: v.Optional("hysteresis"), Repeatability: v.Optional("repeatability"), Drift: v.Optional("drift"),
		Monotone: v.Flag("monotone"), Delay: v.Optional("delay"), Rise: v.Optional("rise_time"),
	}
	if x := v.Sub("linearity"); x.Has("at_most") {
		sense := characteristic.Senses()[max(slices.Index(senseWords, x.Word("sense")), 0)]
		l.Linearity = &characteristic.LinearityLimit{Sense: sense, AtMost: x.Number("at_most")}
	}
	if x := v.List("first_tenth"); len(x) == 2 {
		l.FirstTenth = &measure.Interval{Low: x[0].Number, High: x[1].Number}
	}
	return l
}
