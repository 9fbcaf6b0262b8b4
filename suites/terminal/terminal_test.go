package terminal_test

import (
	"bytes"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/terminal"
)

// shown returns what a screen of that width makes of the parts of a text.
func shown(width int, parts ...string) string {
	var b bytes.Buffer
	s := &terminal.Screen{Writer: &b, Width: width, Colour: true}
	for _, p := range parts {
		_, _ = s.Write([]byte(p))
	}
	return b.String()
}

func TestLongLinesGoOnFurtherIn(t *testing.T) {
	assert.Equal(t, "  a line of many\n      words that\n      goes on\nshort\n", shown(19, "  a line of many ", "words that", " goes on\nshort\n"))
	assert.Equal(t, "a line of many words that goes on\n", shown(0, "a line of many words that goes on\n"), "only a terminal has an edge")
	assert.Equal(t, "FAIL\x1b[0m  head\n    line\n", shown(10, "FAIL\x1b[0m  head line\n"), "a tint takes up no room")
	assert.Equal(t, "one\n\n  two\n", shown(10, "one\n\n", "  two  \n"))
}

// Whoever copies a command that is broken into two lines runs half of it.
func TestCommandsAreNotBroken(t *testing.T) {
	command := "hilrig run --car mycar/car.yaml --bench mycar/bench.yaml\n"
	assert.Equal(t, "  "+command, shown(20, "  "+command))
	assert.Equal(t, "play it: "+command, shown(20, "play it: "+command))
	assert.Equal(t, "it is hilrig lint\n    that says why\n", shown(18, "it is hilrig lint that says why\n"))
}

// However a text comes, in whatever parts, no line is longer than the screen is wide but for a word that is, and no word is lost.
func TestEveryLineFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(10, 60).Draw(t, "width")
		parts := rapid.SliceOf(rapid.StringMatching(`[a-zé]{0,9}[ \n]{1,3}`)).Draw(t, "parts")
		text := strings.Join(parts, "")
		got := shown(width, parts...)
		assert.Equal(t, strings.Fields(text), strings.Fields(got))
		for l := range strings.SplitSeq(got, "\n") {
			if len(strings.Fields(l)) > 1 {
				assert.LessOrEqual(t, report.Letters(l), width, "%q", got)
			}
		}
	})
}

func TestTwoScreens(t *testing.T) {
	for rows, want := range map[int]int{0: 48, 24: 48, 40: 80, 200: 100} {
		assert.Equal(t, want, (&terminal.Screen{Rows: rows}).TwoScreens())
	}
	assert.Equal(t, 80, terminal.On(&bytes.Buffer{}).TwoScreens())
}

func TestVerdictsAreSeenWithoutColour(t *testing.T) {
	s := &terminal.Screen{}
	assert.Equal(t, "FAIL   ", s.Verdict(record.Fail, 7))
	s.Colour = true
	assert.Equal(t, "\x1b[31mNO-GO\x1b[0m", s.Verdict(record.NoGo, 0))
	assert.Equal(t, "\x1b[32mNOTHING FOUND\x1b[0m", s.Tinted("NOTHING FOUND", record.Go))
}

func TestWhatIsNotSeenIsLeftOut(t *testing.T) {
	assert.Equal(t, "=evil[2Jé", terminal.Visible("=evil\x1b[2J\u202e\né"))
}

func TestQuietSaysTheOutcomeAlone(t *testing.T) {
	var b bytes.Buffer
	s := &terminal.Screen{Writer: &b, Quiet: true}
	s.Beside().Paragraph([]string{"beside"})
	s.Paragraph([]string{"GO"})
	assert.Equal(t, "GO\n\n", b.String())
}

// lockedBuffer is written to by the goroutine of a timer, and read beside it.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// Where nobody watches a terminal, what takes long says so all ten seconds, whether it has come further or not.
func TestWhatTakesLongSaysSoWithoutATerminal(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var b lockedBuffer
		p := terminal.ProgressOn(&b, false)
		p.Show("1 of 3")
		time.Sleep(29 * time.Second)
		synctest.Wait()
		assert.Empty(t, b.String())
		time.Sleep(12 * time.Second)
		synctest.Wait()
		assert.Equal(t, "30 s  1 of 3\n40 s  1 of 3\n", b.String())
		p.Show("2 of 3")
		time.Sleep(10 * time.Second)
		synctest.Wait()
		p.Wipe()
		p.Wipe()
		time.Sleep(time.Minute)
		synctest.Wait()
		assert.Equal(t, "30 s  1 of 3\n40 s  1 of 3\n50 s  2 of 3\n", b.String())
	})
}

func TestWhatIsShortOrQuietSaysNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var b lockedBuffer
		short, quiet := terminal.ProgressOn(&b, false), terminal.ProgressOn(&b, true)
		short.Show("1 of 3")
		quiet.Show("1 of 3")
		time.Sleep(5 * time.Second)
		short.Wipe()
		time.Sleep(time.Minute)
		synctest.Wait()
		quiet.Wipe()
		assert.Empty(t, b.String())
	})
}

func TestOneLine(t *testing.T) {
	assert.Equal(t, "3 of 39  8 s", terminal.OneLine("3 of 39  8 s driven", 12))
	assert.Equal(t, "é", terminal.OneLine("é", 12))
	require.Empty(t, terminal.OneLine("", 3))
}
