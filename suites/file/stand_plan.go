package file

import (
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// heldConditionForms declares what can be held while levels are read.
var heldConditionForms = []language.Form{
	{Has: []string{"kind"}, Word: "speed", Table: language.NewTable("a held speed", "A motor fed with a voltage is linear in torque at a held speed alone.", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{"speed"}, Doc: "what is held"},
		{Name: "at", Kind: language.Measure, Many: language.OneOrList, Quantity: language.AngularRate, Required: true, Least: "1 rad/s", Most: "20000 rad/s", Example: "120 rad/s", Doc: "the speed of the shaft; of several, each is judged by itself"},
		{Name: "by", Kind: language.Word, Words: heldByWords[:], Doc: "what holds it: each level is run up through it, or a brake holds it; left out: spin_up where that is measured, or else brake"},
	})},
	{Has: []string{"kind"}, Word: "locked", Table: language.NewTable("a locked shaft", "All power goes into heat: hold each level for as short as it can be read.", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{"locked"}, Doc: "what is held"},
		{Name: "level_limit", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 ms", Most: "1 min", Example: "1 s", Doc: "no level lasts longer"},
		{Name: "starts_locked", Kind: language.Flag, Required: true, Doc: "the controller pushes with the shaft locked; many that have no position sensor give up"},
	})},
	{Has: []string{"kind"}, Word: "inertia", Table: language.NewTable("an inertia from rest", "The mean acceleration from rest to a speed.", []language.Key{
		{Name: "kind", Kind: language.Word, Required: true, Words: []string{"inertia"}, Doc: "what is held"},
		{Name: "to", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Least: "1 rad/s", Most: "20000 rad/s", Example: "120 rad/s", Doc: "the speed at its end"},
	})},
}

// held reads the held conditions.
func (r *reader) held(d *Stand, list []language.Value) {
	for _, x := range list {
		v := x.Mapping
		h := HeldCondition{Place: r.PlaceOf(x.Node)}
		switch v.Word("kind") {
		case "locked":
			h.Kind, h.LevelLimit = Locked, v.Time("level_limit")
			if x := v.Get("starts_locked"); x != nil && !x.Flag {
				r.Report(x.Node, "the shaft is to be locked, and the controller does not start so", "hold a speed instead")
			}
			r.holds(d, v.Node, h)
		case "inertia":
			h.Kind, h.Speed = Inertia, v.Number("to")
			r.holds(d, v.Node, h)
		case "speed":
			h.By = HeldBy(max(slices.Index(heldByWords[:], v.Word("by")), 0))
			if !v.Has("by") && d.SpinUp == nil {
				h.By = ByBrake
			}
			for _, at := range v.List("at") {
				h.Speed, h.Place = at.Number, r.PlaceOf(at.Node)
				r.holds(d, at.Node, h)
			}
		}
	}
}

// holds adds a held condition, and reports one that is there already.
func (r *reader) holds(d *Stand, n *language.Node, h HeldCondition) {
	for _, o := range d.Held {
		if o.Kind == h.Kind && o.Speed == h.Speed {
			r.Report(n, fmt.Sprintf("%s is held already, on line %d", h, o.Place.Line), "leave one out")
			return
		}
	}
	d.Held = append(d.Held, h)
}

// String says what is held: "speed 120 rad/s", "locked", "inertia from rest to 240 rad/s".
func (h HeldCondition) String() string {
	switch h.Kind {
	case Locked:
		return "locked"
	case Inertia:
		return "inertia from rest to " + radians(h.Speed)
	}
	return "speed " + radians(h.Speed)
}

// radians writes an angular rate in rad/s, as those of shafts are said.
func radians(x float64) string { return fmt.Sprintf("%.4g rad/s", x) }

