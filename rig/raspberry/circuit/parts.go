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

// Values that stand in the list and in the drawing.
const (
	inLine    = "330 ohm"
	low       = "4.7 kohm"
	toBase    = "1 kohm"
	atBase    = "10 kohm"
	pullsDown = "10 kohm"
	bufferOut = "74HCT541 at 5 V"
	bufferIn  = "74LVC541 at 3.3 V"
	inverts   = "74HCT14 at 5 V"
	openDrain = "74LVC1G07"
)

// Parts lists the parts with their values and why: those of the supply and of the interlock, and those
// of the lines that a bench has.
func Parts(v Values, h *Header) []Item {
	return append(append(supplyParts(v), interlockParts(v)...), lineParts(h)...)
}

// supplyParts lists what stands in the motors' supply and in the chain.
func supplyParts(v Values) []Item {
	pack := strconv.FormatFloat(v.Pack, 'g', 4, 64) + " V"
	return []Item{
		{"F1", "fuse in the pack's lead, at the pack", "below what leads and contactors bear, above what the motors take; its DC rating is that of the pack or more"},
		{"X1", "plug or switch that a hand pulls under load, beside F1", "within reach without bending over the car; rated to break the motors' current at " + pack + " DC: the last resort if all else welds"},
		{"K1, K2", "two DC contactors, main contacts in series", fmt.Sprintf("each by itself rated to break, at %s DC, the most that the motors take and F1 lets pass, and to make on %.0f A; polarity as marked on them; coils of 12 V; one mirror contact each (IEC 60947-4-1, annex F)", pack, v.Inrush)},
		{"K3", "relay, three normally open contacts, one for " + pack + " DC at " + si(v.Pack/v.PreCharge, "A"), "pre-charge: its contact carries what R1 lets through and no more; the second holds it, the third lets KT run"},
		{"KT", fmt.Sprintf("timer, on-delay %.0f s", v.Delay), fmt.Sprintf("five time constants of R1 and the controllers are %s; it drops out at once with its supply", si(5*v.PreCharge*v.Capacitance, "s"))},
		{"R1", fmt.Sprintf("%s, 25 W or more, wire-wound: pre-charge", si(v.PreCharge, "ohm")), fmt.Sprintf("a twelfth of R2 or less: %s is left across K1 and K2, %.0f A at 20 mohm of leads; bears %.0f J should the controllers be shorted for %.0f s", si(v.Left, "V"), v.Inrush, v.PreChargeEnergy, v.Delay)},
		{"R2", fmt.Sprintf("%s, %.0f W: bleed", si(v.Bleed, "ohm"), rated(v.BleedPower)), fmt.Sprintf("takes %s at %s, gets hot, and has the supply gone in %.1f s with %s (1.5 R C ln(%.3g V/%.3g V))", si(v.BleedPower, "W"), pack, v.Falls.Seconds(), microfarads(v.Capacitance), v.Pack, v.SenseOff)},
		{"H1", "lamp for " + pack + " behind the contactors", "what you look at in hilrig ready; a light-emitting diode with " + si(E24((v.Pack-2)/5e-3, true), "ohm") + " does"},
		{"S1", "stop button, latching, one normally closed block of positive opening", "red on yellow; IEC 60947-5-1 annex K, ISO 13850; its block carries 12 V alone, no wire of the Pi"},
		{"G1, F2", "supply of 12 V for the coils alone, fuse 2 A", "not from the pack: a pack that sags would have the contactors chatter"},
		{"K4", "relay, coil 12 V, contact for 12 V DC at twice the contactors' coil current", "dead-man contact, held by U1 through Q1"},
		{"K5", "the same", "program contact, by Q2. Common modules of relays close at a LOW input: not these; hilrig ready finds one"},
		{"D, Z", fmt.Sprintf("diode and Zener diode of %.0f V, 5 W, across every coil", zener), fmt.Sprintf("the current ends after %.2f of the coil's L/R, with a diode alone after %.2f; K4 and K5 see %.0f V. A contactor with a circuit of its own at the coil gets none: its sheet says", Release(coil, zener), Release(coil, 0), coil+zener+0.7)},
	}
}

