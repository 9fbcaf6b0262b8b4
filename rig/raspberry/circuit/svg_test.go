package circuit

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheDrawingNamesEveryPartAndPin(t *testing.T) {
	h := Header{Stop: "GPIO17, pin 11", Relay: "GPIO22, pin 15", Heartbeat: "GPIO27, pin 13", Supply: "GPIO16, pin 36", Out: "GPIO23, pin 16", In: "GPIO19, pin 35"}
	v := Work(Supply{Pack: 12.6, Capacitance: 1880e-6})
	svg := SVG("a < b", v, h)
	d := xml.NewDecoder(bytes.NewReader(svg))
	var err error
	for err == nil {
		_, err = d.Token()
	}
	require.ErrorIs(t, err, io.EOF)
	text := string(svg)
	for _, words := range []string{
		"a &lt; b", ">GPIO17, pin 11<", ">GPIO22, pin 15<", ">GPIO27, pin 13<", ">GPIO16, pin 36<", ">GPIO23, pin 16<", ">GPIO19, pin 35<", ">no pin<",
		">12.6 V<", ">1880 uF<", si(v.Bleed, "ohm"), "pre-charge, " + si(v.PreCharge, "ohm"), ">K1 mirror<", ">K2 mirror<", ">K3 holds<", ">D, Z<", "no safety device", "74LVC1G07", "74HCT541 at 5 V", "74LVC541 at 3.3 V",
	} {
		assert.Contains(t, text, words)
	}
	for _, p := range Parts(v) {
		for name := range strings.SplitSeq(p.Ref, ", ") {
			if name != "Q3" { // it is told in words
				assert.Regexp(t, ">"+regexp.QuoteMeta(name)+"[ ,<]|>D, Z<", text, "drawn")
			}
		}
		assert.NotEmpty(t, p.Why)
	}
	assert.NotContains(t, text, "NaN")
	for _, y := range regexp.MustCompile(`<text x="\d+" y="(\d+)"`).FindAllStringSubmatch(text, -1) {
		n, err := strconv.Atoi(y[1])
		require.NoError(t, err)
		assert.Less(t, n, height, "nothing falls off the page")
	}
}

func TestThePartsSayWhatTheyAreFor(t *testing.T) {
	var b bytes.Buffer
	WriteParts(&b, Work(Supply{}))
	for _, words := range []string{"for a pack of 25.2 V and 4000 uF of controllers (an example", "make on 90 A", "R2      130 ohm, 10 W", "has the supply gone in 2.0 s", "74HCT123 at 5 V, 240 kohm, 470 nF film", "close at a LOW input: not these", "1. X1 is out, S1 pressed", "85 to 100 ms", Caution} {
		assert.Contains(t, b.String(), words)
	}
	b.Reset()
	WriteParts(&b, Work(Supply{Pack: 8.4, Capacitance: 1e-3, Bleed: 1e3}))
	assert.Contains(t, b.String(), "for a pack of 8.4 V and 1000 uF of controllers\n", "nothing is an example")
}

func TestValuesAreWrittenWithTheirPrefix(t *testing.T) {
	for _, tt := range []struct {
		x    float64
		want string
	}{{2400, "2.4 kohm"}, {130, "130 ohm"}, {0.2, "200 mohm"}, {240e3, "240 kohm"}, {0, "0 ohm"}, {1000, "1 kohm"}} {
		assert.Equal(t, tt.want, si(tt.x, "ohm"))
	}
	assert.Equal(t, "470 nF", si(470e-9, "F"))
}
