package esc

import (
	"fmt"
	"math"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/file"
)

// sources are what measures the motor during one phase of a run.
type sources struct {
	stand     *file.Stand
	command   float64 // as commanded last
	shaft     *shaft
	telemetry *telemetry
	cell      *cell
	bus       []busSensor
	reader    BusReader
	read      []BusReading
	events    *events
}

// newSources makes the decoders that the stand's lines need.
func newSources(s *file.Stand, layout signal.Layout, e *events) (*sources, error) {
	out := &sources{stand: s, events: e}
	line := func(role signal.Role) signal.Line {
		l, _ := layout.Find(role, signal.NoWheel)
		return l
	}
	var err error
	if s.SpinUp != nil {
		if out.shaft, err = newShaft(&s.SpinUp.Encoder, line); err != nil {
			return nil, fmt.Errorf("encoder: %w", err)
		}
	}
	if s.Telemetry != nil {
		decoder, err := decode.NewESCTelemetry(decode.Telemetry{Baud: s.Telemetry.Baud})
		if err != nil {
			return nil, err
		}
		out.telemetry = &telemetry{decoder: decoder, line: line(signal.ESCTelemetry), pairs: float64(max(1, s.Telemetry.PolePairs))}
	}
	if s.LoadCell != nil {
		if out.cell, err = newCell(s.LoadCell, line(signal.CellClock), line(signal.CellData)); err != nil {
			return nil, fmt.Errorf("load cell: %w", err)
		}
	}
	for i := range s.Bus {
		out.bus = append(out.bus, busSensor{BusSensor: &s.Bus[i], every: signal.FromSeconds(1 / max(s.Bus[i].Rate, 0.1))})
	}
	return out, nil
}

// decode decodes the edges that were captured up to now, those of driven lines that were read back, and
// what came on the bus.
func (s *sources) decode(edges []signal.Edge, now signal.Time) {
	for _, e := range edges {
		switch {
		case s.shaft != nil && (e.Line == s.shaft.a || e.Line == s.shaft.b):
			s.shaft.samples = s.shaft.angle.Edge(e, s.shaft.samples)
		case s.telemetry != nil && e.Line == s.telemetry.line:
			s.telemetry.decoder.Edge(e, &s.telemetry.out)
		case s.cell != nil && (e.Line == s.cell.clockLine || e.Line == s.cell.dataLine):
			s.cell.decoder.Edge(e)
		}
	}
	if s.shaft != nil {
		s.shaft.until(now)
	}
	if s.telemetry != nil {
		s.telemetry.until(now, s.command, s.events)
	}
	if s.cell != nil {
		s.cell.until(now, s.events)
	}
	if s.reader != nil {
		s.read = s.reader.AppendNew(s.read[:0])
		for i := range s.read {
			s.bus[s.read[i].Sensor].addReading(&s.read[i], now, s.command != 0, s.events)
		}
	}
}

// speed returns the shaft's speed in rad/s, from the encoder or else from telemetry, there without a sign.
func (s *sources) speed(now signal.Time) (v float64, ok bool) {
	switch {
	case s.shaft != nil:
		return s.shaft.speed(), true
	case s.telemetry != nil && s.telemetry.any:
		return s.telemetry.last.ElectricalSpeed / s.telemetry.pairs, true
	}
	return 0, false
}

// has says whether a converter on the bus measures a quantity.
func (s *sources) has(q file.BusQuantity) bool { return s.onBus(q) != nil }

func (s *sources) onBus(q file.BusQuantity) *busSensor {
	for i := range s.bus {
		if s.bus[i].Quantity == q {
			return &s.bus[i]
		}
	}
	return nil
}

// current returns the newest current in A, of the bus or of telemetry.
func (s *sources) current() (float64, bool) {
	if b := s.onBus(file.BusCurrent); b != nil {
		return b.last, b.any
	}
	if t := s.telemetry; t != nil && t.any && s.stand.Telemetry.Current != file.NoCurrent {
		return t.last.Current, true
	}
	return 0, false
}

// voltage returns the newest voltage of the supply in V, of the bus or of telemetry.
func (s *sources) voltage() (float64, bool) {
	if b := s.onBus(file.BusVoltage); b != nil {
		return b.last, b.any
	}
	if t := s.telemetry; t != nil && t.any {
		return t.last.Voltage, true
	}
	return 0, false
}