var planTable = language.NewTable("the plan", "", []language.Key{
	{Name: "levels", Kind: language.Measure, Many: language.List, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "0 %, 5 %, 10 %", Doc: "the commands, rising; left out: count of them, evenly spaced"},
	{Name: "from", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "99 %", Example: "0 %", Doc: "the lowest command; left out: 0 %"},
	{Name: "to", Kind: language.Measure, Quantity: language.Share, Least: "-99 %", Most: "100 %", Example: "100 %", Doc: "the highest command; left out: 100 %"},
	{Name: "count", Kind: language.Whole, Least: "2", Most: "201", Example: "21", Doc: "how many commands; left out: 21"},
	{Name: "cycles", Kind: language.Whole, Least: "3", Most: "100", Example: "3", Doc: "how often all levels are gone through, up and down; left out: 3"},
	{Name: "order", Kind: language.Word, Words: []string{"sequence", "drawn"}, Doc: "one level after the other, or in an order that is drawn, each still approached from below on the way up and from above on the way down; left out: sequence"},
	{Name: "dwell", Kind: language.Measure, Quantity: language.Duration, Least: "10 ms", Most: "1 min", Example: "500 ms", Doc: "how long a level is held, but in a run-up, which ends by its speed; left out: 500 ms"},
	{Name: "window", Kind: language.Measure, Quantity: language.Duration, Least: "5 ms", Most: "1 min", Example: "300 ms", Doc: "over the end of the dwell the reading is averaged; left out: 300 ms, or 60 % of a shorter dwell"},
	{Name: "rest", Kind: language.Measure, Quantity: language.Duration, Least: "0 s", Most: "10 min", Example: "1 s", Doc: "at idle between two levels, against heating; left out: 0 s"},
	{Name: "margin", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "100 %", Example: "10 %", Doc: "how far a run-up goes beyond the highest held speed; left out: 10 %"},
	{Name: "fine_at", Kind: language.Measure, Many: language.OneOrList, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "30 %", Doc: "the commands about which small changes are tried, for dead band and resolution; left out: 30 % and 60 %"},
	{Name: "fine_steps", Kind: language.Measure, Many: language.OneOrList, Quantity: language.Share, Least: "0.01 %", Most: "20 %", Example: "0.5 %", Doc: "how large those changes are, rising; left out: 0.1 %, 0.2 %, 0.5 %, 1 %, 2 % and 5 %"},
	{Name: "start_step", Kind: language.Measure, Quantity: language.Share, Least: "0.05 %", Most: "5 %", Example: "0.5 %", Doc: "by how much the command rises in the search for the first that moves the shaft; left out: 0.5 %"},
	{Name: "step", Kind: language.Measure, Many: language.Two, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "60 %", Doc: "the commands between which a step is timed; left out: 30 % and 60 %"},
	{Name: "step_hold", Kind: language.Measure, Quantity: language.Duration, Least: "50 ms", Most: "1 min", Example: "300 ms", Doc: "how long each of both is held; left out: 300 ms"},
	{Name: "first_again", Kind: language.Flag, Doc: "the highest level is the first point, read before all others and again after them, for the drift; left out: yes"},
})

// plan reads what is played.
func (r *reader) plan(d *Stand, v *language.Mapping) {
	p := &d.Plan
	p.Cycles, p.Drawn = int(v.WholeOr("cycles", 3)), v.Word("order") == "drawn"
	p.Dwell, p.Rest = v.TimeOr("dwell", 500*signal.Millisecond), v.Time("rest")
	p.Window = v.TimeOr("window", min(300*signal.Millisecond, p.Dwell*6/10))
	p.Margin, p.StartStep = v.NumberOr("margin", 0.1), v.NumberOr("start_step", 0.005)
	p.FirstAgain = !v.Has("first_again") || v.Flag("first_again")
	if x := v.Get("window"); x != nil && p.Window > p.Dwell {
		r.Report(x.Node, fmt.Sprintf("window %s is longer than the dwell, %s", span(p.Window), span(p.Dwell)), "give a shorter window, or a longer dwell")
	}
	r.levels(d, v)
	p.FineAt = r.shares(d, v, "fine_at", []float64{0.3, 0.6})
	p.FineSteps = r.shares(d, v, "fine_steps", []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05})
	p.Step = &ThrottleStep{From: 0.3, To: 0.6, Hold: v.TimeOr("step_hold", 300*signal.Millisecond)}
	if step := v.List("step"); step != nil {
		p.Step.From, p.Step.To = step[0].Number, step[1].Number
		for i := range step {
			r.oneWay(d, &step[i], "step")
		}
		if p.Step.From == p.Step.To {
			r.Report(v.Get("step").Key, fmt.Sprintf("step: both commands are %s", step[0].Node.Text), "give two that differ")
		}
	}
}