// interlockParts lists what stands at the Pi's pins of the interlock.
func interlockParts(v Values) []Item {
	m := Monostables()[0]
	return []Item{
		{"Q1, Q2", "NPN transistors for 500 mA", "2.6 mA of base current at 3.3 V saturate one at 50 mA (computed)"},
		{"U1", m.Family, fmt.Sprintf("monostable: t = K R C = %.0f ms with K = %.2f, R8 and C1. Rising edges at B, A low, reset high. A 74HC part at 5 V does not take 3.3 V as high. As it gets its supply it may hold K4 for one pulse: K5 is open then", 1e3*m.Holds(), m.K)},
		{"U2, U3", "optocouplers with a transistor, 50 % or more at 5 mA", "12 V and pack on the one side, 3.3 V on the other, and no contact block has both"},
		{"R3", "1 kohm, 0.25 W, before U2", "10.8 mA at 12 V"},
		{"R4", fmt.Sprintf("%s, %.2g W, before U3", si(v.SenseSeries, "ohm"), rated(v.SensePower)), "10 mA at " + strconv.FormatFloat(v.Pack, 'g', 4, 64) + " V"},
		{"R5", si(senseAcross, "ohm") + " across the diode of U3", fmt.Sprintf("dark below %.2g V, lit above %.2g V: the controllers' last volt counts as off", v.SenseOff, v.SenseOn)},
		{"R6, R7", pullsDown + " from pins stop and supply to ground", "a broken wire is low: stop, or no supply seen"},
		{"R8", si(m.R, "ohm") + ", 1 %, of U1", "its R"},
		{"C1", si(m.C, "F") + " film, of U1", "its C; film keeps its value, where ceramic loses half with voltage and warmth"},
		{"R9", inLine + " from pin heartbeat to U1", "limits what U1 without its supply takes from the pin"},
		{"R10, R11", low + " from pins heartbeat and relay to ground", "low until hilrig drives them"},
		{"R12, R13", toBase + " to the bases of Q1 and Q2", "the current that saturates them"},
		{"R14, R15", atBase + " from base to emitter of Q1 and Q2", "off with a broken wire at the base"},
	}
}

// lineParts lists what stands in the lines to and from the board.
func lineParts(h *Header) []Item {
	var items []Item
	if h.Out != "" {
		items = append(items, []Item{
			{"Q3", "NPN transistor, its collector at the enables of U4", "pulls them low only while the board has its supply: nothing drives a board without one"},
			{"R16", "10 kohm from the supply of the board's logic to the base of Q3", "with R17: Q3 is off below 2.0 V, which what lines give a board without a supply should not reach, and on at 3.3 V as at 5 V (computed, 0.65 V at the base)"},
			{"R17", low + " from base to emitter of Q3", "see R16; off with a broken wire"},
			{"R18", "10 kohm from 5 V to the enables of U4", "high, so that its outputs are off, while Q3 is"},
			{"U4", bufferOut + " in lines out", "eight lines each; takes 2.0 V as high"},
			{"R19", inLine + " in each line out, behind U4", "ends the cable where it is driven"},
		}...)
		if h.Goes {
			items = append(items, Item{"R20", low + " to ground at the pin of each line that means go", "low until hilrig drives it"})
		}
	}
	if h.In != "" {
		items = append(items, Item{"U5", bufferIn + " in lines in", "eight lines each; bears 5 V at its inputs, without a supply too"},
			Item{"R21", inLine + " in each line in, at the pin", "limits the current where a program makes the pin an output"})
	}
	if h.Inverted != "" {
		items = append(items, Item{"U7", inverts + " in inverted lines", "it has no enable: while it is high it gives a board without a supply up to 13 mA, which R22 limits; an idle line is low (computed)"},
			Item{"R22", inLine + " in each inverted line, behind U7", "ends the cable where it is driven"})
	}
	switch h.ResetBy {
	case ByLine:
		items = append(items, Item{"U6", openDrain + " at 3.3 V, open drain", "pulls the board's reset low, and lets go without a supply: a transistor at the pin would hold the board in reset"},
			Item{"R23", low + " from the input of U6 to 3.3 V", "lets go while the Pi starts"},
			Item{"R24", inLine + " in the reset line, behind U6", "limits what two outputs against each other draw"})
	case ByRelay:
		items = append(items, Item{"K6", "relay, coil 5 V up to 80 mA, contact for what the board's logic takes", "closed while the pin is high: a board has no supply before the Pi has"},
			Item{"Q4", "NPN transistor for 500 mA", "as Q1"},
			Item{"R23", low + " from pin reset to ground", "K6 stays open until hilrig drives it"},
			Item{"R24", toBase + " to the base of Q4", "as R12"},
			Item{"R25", atBase + " from base to emitter of Q4", "as R14"})
	}
	return items
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
		"Pi on, board off: the outputs of the 74HCT541 are off, as its enables follow the board's supply; wired straight, 330 ohm pass 8 mA a line into a board of 3.3 V.",
		"Board on, Pi off: 74LVC inputs without a supply take nothing; wired straight, 330 ohm pass 13 mA a line from 5 V into the Pi.",
		"Reset: the open drain of a 74LVC1G07 lets go without its supply, so that a board without a Pi runs.",
		"Motors that turn feed the controllers back: the supply stays on behind open contactors until they rest.",
		"USB from a computer to the board feeds its logic: pull it, or count it as the board's supply.",
	}
}

// WriteParts writes the list, the families of monostables, how soon it opens, and the order of
// switching on.
func WriteParts(w io.Writer, v Values, h *Header) {
	fmt.Fprintf(w, "parts of the circuit, for a pack of %.4g V and %s of controllers%s\n\n", v.Pack, microfarads(v.Capacitance), map[bool]string{true: " (an example: write pack and capacitance under interlock)"}[v.Assumed])
	for _, p := range Parts(v, h) {
		fmt.Fprintf(w, "  %-9s%s\n           %s\n", p.Ref, p.What, p.Why)
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
