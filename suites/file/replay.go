package file

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

// What the first row of a drive log is held for before it is played.
const (
	replaySettle  = 300 * signal.Millisecond
	replayObserve = 700 * signal.Millisecond
)

// log returns the drive log that the case replays, nil where there is none or
// it is wrong. What is wrong within is reported once however many cases replay it.
func (b *caseBuilder) log() *driveLog {
	x := b.v.Get("replay")
	if x == nil {
		return nil
	}
	name := x.Word
	if !path.IsAbs(name) {
		name = path.Join(path.Dir(b.Source.Path), name)
	}
	log := b.logs[name]
	if log == nil {
		log = b.openLog(x, name)
	}
	if log == nil {
		return nil
	}
	if log.headed && !log.named[trace.YawRate] && !b.v.Flag("closed") {
		b.Report(x.Node, fmt.Sprintf("drive log %s has no column yaw_rate, which open loop needs", language.Brief(x.Word)), "add a column yaw_rate [deg/s], or closed: yes to the case")
	}
	if log.times == nil {
		return nil
	}
	return log
}

func (b *caseBuilder) openLog(x *language.Value, name string) *driveLog {
	if b.readLog == nil {
		b.Report(x.Node, fmt.Sprintf("drive log %s cannot be opened from here", language.Brief(x.Word)), "run the suite from its folder")
		return nil
	}
	data, err := b.readLog(name)
	if err != nil {
		why, remedy := unread(err, name)
		b.Report(x.Node, fmt.Sprintf("drive log %s cannot be read: %s", language.Brief(x.Word), why), cmp.Or(remedy, "give a CSV file beside the suite file"))
		return nil
	}
	log, problems, notes := parseLog(language.Source{Path: name, Data: data})
	b.others = append(b.others, problems...)
	b.notes = append(b.notes, notes...)
	if problems != nil {
		log.times = nil
	}
	b.logs[name] = log
	b.played = append(b.played, language.Source{Path: name, Data: data})
	return log
}

// unread says why a file that another one names could not be read, and what to do where the error says it.
func unread(err error, path string) (why, remedy string) {
	if failed, ok := errors.AsType[*fs.PathError](err); ok {
		return failed.Err.Error(), ""
	}
	why, remedy, _ = strings.Cut(strings.Join(strings.Fields(err.Error()), " "), "; ")
	if rest, found := strings.CutPrefix(why, path+" "); found {
		why = "it " + rest
	}
	return why, remedy
}

// replay adds the steps of a drive log to a case: its first row held as the
// baseline, and the log.
func (b *caseBuilder) replay(c *Case, log *driveLog) {
	side := b.side(nil)
	s := Step{Name: "replay", Observe: log.times[len(log.times)-1], Place: c.Place}
	v := &s.Values
	for channel := range log.columns {
		name := trace.Channel(channel).String()
		if !b.v.MayHave(name) || !log.has(trace.Channel(channel)) {
			continue
		}
		if x := b.v.Get(name); x != nil {
			b.Report(x.Key, fmt.Sprintf("%s stands in the drive log as well", x.Key.Text), "give it in one place")
		}
	}
	for _, c := range []trace.Channel{trace.Speed, trace.Steer, trace.Throttle, trace.Gain, trace.YawRate} {
		sign := 1.0
		if turnsOver(c) {
			sign = side
		}
		if shape, ok := log.shape(c, sign); ok {
			s.Shapes = append(s.Shapes, Moving{c, shape})
			*ValueOf(v, c) = shape.Values[0]
		}
	}
	if !log.has(trace.Gain) {
		v.Gain = b.begin(&s, trace.Gain, b.needed("gain", nil, nil), func(x *language.Value) float64 { return x.Number })
	}
	for _, w := range plant.Wheels {
		if shape, ok := log.shape(trace.WheelFrontLeft+trace.Channel(w), 1); ok {
			s.Shapes = append(s.Shapes, Moving{trace.WheelFrontLeft + trace.Channel(w), shape})
			first := shape.Values[0]
			s.Wheels[w] = &first
		}
	}
	b.slip(&s, nil, nil, side)
	s.Demand = b.demand(&s)
	if !log.has(trace.YawRate) {
		v.YawRate = s.Demand
	}
	if side < 0 {
		s.mirror()
	}
	if b.baseline() {
		base := Step{
			Name: "baseline", Baseline: true, Settle: replaySettle, Observe: replayObserve, Place: c.Place,
			Values: s.Values, Demand: s.Demand, Wheels: s.Wheels, Slip: s.Slip, points: s.points,
		}
		if over := b.v.Sub("baseline"); over != nil {
			b.overLog(&base, over)
		}
		c.Steps = append(c.Steps, base)
	}
	c.Steps = append(c.Steps, s)
}

// overLog takes what a baseline before a drive log says otherwise.
func (b *caseBuilder) overLog(s *Step, over *language.Mapping) {
	s.Settle, s.Observe = over.TimeOr("settle", s.Settle), over.TimeOr("observe", s.Observe)
	for i := range over.Node.Entries {
		if name := over.Node.Entries[i].Name; name != "settle" && name != "observe" {
			b.Report(over.Node.Entries[i].Key, fmt.Sprintf("the baseline before a drive log holds its first row, not its own %s", language.Brief(name)), "leave it out, or give settle and observe alone")
		}
	}
}

// has tells whether the log has a column for the channel.
func (l *driveLog) has(c trace.Channel) bool { return l.columns[c] != nil }

// shape returns the channel's way through the log, times sign.
func (l *driveLog) shape(c trace.Channel, sign float64) (stimulus.Table, bool) {
	if !l.has(c) {
		return stimulus.Table{}, false
	}
	if sign > 0 {
		return stimulus.Table{Times: l.times, Values: l.columns[c]}, true
	}
	if l.mirrored[c] == nil {
		l.mirrored[c] = make([]float64, len(l.columns[c]))
		for i, x := range l.columns[c] {
			if x != 0 { // no negative zero
				l.mirrored[c][i] = -x
			}
		}
	}
	return stimulus.Table{Times: l.times, Values: l.mirrored[c]}, true
}
