package file

import (
	"slices"
	"strconv"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

// BenchTable declares the bench file.
var BenchTable = language.NewTable("a bench file", "The wires between the rig and one board, and how the board comes up.", []language.Key{
	{Name: "bench", Kind: language.Text, Required: true, Example: "my bench", Doc: "name of the bench"},
	{Name: "about", Kind: language.Text, Example: "What it is for.", Doc: "what it is, in a sentence"},
	{Name: "kind", Kind: language.Word, Words: benchKinds, Doc: "what plays it; left out: simulated"},
	{Name: "computer", Kind: language.Word, Words: computerWords, Doc: "what a bench on pins stands on, and keeps to the limits of; left out: the Pi that hilrig runs on, and elsewhere the most able one"},
	{Name: "pins", Kind: language.Group, Table: pinTable, Doc: "the header's pin of each wire, on a Raspberry Pi"},
	{Name: "interlock", Kind: language.Group, Table: interlockTable, Doc: "the pins between the rig and a powered motor"},
	{Name: "tick", Kind: language.Measure, Quantity: language.Duration, Least: "100 us", Most: "10 ms", Example: "1 ms", Doc: "step of the rig's loop; left out: 1 ms"},
	{Name: "encoders", Kind: language.Group, Required: true, Forms: encoderForms, Doc: "the four wheel sensors"},
	{Name: "receiver", Kind: language.Group, Required: true, Forms: receiverForms, Doc: "the radio receiver's channels"},
	{Name: "serial", Kind: language.Group, Many: language.List, Required: true, Table: portTable, Doc: "the serial ports with the sensors that send on them"},
	{Name: "motors", Kind: language.Group, Required: true, Forms: motorLineForms, Doc: "the motor commands that the board sends"},
	{Name: "board", Kind: language.Group, Table: boardTable, Doc: "the board's life"},
	{Name: "sampler", Kind: language.Group, Table: samplerTable, Doc: "how the simulated bench reads its lines; left out: every edge at its true time"},
	{Name: "player", Kind: language.Group, Table: edgeOutputTable, Doc: "how the simulated bench plays its lines; left out: every edge when it is due"},
	{Name: "substituted", Kind: language.Word, Many: language.OneOrList, Words: substitutes, Doc: "what this firmware takes from another source than the car's own does, as a serial yaw source on the bench; every record of it says so"},
	{Name: "motors_powered", Kind: language.Word, Words: powerWords, Doc: "how the motors are powered; left out: signals_only"},
})

// powerWords are the words for the power levels, lowest first.
var powerWords = interlock.PowerWords()

// substitutes are what a firmware may take from another source on the bench.
var substitutes = []string{"yaw", "wheel_speed", "receiver"}

// perWheel returns k once for each wheel.
func perWheel(k language.Key) []language.Key {
	var keys []language.Key
	for _, w := range corners[:4] {
		k.Name = w
		keys = append(keys, k)
	}
	return keys
}

// changed returns the keys as change leaves them.
func changed(keys []language.Key, change func(k *language.Key)) []language.Key {
	keys = slices.Clone(keys)
	for i := range keys {
		change(&keys[i])
	}
	return keys
}

var boardTable = language.NewTable("the board's life", "", []language.Key{
	{Name: "reset", Kind: language.Word, Words: []string{"line", "relay", "none"}, Doc: "how the rig restarts the board; left out: none"},
	{Name: "ready_after", Kind: language.Measure, Quantity: language.Duration, Least: "0 ms", Most: "2 min", Example: "3 s", Doc: "at rest, after power-up; left out: 3 s"},
	{Name: "arm", Kind: language.Group, Many: language.List, Table: armTable, Doc: "what the board wants to see, one after the other, before it lets the motors turn; left out: nothing"},
	{Name: "between_cases", Kind: language.Group, Table: betweenTable, Doc: "what is played between cases"},
})

var armTable = language.NewTable("a step of arming", "", []language.Key{
	{Name: "throttle", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "100 %", Doc: "what the receiver sends for the throttle; left out: 0 %"},
	{Name: "steer", Kind: language.Measure, Quantity: language.Angle, Least: "-60 deg", Most: "60 deg", Example: "0 deg", Doc: "the steering, as an angle of the front wheels; left out: 0 deg"},
	{Name: "gain", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "0 %", Doc: "the gain trim; left out: 0 %"},
	{Name: "for", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "1 min", Example: "1 s", Doc: "how long"},
})

var betweenTable = language.NewTable("what is played between cases", "", []language.Key{
	{Name: "throttle", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Doc: "what the receiver sends for the throttle; left out: 0 %"},
	{Name: "steer", Kind: language.Measure, Quantity: language.Angle, Least: "-60 deg", Most: "60 deg", Example: "0 deg", Doc: "the steering, as an angle of the front wheels; left out: 0 deg"},
	{Name: "yaw_rate", Kind: language.Measure, Quantity: language.AngularRate, Least: "-2000 deg/s", Most: "2000 deg/s", Example: "0 deg/s", Doc: "what the yaw-rate sensor says; left out: 0 deg/s"},
	{Name: "for", Kind: language.Measure, Quantity: language.Duration, Least: "0 ms", Most: "1 min", Example: "1 s", Doc: "how long; left out: 1 s"},
})

// ParseBench reads a bench file. The error is of type [language.Problems]. Numbers are
// SI. What the steering pulse stands for is the car's matter: see [Complete].
func ParseBench(s language.Source) (*Bench, error) { return ParseBenchOn(s, pinout.NoPi) }

// ParseBenchOn is ParseBench on a computer: a real bench whose file names none keeps
// to the limits of that one, if it is a Pi that a bench can stand on.
func ParseBenchOn(s language.Source, host pinout.Model) (*Bench, error) {
	r, v := open(s, BenchTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	b := &Bench{Source: s, Name: v.Word("bench"), Kind: v.WordOr("kind", benchKinds[0]), ports: map[string]language.Place{}}
	b.Wiring.Tick = v.TimeOr("tick", signal.Millisecond)
	r.encoders(b, v.Sub("encoders"))
	r.receiver(b, v.Sub("receiver"))
	for _, port := range v.List("serial") {
		r.port(b, port.Mapping)
	}
	r.motorLines(b, v.Sub("motors"))
	b.Board, b.rest = boardLife(v.Sub("board")), r.restPlaces(v)
	b.Timing = r.timingModel(v)
	b.Power = interlock.Power(max(slices.Index(powerWords, v.Word("motors_powered")), 0))
	for _, x := range v.List("substituted") {
		b.Substituted = append(b.Substituted, x.Word)
	}
	layout := b.Wiring.Layout()
	b.Header = r.header(layout, v.Sub("pins"), v.Sub("interlock"), portsOf(v))
	if b.Kind == "raspberry" && len(r.Problems) == 0 {
		var others []string
		if b.Board.Reset != "none" {
			others = append(others, resetPin)
		}
		r.unwired(v, &b.Header, layout, others, b.Power)
	}
	r.computer(b, v, host)
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	return b, nil
}

// span writes a span of time for people, in the unit that it is said in: ms, s or min.
func span(t signal.Time) string {
	number := func(unit signal.Time) string {
		return strconv.FormatFloat(float64(t)/float64(unit), 'g', 4, 64)
	}
	switch {
	case t >= 60*signal.Second:
		return number(60*signal.Second) + " min"
	case t >= signal.Second:
		return number(signal.Second) + " s"
	}
	return language.Duration.Format(t.Seconds())
}

func boardLife(v *language.Mapping) BoardLife {
	l := BoardLife{Reset: v.WordOr("reset", "none"), ReadyAfter: v.TimeOr("ready_after", 3*signal.Second)}
	for _, x := range v.List("arm") {
		l.Arm = append(l.Arm, held(x.Mapping, 0))
	}
	l.BetweenCases = held(v.Sub("between_cases"), signal.Second)
	return l
}

// held reads what is played for a time, otherwise where the file does not say how long.
func held(v *language.Mapping, otherwise signal.Time) Held {
	h := Held{For: v.TimeOr("for", otherwise)}
	for c := range trace.Channels {
		if x := ValueOf(&h.Values, c); x != nil && v.MayHave(c.String()) {
			*x = v.Number(c.String())
		}
	}
	return h
}

// ValueOf returns the value of a channel that is played, nil for another channel.
func ValueOf(v *stimulus.Values, c trace.Channel) *float64 {
	switch c {
	case trace.Speed:
		return &v.Speed
	case trace.YawRate:
		return &v.YawRate
	case trace.Steer:
		return &v.Steer
	case trace.Throttle:
		return &v.Throttle
	case trace.Gain:
		return &v.Gain
	}
	return nil
}
