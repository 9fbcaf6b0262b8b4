package suites

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/report"
)

// An independent logic-analyser program reads the wires of a case as hilrig
// wrote them, and has to see what hilrig sees: the same bytes, the same counts,
// the same widths to one time unit of the dump.
//
// sigrok-cli 0.7.2 with libsigrokdecode 0.5.3 (Debian package sigrok-cli): its
// decoders uart, graycode and pwm.
func TestSigrokSeesWhatHilrigSees(t *testing.T) {
	d := dumped(t)
	n := 0
	look := func(name string, same func(t *testing.T)) {
		if drawn.Row(n, 3) { // another program starts for each
			t.Run(name, same)
		}
		n++
	}
	look("yaw_serial", func(t *testing.T) { d.sameBytes(t, "yaw_serial", "baudrate=115200") })
	look("speed_receiver", func(t *testing.T) { d.sameBytes(t, "speed_receiver", "baudrate=57600") })
	look("bus", func(t *testing.T) { d.sameBytes(t, "bus", "baudrate=100000:parity=even:invert_rx=yes") })
	for _, w := range []plant.Wheel{plant.FrontLeft, plant.RearRight} {
		look(w.String(), func(t *testing.T) { d.sameCounts(t, w) })
	}
	for i, list := range []trace.SentTo{trace.SentSteer, trace.SentThrottle, trace.SentGain} {
		line := []string{"steer", "throttle", "gain"}[i]
		look(line, func(t *testing.T) { d.sameWidths(t, line, sentWidths(d.trace.Sent[list])) })
	}
	for _, line := range []string{"front_right_tacho", "rear_left_duty"} {
		look(line, func(t *testing.T) { d.sameWidths(t, line, d.levels(line)) })
	}
	for w, m := range d.setup.wiring.Motors {
		line := "motor_" + plant.Wheels[w].String()
		if m.Kind.Digital() {
			look(line, func(t *testing.T) { d.sameCommands(t, line, &m, d.trace.Motor[w].Frames) })
		} else {
			look(line, func(t *testing.T) { d.sameWidths(t, line, frameWidths(d.trace.Motor[w].Frames)) })
		}
	}
}

// dump is one case's wires in a file, with what hilrig made of them.
type dump struct {
	setup *Setup
	wires *report.Wires
	trace *trace.Trace
	path  string
}

// dumped plays a case in which everything moves and dumps its wires from a
// moment at which no serial line was in the middle of a byte.
func dumped(t *testing.T) *dump {
	if _, err := exec.LookPath("sigrok-cli"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("sigrok-cli is missing; apt-get install sigrok-cli")
		}
		t.Skip("sigrok-cli is missing, which would read the wires independently; apt-get install sigrok-cli")
	}
	s := load(t, "", moving)
	mixed(t, s)
	d := &dump{setup: s, path: filepath.Join(t.TempDir(), "case.vcd")}
	all := report.Watch(s.wiring.Layout())
	ses, err := s.open(context.Background(), s.Suites[0], newSpeaker, func(driven, captured []signal.Edge) {
		if all.To == 0 {
			all.Add(driven, captured)
		}
	})
	defer ses.close()
	require.NoError(t, err)
	ses.watch = all
	e, err := ses.execute(context.Background(), &s.Suites[0].Cases[0], s.noise("moving", "", "trials", 0), ses.trace(), nil)
	require.NoError(t, err)
	d.trace, d.wires = e.Trace, fromQuiet(t, all, "yaw_serial", "bus", "speed_receiver")
	var out bytes.Buffer
	require.NoError(t, d.wires.VCD(&out, "mixed"))
	require.NoError(t, os.WriteFile(d.path, out.Bytes(), 0o600))
	return d
}

// fromQuiet returns the wires from a moment on at which these serial lines have
// been at rest for longer than a byte takes, so that the next edge begins one.
func fromQuiet(t *testing.T, w *report.Wires, lines ...string) *report.Wires {
	const rest, ahead = 300 * signal.Microsecond, 10 * signal.Microsecond
	serial := make([]bool, len(w.Layout.Lines))
	for _, name := range lines {
		l, ok := w.Layout.Line(name)
		require.True(t, ok, name)
		serial[l] = true
	}
	last := w.From
	for _, e := range w.Edges {
		if !serial[e.Line] {
			continue
		}
		if e.At-last > rest {
			from := report.Watch(w.Layout)
			copy(from.Levels, w.Levels)
			n := sort.Search(len(w.Edges), func(i int) bool { return w.Edges[i].At >= e.At-ahead })
			from.Add(w.Edges[:n], nil)
			from.Begin(e.At - ahead)
			from.Add(w.Edges[n:], nil)
			from.To = w.To
			return from
		}
		last = e.At
	}
	require.Fail(t, "the serial lines are never all at rest")
	return nil
}

// annotation is one thing that a decoder printed, with its samples.
type annotation struct {
	from, to int64 // time units of the dump
	text     string
}