// volts appends the supply's voltages since the mark, as they were measured or as the declared sag leaves them.
func (s *sources) volts(dst []value) []value {
	supply := &s.stand.Supply
	t := s.telemetry
	if t != nil && t.stuck() {
		t = nil
	}
	switch {
	case supply.MeasuredBy == file.FromTelemetry && t != nil:
		for i := range t.recorded {
			dst = append(dst, value{t.recorded[i].At, t.recorded[i].Voltage})
		}
	case supply.MeasuredBy == file.FromBus && s.has(file.BusVoltage):
		dst = append(dst, s.onBus(file.BusVoltage).recorded...)
	case supply.Voltage == nil || supply.Sag == nil:
	case s.has(file.BusCurrent) && s.onBus(file.BusCurrent).Current == file.SupplyCurrent:
		for _, v := range s.onBus(file.BusCurrent).recorded {
			dst = append(dst, value{v.at, *supply.Voltage - float64(*supply.Sag*v.x)})
		}
	case t != nil && s.stand.Telemetry.Current == file.SupplyCurrent:
		for i := range t.recorded {
			dst = append(dst, value{t.recorded[i].At, *supply.Voltage - float64(*supply.Sag*t.recorded[i].Current)})
		}
	}
	return dst
}

// supplyCurrents appends the supply's currents since the mark.
func (s *sources) supplyCurrents(dst []value) []value {
	if b := s.onBus(file.BusCurrent); b != nil && b.Current == file.SupplyCurrent {
		return append(dst, b.recorded...)
	}
	if t := s.telemetry; t != nil && !t.stuck() && s.stand.Telemetry.Current == file.SupplyCurrent {
		for i := range t.recorded {
			dst = append(dst, value{t.recorded[i].At, t.recorded[i].Current})
		}
	}
	return dst
}

// atLimit is the share of a supply's limit of current from which on it is taken to be at it.
const atLimit = 0.98

// limitedWhy says why a reading is dropped that was taken meanwhile.
const limitedWhy = "the supply was at its limit of current"

// limited notes a supply that was at its limit of current within from..to, and appends when it was.
func (s *sources) limited(dst []signal.Time, from, to signal.Time) []signal.Time {
	limit := s.stand.Supply.CurrentLimit
	if limit == nil {
		return dst
	}
	before := len(dst)
	for _, v := range s.supplyCurrents(nil) {
		if v.at >= from && v.at <= to && v.x > atLimit**limit {
			dst = append(dst, v.at)
		}
	}
	if len(dst) > before {
		s.events.add(dst[before], "supply", fmt.Sprintf("the supply is at its limit of %.4g A: it says more of the supply than of the controller", *limit), 1)
	}
	return dst
}

// mark forgets what was recorded of the sources, for what comes from now on.
func (s *sources) mark() {
	if s.shaft != nil {
		s.shaft.samples = s.shaft.samples[:0]
	}
	if s.telemetry != nil {
		s.telemetry.recorded = s.telemetry.recorded[:0]
	}
	if s.cell != nil {
		s.cell.recorded = s.cell.recorded[:0]
	}
	for i := range s.bus {
		s.bus[i].recorded = s.bus[i].recorded[:0]
	}
}

// value is one reading of one quantity.
type value struct {
	at signal.Time
	x  float64
}

// mean returns mean, standard uncertainty of the mean and number of the values within from..to.
func mean(values []value, from, to signal.Time) (m, u float64, n int) {
	for _, v := range values {
		if v.at >= from && v.at <= to {
			m += v.x
			n++
		}
	}
	if n == 0 {
		return math.NaN(), math.NaN(), 0
	}
	m /= float64(n)
	square := 0.0
	for _, v := range values {
		if v.at >= from && v.at <= to {
			d := v.x - m
			square += float64(d * d)
		}
	}
	if n > 1 {
		u = math.Sqrt(square / float64(n-1) / float64(n))
	}
	return m, u, n
}

// shaft is the encoder on the shaft.
type shaft struct {
	angle   *decode.Angle
	a, b    signal.Line
	rad     float64 // of a count
	line    float64 // rad, standard uncertainty of where an edge lies
	once    float64 // rad, amplitude of an error that goes once round
	signed  bool    // it tells the direction
	samples []decode.AngleSample
	count   int64
	moved   signal.Time // when an edge came last
}

