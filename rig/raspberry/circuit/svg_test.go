package circuit

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// every is a header with each kind of line.
func every(by ResetBy) *Header {
	return &Header{
		Stop: "GPIO17, pin 11", Relay: "GPIO22, pin 15", Heartbeat: "GPIO27, pin 13", Supply: "GPIO16, pin 36", Out: "GPIO23, pin 16", In: "GPIO19, pin 35",
		Inverted: "GPIO14, pin 8", Reset: "GPIO26, pin 37", Goes: true, ResetBy: by,
	}
}

// headers are those of benches that differ in what is drawn.
func headers() map[string]*Header {
	plain := every(NoReset)
	plain.Inverted, plain.Reset, plain.Goes = "", "", false
	return map[string]*Header{
		"reset by a line": every(ByLine), "reset by a relay": every(ByRelay), "no reset": every(NoReset), "plain lines": plain,
		"nothing to the board": {Stop: "GPIO17, pin 11"},
	}
}

var ofPart = regexp.MustCompile(`\b[A-Z]{1,2}\d+\b|\bKT\b|\bD, Z\b`)

func TestTheDrawingIsXMLAndNamesEveryPin(t *testing.T) {
	svg := SVG("a < b", Work(Supply{Pack: 12.6, Capacitance: 1880e-6}), every(ByLine))
	d := xml.NewDecoder(bytes.NewReader(svg))
	var err error
	for err == nil {
		_, err = d.Token()
	}
	require.ErrorIs(t, err, io.EOF)
	for _, words := range []string{
		"a &lt; b", ">GPIO17, pin 11<", ">GPIO22, pin 15<", ">GPIO27, pin 13<", ">GPIO16, pin 36<", ">GPIO23, pin 16<", ">GPIO19, pin 35<", ">GPIO14, pin 8<", ">GPIO26, pin 37<",
		">12.6 V<", ">1880 uF<", ">K1 mirror<", ">K2 mirror<", ">K3 holds<", ">D, Z<", "no safety device",
	} {
		assert.Contains(t, string(svg), words)
	}
	assert.NotContains(t, string(svg), "NaN")
	assert.Contains(t, string(SVG("", Work(Supply{}), &Header{})), ">no pin<")
}

// Whatever a bench has: what is drawn is listed, what is listed is drawn, each resistor, capacitor and
// transistor once, with the value that the list says.
func TestTheDrawingHasThePartsOfTheList(t *testing.T) {
	v := Work(Supply{})
	for name, h := range headers() {
		listed := make(map[string]string)
		for _, p := range Parts(v, h) {
			refs := []string{p.Ref}
			if p.Ref != "D, Z" {
				refs = strings.Split(p.Ref, ", ")
			}
			for _, ref := range refs {
				assert.NotContains(t, listed, ref, "%s: listed once", name)
				listed[ref] = p.What
			}
			assert.NotEmpty(t, p.Why, "%s: %s", name, p.Ref)
			for _, ref := range ofPart.FindAllString(p.What+" "+p.Why, -1) {
				assert.Regexp(t, `\b`+ref+`\b`, refsOf(Parts(v, h)), "%s: %s speaks of a part that is not there", name, p.Ref)
			}
		}
		c := &canvas{}
		c.schematic(v, h)
		drawn := make(map[string]bool)
		for _, w := range c.words {
			for _, ref := range ofPart.FindAllString(w.text, -1) {
				drawn[ref] = true
				assert.Contains(t, listed, ref, "%s: drawn and not listed", name)
			}
		}
		for ref := range listed {
			assert.True(t, drawn[ref], "%s: %s is listed and not drawn", name, ref)
		}
		once := make(map[string]bool)
		for _, s := range c.symbols {
			require.Contains(t, listed, s.ref, "%s: a symbol with the value %q", name, s.value)
			assert.False(t, once[s.ref], "%s: %s is drawn twice", name, s.ref)
			once[s.ref] = true
			if s.value != "" {
				assert.Contains(t, listed[s.ref], strings.Split(s.value, "\n")[0], "%s: %s", name, s.ref)
			}
		}
		for ref := range listed {
			if strings.ContainsAny(ref[:1], "RCQU") {
				assert.True(t, once[ref], "%s: %s has no symbol", name, ref)
			}
		}
	}
}

func refsOf(parts []Item) string {
	var refs []string
	for _, p := range parts {
		refs = append(refs, p.Ref)
	}
	return strings.Join(refs, " ")
}

// No line of text stands on another, on a wire or on the edge of a frame, and all of it is on the page.
func TestNothingInTheDrawingOverlaps(t *testing.T) {
	for name, h := range headers() {
		for _, s := range []Supply{{}, {Pack: 8.4, Capacitance: 1e-3, Bleed: 1e3}, {Pack: 60, Capacitance: 100e-6}} {
			c := &canvas{}
			v := Work(s)
			c.schematic(v, h)
			c.lists(v, h)
			for i, w := range c.words {
				assert.True(t, w.within(area{right: width, bottom: height}), "%s: %q is on the page", name, w.text)
				for _, other := range c.words[:i] {
					assert.False(t, w.meets(other), "%s: %q and %q", name, w.text, other.text)
				}
				inside := false
				for _, s := range c.solids {
					inside = inside || w.within(s)
					assert.True(t, !w.meets(s) || w.within(s), "%s: %q and a frame at %d, %d", name, w.text, s.left, s.top)
				}
				for _, wire := range c.wires {
					assert.True(t, inside || !w.meets(wire), "%s: %q and a wire from %d, %d to %d, %d", name, w.text, wire.left, wire.top, wire.right, wire.bottom)
				}
			}
		}
	}
}

func (a area) within(b area) bool {
	return a.left >= b.left && a.right <= b.right && a.top >= b.top && a.bottom <= b.bottom
}

func (a area) meets(b area) bool {
	return a.left <= b.right && b.left <= a.right && a.top <= b.bottom && b.top <= a.bottom
}

func TestThePartsSayWhatTheyAreFor(t *testing.T) {
	var b bytes.Buffer
	WriteParts(&b, Work(Supply{}), every(ByLine))
	for _, words := range []string{"for a pack of 25.2 V and 4000 uF of controllers (an example", "make on 90 A", "R2       130 ohm, 10 W", "has the supply gone in 2.0 s", "R8       240 kohm, 1 %", "C1       470 nF film", "close at a LOW input: not these", "1. X1 is out, S1 pressed", "85 to 100 ms", Caution} {
		assert.Contains(t, b.String(), words)
	}
	b.Reset()
	WriteParts(&b, Work(Supply{Pack: 8.4, Capacitance: 1e-3, Bleed: 1e3}), every(NoReset))
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