// decoded lets sigrok-cli decode the dump and returns what it printed of the
// rows asked for.
func (d *dump) decoded(t *testing.T, decoder, rows string) []annotation {
	t.Helper()
	name, _, _ := strings.Cut(decoder, ":")
	c := exec.Command("sigrok-cli", "-I", "vcd", "-i", d.path, "-P", decoder, "-A", name+"="+rows, "--protocol-decoder-samplenum")
	var out, stderr bytes.Buffer
	c.Stdout, c.Stderr = &out, &stderr
	// The graycode decoder prints all that it saw and aborts at the end of the
	// data, so that what was printed counts and not the exit code.
	err := c.Run()
	var all []annotation
	for line := range strings.Lines(out.String()) {
		samples, text, ok := strings.Cut(strings.TrimSpace(line), " ")
		from, to, ranged := strings.Cut(samples, "-")
		_, text, named := strings.Cut(text, ": ")
		require.True(t, ok && ranged && named, "%q", line)
		a := annotation{text: strings.Trim(text, `"`)}
		a.from, err = strconv.ParseInt(from, 10, 64)
		require.NoError(t, err, "%q", line)
		a.to, err = strconv.ParseInt(to, 10, 64)
		require.NoError(t, err, "%q", line)
		all = append(all, a)
	}
	require.NotEmpty(t, all, "%v: %s", err, stderr.String())
	return all
}

// edges feeds the edges of a line to a decoder.
func (d *dump) edges(t *testing.T, line string, take func(e signal.Edge)) {
	l, ok := d.wires.Layout.Line(line)
	require.True(t, ok, line)
	for _, e := range d.wires.Edges {
		if e.Line == l {
			take(e)
		}
	}
}

// units returns a time in units of the dump.
func (d *dump) units(at signal.Time) float64 { return float64(at-d.wires.From) / float64(report.Unit) }

func (d *dump) sameBytes(t *testing.T, line, options string) {
	var spec signal.PortSpec
	for _, p := range d.wires.Layout.Ports {
		if p.Name == line {
			spec = p
		}
	}
	want := d.bytes(t, line, spec)
	require.Greater(t, len(want), 300)
	var got []string
	decoder := "uart:rx=" + line + ":" + options
	for _, a := range d.decoded(t, decoder, "rx-data") {
		got = append(got, a.text)
	}
	// The last byte may be cut off by the end of the dump.
	require.InDelta(t, len(want), len(got), 1)
	n := min(len(want), len(got))
	require.Equal(t, want[:n], got[:n])
	for _, a := range d.decoded(t, decoder, "rx-data:rx-warnings:rx-parity-err") {
		require.Len(t, a.text, 2, "a warning or a wrong parity: %v", a)
	}
}

// bytes reads the bytes of a port that ended within the dump, by the levels in the middle
// of each bit.
func (d *dump) bytes(t *testing.T, line string, spec signal.PortSpec) (all []string) {
	var edges []signal.Edge
	d.edges(t, line, func(e signal.Edge) { edges = append(edges, e) })
	n := 10
	if spec.Parity != signal.NoParity {
		n++
	}
	if spec.StopBits == 2 {
		n++
	}
	for i := 0; i < len(edges); i++ {
		start, word := edges[i].At, 0
		after := func(bits float64) signal.Time { return start + signal.FromSeconds(bits/float64(spec.Baud)) }
		if after(float64(n)) > d.wires.To {
			break
		}
		for bit := range n {
			for i+1 < len(edges) && edges[i+1].At < after(float64(bit)+0.5) {
				i++
			}
			if edges[i].Level != spec.Inverted {
				word |= 1 << bit
			}
		}
		require.Zero(t, word&1, "start bit at %v", start)
		require.NotZero(t, word>>(n-1), "stop bit of the byte at %v", start)
		all = append(all, fmt.Sprintf("%02X", word>>1&0xFF))
	}
	return all
}

func (d *dump) sameCounts(t *testing.T, w plant.Wheel) {
	a, b := w.String()+"_a", w.String()+"_b"
	lineA, _ := d.wires.Layout.Line(a)
	lineB, _ := d.wires.Layout.Line(b)
	first, second := a, b
	leads, follows := lineA, lineB
	if d.setup.wiring.Encoders[w].Quadrature.Reverse {
		first, second = b, a
		leads, follows = lineB, lineA
	}
	levels := map[signal.Line]bool{leads: d.wires.Levels[leads], follows: d.wires.Levels[follows]}
	// Which quarter of a line the levels are of.
	quarter := func() int64 {
		switch {
		case levels[leads] && levels[follows]:
			return 2
		case levels[leads]:
			return 1
		case levels[follows]:
			return 3
		}
		return 0
	}
	want := []int64{0}
	var at []float64
	for _, e := range d.wires.Edges {
		if e.Line == lineA || e.Line == lineB {
			before := quarter()
			require.NotEqual(t, levels[e.Line], e.Level, "an edge at %v to the level that its line has", e.At)
			levels[e.Line] = e.Level
			step := (quarter() - before + 4) % 4
			if step == 3 {
				step = -1
			}
			want = append(want, want[len(want)-1]+step)
			at = append(at, d.units(e.At))
		}
	}
	require.Greater(t, len(want), 1000)
	shown := d.decoded(t, fmt.Sprintf("graycode:d0=%s:d1=%s", first, second), "count")
	require.Len(t, shown, len(want)-1, "each count is printed when the next one comes")
	up, down := false, false
	for i, s := range shown {
		require.Equal(t, strconv.FormatInt(want[i], 10), s.text, "count %d", i)
		require.InDelta(t, at[i], s.to, 0.5001, "count %d", i)
		up, down = up || want[i+1] > want[i], down || want[i+1] < want[i]
	}
	assert.True(t, up && down, "the wheel turned both ways")
}