// speedOver is the span over which the speed is measured while it is played.
const speedOver = 4 * signal.Millisecond

func newShaft(e *file.ShaftEncoder, line func(signal.Role) signal.Line) (*shaft, error) {
	// What the file allows is taken to be even over its width (JCGM 100, 4.3.7), one half of its variance from
	// line to line and one half going once round with the shaft.
	s := &shaft{line: e.LineError / math.Sqrt(6), once: e.LineError / math.Sqrt(3)}
	var err error
	if e.Pulses > 0 {
		s.a, s.b = line(signal.ShaftTacho), line(signal.ShaftTacho)
		s.angle, err = decode.NewTachoAngle(wire.Tacho{Pulses: e.Pulses}, s.a)
	} else {
		s.a, s.b, s.signed = line(signal.ShaftA), line(signal.ShaftB), true
		s.angle, err = decode.NewAngle(wire.Quadrature{Lines: e.Lines, Reverse: e.Reverse}, s.a, s.b)
	}
	if err != nil {
		return nil, err
	}
	s.rad = s.angle.Radians(1)
	return s, nil
}

// until takes what has come up to now.
func (s *shaft) until(now signal.Time) {
	s.samples = s.angle.Until(now, s.samples)
	if last, ok := s.angle.Last(); ok && last.Count != s.count {
		s.count, s.moved = last.Count, last.At
	}
}

// speed returns the speed in rad/s; of a tacho it has no sign.
func (s *shaft) speed() float64 { return s.rad * s.angle.Rate(speedOver) }

// telemetry is what the controller says of itself.
type telemetry struct {
	decoder  *decode.ESCTelemetry
	line     signal.Line
	pairs    float64
	out      decode.TelemetryOutput
	last     decode.TelemetryFrame
	any      bool
	heard    signal.Time // when a frame came last
	recorded []decode.TelemetryFrame
	same     int     // frames in a row with the same values at another command
	since    float64 // the command when those values came first
	tally    decode.TelemetryTally
}

// stuckAfter is how many frames with the same voltage, current and speed in a row, the command being another by a tenth of
// full than when those values came first, count as telemetry that is stuck.
const (
	stuckAfter = 15
	stuckBy    = 0.1
)

func (t *telemetry) until(now signal.Time, command float64, e *events) {
	t.decoder.Until(now, &t.out)
	for i := range t.out.Frames {
		f := &t.out.Frames[i]
		t.heard = f.At
		if f.Voltage == 0 || f.Voltage > 100 || f.Current > 650 {
			e.add(f.At, "telemetry", "a frame with a right checksum says what cannot be: 0 V, more than 100 V or more than 650 A; it is left out", 1)
			continue
		}
		switch same := t.any && f.Voltage == t.last.Voltage && f.Current == t.last.Current && f.ElectricalSpeed == t.last.ElectricalSpeed; {
		case !same:
			t.same, t.since = 0, command
		case math.Abs(command-t.since) > stuckBy:
			if t.same++; t.same == stuckAfter {
				e.add(f.At, "telemetry", fmt.Sprintf("%d frames in a row say the same while the command has changed: it is stuck", stuckAfter), 1)
			}
		}
		t.last, t.any = *f, true
		t.recorded = append(t.recorded, *f)
	}
	t.out.Frames, t.out.Events = t.out.Frames[:0], t.out.Events[:0]
	tally := t.decoder.Tally()
	e.add(now, "telemetry", "frames that are corrupt were left out", tally.Corrupt-t.tally.Corrupt)
	t.tally = tally
}

// stuck says whether what telemetry says is not to be trusted now.
func (t *telemetry) stuck() bool { return t.same >= stuckAfter }

// cell is the load cell's converter.
type cell struct {
	decoder              *decode.LoadCell
	clock                *wire.CellClock
	clockLine, dataLine  signal.Line
	out                  decode.CellOutput
	recorded             []value // N m about the shaft
	perCount, zero, sign float64
	readBack             bool        // edges of the clock come as they were sampled
	busy                 signal.Time // until when a readout is under way
	heard                signal.Time
	resolution           float64 // N m of a count
	bad                  int64   // readings that are events
}

