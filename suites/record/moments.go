package record

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"

	"hilrig/plant"
)

// momentsName is the folder of a record that keeps what was about the moments of checks.
const momentsName = "moments"

// Of how many moments of a case frames are kept at most: of those of checks that failed, and of those
// of checks that were left open.
const (
	MostFailed = 8
	MostOpen   = 4
)

// What a moment has at most: frames of one motor, values of one channel, and ns that it lasts.
const (
	MostFrames = 600
	MostValues = 500
	mostLasts  = 10_000_000_000
)

// RoomOfMoments is how many bytes the moments of a case take at most, with frames of drawn commands at drawn times.
const RoomOfMoments = 320 << 10

// What is read of a case's moments at most, in bytes: some ten times what as many as are kept take.
const (
	mostPacked   = 4 << 20
	mostUnpacked = 16 << 20
)

// momentUnit is what values are rounded to: commands finer than any motor line tells them, and channels
// finer than a plot shows.
const momentUnit = 1.0 / 100000

// Moment is what was played and commanded about the moment of a check, frame by frame, as it was captured.
// Checks of a case that name the same moment in the same step have one together.
type Moment struct {
	AtNS     int64                    `json:"at_ns"`              // the moment, as the checks have it
	Step     string                   `json:"step,omitempty"`     // the step that the checks name; absent: none
	FromNS   int64                    `json:"from_ns"`            // when what is kept begins
	ToNS     int64                    `json:"to_ns"`              // when it ends
	Measured *Stretch                 `json:"measured,omitempty"` // what was measured of the step; absent: no step is named
	Faults   []Stretch                `json:"faults,omitempty"`   // when wires had faults on purpose
	StrideNS int64                    `json:"stride_ns"`          // from one value of a channel to the next; the first is of from_ns
	Played   map[string][]float64     `json:"played"`             // what was played by the channel's name, in its unit
	Motors   [len(plant.Wheels)]Shown `json:"motors"`             // in the order front_left, front_right, rear_left, rear_right
}

// Stretch is a named stretch of time.
type Stretch struct {
	Name   string `json:"name"`    // of a step, or a fault with its wire: "frozen: yaw_serial"
	FromNS int64  `json:"from_ns"` // when it begins
	ToNS   int64  `json:"to_ns"`   // when it ends
}

// Shown is what came of one motor about a moment.
type Shown struct {
	Baseline *float64  `json:"baseline,omitempty"` // mean command of the step that shifts are counted from, 0..1 or -1..1; absent: there is none
	StepsNS  []int64   `json:"steps_ns"`           // how long after the frame before each was known, the first after from_ns
	Values   []float64 `json:"values"`             // what each frame commanded, 0..1 or -1..1
	LeftOut  int       `json:"left_out,omitempty"` // how many later ones are left out
}

// Rounded returns x as a moment keeps it.
func Rounded(x float64) float64 { return math.Round(x/momentUnit) / (1 / momentUnit) }

// momentsIn is the file of a case's moments within the record's folder.
func momentsIn(suite, index int) string {
	return filepath.Join(momentsName, fmt.Sprintf("%d-%d.json.gz", suite, index))
}

// Moments keeps what was about the moments of a case's checks, in real time, where it cannot be played again; suite and
// index are the case's place in the plan. What cannot be kept does not end the run: [Writer.Finish] says so.
func (w *Writer) Moments(suite, index int, all []Moment) {
	if w.folder == "" {
		return
	}
	_ = os.Mkdir(filepath.Join(w.folder, momentsName), 0o700) // it may be there; where it cannot be made, write says so
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	text, err := json.Marshal(append([]Moment{}, all...)) // none are a list too
	if err == nil {
		_, err = z.Write(text)
	}
	if err = cmp.Or(err, z.Close()); err == nil {
		err = w.write(momentsIn(suite, index), packed.Bytes())
	}
	if err == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.failed[filepath.ToSlash(momentsIn(suite, index))] = true
	w.err = cmp.Or(w.err, fmt.Errorf("record: moments: %w", err))
}

