package suites

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/record"
)

// shown are the channels that a record keeps along a case: what is played to a board. driven are those
// that it keeps of a case in closed loop besides: where the car went.
var (
	shown  = []trace.Channel{trace.Speed, trace.YawRate, trace.Steer, trace.Throttle, trace.Gain}
	driven = []trace.Channel{trace.YawRate, trace.PositionX, trace.PositionY}
)

// Along returns what the motors were commanded along a case, for a record to keep. Of a trace
// that folds no channel is given.
func Along(e *assertions.Evidence) *record.Along {
	t := e.Trace
	a := &record.Along{StartNS: int64(t.Start), BinNS: record.AlongBin, Played: map[string][]float64{}}
	length := signal.Time(t.Rows()) * t.Tick
	bins := int((length + record.AlongBin - 1) / record.AlongBin)
	for w := range t.Motor {
		a.Motors[w] = commandsOf(&t.Motor[w], t.Start, bins)
	}
	if t.Folds() {
		return a
	}
	keep := func(prefix string, of *assertions.Evidence, channels []trace.Channel) {
		if of == nil || of.Trace.Folds() {
			return
		}
		for _, c := range channels {
			if of.Trace.Length(c) > 0 {
				a.Played[prefix+c.String()] = binned(of.Trace, c, bins)
			}
		}
	}
	keep("", e, shown)
	if e.Release == 0 {
		a.Stimulus = stimulusOf(t)
		return a
	}
	keep("", e, driven)
	keep(record.WithoutShift, e.Off, driven)
	keep(record.WithoutBoard, e.NoBoard, driven)
	return a
}

// KeepAlong returns what keeps the commands along each case in a record.
func KeepAlong(k *record.Writer) Watched {
	return func(suite, index int, e *assertions.Evidence) { k.Along(suite, index, Along(e)) }
}

// commandsOf puts what came on a motor line into bins, by when each command was known.
func commandsOf(o *trace.Output, start signal.Time, bins int) record.Commands {
	k := record.Commands{Mean: make([]float64, bins), Low: make([]float64, bins), High: make([]float64, bins)}
	for i := range bins {
		from := start + signal.Time(i)*record.AlongBin
		frames := o.Between(from, from+record.AlongBin)
		if len(frames) == 0 {
			k.Mean[i], k.Low[i], k.High[i] = math.NaN(), math.NaN(), math.NaN()
			continue
		}
		sum, low, high := 0.0, math.Inf(1), math.Inf(-1)
		for j := range frames {
			f := &frames[j]
			sum += f.Value
			low, high = min(low, f.Value), max(high, f.Value)
			k.Uncertainty = max(k.Uncertainty, f.Uncertainty)
		}
		k.Mean[i], k.Low[i], k.High[i] = sum/float64(len(frames)), low, high
	}
	return k
}

// binned returns the mean of a channel in each bin; NaN where the trace has ended.
func binned(t *trace.Trace, c trace.Channel, bins int) []float64 {
	means := make([]float64, bins)
	rows := int(record.AlongBin / t.Tick)
	for i := range means {
		end := t.Length(c)
		values := t.Values(c, min(i*rows, end), min((i+1)*rows, end))
		sum := 0.0
		for _, x := range values {
			sum += x
		}
		means[i] = sum / float64(len(values))
	}
	return means
}

// stimulusOf returns a digest of all that was put on the wires of the board, with times counted from the
// trace's start. In real time those times are not the same twice: there it is of what was to be played, and
// of how many pulses and frames were spoiled on purpose.
func stimulusOf(t *trace.Trace) string {
	sum := sha256.New()
	for c := range trace.MotorFrontLeft {
		for _, x := range t.Column[c] {
			hashed(sum, math.Float64bits(x))
		}
	}
	inTime := !slices.ContainsFunc(t.Sent[:], func(list []trace.Sent) bool { return slices.ContainsFunc(list, asPlayed) })
	for list := range t.Sent {
		spoiled := uint64(0)
		for i := range t.Sent[list] {
			s := &t.Sent[list][i]
			if s.Bad {
				spoiled++
			}
			if inTime {
				hashed(sum, uint64(s.Start-t.Start))
				hashed(sum, uint64(s.End-t.Start))
				hashed(sum, math.Float64bits(s.Value))
			}
		}
		if !inTime {
			hashed(sum, spoiled)
		}
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// asPlayed says whether it is not known just when a pulse or frame was on its wire, as in real time.
func asPlayed(s trace.Sent) bool { return s.EndUncertainty > 0 || s.ValueUncertainty > 0 || s.Late > 0 }

func hashed(sum hash.Hash, x uint64) {
	var b [8]byte
	binary.LittleEndian.PutUint64(b[:], x)
	sum.Write(b[:])
}