// levels reads the commands that are played.
func (r *reader) levels(d *Stand, v *language.Mapping) {
	p := &d.Plan
	if v.Written("levels") {
		for _, name := range []string{"from", "to", "count"} {
			if x := v.Get(name); x != nil {
				r.Report(x.Key, name+" says which levels there are, and levels lists them", "leave one of them out")
			}
		}
		p.Levels = r.shares(d, v, "levels", nil)
		if x := v.Get("levels"); x != nil && len(p.Levels) == 1 {
			r.Report(x.Key, "levels has one command alone, of which no line can be made", "give at least two; linearity is judged from eight on")
		}
		return
	}
	from, to, count := v.NumberOr("from", 0), v.NumberOr("to", 1), int(v.WholeOr("count", 21))
	if x := v.Get("from"); x != nil {
		r.oneWay(d, x, "from")
	}
	if from >= to {
		at := v.Get("to")
		if at == nil {
			at = v.Get("from")
		}
		r.Report(at.Node, fmt.Sprintf("the levels go from %s to %s, and are to rise", language.Share.Format(from), language.Share.Format(to)), "write the lower one at from")
		return
	}
	for i := range count {
		p.Levels = append(p.Levels, from+float64(float64((to-from)*float64(i))/float64(count-1)))
	}
}

// shares reads commands that have to rise, otherwise where the key is left out.
func (r *reader) shares(d *Stand, v *language.Mapping, name string, otherwise []float64) (all []float64) {
	list := v.List(name)
	if list == nil {
		return otherwise
	}
	for i := range list {
		x := &list[i]
		r.oneWay(d, x, name)
		if n := len(all); n > 0 && x.Number <= all[n-1] {
			what, remedy := "does not rise", "sort them"
			if x.Number == all[n-1] {
				what, remedy = "stands twice", "leave one out: every level is read in every cycle anyway"
			}
			r.Report(x.Node, fmt.Sprintf("%s: %s %s", name, x.Node.Text, what), remedy)
		}
		all = append(all, x.Number)
	}
	return all
}

var stopTable = language.NewTable("what stops a run", "Any of them ends the run at idle at once. Each needs something that measures it: where nothing of that is heard for 100 ms, the run ends too.", []language.Key{
	{Name: "speed", Kind: language.Measure, Quantity: language.AngularRate, Least: "1 rad/s", Most: "20000 rad/s", Example: "300 rad/s", Doc: "of the shaft, either way; left out: not bounded"},
	{Name: "current", Kind: language.Measure, Quantity: language.Current, Least: "0.1 A", Most: "500 A", Example: "40 A", Doc: "of supply or phase, whichever is measured; left out: not bounded"},
	{Name: "temperature", Kind: language.Measure, Quantity: language.Temperature, Least: "20 degC", Most: "200 degC", Example: "80 degC", Doc: "of the controller; left out: not bounded"},
	{Name: "lowest_voltage", Kind: language.Measure, Quantity: language.Voltage, Least: "0.5 V", Most: "100 V", Example: "6.4 V", Doc: "of the supply; left out: not bounded"},
	{Name: "time", Kind: language.Measure, Quantity: language.Duration, Least: "1 s", Most: "600 min", Example: "10 min", Doc: "since the first level; left out: 30 min"},
})

// stopAt reads what ends a run, and reports bounds that nothing measures.
func (r *reader) stopAt(d *Stand, v *language.Mapping) {
	s := &d.StopAt
	s.Speed, s.Current, s.Temperature, s.LowestVoltage = v.Optional("speed"), v.Optional("current"), v.Optional("temperature"), v.Optional("lowest_voltage")
	s.Time = v.TimeOr("time", 30*60*signal.Second)
	telemetry := d.Telemetry != nil
	for _, bound := range []struct {
		name, remedy string
		measured     bool
	}{
		{"speed", "add spin_up or telemetry under measure", d.SpinUp != nil || telemetry},
		{"current", "add telemetry, or a bus_sensor with quantity: current, under measure", telemetry || d.onBus(BusCurrent)},
		{"temperature", "add telemetry under measure", telemetry},
		{"lowest_voltage", "add telemetry, or a bus_sensor with quantity: voltage, under measure", telemetry || d.onBus(BusVoltage)},
	} {
		if x := v.Get(bound.name); x != nil && !bound.measured {
			r.Report(x.Key, fmt.Sprintf("stop_at: %s is measured by nothing", bound.name), bound.remedy+", or leave it out")
		}
	}
	if x := v.Get("lowest_voltage"); x != nil && d.Supply.Voltage != nil && *s.LowestVoltage >= *d.Supply.Voltage {
		r.Report(x.Node, fmt.Sprintf("lowest_voltage %s is not below the supply's own, %s: the run would end at its beginning", x.Node.Text, language.Voltage.Format(*d.Supply.Voltage)), "give a lower one")
	}
}
