package circuit

import (
	"fmt"
	"io"
	"strconv"
)

// Item is one row of the parts list.
type Item struct{ Ref, What, Why string }

// si writes a value with its prefix: 2400 and "ohm" as "2.4 kohm".
func si(x float64, unit string) string {
	for _, p := range []struct {
		of   float64
		name string
	}{{1e3, "k"}, {1, ""}, {1e-3, "m"}, {1e-6, "u"}, {1e-9, "n"}} {
		if x >= p.of*0.9999 {
			return strconv.FormatFloat(x/p.of, 'g', 3, 64) + " " + p.name + unit
		}
	}
	return "0 " + unit
}

// microfarads writes a capacitance as it is printed on the part.
func microfarads(x float64) string { return strconv.FormatFloat(x*1e6, 'g', 4, 64) + " uF" }

// The coils' supply and what stands across each coil.
const (
	coil  = 12.0 // V
	zener = 15.0 // V
)

// Parts lists the parts with their values and why.
func Parts(v Values) []Item {
	m := Monostables()
	pack := strconv.FormatFloat(v.Pack, 'g', 4, 64) + " V"
	return []Item{
		{"F1", "fuse in the pack's lead, at the pack", "below what leads and contactors bear, above what the motors take; its DC rating is that of the pack or more"},
		{"X1", "plug or switch that a hand pulls under load, beside F1", "within reach without bending over the car; rated to break the motors' current at " + pack + " DC: the last resort if all else welds"},
		{"K1, K2", "two DC contactors, main contacts in series", fmt.Sprintf("each by itself rated to break, at %s DC, the most that the motors take and F1 lets pass, and to make on %.0f A; polarity as marked on them; coils of 12 V; one mirror contact each (IEC 60947-4-1, annex F)", pack, v.Inrush)},
		{"K3", "relay, three normally open contacts, one of them for " + pack + " DC at " + si(v.Pack/v.PreCharge, "A"), "pre-charge: its contact carries what R1 lets through and no more; the second holds it, the third lets KT run"},
		{"KT", fmt.Sprintf("timer, on-delay %.0f s", v.Delay), fmt.Sprintf("five time constants of R1 and the controllers are %s; it drops out at once with its supply", si(5*v.PreCharge*v.Capacitance, "s"))},
		{"R1", fmt.Sprintf("%s, 25 W or more, wire-wound", si(v.PreCharge, "ohm")), fmt.Sprintf("a twelfth of R2 or less: %s is left across K1 and K2, %.0f A at 20 mohm of leads; bears %.0f J should the controllers be shorted for %.0f s", si(v.Left, "V"), v.Inrush, v.PreChargeEnergy, v.Delay)},
		{"R2", fmt.Sprintf("%s, %.0f W", si(v.Bleed, "ohm"), rated(v.BleedPower)), fmt.Sprintf("bleed: takes %s at %s, gets hot, and has the supply gone in %.1f s with %s (1.5 R C ln(%.3g V/%.3g V))", si(v.BleedPower, "W"), pack, v.Falls.Seconds(), microfarads(v.Capacitance), v.Pack, v.SenseOff)},
		{"H1", "lamp for " + pack + " behind the contactors", "what you look at in hilrig ready; a light-emitting diode with " + si(E24((v.Pack-2)/5e-3, true), "ohm") + " does"},
		{"S1", "stop button, red on yellow, latching, one normally closed block of positive opening", "IEC 60947-5-1 annex K, ISO 13850; its block carries 12 V alone, no wire of the Pi"},
		{"F2", "fuse 2 A, and a supply of 12 V of its own", "not from the pack: a pack that sags would have the contactors chatter"},
		{"K4", "relay, coil 12 V, contact for 12 V DC at twice the contactors' coil current", "dead-man contact, held by U1 through Q1"},
		{"K5", "the same", "program contact, by Q2. Common modules of relays close at a LOW input: not these; hilrig ready finds one"},
		{"D, Z", fmt.Sprintf("diode and Zener diode of %.0f V, 5 W, across every coil", zener), fmt.Sprintf("the current ends after %.2f of the coil's L/R, with a diode alone after %.2f; K4 and K5 see %.0f V. A contactor with a circuit of its own at the coil gets none: its sheet says", Release(coil, zener), Release(coil, 0), coil+zener+0.7)},
		{"Q1, Q2", "NPN transistor for 500 mA, 1 kohm to the base, 10 kohm from base to emitter", "2.6 mA of base current at 3.3 V saturate it at 50 mA (computed)"},
		{"Q3", "NPN transistor, 10 kohm from the board's supply to its base, 10 kohm from 5 V to its collector", "pulls the enables of the 74HCT541 low only while the board has its supply: nothing drives a board without one"},
		{"U1", m[0].Family + ", " + si(m[0].R, "ohm") + ", " + si(m[0].C, "F") + " film", fmt.Sprintf("t = K R C = %.0f ms with K = %.2f. Rising edges at B, A low, reset high. A 74HC part at 5 V does not take 3.3 V as high. As it gets its supply it may hold K4 for one pulse: K5 is open then", 1e3*m[0].Holds(), m[0].K)},
		{"U2, U3", "optocouplers with a transistor, 50 % or more at 5 mA", "12 V and pack on the one side, 3.3 V on the other, and no contact block has both"},
		{"R3", "1 kohm, 0.25 W, before U2", "10.8 mA at 12 V"},
		{"R4", fmt.Sprintf("%s, %.2g W, before U3", si(v.SenseSeries, "ohm"), rated(v.SensePower)), fmt.Sprintf("10 mA at %s", pack)},
		{"R5", si(senseAcross, "ohm") + " across the diode of U3", fmt.Sprintf("dark below %.2g V, lit above %.2g V: the controllers' last volt counts as off", v.SenseOff, v.SenseOn)},
		{"R6, R7", "10 kohm from pins stop and supply to ground", "a broken wire is low: stop, or no supply seen"},
	}
}

