package file

import (
	"fmt"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// lossKeys say what the board does when a wire fails.
var lossKeys = []language.Key{
	{Name: "throttle_lost", Kind: language.Group, Table: lossTable, Doc: "no throttle pulses"},
	{Name: "steer_lost", Kind: language.Group, Table: lossTable, Doc: "no steering pulses"},
	{Name: "gain_lost", Kind: language.Group, Table: gainLostTable, Doc: "no pulses of the gain trim"},
	{Name: "receiver_lost", Kind: language.Group, Table: lossTable, Doc: "no frames of a receiver's bus, or no pulses on any of the receiver's lines"},
	{Name: "receiver_flag", Kind: language.Group, Table: lossTable, Doc: "frames of a receiver's bus go on, with the failsafe flag set"},
	{Name: "yaw_lost", Kind: language.Group, Table: lossTable, Doc: "no frames of the yaw-rate sensor"},
	{Name: "yaw_frozen", Kind: language.Group, Table: lossTable, Doc: "frames of the yaw-rate sensor go on, its value stands still"},
	{Name: "sequence_frozen", Kind: language.Group, Table: lossTable, Doc: "frames of the yaw-rate sensor go on with live values, and their sequence counter stands still"},
	{Name: "encoder_lost", Kind: language.Group, Table: lossTable, Doc: "no edges of one wheel's encoder, or none on one of its two lines, so that the other's count to and fro"},
	{Name: "bad_checksum", Kind: language.Word, Words: law.BadChecksum(0).Words(), Doc: "frames with a wrong checksum"},
	{Name: "bad_pulse", Kind: language.Word, Words: law.BadPulse(0).Words(), Doc: "a receiver pulse too short or too long to stand for anything"},
	{Name: "spike", Kind: language.Group, Table: spikeTable, Doc: "one frame whose value is an outlier"},
	{Name: "recovers", Kind: language.Word, Words: law.Recovers(0).Words(), Doc: "what a board needs to drive again after a loss that says nothing of its own: nothing, the throttle once at idle, or a power cycle"},
}

// The keys of losses that several tables have.
var (
	noShiftKey  = language.Key{Name: "no_shift_within", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "1 min", Example: "100 ms", Doc: "there is no shift any more, and the throttle drives on; from the end of the last good pulse, frame or edge"}
	idleKey     = language.Key{Name: "idle_within", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "1 min", Example: "150 ms", Doc: "all motors go to the safe state; from the end of the last good pulse, frame or edge"}
	recoversKey = language.Key{Name: "recovers", Kind: language.Word, Words: law.Recovers(0).Words(), Doc: "what the board needs to drive again after this loss; left out: as the policy's recovers"}
)

var lossTable = language.NewTable("a loss", "What the board does: one of no_shift_within, idle_within and ignored.", []language.Key{
	noShiftKey, idleKey,
	{Name: "ignored", Kind: language.Flag, Doc: "the board goes on as if nothing were lost; of a shift that grows with time it is not asked that it goes on"},
	recoversKey,
})

var gainLostTable = language.NewTable("a loss of the gain trim", "What the board does: one of held, no_shift_within, idle_within and value.", []language.Key{
	{Name: "held", Kind: language.Flag, Doc: "the last gain holds; of a shift that grows with time it is not asked that it goes on"},
	noShiftKey, idleKey,
	{Name: "value", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "the gain that the board then takes; goes with within; of a shift that saturates or grows with time another gain is not told from it but for 0 %"},
	{Name: "within", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "1 min", Example: "150 ms", Doc: "how soon it takes value, from the end of the last good pulse"},
	recoversKey,
})

var spikeTable = language.NewTable("a spike", "", []language.Key{{Name: "at_most", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.01 %", Most: "100 %", Example: "5 %", Doc: "share of range that it may move a motor"}})

// lossThen says what each key of a loss has the board do.
var lossThen = map[string]law.LossThen{
	"no_shift_within": law.LossNoShift, "idle_within": law.LossIdle, "ignored": law.LossIgnored, "held": law.LossHeld, "value": law.LossValue,
}

// readLosses reads what the board does when a wire fails.
func (r *reader) readLosses(p *law.Policy, v *language.Mapping) {
	for key, to := range map[string]**law.Loss{
		"throttle_lost": &p.ThrottleLost, "steer_lost": &p.SteerLost, "gain_lost": &p.GainLost,
		"receiver_lost": &p.ReceiverLost, "receiver_flag": &p.ReceiverFlag,
		"yaw_lost": &p.YawLost, "yaw_frozen": &p.YawFrozen, "sequence_frozen": &p.SequenceFrozen, "encoder_lost": &p.EncoderLost,
	} {
		*to = r.loss(key, v.Sub(key))
	}
	p.BadChecksum = wordAt[law.BadChecksum](v, "bad_checksum")
	p.BadPulse = wordAt[law.BadPulse](v, "bad_pulse")
	p.Spike = v.Sub("spike").Optional("at_most")
	p.Recovers = wordAt[law.Recovers](v, "recovers")
}

// loss reads what the board does after one loss, nil where nothing is written, and reports
// one that says nothing, or two things.
func (r *reader) loss(key string, v *language.Mapping) *law.Loss {
	if v == nil {
		return nil
	}
	way, written := r.way(key, v)
	if way == "" {
		if len(written) == 0 && len(v.Values) == len(v.Node.Entries) {
			r.Report(v.Node.Head(), key+" does not say what the board does", "add "+waysOf(v.Table))
		}
		return nil
	}
	l := &law.Loss{Then: lossThen[way], Recovers: wordAt[law.Recovers](v, "recovers")}
	switch l.Then {
	case law.LossNoShift, law.LossIdle:
		l.Within = v.Time(way)
	case law.LossValue:
		l.Value, l.Within = v.Number("value"), v.Time("within")
	case law.LossIgnored, law.LossHeld:
		r.nothingToRecover(way, v)
	}
	r.within(key, l, v)
	return l
}

// waysOf shows the keys of a loss's table of which one has to stand: "no_shift_within:
// 100 ms, idle_within: 150 ms or ignored: yes".
func waysOf(t *language.Table) string {
	var ways []string
	for i := range t.Keys {
		if k := &t.Keys[i]; lossThen[k.Name] != 0 {
			ways = append(ways, k.Name+": "+k.Sample())
		}
	}
	return language.Or(ways)
}

// way returns the one key that says what the board does, "" where there is none or it is
// wrong, and all that are written, right or wrong. Two are reported at the second.
func (r *reader) way(key string, v *language.Mapping) (way string, written []string) {
	for i := range v.Node.Entries {
		name := v.Node.Entries[i].Name
		x := v.Values[name]
		switch {
		case lossThen[name] == 0 || x == nil:
			continue
		case len(written) > 0:
			r.Report(x.Key, fmt.Sprintf("%s says two things, %s and %s", key, written[0], name), "leave one of them out")
		case x.Bad:
		case v.Table.Key(name).Kind == language.Flag && !x.Flag:
			r.Report(x.Node, fmt.Sprintf("%s: no does not say what the board does", name), "write "+waysOf(v.Table))
		default:
			way = name
		}
		written = append(written, name)
	}
	return way, written
}

// nothingToRecover reports what it takes to drive again after a loss that stops nothing.
func (r *reader) nothingToRecover(way string, v *language.Mapping) {
	if x := v.Get("recovers"); x != nil && x.Word != law.RecoversByItself.String() {
		r.Report(x.Node, fmt.Sprintf("recovers: %s stands beside %s, and then nothing is stopped", x.Word, way), "write recovers: by_itself, or leave it out")
	}
}

// within reports a gain that is taken at no time, and a time at which nothing is taken.
func (r *reader) within(key string, l *law.Loss, v *language.Mapping) {
	if !v.MayHave("within") {
		return
	}
	switch x := v.Get("within"); {
	case l.Then == law.LossValue && !v.Written("within"):
		r.Report(v.NodeAt("value"), key+" does not say how soon the board takes the value", "add within: 150 ms")
	case l.Then != law.LossValue && x != nil:
		r.Report(x.Key, "within has no meaning without value", "add value: 50 %, or leave within out")
	}
}