// KeepsMoments says whether the record in folder keeps moments of any case frame by frame. One of an earlier version
// keeps none.
func KeepsMoments(folder string) bool { return exists(filepath.Join(folder, momentsName)) }

// Moments returns what the record in folder keeps about the moments of a case's checks. Where it keeps nothing the
// error is [fs.ErrNotExist]. What has other sizes, counts or times than a writer gives is an error that names the file.
func Moments(folder string, suite, index int) ([]Moment, error) {
	all, err := readMoments(filepath.Join(folder, momentsIn(suite, index)))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.ToSlash(momentsIn(suite, index)), err)
	}
	return all, nil
}

func readMoments(path string) (all []Moment, err error) {
	data, err := readRegular(path, mostPacked)
	if err != nil {
		return nil, err
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(z, mostUnpacked+1))
	if err != nil {
		return nil, err
	}
	if len(text) > mostUnpacked {
		return nil, fmt.Errorf("unpacked it has more than the %d bytes that are read at most", mostUnpacked)
	}
	from := json.NewDecoder(bytes.NewReader(text))
	if t, err := from.Token(); err != nil || t != json.Delim('[') {
		return nil, errors.New("it is no list of moments")
	}
	for from.More() {
		var m Moment
		if err := from.Decode(&m); err != nil {
			return nil, err
		}
		if err := m.wrong(); err != nil {
			return nil, fmt.Errorf("moment %d: %w", len(all)+1, err)
		}
		if all = append(all, m); len(all) > MostFailed+MostOpen {
			return nil, fmt.Errorf("it has more than the %d moments of a case that are kept at most", MostFailed+MostOpen)
		}
	}
	if _, err := from.Token(); err != nil { // the end of the list
		return nil, err
	}
	return all, nil
}

// wrong says by its error what of a moment no writer writes; nil: nothing.
func (m *Moment) wrong() error {
	lasts := m.ToNS - m.FromNS
	if m.FromNS < 0 || lasts <= 0 || lasts > mostLasts {
		return fmt.Errorf("it is from %d ns to %d ns", m.FromNS, m.ToNS)
	}
	if len(m.Faults) > MostFrames {
		return fmt.Errorf("it has %d faults", len(m.Faults))
	}
	longest := 0
	for name, values := range m.Played {
		if longest = max(longest, len(values)); longest > MostValues {
			return fmt.Errorf("%d values of %.40q are more than %d", longest, name, MostValues)
		}
		if err := inReach(values); err != nil {
			return err
		}
	}
	if longest > 0 && (m.StrideNS <= 0 || m.StrideNS > lasts) {
		return fmt.Errorf("its values lie %d ns apart", m.StrideNS)
	}
	for i := range m.Motors {
		s := &m.Motors[i]
		if len(s.StepsNS) != len(s.Values) || len(s.Values) > MostFrames {
			return fmt.Errorf("%s has %d times and %d frames, and %d are kept at most", plant.Wheels[i], len(s.StepsNS), len(s.Values), MostFrames)
		}
		left := lasts
		for _, step := range s.StepsNS {
			if step < 0 || step > left {
				return fmt.Errorf("a frame of %s lies outside of what is kept", plant.Wheels[i])
			}
			left -= step
		}
		if err := inReach(s.Values); err != nil {
			return err
		}
		if s.Baseline != nil && math.Abs(*s.Baseline) > mostValue {
			return fmt.Errorf("a baseline is %g", *s.Baseline)
		}
	}
	return nil
}

// mostValue is more than any channel or command has.
const mostValue = 1e6

// inReach says by its error that a value is none of a channel or command.
func inReach(values []float64) error {
	i := slices.IndexFunc(values, func(x float64) bool { return math.Abs(x) > mostValue })
	if i >= 0 {
		return fmt.Errorf("a value is %g", values[i])
	}
	return nil
}