// width is one pulse.
type width struct{ start, long signal.Time }

func sentWidths(sent []trace.Sent) (all []width) {
	for _, s := range sent {
		all = append(all, width{s.Start, s.End - s.Start})
	}
	return all
}

func frameWidths(frames []trace.Frame) (all []width) {
	for _, f := range frames {
		all = append(all, width{f.Start, f.End - f.Start})
	}
	return all
}

// levels returns a line's high pulses from the edges themselves.
func (d *dump) levels(line string) (all []width) {
	l, _ := d.wires.Layout.Line(line)
	var rise signal.Time
	for _, e := range d.wires.Edges {
		switch {
		case e.Line != l:
		case e.Level:
			rise = e.At
		case rise > 0:
			all = append(all, width{rise, e.At - rise})
		}
	}
	return all
}

// pulses returns the active pulses of a line as the pwm decoder saw them: their
// start and width in units. The last, which no other follows, it does not tell.
func (d *dump) pulses(t *testing.T, line string) (start, long []float64) {
	l, _ := d.wires.Layout.Line(line)
	decoder := "pwm:data=" + line
	if d.wires.Layout.Lines[l].Idle {
		decoder += ":polarity=active-low"
	}
	for _, a := range d.decoded(t, decoder, "duty-cycle") {
		share, err := strconv.ParseFloat(strings.TrimSuffix(a.text, "%"), 64)
		require.NoError(t, err, a.text)
		units := share / 100 * float64(a.to-a.from)
		require.InDelta(t, math.Round(units), units, 0.01, "whole units")
		start, long = append(start, float64(a.from)), append(long, math.Round(units))
	}
	return start, long
}

func (d *dump) sameWidths(t *testing.T, line string, own []width) {
	start, long := d.pulses(t, line)
	for len(own) > 0 && own[0].start < d.wires.From {
		own = own[1:]
	}
	require.Greater(t, len(own), 60)
	require.InDelta(t, len(own), len(start), 5, "but for the ends")
	n := min(len(own), len(start))
	least, most := math.Inf(1), 0.0
	for i, p := range own[:n] {
		require.InDelta(t, d.units(p.start), start[i], 0.5001, "start of pulse %d", i)
		require.InDelta(t, float64(p.long)/float64(report.Unit), long[i], 1, "width of pulse %d", i)
		least, most = min(least, long[i]), max(most, long[i])
	}
	assert.Greater(t, most, 1.02*least, "the widths differ")
}

// sameCommands takes the digital frames of a line apart by the widths that
// the pwm decoder saw: a bit is 1 where the pulse takes more than half of it,
// 11 bits of value, one of telemetry, 4 of checksum, most significant first.
func (d *dump) sameCommands(t *testing.T, line string, m *decode.Motor, own []trace.Frame) {
	start, long := d.pulses(t, line)
	_, frame := m.Times()
	bit := float64(frame) / 16 / float64(report.Unit)
	var values []int
	var begins []float64
	word, n := 0, 0
	for i := range start {
		if i > 0 && start[i]-start[i-1] > 3*bit {
			word, n = 0, 0
		}
		word <<= 1
		if long[i] > bit/2 {
			word |= 1
		}
		if n++; n == 16 {
			values = append(values, word>>5)
			begins = append(begins, start[i-15])
		}
	}
	for len(own) > 0 && own[0].Start < d.wires.From {
		own = own[1:]
	}
	require.Greater(t, len(own), 300)
	require.InDelta(t, len(own), len(values), 12, "but for the ends")
	seen := map[int]bool{}
	for i, f := range own[:min(len(own), len(values))] {
		require.InDelta(t, d.units(f.Start), begins[i], 0.5001, "frame %d", i)
		want := float64(values[i]-48) / 1999
		if m.DShot.TwoDirection {
			if want = float64(values[i]-1048) / 999; values[i] < 1048 {
				want = -float64(values[i]-48) / 999
			}
		}
		require.InDelta(t, want, f.Value, 1e-9, "frame %d", i)
		seen[values[i]] = true
	}
	assert.Greater(t, len(seen), 30, "the commands differ")
}
