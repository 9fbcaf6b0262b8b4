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

	"hilrig/rig/raspberry"
	"hilrig/rig/signal"
)

// sampleTimed measures this machine for a moment.
func sampleTimed(t *testing.T, edges float64) *timed {
	k, err := raspberry.TimingTrial{Bank: &raspberry.Memory{}, For: 30 * signal.Millisecond, Edges: edges}.Run(context.Background())
	require.NoError(t, err)
	return &timed{on: "a word in memory in place of pins", memory: true, asked: edges, kept: k}
}

// The picture is well formed, and has a bar for every class that holds something, the
// shortest in one.
func TestThePictureShowsEveryClass(t *testing.T) {
	for _, edges := range []float64{0, 1e5} {
		x := sampleTimed(t, edges)
		picture, err := x.picture()
		require.NoError(t, err)
		want := 0
		for _, h := range []*raspberry.Histogram{&x.kept.Gaps, &x.kept.Late} {
			small := 0
			for _, c := range h.Classes() {
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
		colour := fmt.Sprintf("fill:#%02X%02X%02X", barColour.R, barColour.G, barColour.B)
		bars := 0
		d := xml.NewDecoder(bytes.NewReader(picture))
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
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
		assert.Equal(t, want, bars, "%g edges a second", edges)
		for _, words := range []string{"From one read to the next", "Edges played later than planned", "says nothing of a Pi", "longest " + span(x.kept.Gaps.Most), "1 us"} {
			assert.Contains(t, string(picture), words)
		}
	}
}

func TestTimingIsTheSameAsJSON(t *testing.T) {
	x := sampleTimed(t, 1e5)
	var out bytes.Buffer
	require.NoError(t, x.printJSON(&out))
	var got timedJSON
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	assert.Equal(t, x.kept.Planned, got.Planned)
	assert.Equal(t, x.kept.Gaps.Count, got.Gaps.Count)
	sum := uint64(0)
	for _, c := range got.Gaps.Classes {
		sum += c.Count
	}
	assert.Equal(t, x.kept.Gaps.Count, sum)
	assert.InEpsilon(t, x.kept.Gaps.Most.Seconds(), *got.Gaps.MostS, 1e-6)
	assert.Nil(t, got.Seat.Processor)
	assert.False(t, got.OfAPi)
	assert.Len(t, got.Motors, 5)
}

func TestASingleCountHasABarBesideMany(t *testing.T) {
	assert.Empty(t, logBar(0, 1000))
	assert.Equal(t, "#", logBar(1, 1e9))
	assert.Len(t, logBar(1e9, 1e9), barMost)
	assert.Len(t, logBar(1e6, 1e9), 22)
	assert.Equal(t, "#", logBar(1, 1))
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
