package main

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
	"hilrig/suites/live"
)

// sampleTimed measures this machine for a moment.
func sampleTimed(t *testing.T, edges float64) *timed {
	k, err := registers.TimingTrial{PinBank: &registers.Memory{}, For: 30 * signal.Millisecond, Edges: edges}.Run(context.Background())
	require.NoError(t, err)
	return &timed{&live.Timed{On: "a word in memory in place of pins", NoPi: true, Asked: edges, Measured: k}}
}

// sampleChar is what the character device could have shown, with this machine's spans.
func sampleChar(t *testing.T, jumper bool) *timed {
	k := sampleTimed(t, 1e5).Measured
	x := &timed{&live.Timed{On: "the pins of a Pi 5, by the character device", Asked: 1e4, Char: &chardev.Measurement{Measurement: timing.Measurement{For: k.For, Late: k.Late, Ticks: k.Ticks, Planned: 300, Played: 298, Skipped: 2}, Calls: k.Gaps}}}
	if !jumper {
		x.Char.Several, x.Char.Read = k.Late, []int{23, 24, 25, 26}
		return x
	}
	x.Char.Jumper = &chardev.JumperMeasurement{
		Link: chardev.Link{Out: 17, In: 22}, Stamps: k.Late, Widths: k.Ticks, Read: k.Gaps,
		Heard: 297, Lost: 1, Extra: 3, Turned: 4,
		Rungs: []chardev.Rung{{Rate: 1e3, Planned: 200, Late: 12_000}, {Rate: 20e3, Planned: 3800, Late: 12_000, Lost: 12}, {Rate: 50e3, Planned: 9500, Late: 12_000, Behind: true}}, Highest: 1e3,
	}
	return x
}

// The picture is well formed, and has a bar for every class that holds something, the
// shortest in one.
func TestThePictureShowsEveryClass(t *testing.T) {
	for _, row := range []struct {
		name   string
		x      *timed
		charts int
		words  []string
	}{
		{"no edges", sampleTimed(t, 0), 2, []string{"From one read to the next", "says nothing of a Pi"}},
		{"edges", sampleTimed(t, 1e5), 2, []string{"From one read to the next", "Edges played later than planned"}},
		{"character device", sampleChar(t, false), 3, []string{"in place of setting", "three lines at once", "on the pins of a Pi 5"}},
		{"over a jumper", sampleChar(t, true), 5, []string{"to the kernel&#39;s stamp", "Pulse widths by the stamps", "when the edge had been read", "that set one line"}},
	} {
		picture, err := row.x.picture()
		require.NoError(t, err, row.name)
		want := 0
		require.Len(t, row.x.charts(), row.charts)
		for _, c := range row.x.charts() {
			small := 0
			for _, c := range c.Spans.Classes() {
				switch {
				case c.Count == 0:
				case c.Below <= 10:
					small = 1
				default:
					want++
				}
			}
			want += small
		}
		assert.Equal(t, want, barsIn(t, picture), row.name)
		for _, words := range append(row.words, "longest "+(row.x.charts()[0].Spans.Most).Short(), "1 us") {
			assert.Contains(t, string(picture), words, row.name)
		}
	}
}

// barsIn counts the bars of a picture, which has to be well formed.
func barsIn(t *testing.T, picture []byte) (bars int) {
	const colour = "fill:#2F6F8F" // as a bar has it
	d := xml.NewDecoder(bytes.NewReader(picture))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return bars
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "path" {
			for _, a := range e.Attr {
				if a.Name.Local == "style" && strings.Contains(a.Value, colour) {
					bars++
				}
			}
		}
	}
}

func TestTimingIsTheSameAsJSON(t *testing.T) {
	x := sampleTimed(t, 1e5)
	var out bytes.Buffer
	require.NoError(t, (&timingFlags{json: true}).give(screenOn(&out), x))
	var got live.TimedJSON
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.Equal(t, x.Measured.Planned, got.Planned)
	assert.Equal(t, x.Measured.Gaps.Count, got.Gaps.Count)
	sum := uint64(0)
	for _, c := range got.Gaps.Classes {
		sum += c.Count
	}
	assert.Equal(t, x.Measured.Gaps.Count, sum)
	assert.InEpsilon(t, x.Measured.Gaps.Most.Seconds(), *got.Gaps.MostS, 1e-6)
	assert.Nil(t, got.Scheduling.CPU)
	assert.False(t, got.OfAPi)
	assert.Len(t, got.Motors, 5)
}