// gravity is the standard acceleration of free fall in m/s2, by which a known mass is a force (CGPM 1901).
const gravity = 9.80665

func newCell(c *file.LoadCell, clock, data signal.Line) (*cell, error) {
	out := &cell{clockLine: clock, dataLine: data, zero: c.Zero, sign: 1}
	var err error
	if out.decoder, err = decode.NewLoadCell(decode.Converter{Clock: clock, Data: data, Clocks: c.Clocks, DropAfter: c.DropAfter}); err != nil {
		return nil, err
	}
	if out.clock, err = wire.NewCellClock(c.Clocks, clock); err != nil {
		return nil, err
	}
	slope := (c.Span[1].Counts - c.Span[0].Counts) / (c.Span[1].Mass - c.Span[0].Mass) // counts per kg
	out.perCount = gravity * c.Arm.Value / math.Abs(slope)
	if c.Reverse != (slope < 0) {
		out.sign = -1
	}
	out.resolution = out.perCount
	return out, nil
}

var cellWords = map[decode.CellEventKind]string{
	decode.CellNotReady:  "the clock came while no reading was ready",
	decode.CellSaturated: "the converter is at the end of its range: the cell is overloaded or not connected",
	decode.CellUnplugged: "no reading became ready: the converter is unplugged",
	decode.CellClockHigh: "the clock was high for more than 50 us: the reading was dropped",
	decode.CellClocks:    "a readout had more or fewer clock pulses than declared",
	decode.CellStuck:     "the data line stayed low after a readout",
	decode.CellGain:      "a reading was taken at another gain, and dropped",
	decode.CellUncertain: "the stamps leave a bit of a reading open: it was dropped",
}

func (c *cell) until(now signal.Time, e *events) {
	c.decoder.Until(now, &c.out)
	for _, r := range c.out.Readings {
		c.heard = r.End
		c.recorded = append(c.recorded, value{r.Ready, c.sign * c.perCount * (float64(r.Counts) - c.zero)})
	}
	for _, o := range c.out.Events {
		if o.Kind != decode.CellGain || c.heard > 0 { // the first after power-up is always of another gain
			e.add(o.At, "load_cell", cellWords[o.Kind], 1)
			c.bad++
		}
	}
	c.out.Readings, c.out.Events = c.out.Readings[:0], c.out.Events[:0]
}

// append appends the clock of a readout that is due, to be played from from on, where it ends before to: what a
// tick begins it hands over whole.
func (c *cell) append(dst []signal.Edge, from, to signal.Time) []signal.Edge {
	if !c.decoder.Ready() || from < c.busy || from+c.clock.Length() > to {
		return dst
	}
	c.busy = from + c.clock.Length() + signal.Millisecond
	return c.clock.Append(dst, from)
}

// BusReading is one reading of a converter on I2C.
type BusReading struct {
	Sensor   int // index into the stand's Bus
	Value    float64
	AtItsEnd bool // the count is an end of the register's range
	Same     int  // so many readings in a row before had the same count
	Err      error
}

// BusReader gives what was read of converters on I2C, by somebody else and beside the loop.
type BusReader interface {
	// AppendNew appends what was read since the last call. It does not wait for the bus.
	AppendNew(dst []BusReading) []BusReading
	// Close ends the reading. It may be called more than once.
	Close()
}

// busSensor is one converter on I2C.
type busSensor struct {
	*file.BusSensor
	every    signal.Time
	last     float64
	any      bool
	heard    signal.Time
	recorded []value
}

func (b *busSensor) addReading(r *BusReading, now signal.Time, driven bool, e *events) {
	switch {
	case r.Err != nil:
		e.add(now, "bus_sensor", fmt.Sprintf("%s: %v", b.Quantity, r.Err), 1)
		return
	case r.AtItsEnd:
		e.add(now, "bus_sensor", b.Quantity.String()+": the count is at the end of its range", 1)
		return
	case driven && r.Same == 200:
		e.add(now, "bus_sensor", b.Quantity.String()+": 200 readings in a row have the same count while the motor is driven: it may be stuck", 1)
	}
	b.last, b.any, b.heard = r.Value, true, now
	b.recorded = append(b.recorded, value{now, r.Value})
}
