package file

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/assertions/law"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// The points that may stand for a value: instead of a number, what the number is for. It is then
// worked out from the policy before anything is played.
var (
	speedPoint = language.NewTable("a point of speed", "", []language.Key{
		{Name: "near", Kind: language.Measure, Quantity: language.Speed, Required: true, Least: "-50 m/s", Most: "50 m/s", Example: "4 m/s", Doc: "this speed, or the nearest at which the policy asks for the whole shift: past its standstill, and with a demand past what it counts as straight on and short of its limits and of the yaw-rate sensor's. Of a case that expects branches alone the demand may stand at its limit, where it would take a lower speed to stay short of it; of one that expects caps alone its limits do not count"}})
	speedStanding = language.NewTable("a speed of standstill", "", []language.Key{
		{Name: "standstill", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "99 %", Example: "60 %", Doc: "this share of the speed below which the policy asks for no shift; where it declares no standstill, nothing is asked"}})
	speedLimited = language.NewTable("a speed at which one limit of the demand acts", "", []language.Key{
		{Name: "limited_by", Kind: language.Word, Words: limitWords, Required: true, Doc: "the speed at which this one of the policy's two limits of the demand is farthest below the other, and below what the steer angle, which is then past_limit, asks for; where the policy has not both, or they lie nowhere a fifth apart, nothing is asked"}})
	steerPoint = language.NewTable("a point of steer", "", []language.Key{
		{Name: "near", Kind: language.Measure, Quantity: language.Angle, Required: true, Least: "-60 deg", Most: "60 deg", Example: "8 deg", Doc: "this steer angle, or the nearest at which the policy asks for the whole shift, as with speed, and that the car can be steered to; a smaller one where a throttle that is a point has no room for the case's largest shift"}})
	steerPast = language.NewTable("a steer angle past the demand's limit", "", []language.Key{
		{Name: "past_limit", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "110 %", Most: "400 %", Example: "200 %", Doc: "the steer angle at which the demand would come to this share of what the policy limits it to, if it did not; a speed that is a point is raised where the car cannot be steered so far. Where the policy limits no demand, or no speed is enough, nothing is asked"}})
	yawPoint = language.NewTable("a point of yaw rate", "", []language.Key{
		{Name: "near", Kind: language.Measure, Quantity: language.AngularRate, ShareOf: "demand", Required: true, Least: "-2000 deg/s", Most: "2000 deg/s", Example: "40 % of demand", Doc: "this share of the demand, or where the policy asks less there of what the case expects than on the other side of the demand, the share as far from it there"}})
	yawClear = language.NewTable("a yaw rate clear of the demand", "", []language.Key{
		{Name: "clear", Kind: language.Measure, Quantity: language.AngularRate, ShareOf: "demand", Required: true, Least: "-2000 deg/s", Most: "2000 deg/s", Example: "90 % of demand", Doc: "this share of the demand, or the nearest one farther from the demand at which the policy, by its tolerances, asks what the case expects"}})
	yawOfRange = language.NewTable("a yaw rate by the sensor's range", "", []language.Key{
		{Name: "of_range", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "95 %", Example: "75 %", Doc: "this share of the range that the bench declares of its yaw-rate sensor, to the side of the turn, as in a spin; a speed that is a point is raised until no wheel is far slower for it, and a baseline with a gain of its own has the yaw rate too, for no car's leaps so far. Where no range is declared, or the demand comes near it, nothing is asked; of firmware that takes what lies beyond some yaw rate for a failed sensor, that is the range to declare"}})
	gainPoint = language.NewTable("a point of gain", "", []language.Key{
		{Name: "shift", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "100 %", Example: "12 %", Doc: "the gain at which the largest shift that the case's steps with this gain ask for comes to this, or to the bound of one that saturates, before shares of axles, a yaw rate on demand being taken for half the demand; 100 % where the policy declares no size"}})
	gainNear = language.NewTable("a gain near a value", "", []language.Key{
		{Name: "near", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "this gain, or where the trim is a switch the nearest of its steps above none; less where a throttle that is a point has no room for the case's largest shift"}})
	gainBeside = language.NewTable("a gain beside a position of the trim", "", []language.Key{
		{Name: "position", Kind: language.Whole, Required: true, Least: "1", Most: "20", Example: "2", Doc: "where the trim is a switch, the position from which the gain lies off, counted from the lowest; where it has no such position, or none to that side of it, nothing is asked"},
		{Name: "off", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "-50 %", Most: "50 %", Example: "-30 %", Doc: "by how much, as a share of the distance to the next position: up, or below 0 % down"}})
	throttleNear = language.NewTable("a throttle near a value", "", []language.Key{
		{Name: "near", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0 %", Most: "100 %", Example: "65 %", Doc: "this throttle, or the nearest at which each motor has as much room as the case's largest shift takes, both to the floor and to the cap"}})
	throttleRoom = language.NewTable("a room of throttle", "", []language.Key{
		{Name: "room", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "50 %", Example: "25 %", Doc: "the least throttle from which each motor has this much room, and as much as the case's largest shift takes, both to the floor and to the cap"}})
	throttleBelow = language.NewTable("a throttle below the cap", "", []language.Key{
		{Name: "below_cap", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0 %", Most: "50 %", Example: "2 %", Doc: "the throttle at which the motors stand this far below the cap, or without one below full"}})
	throttleAbove = language.NewTable("a throttle above the floor", "", []language.Key{
		{Name: "above_floor", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0 %", Most: "50 %", Example: "2 %", Doc: "the throttle at which the motors stand this far above the floor, or without one above idle"}})
	throttleBrakes = language.NewTable("a throttle that brakes", "", []language.Key{
		{Name: "below_idle", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "100 %", Example: "30 %", Doc: "the throttle this far below idle; where the motors have no commands below idle, or the receiver does not go so far down, nothing is asked"}})
)

// pointsOf are the points that may stand for each value.
var pointsOf = map[string][]*language.Table{
	"speed": {speedPoint, speedStanding, speedLimited}, "steer": {steerPoint, steerPast}, "yaw_rate": {yawPoint, yawClear, yawOfRange}, "gain": {gainPoint, gainNear, gainBeside},
	"throttle": {throttleNear, throttleRoom, throttleBelow, throttleAbove, throttleBrakes},
}

// pointed returns the keys with the points that may stand for their values.
func pointed(keys []language.Key) []language.Key {
	return changed(keys, func(k *language.Key) {
		k.Forms = nil
		for _, t := range pointsOf[k.Name] {
			k.Forms = append(k.Forms, language.Form{Has: []string{t.Keys[0].Name}, Table: t})
		}
	})
}

// isPoint tells whether a value is written as a point.
func isPoint(x *language.Value) bool {
	return x != nil && x.Mapping != nil && isPointTable(x.Mapping.Table)
}

func isPointTable(t *language.Table) bool {
	for _, all := range pointsOf {
		if slices.Contains(all, t) {
			return true
		}
	}
	return false
}

// written returns a value of each as its file writes it, without needless spaces: "8 deg", and
// for a point "near 8 deg".
func written(x *language.Value) string {
	if !isPoint(x) {
		return strings.Join(strings.Fields(x.Node.Text), " ")
	}
	var words []string
	for _, e := range x.Node.Entries {
		words = append(words, e.Name+" "+strings.Join(strings.Fields(e.Value.Text), " "))
	}
	return strings.Join(words, ", ")
}

// alike tells whether two values of each say the same.
func alike(x, y *language.Value) bool {
	if isPoint(x) != isPoint(y) || isPoint(x) && x.Mapping.Table != y.Mapping.Table {
		return false
	}
	if isPoint(x) {
		return !slices.ContainsFunc(x.Mapping.Table.Names(), func(name string) bool {
			a, b := x.Mapping, y.Mapping
			return a.Number(name) != b.Number(name) || a.Word(name) != b.Word(name) || a.Whole(name) != b.Whole(name)
		})
	}
	return x.Number == y.Number && x.Word == y.Word && x.Relative == y.Relative
}

// points are the values of a step that are written as points; nil where one is not.
type points struct {
	speed, steer, yaw, gain, throttle *language.Value
}

// point notes that a channel's value is written as a point, and returns what stands for it
// until it is worked out.
func (s *Step) point(c trace.Channel, x *language.Value, si func(*language.Value) float64) float64 {
	switch c {
	case trace.Speed:
		s.points.speed = x
	case trace.Steer:
		s.points.steer = x
	case trace.Gain:
		s.points.gain = x
		return 1
	case trace.Throttle:
		s.points.throttle = x
		return usualThrottle
	}
	switch x.Mapping.Table {
	case speedStanding, speedLimited:
		return 0
	case steerPast:
		return si(&language.Value{Number: usualSteer}) // to the side of the turn
	}
	if !x.Mapping.Has("near") {
		return 0
	}
	return si(x.Mapping.Get("near"))
}

// usualSteer, rad, is played where no steer angle past the limit of the demand is worked out.
const usualSteer = 8 * math.Pi / 180

// usualThrottle is played where a car or bench that is wrong keeps a throttle from being worked out.
const usualThrottle = 0.4

// law returns the policy's law on the bench's motor commands; nil where either's file was wrong.
func (b *caseBuilder) law() *law.Law {
	if b.car == nil || b.bench == nil {
		return nil
	}
	return LawOn(&b.car.Policy, b.bench)
}

// LawOn returns the law of a policy on the motor commands of a bench.
func LawOn(p *law.Policy, b *Bench) *law.Law {
	scale := law.Scale{Lowest: b.lowest()}
	for _, m := range b.Wiring.Motors {
		scale.Step = max(scale.Step, m.CommandStep())
	}
	return law.New(p, scale)
}

// lowest returns the lowest command that a motor of the bench can be sent, share of range.
func (b *Bench) lowest() (lowest float64) {
	for _, m := range b.Wiring.Motors {
		lowest = min(lowest, m.Lowest())
	}
	return lowest
}

// workOut works out the gains and throttles of a case that are written as points; all other
// values stand. Where the policy has no such point, nothing is asked of the case. It returns false where that is because
// no throttle has room for its shifts.
func (b *caseBuilder) workOut(c *Case) (room bool) {
	l := b.law()
	for i := range c.Steps {
		if x := c.Steps[i].points.gain; x != nil && x.Mapping.Table == gainPoint && c.Closed {
			b.Report(c.Steps[i].points.gain.Node, "in closed loop the yaw error is not known, so that no gain can be worked out", "write gain: 50 %")
			return true
		}
	}
	if l == nil {
		return true
	}
	w := pointWork{b: b, l: l, c: c}
	for _, x := range c.pointsAt(func(p *points) *language.Value { return p.gain }) {
		w.gain(x)
	}
	for _, x := range c.pointsAt(func(p *points) *language.Value { return p.throttle }) {
		w.throttle(x)
	}
	w.end()
	c.noPosition = w.noPosition
	return !w.noRoom
}

// pointsAt returns the points of one channel in a case, each once.
func (c *Case) pointsAt(of func(p *points) *language.Value) (all []*language.Value) {
	for i := range c.Steps {
		if x := of(&c.Steps[i].points); x != nil && !slices.Contains(all, x) {
			all = append(all, x)
		}
	}
	return all
}

// pointWork is a case whose points are worked out.
type pointWork struct {
	b   *caseBuilder
	l   *law.Law
	c   *Case
	why string // why there is no such point; empty: there is
	// noRoom says that it is for want of room, which a smaller demand leaves.
	noRoom bool
	// noPosition says that it is for want of a position of the trim.
	noPosition bool
}

func (w *pointWork) none(format string, args ...any) {
	if w.why == "" {
		w.why = fmt.Sprintf(format, args...)
	}
}

// gain works out the gain of the steps that have the point x.
func (w *pointWork) gain(x *language.Value) {
	switch x.Mapping.Table {
	case gainNear:
		w.gainNear(x)
		return
	case gainBeside:
		w.gainBeside(x)
		return
	}
	shift, gain, most, sized := x.Mapping.Number("shift"), 1.0, 0.0, false
	if at := w.b.car.Policy.ShiftAt; at != nil && at.Grows == law.GrowthSaturating && at.Most > 0 {
		shift = min(shift, at.Most) // at the bound it follows nothing
	}
	for i := range w.c.Steps {
		s := &w.c.Steps[i]
		if s.points.gain != x || s.Baseline {
			continue
		}
		s.corners(func(speed, steer, yaw float64) {
			if s.onDemand() {
				yaw = halfDemand * s.Demand
			}
			if one, ok := w.l.ShiftFor(1, speed, steer, yaw); ok {
				most, sized = max(most, one), true
			}
			if one, ok := w.l.GainFor(shift, speed, steer, yaw); ok {
				gain = min(gain, one)
			}
		})
	}
	p := &w.b.car.Policy
	if least := clearShift * p.DeadShiftFor(0); sized && most > 0 && most < min(shift, least) && !w.b.ofCaps() {
		w.none("with the gain at 100 %% the policy asks for a shift of %s, and one up to %s counts as none", language.Share.Format(rounded(most)), language.Share.Format(p.DeadShiftFor(0)))
	}
	w.gainInSpin(x, gain)
	w.setGain(x, gain)
}

// setGain gives the steps that have the point x a gain.
func (w *pointWork) setGain(x *language.Value, gain float64) {
	for i := range w.c.Steps {
		if w.c.Steps[i].points.gain == x {
			w.c.Steps[i].Values.Gain = gain
		}
	}
}

// halfDemand is the yaw rate, as a share of the demand, for whose shift a gain is worked out
// where the car turns as asked.
const halfDemand = 0.5

// onDemand tells whether a step holds the yaw rate on demand.
func (s *Step) onDemand() bool {
	low, high := s.span(trace.YawRate)
	return s.Demand != 0 && low == s.Demand && high == s.Demand
}

// clearShift is how many shifts that count as none one that is looked for has to come to.
const clearShift = 2

// corners calls f with the ends of what speed, steer angle and yaw rate go through in a step; the speed is that which
// firmware takes of wheels that slip.
func (s *Step) corners(f func(speed, steer, yaw float64)) {
	slow, fast := s.span(trace.Speed)
	if s.taken > 0 {
		slow, fast = slow*s.taken, fast*s.taken
	}
	right, left := s.span(trace.Steer)
	low, high := s.span(trace.YawRate)
	for _, speed := range []float64{slow, fast} {
		for _, steer := range []float64{right, left} {
			for _, yaw := range []float64{low, high} {
				f(speed, steer, yaw)
			}
		}
	}
}

// Shift returns the largest shift that a law declares anywhere in a step, its tolerance and the
// shares of axles included, share of range; 0 where it declares no size, or does not bound it to
// what the yaw error asks for.
func (s *Step) shift(l *law.Law, p *law.Policy) (most float64) {
	at := p.ShiftAt
	if at == nil || at.Grows == law.GrowthIntegrating {
		return 0
	}
	_, gain := s.span(trace.Gain)
	s.corners(func(speed, steer, yaw float64) {
		if one, ok := l.ShiftFor(gain, speed, steer, yaw); ok {
			most = max(most, one*largestShare(branchesOf(p, p.Demand.YawRate(speed, steer), yaw)...))
		}
	})
	return most * (1 + at.Within)
}

// branchesOf returns the branches of the split that a policy may ask for at a demand and a yaw rate in rad/s.
func branchesOf(p *law.Policy, demand, yaw float64) []*law.Split {
	switch {
	case demand*yaw < 0 || demand == yaw:
		return []*law.Split{p.Understeer, p.Oversteer}
	case math.Abs(yaw) < math.Abs(demand):
		return []*law.Split{p.Understeer}
	}
	return []*law.Split{p.Oversteer}
}

// shiftOnDemand returns the largest shift that firmware whose demand lies off by as much as is allowed may have where the car
// turns as the policy demands, with the gain of a step, share of range; 0 where the policy declares no size.
func (s *Step) shiftOnDemand(l *law.Law, p *law.Policy) (most float64) {
	if p.ShiftAt == nil || p.Demand == nil || p.ShiftAt.Grows == law.GrowthIntegrating {
		return 0
	}
	_, gain := s.span(trace.Gain)
	s.corners(func(speed, steer, _ float64) {
		if one, ok := l.ShiftFor(gain, speed, steer, (1-p.Demand.Within)*p.Demand.YawRate(speed, steer)); ok {
			most = max(most, one)
		}
	})
	return most * (1 + p.ShiftAt.Within) * largestShare(p.Understeer, p.Oversteer)
}

// largestShare returns the largest share of the declared shift that any motor moves in one of some branches.
func largestShare(branches ...*law.Split) float64 {
	most := 0.0
	for _, split := range branches {
		switch {
		case split == nil:
		case split.Varies:
			most = max(most, 2)
		default:
			for _, corner := range slices.Concat(split.Raise, split.Lower) {
				wheel, _ := corner.Wheel(1)
				most = max(most, split.ShareOf(wheel))
			}
		}
	}
	if most == 0 {
		return 1
	}
	return most
}

// rounded rounds a share to a thousandth, for messages.
func rounded(share float64) float64 { return float64(int(float64(1000*share)+0.5)) / 1000 }

// end notes what was worked out, and that nothing is asked where there is no such point.
func (w *pointWork) end() {
	w.c.Points = w.c.pointText()
	for i := range w.c.Steps {
		if why := w.c.Steps[i].noPoint; why != "" {
			w.none("%s", why)
		}
	}
	if w.why == "" {
		return
	}
	w.c.NoPoint = w.why
	w.c.Expect = slices.Clone(w.c.Expect) // that of the other variants as well
	for i := range w.c.Expect {
		if w.c.Expect[i].NotAsked == "" { // what the policy does not have it would not ask at any point
			w.c.Expect[i].NotAsked = w.why
		}
	}
}

// pointText says what the points of a case come to: "gain 34 %, throttle 30 %".
func (c *Case) pointText() string {
	var words []string
	for _, one := range []struct {
		name  string
		of    func(p *points) *language.Value
		value func(s *Step) float64
		in    language.Quantity
	}{
		{"speed", func(p *points) *language.Value { return p.speed }, func(s *Step) float64 { return s.Values.Speed }, language.Speed},
		{"steer", func(p *points) *language.Value { return p.steer }, func(s *Step) float64 { return s.Values.Steer }, language.Angle},
		{"throttle", func(p *points) *language.Value { return p.throttle }, func(s *Step) float64 { return s.Values.Throttle }, language.Share},
		{"gain", func(p *points) *language.Value { return p.gain }, func(s *Step) float64 { return s.Values.Gain }, language.Share},
		{"yaw rate", func(p *points) *language.Value { return p.yaw }, func(s *Step) float64 { return s.Values.YawRate }, language.AngularRate},
	} {
		var all []string
		for i := range c.Steps {
			s := &c.Steps[i]
			if one.of(&s.points) == nil {
				continue
			}
			if text := one.in.Format(one.value(s)); !slices.Contains(all, text) {
				all = append(all, text)
			}
		}
		if len(all) > 0 {
			words = append(words, one.name+" "+strings.Join(all, " and "))
		}
	}
	return strings.Join(words, ", ")
}
