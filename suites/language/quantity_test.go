package language

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseQuantity(t *testing.T) {
	// Conversions by the SI Brochure, 9th edition, tables 4, 7 and 8: prefixes,
	// degree, minute, and km/h as 1/3.6 m/s.
	tests := []struct {
		name string
		text string
		q    Quantity
		want float64
	}{
		{"milliseconds", "20 ms", Duration, 0.02},
		{"without space", "20ms", Duration, 0.02},
		{"microseconds", "1500 us", Duration, 0.0015},
		{"micro sign", "1500 µs", Duration, 0.0015},
		{"minutes", "2 min", Duration, 120},
		{"half a circle", "180 deg", Angle, math.Pi},
		{"radians", "0.5 rad", Angle, 0.5},
		{"below 0", "-28 deg", Angle, -28 * math.Pi / 180},
		{"kilometres an hour", "36 km/h", Speed, 10},
		{"degrees a second", "-180deg/s", AngularRate, -math.Pi},
		{"millimetres", "330 mm", Length, 0.33},
		{"centimetres", "33 cm", Length, 0.33},
		{"grams", "3900 g", Mass, 3.9},
		{"newton metres with a dot", "1.2 N·m", Torque, 1.2},
		{"millinewton metres", "500 mN m", Torque, 0.5},
		{"per cent", "40 %", Share, 0.4},
		{"kilohertz", "1.5 kHz", Frequency, 1500},
		{"kilogram metre squared", "0.075 kg m^2", Inertia, 0.075},
		{"gram centimetre squared", "5000 g cm2", Inertia, 5e-4},
		{"revolutions a minute", "3000 rpm", AngularRate, 100 * math.Pi},
		{"the same as a power", "300 1/min", AngularRate, 10 * math.Pi},
		{"milliamperes", "250 mA", Current, 0.25},
		{"millivolts", "1.25 mV", Voltage, 0.00125},
		{"milliohms", "20 mohm", Resistance, 0.02},
		{"ohm sign", "0.25 \u2126", Resistance, 0.25},
		{"greek omega", "0.25 \u03a9", Resistance, 0.25},
		{"degrees Celsius", "-5 °C", Temperature, -5},
		{"torque by current", "12.3 mN m/A", TorqueConstant, 0.0123},
		{"angular acceleration", "800 rad/s^2", AngularAcceleration, 800},
		{"square centimetres", "300 cm2", Area, 0.03},
		{"acceleration", "9.8 m/s2", Acceleration, 9.8},
		{"gradient", "0.0028 rad/(m/s2)", UndersteerGradient, 0.0028},
		{"force", "10 N", Force, 10},
		{"bare baud", "115200", Symbols, 115200},
		{"baud", "115200 Bd", Symbols, 115200},
		{"exponent", "1.5e3 ms", Duration, 1.5},
		{"a unit that begins with e is no exponent", "1 e", Factor, math.NaN()},
		{"leading point", ".5 s", Duration, 0.5},
		{"zero needs its unit", "0", Angle, math.NaN()},
		{"no number", "fast", Speed, math.NaN()},
		{"only a sign", "- m", Length, math.NaN()},
		{"too large", "1e999 m", Length, math.NaN()},
		{"wrong case", "20 MS", Duration, math.NaN()},
		{"not a number", "NaN m", Length, math.NaN()},
		{"infinite", "Inf m", Length, math.NaN()},
		{"hexadecimal", "0x10 m", Length, math.NaN()},
		{"two numbers", "1 2 m", Length, math.NaN()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseQuantity(tt.text, tt.q)
			if math.IsNaN(tt.want) {
				assert.Error(t, err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, tt.want, got, "the nearest number, to the last bit")
		})
	}
}

func TestQuantityErrorsSayHowToWriteIt(t *testing.T) {
	tests := []struct {
		name string
		text string
		q    Quantity
		want string
	}{
		{"bare", "20", Duration, `"20" has no unit; a bare number: write it like 20 ms`},
		{"another quantity", "20 mm", Duration, `"20 mm" is a length where a time is expected; write it like 20 ms`},
		{"a near miss", "4 ms/", Speed, `"4 ms/": "ms/" is no unit of speed; write 4 m/s`},
		{"decimal comma", "0,5 m", Length, `"0,5 m" has a comma; write decimals with a point`},
		{"a unit in other letters", "3 KMH", Speed, `"3 KMH": "KMH" is no unit of speed; write 3 km/h`},
		{"a unit of another tongue", "8 grad", Angle, `"8 grad": "grad" is no unit of angle; use deg or rad, like 8 deg`},
		{"a dash", "−8 deg", Angle, `"−8 deg" begins with a dash that is no minus sign; write -8 deg`},
		{"a longer dash and a blank", "– 8 deg", Angle, `"– 8 deg" begins with a dash that is no minus sign; write -8 deg`},
		{"a mark between digits", "1_000 ms", Duration, `"1_000 ms" has a mark between its digits; write them without one`},
		{"a factor with a unit", "0.6 N", Factor, `"0.6 N" has a unit where a plain number is expected; write it like 1.5`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseQuantity(tt.text, tt.q)
			assert.EqualError(t, err, tt.want)
		})
	}
}

func TestFormatNeedsNoExponent(t *testing.T) {
	for _, tt := range []struct {
		q    Quantity
		x    float64
		want string
	}{
		{Duration, 600, "600 s"}, {Duration, 0.02, "20 ms"}, {Duration, 36000, "600 min"}, {Duration, 1.5e-9, "0.0015 us"}, {Symbols, 115200, "115200 Bd"},
		{Frequency, 5e4, "50 kHz"}, {Inertia, 7.5e-7, "0.00075 g m2"}, {Angle, 1e-9, "0.0000000573 deg"}, {Share, 0.25, "25 %"}, {Factor, 12345678, "12350000"}, {Speed, 0, "0 m/s"},
	} {
		assert.Equal(t, tt.want, tt.q.Format(tt.x))
	}
}

func TestFormatIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Quantity(rapid.IntRange(0, len(measures)-1).Draw(t, "quantity"))
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		got, err := ParseQuantity(q.Format(x), q)
		require.NoError(t, err)
		assert.InDelta(t, x, got, math.Abs(x)*6e-4, "four digits are kept")
	})
}
