package language

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Quantity is what a number with a unit measures.
type Quantity uint8

// The quantities of the files. The SI unit in brackets is that of the numbers
// that come out.
const (
	Duration            Quantity = iota // s
	Angle                               // rad
	Speed                               // m/s
	AngularRate                         // rad/s
	Length                              // m
	Mass                                // kg
	Torque                              // N m
	Share                               // fraction, 1 for 100 %
	Frequency                           // Hz
	Inertia                             // kg m^2
	Area                                // m^2
	Acceleration                        // m/s^2
	UndersteerGradient                  // rad/(m/s^2)
	Force                               // N
	Symbols                             // Bd, bits per second on a serial line; the only one that may stand bare
	Factor                              // a plain number without unit
	Current                             // A
	Voltage                             // V
	Resistance                          // ohm
	Temperature                         // degrees Celsius
	TorqueConstant                      // N m/A
	AngularAcceleration                 // rad/s^2
	Capacitance                         // F
	Quantities                          // how many there are
)

// Unit is one way to write a quantity: the number in SI units is the written
// one times mul over div, one rounding each.
type Unit struct {
	Name     string
	mul, div float64
	others   []string // further spellings
}

// SI returns in SI units what x is in this one.
func (u Unit) SI(x float64) float64 { return x * u.mul / u.div }

// measure is all there is to know of a quantity.
type measure struct {
	noun    string // with its article
	example string
	units   []Unit // the first is the one that numbers are shown in
}

var measures = [...]measure{
	Duration: {"a time", "20 ms", []Unit{{"ms", 1, 1e3, nil}, {"us", 1, 1e6, []string{"µs", "μs"}}, {"ns", 1, 1e9, nil}, {"s", 1, 1, nil}, {"min", 60, 1, nil}}},
	Angle:    {"an angle", "8 deg", []Unit{{"deg", math.Pi, 180, []string{"°"}}, {"rad", 1, 1, nil}}},
	Speed:    {"a speed", "4 m/s", []Unit{{"m/s", 1, 1, nil}, {"km/h", 1, 3.6, nil}}},
	AngularRate: {"an angular rate", "60 deg/s", []Unit{
		{"deg/s", math.Pi, 180, []string{"°/s"}}, {"rad/s", 1, 1, nil}, {"rpm", math.Pi, 30, []string{"1/min", "r/min"}}}},
	Length:    {"a length", "330 mm", []Unit{{"mm", 1, 1e3, nil}, {"cm", 1, 1e2, nil}, {"m", 1, 1, nil}}},
	Mass:      {"a mass", "3.9 kg", []Unit{{"kg", 1, 1, nil}, {"g", 1, 1e3, nil}}},
	Torque:    {"a torque", "1.2 N m", []Unit{{"N m", 1, 1, []string{"Nm"}}, {"mN m", 1, 1e3, []string{"mNm"}}}},
	Share:     {"a share", "40 %", []Unit{{"%", 1, 100, nil}}},
	Frequency: {"a frequency", "200 Hz", []Unit{{"Hz", 1, 1, nil}, {"kHz", 1e3, 1, nil}}},
	Inertia: {"a moment of inertia", "0.06 kg m2", []Unit{
		{"kg m2", 1, 1, []string{"kgm2", "kg m^2", "kg m²"}}, {"g m2", 1, 1e3, []string{"gm2", "g m^2", "g m²"}},
		{"g cm2", 1, 1e7, []string{"gcm2", "g cm^2", "g cm²"}}}},
	Area:         {"an area", "0.03 m2", []Unit{{"m2", 1, 1, []string{"m^2", "m²"}}, {"cm2", 1, 1e4, []string{"cm^2", "cm²"}}}},
	Acceleration: {"an acceleration", "6 m/s2", []Unit{{"m/s2", 1, 1, []string{"m/s^2", "m/s²"}}}},
	UndersteerGradient: {"an understeer gradient", "0.0028 rad/(m/s2)", []Unit{
		{"rad/(m/s2)", 1, 1, []string{"rad/(m/s^2)", "rad/(m/s²)"}}, {"deg/(m/s2)", math.Pi, 180, []string{"deg/(m/s^2)", "deg/(m/s²)"}}}},
	Force:               {"a force", "10 N", []Unit{{"N", 1, 1, nil}}},
	Symbols:             {"a symbol rate", "115200 Bd", []Unit{{"Bd", 1, 1, []string{""}}}},
	Factor:              {"a plain number", "1.5", []Unit{{"", 1, 1, nil}}},
	Current:             {"a current", "20 A", []Unit{{"A", 1, 1, nil}, {"mA", 1, 1e3, nil}}},
	Voltage:             {"a voltage", "7.4 V", []Unit{{"V", 1, 1, nil}, {"mV", 1, 1e3, nil}}},
	Resistance:          {"a resistance", "20 mohm", []Unit{{"mohm", 1, 1e3, []string{"mΩ", "mΩ"}}, {"ohm", 1, 1, []string{"Ω", "Ω"}}}},
	Temperature:         {"a temperature", "80 degC", []Unit{{"degC", 1, 1, []string{"°C", "C"}}}},
	TorqueConstant:      {"a torque constant", "0.012 N m/A", []Unit{{"N m/A", 1, 1, []string{"Nm/A"}}, {"mN m/A", 1, 1e3, []string{"mNm/A"}}}},
	AngularAcceleration: {"an angular acceleration", "4000 rad/s2", []Unit{{"rad/s2", 1, 1, []string{"rad/s^2", "rad/s²"}}}},
	Capacitance:         {"a capacitance", "4000 uF", []Unit{{"uF", 1, 1e6, []string{"µF", "μF"}}, {"mF", 1, 1e3, nil}}},
}