// Ctrl-C ends it with what there is by then.
func TestTimingEndsEarlyWithWhatThereIs(t *testing.T) {
	path, err := os.Executable()
	require.NoError(t, err)
	var out, complaints bytes.Buffer
	c := exec.Command(path, "timing", "--bank", "memory", "--for", "1h", "--edges", "1000")
	c.Args[0] = "hilrig"
	c.Stdout, c.Stderr = &out, &complaints
	require.NoError(t, c.Start())
	defer c.Process.Kill()
	measuring := func() bool { // it has worked for a second: the loop is running
		stat, err := os.ReadFile(filepath.Join("/proc", fmt.Sprint(c.Process.Pid), "stat"))
		if err != nil {
			t.Skip("there is no /proc to see how long a program has worked")
		}
		words := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')'):]))
		return len(words[12]) >= 3 // in hundredths of a second; counted from the state on (proc_pid_stat(5))
	}
	for end := time.Now().Add(time.Minute); !measuring(); time.Sleep(20 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "it never begins")
	}
	require.NoError(t, c.Process.Signal(os.Interrupt))
	require.NoError(t, c.Wait(), "exit code 0: %s", complaints.String())
	assert.Regexp(t, `(?m)^Measured for [0-9.]+ (ms|s) on`, out.String())
	assert.Regexp(t, `(?m)^edges +[1-9][0-9]* planned`, out.String())
	assert.Empty(t, complaints.String())
}

// By the character device the same is reported, and what is not known without a jumper is
// said.
func TestTimingByTheCharacterDevice(t *testing.T) {
	var out bytes.Buffer
	sampleChar(t, false).print(&out)
	for _, line := range []string{
		`Measured for [0-9.]+ s on the pins of a Pi 5, by the character device`,
		`pins         none changed; GPIO23, GPIO24, GPIO25, GPIO26 were read where others would be set`,
		`edges        300 planned at [0-9.]+ k/s, 298 played, 2 skipped`,
		`How long calls took that read three lines at once in place of setting`,
		`Not measured: how late the kernel stamps .*`,
		`  servo_pulse  yes       NOT MEASURED without --jumper; .*`,
		`  dshot600     no        its bits are shorter than the kernel's stamps are uncertain`,
		`  encoders     up to .* edges/s of four wheels, .*`,
	} {
		assert.Regexp(t, "(?m)^"+line+"$", out.String())
	}

	out.Reset()
	x := sampleChar(t, true)
	x.print(&out)
	for _, line := range []string{
		`pins         a jumper from GPIO17 to GPIO22, in bursts with rests; both are inputs again`,
		`From the kernel's stamp to when the edge had been read`,
		`  297 edges reported, 1 lost, 3 reported that nobody put out, 4 reported in the wrong direction`,
		`      1000 edges/s       200  99 % put out within 12 us, all reported`,
		`     20000 edges/s      3800  99 % put out within 12 us, 12 lost`,
		`     50000 edges/s      9500  99 % put out within 12 us, not put out at that rate`,
		`  the highest rate without loss that was tried is 1000 edges/s`,
	} {
		assert.Regexp(t, "(?m)^"+line+"$", out.String())
	}
	assert.NotContains(t, out.String(), "NOT MEASURED")

	out.Reset()
	require.NoError(t, (&timingFlags{json: true}).give(screenOn(&out), x))
	var got live.TimedJSON
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.True(t, got.OfAPi)
	assert.Nil(t, got.Gaps)
	assert.Nil(t, got.ReadsHz)
	assert.Equal(t, []uint64{300, 298, 2, 297, 1}, []uint64{got.Planned, got.Played, got.Skipped, got.Back, got.Lost})
	require.NotNil(t, got.Device)
	require.NotNil(t, got.Device.Jumper)
	assert.Nil(t, got.Device.Several)
	assert.Equal(t, x.Char.Calls.Count, got.Device.Calls.Count)
	assert.Equal(t, x.Char.Jumper.Stamps.Count, got.Device.Jumper.Stamps.Count)
	assert.Equal(t, []live.RungJSON{
		{RateHz: 1e3, Planned: 200, LateS: 12e-6}, {RateHz: 20e3, Planned: 3800, Lost: 12, LateS: 12e-6}, {RateHz: 50e3, Planned: 9500, LateS: 12e-6, Behind: true},
	}, got.Device.Jumper.Rungs)
	assert.Len(t, got.Motors, 5)
}

// Whoever reads only the first lines has the picture all the same.
func TestThePictureIsThereThoughNobodyReads(t *testing.T) {
	path, err := os.Executable()
	require.NoError(t, err)
	out, in, err := os.Pipe()
	require.NoError(t, err)
	require.NoError(t, out.Close())
	file := filepath.Join(t.TempDir(), "picture.svg")
	c := exec.Command(path, "timing", "--bank", "memory", "--for", "10ms", "--edges", "1000", "--svg", file)
	c.Args[0] = "hilrig"
	c.Stdout = in
	err = c.Run()
	require.NoError(t, in.Close())
	require.NoError(t, err, "that nobody reads is no error")
	picture, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.NotZero(t, barsIn(t, picture))
}

func TestTheJumpersPinsAreRead(t *testing.T) {
	link, err := live.ParseJumper(" 17, 22")
	require.NoError(t, err)
	assert.Equal(t, &chardev.Link{Out: 17, In: 22}, link)
	for _, text := range []string{"17", "17,", "17,22,23", "17-22", "-1,22", "17,17", "GPIO17,GPIO22"} {
		_, err := live.ParseJumper(text)
		assert.ErrorContains(t, err, "as 17,22", text)
	}
}

// Of no spans nothing is reported.
func TestNoTicksAreReportedAsNone(t *testing.T) {
	var text bytes.Buffer
	printTicks(&text, new(realtime.Histogram))
	assert.Equal(t, "ticks        none\n", text.String())
}
