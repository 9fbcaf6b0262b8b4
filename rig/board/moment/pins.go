package moment

import (
	"fmt"

	"hilrig/rig/signal"
)

// pinRole is what a pin of the board is for.
type pinRole uint8

const (
	unusedPin pinRole = iota
	receiverPin
	yawPin
	encoderPin
)

// pin is what an input pin is for.
type pin struct {
	role   pinRole
	wheel  uint8 // of an encoder, 0 to 3 in the order of signal.Wheels
	second bool  // line B of an encoder
}

// pins are the lines that the board is soldered to.
type pins struct {
	of            []pin // by line
	receiver, yaw signal.Line
	encoder       [4][2]signal.Line
	motor         [4]signal.Line
}

// newPins finds the lines. The error names the one that is missing and what the board
// wants there.
func newPins(s *Settings, layout signal.Layout) (p pins, err error) {
	p.of = make([]pin, len(layout.Lines))
	if p.receiver, err = serialLine(layout, s.ReceiverPort, "a receiver's bus"); err != nil {
		return p, err
	}
	if p.yaw, err = serialLine(layout, s.YawPort, "the yaw-rate sensor's serial port"); err != nil {
		return p, err
	}
	p.of[p.receiver].role, p.of[p.yaw].role = receiverPin, yawPin
	for i, wheel := range signal.Wheels {
		for j, role := range [2]signal.Role{signal.EncoderA, signal.EncoderB} {
			line, ok := layout.Find(role, wheel)
			if !ok {
				return p, missing(wheel.String()+"_"+role.String(), "a quadrature encoder of two lines")
			}
			p.encoder[i][j] = line
			p.of[line] = pin{encoderPin, uint8(i), j == 1}
		}
		line, ok := layout.Find(signal.Motor, wheel)
		if !ok {
			return p, missing("motor_"+wheel.String(), "a motor's commands")
		}
		p.motor[i] = line
	}
	return p, nil
}

// serialLine returns the line that the port of that name has.
func serialLine(layout signal.Layout, name, what string) (signal.Line, error) {
	line, ok := layout.Line(name)
	if !ok || layout.Lines[line].Direction != signal.Drive {
		return 0, missing(name, what)
	}
	return line, nil
}

// missing is the error for a line that the layout does not have.
func missing(name, what string) error {
	return fmt.Errorf("built-in/moment: the bench has no line %s for %s; declare it in the bench file, or use another board", name, what)
}