// unitError says what is wrong with a written quantity and how to write it.
type unitError struct{ message, remedy string }

func (e *unitError) Error() string { return e.message + "; " + e.remedy }

// ParseQuantity returns the number in SI units that text writes out, "20 ms" or
// "20ms". The error says how to write one.
func ParseQuantity(text string, q Quantity) (float64, error) {
	m := &measures[q]
	number, rest := SplitNumber(text)
	if with, ok := WithMinus(text); ok {
		return 0, &unitError{fmt.Sprintf("%q begins with a dash that is no minus sign", Brief(text)), "write " + Brief(with)}
	}
	if number == "" {
		return 0, &unitError{fmt.Sprintf("%q is not %s", Brief(text), m.noun), "write it like " + m.example}
	}
	u, ok := m.unit(rest)
	if !ok {
		return 0, wrongUnit(text, number, rest, q)
	}
	x, err := strconv.ParseFloat(number, 64)
	if x = u.SI(x); err != nil || math.IsInf(x, 0) {
		return 0, &unitError{fmt.Sprintf("%q is too large a number", Brief(text)), "write it like " + m.example}
	}
	return x, nil
}

// Noun returns what the quantity is called, with its article: "a time".
func (q Quantity) Noun() string { return measures[q].noun }

// Example returns how a number of the quantity is written: "20 ms".
func (q Quantity) Example() string { return measures[q].example }

// Units returns the names of the quantity's units; the first is the one that
// numbers are shown in.
func (q Quantity) Units() []string {
	names := make([]string, len(measures[q].units))
	for i := range names {
		names[i] = measures[q].units[i].Name
	}
	return names
}

// Unit finds a unit of the quantity by any of its spellings.
func (q Quantity) Unit(text string) (Unit, bool) { return measures[q].unit(text) }

// signs are what people write for the blank between units that are multiplied.
var signs = strings.NewReplacer("·", " ", "*", " ")

// unit finds a unit by any of its spellings.
func (m *measure) unit(text string) (Unit, bool) {
	text = strings.Join(strings.Fields(signs.Replace(text)), " ")
	for _, u := range m.units {
		if text == u.Name || slices.Contains(u.others, text) {
			return u, true
		}
	}
	return Unit{}, false
}

// wrongUnit tells a missing unit, one of another quantity and an unknown one apart.
func wrongUnit(text, number, rest string, q Quantity) error {
	m := &measures[q]
	switch {
	case rest == "":
		return &unitError{fmt.Sprintf("%q has no unit", Brief(text)), fmt.Sprintf("a bare number: write it like %s", m.example)}
	case q == Factor:
		return &unitError{fmt.Sprintf("%q has a unit where a plain number is expected", Brief(text)), "write it like " + m.example}
	case rest[0] == ',':
		return &unitError{fmt.Sprintf("%q has a comma", Brief(text)), "write decimals with a point"}
	case rest[0] == '_' || rest[0] == '\'':
		return &unitError{fmt.Sprintf("%q has a mark between its digits", Brief(text)), "write them without one"}
	}
	for i := range measures {
		if _, ok := measures[i].unit(rest); ok {
			return &unitError{fmt.Sprintf("%q is %s where %s is expected", Brief(text), measures[i].noun, m.noun), "write it like " + m.example}
		}
	}
	message := fmt.Sprintf("%q: %q is no unit of %s", Brief(text), Brief(rest), WithoutArticle(m.noun))
	for _, u := range m.units {
		if bare(rest) == bare(u.Name) {
			return &unitError{message, "write " + number + " " + u.Name}
		}
	}
	return &unitError{message, "use " + Or(q.Units()) + ", like " + m.example}
}

// bare returns a unit without what people write in it differently: capitals, strokes, points, blanks.
func bare(unit string) string {
	return strings.NewReplacer("/", "", ".", "", " ", "", "^", "").Replace(strings.ToLower(unit))
}

// WithoutArticle returns a noun without "a" or "an".
func WithoutArticle(noun string) string {
	return strings.TrimPrefix(strings.TrimPrefix(noun, "an "), "a ")
}

// SplitNumber cuts text behind its leading decimal number; number is empty
// where there is none.
func SplitNumber(text string) (number, rest string) {
	text = strings.TrimSpace(text)
	number = leadingNumber.FindString(text)
	return number, strings.TrimSpace(text[len(number):])
}

// numberPattern is the regular expression of a decimal number at the beginning of a text.
const numberPattern = `^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?`

var leadingNumber = regexp.MustCompile(numberPattern)

// Format writes x, in SI units, as it would stand in a file, to at most four digits: in the first unit in which
// it needs no exponent.
func (q Quantity) Format(x float64) string {
	units := measures[q].units
	for _, u := range units {
		if text := strconv.FormatFloat(x*u.div/u.mul, 'g', 4, 64); !strings.Contains(text, "e") {
			return strings.TrimSpace(text + " " + u.Name)
		}
	}
	u := units[0]
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x*u.div/u.mul, 'g', 4, 64), 64) // it has just been written
	return strings.TrimSpace(strconv.FormatFloat(rounded, 'f', -1, 64) + " " + u.Name)
}
