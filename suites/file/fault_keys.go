package file

import "hilrig/suites/language"
import "hilrig/stimulus"

// stepKeys may stand at a step or a hold, besides what is held.
var stepKeys = []language.Key{
	{Name: "faults", Kind: language.Group, Many: language.List, Forms: faultForms, Doc: "what is wrong with the wires in this step"},
	{Name: "bumps", Kind: language.Group, Many: language.List, Table: bumpTable, Doc: "changes of load on single wheels, in closed loop"},
	{Name: "sweep", Kind: language.Group, Table: sweepTable, Doc: "one value goes slowly from the first to the second and back within the window; while the step settles it is the first"},
	{Name: "trials", Kind: language.Group, Table: trialsTable, Doc: "one value changes to and fro, each time at a drawn moment"},
}

var sweepTable = language.NewTable("a sweep", "Exactly one value.", twoOf(stimulusKeys, "from and to"))

var trialsTable = language.NewTable("trials", "Exactly one value, with how often and how quickly it changes.", append(twoOf(stimulusKeys, "the value that is held, and the one that it changes to"),
	language.Key{Name: "count", Kind: language.Whole, Least: "2", Most: "20000", Example: "200", Doc: "how often it changes; left out: 200"},
	language.Key{Name: "interval", Kind: language.Measure, Quantity: language.Duration, Least: "5 ms", Most: "10 s", Example: "60 ms", Doc: "from change to change, at least; a drawn delay comes on top; left out: 60 ms"}))

// twoOf returns the keys with two values each.
func twoOf(keys []language.Key, doc string) []language.Key {
	out := make([]language.Key, len(keys))
	for i, k := range keys {
		k.Many, k.Doc = language.Two, doc
		out[i] = k
	}
	return out
}

var bumpTable = language.NewTable("a bump", "", []language.Key{
	{Name: "wheel", Kind: language.Word, Required: true, Words: corners[:4], Doc: "the wheel"},
	{Name: "load", Kind: language.Measure, Quantity: language.Share, Required: true, Example: "0 %", Least: "0 %", Most: "100 %", Doc: "share of the wheel's load that is left; 0 % in the air"},
	afterKey,
	{Name: "for", Kind: language.Measure, Quantity: language.Duration, Required: true, Example: "60 ms", Least: "1 ms", Most: "1 min", Doc: "how long it lasts"},
})

var (
	afterKey = language.Key{Name: "after", Kind: language.Measure, Quantity: language.Duration, Example: "100 ms", Least: "0 ms", Most: "10 min", Doc: "when it begins, from the step's beginning; left out: 0 ms"}
	forKey   = language.Key{Name: "for", Kind: language.Measure, Quantity: language.Duration, Example: "200 ms", Least: "1 ms", Most: "10 min", Doc: "how long it lasts; left out: to the step's end"}
)

// faultForms declares each signal fault.
var faultForms = []language.Form{
	faultForm(stimulus.Lost, "a lost wire", "nothing on the wire: its level stays"),
	faultForm(stimulus.Stuck, "a stuck wire", "frames and pulses go on, their value freezes; an encoder stands still"),
	faultForm(stimulus.Noisy, "a noisy wire", "every frame or pulse has noise", byKey("the noise, rms, in the unit of what the wire carries")),
	faultForm(stimulus.Spike, "a spike on a wire", "a few frames or pulses whose value is an outlier", byKey("what is added to the value, in the unit of what the wire carries"),
		language.Key{Name: "frames", Kind: language.Whole, Least: "1", Most: "10000", Doc: "how many frames or pulses, for an encoder ticks of the rig; left out: 1"}),
	faultForm(stimulus.WrongChecksum, "a wrong checksum", "frames with a checksum that is wrong",
		language.Key{Name: "every", Kind: language.Whole, Least: "1", Most: "10000", Doc: "every so many-th frame; left out: 1"}),
	faultForm(stimulus.Delayed, "a delayed wire", "the value comes late",
		language.Key{Name: "by", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "10 s", Doc: "how late"}),
	faultForm(stimulus.Reversed, "a reversed wire", "the value has the wrong sign; an encoder counts backwards"),
	faultForm(stimulus.Swapped, "swapped wires", "two wires of a kind have changed places",
		language.Key{Name: "with", Kind: language.Text, Required: true, Example: "front_right", Doc: "the other receiver channel or wheel"}),
	faultForm(stimulus.Glitch, "glitches on a wire", "now and then the level of a line turns over for a moment",
		language.Key{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "0.01 Hz", Most: "1000 kHz", Example: "50 Hz", Doc: "how many a second, on the mean, at random"},
		language.Key{Name: "width", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "1 s", Example: "2 us", Doc: "how long each lasts"}),
	faultForm(stimulus.Jitter, "jitter on a wire", "every edge comes early or late at random",
		language.Key{Name: "by", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "100 ms", Example: "5 us", Doc: "how much, rms"}),
}

func faultForm(kind stimulus.FaultKind, name, doc string, keys ...language.Key) language.Form {
	word := kind.String()
	example := map[stimulus.FaultKind]string{stimulus.Swapped: "front_left", stimulus.Noisy: "yaw_serial", stimulus.Spike: "yaw_serial", stimulus.WrongChecksum: "yaw_serial"}[kind]
	if example == "" {
		example = "steer"
	}
	all := []language.Key{
		{Name: "wire", Kind: language.Text, Required: true, Example: example, Doc: "steer, throttle, gain, a wheel's encoder (rear_left), one line of it (rear_left_a), or a serial port of the bench, by what it carries (yaw_rate) or by its name, which stands for what it carries first"},
		{Name: "is", Kind: language.Word, Required: true, Words: []string{word}, Doc: "what is wrong with it"},
	}
	all = append(append(all, keys...), afterKey, forKey)
	return language.Form{Has: []string{"is"}, Word: word, Table: language.NewTable(name, doc, all)}
}

// byKey declares a size whose unit depends on the wire.
func byKey(doc string) language.Key {
	return language.Key{Name: "by", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Required: true, Example: "400 deg/s", Doc: doc}
}
