package pinout

import (
	"fmt"
	"io"

	"hilrig/rig/decode"
)

// Plug is one row of "Will my board plug in?": something that a board has, and what
// to do about it on each of [Models].
type Plug struct {
	Part    string // "wheel encoder"
	Kind    string
	Answers [3]string
}

// The answers that do not depend on the model.
const (
	answerYes    = "yes"
	answerNotYet = "not yet"
	answerAB     = "set the encoder to A/B or duty output"
	answerYaw    = "build the firmware with a serial yaw source, substituted: yaw in the bench file; the record then says so"
)

// Plugs answers for each kind of part.
func Plugs() []Plug {
	all := func(a string) [3]string { return [3]string{a, a, a} }
	rows := []Plug{
		{"wheel encoder", "quadrature A/B, with or without index", quadrature()},
		{"wheel encoder", "one line of pulses (tacho)", all(answerYes)},
		{"wheel encoder", "angle by duty cycle", all(answerYes)},
		{"wheel encoder", "angle read by the board over SPI or I2C", all(answerAB)},
		{"wheel encoder", "sine and cosine, or another voltage", all(answerNotYet)},
		{"yaw sensor", "serial frames that come by themselves", all(answerYes)},
		{"yaw sensor", "serial frames that the board asks for", all("not yet; have the firmware take frames that come by themselves")},
		{"yaw sensor", "read by the board over SPI or I2C", all(answerYaw)},
		{"yaw sensor", "a voltage, or a field bus", all(answerYaw)},
		{"receiver input", "a pulse for each channel", all(answerYes)},
		{"receiver input", "serial bus, 100 kbaud, inverted", all("yes, with an inverter")},
		{"receiver input", "all channels as pulses on one line", all(answerNotYet)},
	}
	for k := range decode.MotorKinds {
		p := Plug{Part: "motor output", Kind: k.String()}
		for i, m := range Models {
			l := m.Limits()
			switch l.Motors[k] {
			case Yes:
				p.Answers[i] = answerYes
			case Marginal:
				p.Answers[i] = "marginal: " + l.Reason[k]
			default:
				p.Answers[i] = "no: " + l.Reason[k]
			}
		}
		rows = append(rows, p)
	}
	return append(rows,
		Plug{"motor output", "digital frames with answers on the same wire", all(answerNotYet)},
		Plug{"motor output", "half-bridge duty cycle, field bus or I2C", all(answerNotYet)})
}

// fewLines is an encoder that the answers speak of.
const fewLines = 256

// quadrature says how fast four encoders may turn where that is slower than a small
// car's wheels, 90 turns a second.
func quadrature() (answers [3]string) {
	for i, m := range Models {
		answers[i] = answerYes
		if turns := m.Limits().Edges / (4 * 4 * fewLines); turns < 90 {
			answers[i] = fmt.Sprintf("yes, up to %.0f edges a second of all four: %d lines at %.0f turns a second", m.Limits().Edges, fewLines, turns)
		}
	}
	return answers
}

// WritePlugs writes the rows as text. Models with the same answer share a line.
func WritePlugs(w io.Writer) {
	fmt.Fprintln(w, "Will my board plug in?")
	part := ""
	for _, p := range Plugs() {
		if p.Part != part {
			fmt.Fprintf(w, "\n%s\n", p.Part)
			part = p.Part
		}
		if p.Answers[0] == p.Answers[1] && p.Answers[1] == p.Answers[2] {
			fmt.Fprintf(w, "  %-44s  %s\n", p.Kind, p.Answers[0])
			continue
		}
		for i, m := range Models {
			kind := p.Kind
			if i > 0 {
				kind = ""
			}
			fmt.Fprintf(w, "  %-44s  %s: %s\n", kind, m, p.Answers[i])
		}
	}
	fmt.Fprintln(w, "\nNone of it has been tried on a real Pi yet; the Pi takes 3.3 V and no more at any pin.")
}
