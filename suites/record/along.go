package record

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"

	"hilrig/plant"
)

// alongName is the file of a record that keeps what was commanded along each case.
const alongName = "along.gz"

// AlongBin is the length in ns of the bins in which a record keeps commands along its cases.
const AlongBin = 10_000_000

// Along is what the motors were commanded along one case, in bins of equal length, and what was
// played meanwhile. Bin i holds what there was from StartNS + i*BinNS on.
type Along struct {
	StartNS int64
	BinNS   int64
	// Stimulus is a digest of what the rig played: the same of two runs that played the same.
	// Of a run in real time it is of what was to be played, for times on wires are not the same twice.
	// It is empty in closed loop, where what is played follows from the board, and of a case too
	// long for all of its trace to be kept.
	Stimulus string
	Motors   [len(plant.Wheels)]Commands // in the order of plant.Wheels
	// Played is the mean of each bin by the channel's name, in its unit. Of a case that was also driven
	// without the shift or without a board, what the car did then is there too, the names with
	// [WithoutShift] or [WithoutBoard] in front.
	Played map[string][]float64
}

// What stands before the names of channels of a case that was driven otherwise as well.
const (
	WithoutShift = "without_shift."
	WithoutBoard = "without_board."
)

// Commands are what one motor was commanded, one value a bin: 0..1 or -1..1. A bin in which no
// command came holds NaN.
type Commands struct {
	Mean, Low, High []float64
	// Uncertainty is the largest half-width of what sampling left open of a command.
	Uncertainty float64
}

// From returns the bins that begin at a time in ns or later, without copying them.
func (a *Along) From(at int64) *Along {
	if a.BinNS <= 0 || at <= a.StartNS {
		return a
	}
	skip := (at - a.StartNS + a.BinNS - 1) / a.BinNS
	part := func(values []float64) []float64 { return values[min(int(skip), len(values)):] }
	b := &Along{StartNS: a.StartNS + skip*a.BinNS, BinNS: a.BinNS, Played: map[string][]float64{}}
	for i := range a.Motors {
		m := &a.Motors[i]
		b.Motors[i] = Commands{Mean: part(m.Mean), Low: part(m.Low), High: part(m.High), Uncertainty: m.Uncertainty}
	}
	for name, values := range a.Played {
		b.Played[name] = part(values)
	}
	return b
}

// Values are kept as whole multiples of these: commands finer than any motor line tells them,
// and channels finer than a plot shows.
const (
	commandUnit = 1.0 / 20000
	playedUnit  = 1.0 / 10000
)

// alongHead is what stands before the values of a case, one line of JSON.
type alongHead struct {
	Suite       int                        `json:"suite"`              // the suite's place in the plan, counted from 0
	Index       int                        `json:"index"`              // the case's place in its suite, counted from 0
	StartNS     int64                      `json:"start_ns"`           // time of the bench at which the first bin begins
	BinNS       int64                      `json:"bin_ns"`             // length of a bin
	Bins        int                        `json:"bins"`               // how many there are of each motor and channel
	Stimulus    string                     `json:"stimulus,omitempty"` // digest of what was played: the same of two cases in which the same was; absent: there is none
	Uncertainty [len(plant.Wheels)]float64 `json:"uncertainty"`        // largest half-width of what sampling left open of a motor's commands, in the order of the motors
	Played      []string                   `json:"played"`             // channels, in their order below
}

// stream is a file that is added to as the run goes.
type stream struct {
	file *os.File // nil once closed, and before it is begun
	sum  hash.Hash
}

