package suites

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// long is a suite of one case of some steps that are all judged.
func long(steps int, each string) string {
	var b strings.Builder
	b.WriteString("suite: long\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %, steer: 8 deg}\ncases:\n  - case: long\n    steps:\n")
	for i := range steps {
		fmt.Fprintf(&b, "      - {step: s%d, yaw_rate: %d %% of demand, settle: 1 s, observe: %s}\n", i, 70+60*(i%2), each)
	}
	b.WriteString("    expect:\n")
	for i := range steps {
		fmt.Fprintf(&b, "      - {policy: %s, step: s%d}\n      - {motor: all, range: [0 %%, 92 %%], step: s%d}\n", [2]string{"understeer", "oversteer"}[i%2], i, i)
	}
	return b.String()
}

// loaded reads suites for the demo car and bench.
func loaded(t *testing.T, text string) *Setup {
	s, err := Load(Files{
		Car:    language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench:  language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: "s.yaml", Data: []byte(text)}}, Seed: 1,
	})
	require.NoError(t, err)
	return s
}

// A long case takes no more memory than is stated.
func TestALongCaseTakesTheMemoryThatIsStated(t *testing.T) {
	text := long(6, "60 s")
	s := loaded(t, text)
	c := &s.Suites[0].Cases[0]
	ses, err := s.open(t.Context(), s.Suites[0], s.board, nil)
	require.NoError(t, err)
	defer ses.close()
	var out record.Case
	require.NoError(t, ses.runCase(t.Context(), c, false, &out))
	assert.Equal(t, record.Pass, out.Verdict)
	tr := ses.spare[0]
	require.True(t, tr.Folds())
	perSecond := float64(tr.Bytes()) / (float64(tr.Rows()) * tr.Tick.Seconds())
	t.Logf("%.0f bytes a second", perSecond)
	assert.Less(t, perSecond, 12e3, "at 12 kB a second two hours take 86 MB")
	stated := float64(c.Memory(s.Bench)) - float64(new(file.Case).Memory(s.Bench))
	assert.Less(t, float64(tr.Bytes()), stated)
}