// Releases says how soon the supply is opened, by what opens it.
func Releases() []string {
	return []string{
		"stop button: K1 and K2 release, 10 to 25 ms by their sheets with D and Z: take 25 ms",
		"program: K5 releases in 5 to 10 ms, then K1 and K2: 35 ms",
		"program and Pi hang: U1 holds 50 ms (40 to 65 with parts of 10 %), K4 10 ms, K1 and K2 25 ms: 85 to 100 ms after the last edge",
		"nothing latches but S1 and the program: after a trip K5 stays open until hilrig is started anew",
		"then an arc, some ms, and the controllers' capacitors: R2 empties them; motors that turn go on turning",
	}
}

// Order is how the whole is switched on, and off the other way round.
func Order() []string {
	return []string{
		"X1 is out, S1 pressed. Everything that follows is done without the pack.",
		"The Pi, by its own supply. hilrig makes its lines safe; until then resistors keep what means go low.",
		"The board's logic, from a supply that limits its current. Only then do the 74HCT outputs drive it.",
		"The 12 V of the coils. S1 out: U2 sees it. K4 and K5 stay open.",
		"hilrig ready, as far as the relay, with a lamp behind the contactors and no motor.",
		"X1 in, last of all, when hilrig asks for the supply. X1 out first when you are done; wait until H1 is dark.",
	}
}

// BackFeeds says what gives current to what without a supply, and what keeps it small.
func BackFeeds() []string {
	return []string{
		"Pi on, board off: 74HCT outputs are off, as their enable follows the board's supply; wired straight, 330 ohm pass 8 mA a line into a board of 3.3 V.",
		"Board on, Pi off: 74LVC inputs without a supply take nothing; wired straight, 330 ohm pass 13 mA a line from 5 V into the Pi.",
		"Reset: the open drain of a 74LVC1G07 lets go without its supply, so that a board without a Pi runs.",
		"Motors that turn feed the controllers back: the supply stays on behind open contactors until they rest.",
		"USB from a computer to the board feeds its logic: pull it, or count it as the board's supply.",
	}
}

// WriteParts writes the list, the families of monostables, how soon it opens, and the order of
// switching on.
func WriteParts(w io.Writer, v Values) {
	fmt.Fprintf(w, "parts of the circuit, for a pack of %.4g V and %s of controllers%s\n\n", v.Pack, microfarads(v.Capacitance), map[bool]string{true: " (an example: write pack and capacitance under interlock)"}[v.Assumed])
	for _, p := range Parts(v) {
		fmt.Fprintf(w, "  %-7s %s\n          %s\n", p.Ref, p.What, p.Why)
	}
	fmt.Fprint(w, "\nthe monostable for 50 ms, t = K R C; the sheet of the part in hand decides, as K differs between families and issues\n\n")
	for _, m := range Monostables() {
		fmt.Fprintf(w, "  %-42s K %.2f  %-9s %-7s %2.0f ms  %s\n", m.Family, m.K, si(m.R, "ohm"), si(m.C, "F"), 1e3*m.Holds(), m.Source)
	}
	for _, of := range []struct {
		title string
		lines []string
	}{{"how soon the supply is opened", Releases()}, {"switched on in this order, and off the other way round", Order()}, {"what feeds what without a supply", BackFeeds()}} {
		fmt.Fprintf(w, "\n%s\n\n", of.title)
		for i, line := range of.lines {
			fmt.Fprintf(w, "  %d. %s\n", i+1, line)
		}
	}
	fmt.Fprintln(w, "\n"+Caution)
}

// Caution stands below every list and drawing.
const Caution = "Common practice, drawn up with care, and no safety device: it has no rating. Have somebody qualified check it and its wiring, and follow your local rules."