// Along keeps what was commanded along a case; suite and index are its place in the plan. What
// cannot be kept does not end the run: [Writer.Finish] says so.
func (w *Writer) Along(suite, index int, a *Along) {
	if w.folder == "" {
		return
	}
	packed, err := a.pack(suite, index)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err == nil && w.along.file == nil && !w.failed[alongName] {
		w.along.sum = sha256.New()
		w.along.file, err = os.OpenFile(filepath.Join(w.folder, alongName), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	}
	if err == nil && w.along.file != nil {
		var n int
		n, err = w.along.file.Write(packed)
		w.along.sum.Write(packed[:n])
	}
	if err != nil {
		w.failed[alongName] = true
		if w.err == nil {
			w.err = fmt.Errorf("record: commands along cases: %w", err)
		}
	}
}

// closeAlong closes what was added to, and keeps its digest. w.mu is held.
func (w *Writer) closeAlong() error {
	if w.along.file == nil {
		return nil
	}
	err := errors.Join(w.along.file.Sync(), w.along.file.Close())
	w.along.file = nil
	w.sums[alongName] = fmt.Sprintf("%x", w.along.sum.Sum(nil))
	if err != nil {
		w.failed[alongName] = true
	}
	return err
}

// pack returns a case's part of the file: one member of gzip.
func (a *Along) pack(suite, index int) ([]byte, error) {
	head := alongHead{Suite: suite, Index: index, StartNS: a.StartNS, BinNS: a.BinNS, Stimulus: a.Stimulus, Played: []string{}}
	for i := range a.Motors {
		head.Uncertainty[i] = a.Motors[i].Uncertainty
		head.Bins = len(a.Motors[i].Mean)
	}
	head.Played = slices.AppendSeq(head.Played, maps.Keys(a.Played))
	slices.Sort(head.Played)
	text, err := json.Marshal(head)
	if err != nil {
		return nil, err
	}
	values := append(text, '\n')
	for i := range a.Motors {
		m := &a.Motors[i]
		values = appendSteps(values, m.Mean, commandUnit)
		values = appendApart(values, m.Mean, m.Low, commandUnit)
		values = appendApart(values, m.High, m.Mean, commandUnit)
	}
	for _, name := range head.Played {
		values = appendSteps(values, a.Played[name], playedUnit)
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestSpeed)
	if err != nil {
		return nil, err
	}
	if _, err = z.Write(values); err == nil {
		err = z.Close()
	}
	return packed.Bytes(), err
}

// absent is how a value that is not there is written: a step that no value makes.
const absent = math.MinInt64

// appendSteps adds values as whole steps of unit from one to the next, variable-length integers of
// encoding/binary. A value that is NaN is kept as absent.
func appendSteps(to []byte, values []float64, unit float64) []byte {
	last := int64(0)
	for _, x := range values {
		if math.IsNaN(x) {
			to = binary.AppendVarint(to, absent)
			continue
		}
		now := int64(math.Round(x / unit))
		to = binary.AppendVarint(to, now-last)
		last = now
	}
	return to
}

// appendApart adds how far values of high are above those of low; nothing stands for a bin of
// which either is NaN.
func appendApart(to []byte, high, low []float64, unit float64) []byte {
	for i := range high {
		if !math.IsNaN(high[i]) && !math.IsNaN(low[i]) {
			to = binary.AppendVarint(to, int64(math.Round(high[i]/unit))-int64(math.Round(low[i]/unit)))
		}
	}
	return to
}

// Alongs calls each with what the record in folder keeps of each case, in the order in which the
// cases ended; suite and index are the case's place in the plan. Without anything kept the error
// is [fs.ErrNotExist]. A record that was cut short ends where it was cut.
func Alongs(folder string, each func(suite, index int, a *Along)) error {
	data, err := readFile(filepath.Join(folder, alongName))
	if err != nil {
		return fmt.Errorf("record: commands along cases: %w", err)
	}
	from := bufio.NewReader(bytes.NewReader(data))
	z := new(gzip.Reader)
	for {
		if _, err := from.Peek(1); errors.Is(err, io.EOF) {
			return nil
		}
		if err = z.Reset(from); err != nil {
			break
		}
		z.Multistream(false)
		var values []byte
		if values, err = io.ReadAll(z); err != nil {
			break
		}
		head, a, unpacked := unpack(values)
		if err = unpacked; err != nil {
			break
		}
		each(head.Suite, head.Index, a)
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return nil // cut short as the run was: what there is was given
	}
	return fmt.Errorf("record %s: %s: %w", folder, alongName, err)
}

// errValues says that a case's part of the file is not what its head says.
var errValues = errors.New("the values of a case are not as many as its head says")

// mostBins is of a case of many hours.
const mostBins = 1 << 24

// unpack reads a case's part.
func unpack(values []byte) (head alongHead, a *Along, err error) {
	text, rest, ok := bytes.Cut(values, []byte("\n"))
	if !ok {
		return head, nil, errValues
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return head, nil, err
	}
	if head.Bins < 0 || head.Bins > mostBins || head.Bins > len(rest) && head.Bins > 0 {
		return head, nil, errValues
	}
	r := &steps{rest: rest, bins: head.Bins}
	a = &Along{StartNS: head.StartNS, BinNS: head.BinNS, Stimulus: head.Stimulus, Played: map[string][]float64{}}
	for i := range a.Motors {
		m := &a.Motors[i]
		m.Uncertainty = head.Uncertainty[i]
		m.Mean = r.values(commandUnit)
		m.Low = r.apart(m.Mean, -commandUnit)
		m.High = r.apart(m.Mean, commandUnit)
	}
	for _, name := range head.Played {
		a.Played[name] = r.values(playedUnit)
	}
	if r.failed || len(r.rest) > 0 {
		return head, nil, errValues
	}
	return head, a, nil
}

// steps reads what appendSteps and appendApart wrote.
type steps struct {
	rest   []byte
	bins   int
	failed bool // the rest ended early
}

func (r *steps) next() int64 {
	x, n := binary.Varint(r.rest)
	if n <= 0 {
		r.failed, r.rest = true, nil
		return 0
	}
	r.rest = r.rest[n:]
	return x
}

func (r *steps) values(unit float64) []float64 {
	values := make([]float64, r.bins)
	last := int64(0)
	for i := range values {
		step := r.next()
		if step == absent {
			values[i] = math.NaN()
			continue
		}
		last += step
		values[i] = float64(last) * unit
	}
	return values
}

// apart returns values that lie so many units from others, away in the sense of unit.
func (r *steps) apart(from []float64, unit float64) []float64 {
	values := make([]float64, r.bins)
	for i, x := range from {
		values[i] = x
		if !math.IsNaN(x) {
			values[i] = x + float64(r.next())*unit
		}
	}
	return values
}
