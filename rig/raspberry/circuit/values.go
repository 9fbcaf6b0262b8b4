package circuit

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// Supply is the motors' supply as a file declares it. What is 0 is assumed.
type Supply struct {
	Pack        float64 // V, fully charged
	Capacitance float64 // F, of all controllers together
	Bleed       float64 // ohm
}

// What a supply is assumed to be where nothing is declared: an invented example of common size.
const (
	assumedPack        = 25.2    // V: six cells of 4.2 V
	assumedCapacitance = 4000e-6 // F: four controllers of 1000 uF
)

// The values that do not depend on the pack.
const (
	// senseAcross lies across the optocoupler's diode, so that it is dark below a clear voltage.
	senseAcross = 2.2e3 // ohm
	// senseCurrent is what the diode and the resistor across it take at the full pack.
	senseCurrent = 10e-3 // A
	// The diode is dark below 0.95 V across it and drops 1.2 V at 1 mA, with which its transistor
	// gives the 0.3 mA that make 10 kohm and a Pi's pull-down a high level, at a transfer ratio of 30 %
	// (data sheets of optocouplers with a transistor, from memory; 50 % is promised at 5 mA).
	diodeDark, diodeLit, diodeOn = 0.95, 1.2, 1e-3 // V, V, A
	// loop is the resistance of pack, leads and capacitors, which limits the inrush (assumed;
	// common practice, no source).
	loop = 20e-3 // ohm
	// wanted is how long the supply is to take to go at most.
	wanted = 2.0 // s
	// margin covers capacitors 20 % above what is printed on them, a resistor 5 % above and a
	// diode that is dark later.
	margin = 1.5
)

// Values are what a circuit's parts come to for a supply.
type Values struct {
	Supply
	Assumed                 bool        // pack or capacitance is not declared
	BleedPower              float64     // W, at the full pack
	Falls                   signal.Time // until the sense is off, the margin included
	PreCharge               float64     // ohm
	Delay                   float64     // s, from the pre-charge's closing to the contactors'
	PreChargeEnergy         float64     // J, should the controllers be shorted meanwhile
	Left, Inrush            float64     // V and A that are left for the contactors to close on
	SenseSeries, SensePower float64     // ohm, W
	SenseOff, SenseOn       float64     // V: below the one it is surely off, above the other surely on
}

// Work works the values out.
func Work(s Supply) Values {
	v := Values{Supply: s, Assumed: s.Pack == 0 || s.Capacitance == 0}
	if v.Pack == 0 {
		v.Pack = assumedPack
	}
	if v.Capacitance == 0 {
		v.Capacitance = assumedCapacitance
	}
	v.SenseSeries = E24((v.Pack-diodeLit)/senseCurrent, true)
	v.SensePower = (v.Pack - diodeLit) * (v.Pack - diodeLit) / v.SenseSeries
	v.SenseOff = diodeDark * (1 + v.SenseSeries/senseAcross)
	v.SenseOn = diodeLit + float64(v.SenseSeries*(diodeOn+diodeLit/senseAcross))
	logs := portable.Log(v.Pack / v.SenseOff)
	if v.Bleed == 0 {
		v.Bleed = E24(wanted/(margin*v.Capacitance*logs), false)
	}
	v.BleedPower = v.Pack * v.Pack / v.Bleed
	v.Falls = signal.Time(margin * v.Bleed * v.Capacitance * logs * float64(signal.Second))
	v.PreCharge = E24(v.Bleed/12, false) // what the bleed takes meanwhile leaves less than a tenth
	v.Delay = max(1, math.Ceil(5*v.PreCharge*v.Capacitance))
	v.PreChargeEnergy = v.Pack * v.Pack / v.PreCharge * v.Delay
	v.Left = v.Pack * v.PreCharge / (v.PreCharge + v.Bleed)
	v.Inrush = v.Left / loop
	return v
}

// e24 are the values of a decade of the series E24 (IEC 60063).
var e24 = [...]float64{1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1}

// E24 returns the value of the series next to x, which is above 0: that above, or that below.
func E24(x float64, above bool) float64 {
	const same = 1e-9
	decade := 1.0
	for ; decade > x*(1+same); decade /= 10 {
	}
	for ; 10*decade <= x*(1+same); decade *= 10 {
	}
	below := e24[0]
	for _, e := range e24 {
		switch y := e * decade; {
		case math.Abs(y/x-1) <= same:
			return y
		case y > x && above:
			return y
		case y > x:
			return below * decade
		}
		below = e
	}
	if above {
		return 10 * decade
	}
	return below * decade
}

// rated returns the next usual rating of a resistor, W, at twice what it takes.
func rated(power float64) float64 {
	for _, r := range []float64{0.25, 0.6, 1, 2, 5, 10, 25, 50, 100} {
		if r >= 2*power {
			return r
		}
	}
	return 10 * math.Ceil(power/5)
}

// Monostable is a family of retriggerable monostables with the constant of its data sheet, t = K R C.
type Monostable struct {
	Family string
	K      float64
	R, C   float64 // ohm, F
	Source string
}

// Holds returns the time for which it holds, s.
func (m Monostable) Holds() float64 { return m.K * m.R * m.C }

// hold is how long the dead-man contact is to stay closed without an edge: longer than the 20 ms
// that the program may pause by its own rules, shorter than anybody needs to reach a wheel.
const hold = 50e-3 // s

// Monostables are those that the circuit knows, the one that it draws first. The constant differs between families, and even
// between issues of one family's sheet: that of the part in hand decides.
func Monostables() []Monostable {
	of := func(family string, k float64, source string) Monostable {
		const c = 470e-9
		return Monostable{family, k, E24(hold/(k*c), true), c, source}
	}
	return []Monostable{
		of("74HCT123 at 5 V", 0.45, "sheet of the family 74HC/HCT123, issue of 2015, for 5.0 V and more than 10 nF (read)"),
		of("74HCT123 at 5 V, older sheet", 0.55, "the same, issue of 1998 (read)"),
		of("74AHCT123A at 5 V or 74AHC123A at 3.3 V", 1.0, "sheets of the families 74AHC123A and 74AHCT123A (from memory)"),
		of("74HC423A at 3.3 V", 1.0, "sheet of the family 74HC423A: PW = R C (read)"),
	}
}

// Release returns how long a coil's current takes to end once its contact has opened, as a share
// of the coil's time constant L/R, with a diode and a Zener diode across it: ln(1 + V/(Vz + 0.7 V))
// (computed: the current of an inductor and a resistor against a constant voltage). zener 0 is a
// diode alone.
func Release(coil, zener float64) float64 { return portable.Log(1 + coil/(zener+0.7)) }
