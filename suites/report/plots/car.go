package plots

import (
	"io"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Wheel is what is shown at a wheel of a car seen from above.
type Wheel struct {
	Shift float64 // share of the longest arrow, -1..1, positive raised: an arrow to the front; NaN: not read
	Says  string  // the shift in figures, in lines
}

// Turn is a car in a turn seen from above, its front up. Wheels are front left, front right, rear left, rear right.
type Turn struct {
	Name   string // "turn left"
	Left   bool   // it turns to the left, so that its left side is the inside
	Wheels [4]Wheel
}

// Car is the torque that is shifted between the wheels of a car, in one turn or in two, side by side.
type Car struct {
	About string // what is seen, for those who do not see it
	Turns []Turn
}

// The places of a car's parts, from the middle of the car and from the picture's foot.
const (
	carHeight = 176
	carWidth  = Width / 2
	track     = 33
	rearAxle  = 40
	frontAxle = 112
	longest   = 32
)

// SVG draws the cars.
func (k *Car) SVG(w io.Writer) error {
	return paint(w, carHeight, k.About, func(c *canvas) {
		for i := range min(2, len(k.Turns)) {
			k.Turns[i].draw(c, carWidth/2+vg.Length(i)*carWidth)
		}
	})
}

// draw draws a car about x.
func (t *Turn) draw(c *canvas, x vg.Length) {
	c.write(x, carHeight-13, large, carWidth-6, text, draw.XCenter, t.Name)
	t.bend(c, x)
	c.box(x-19, rearAxle-24, x+19, frontAxle+22, body)
	c.box(x-11, frontAxle-32, x+11, frontAxle-20, grid) // the screen, so that front and rear are seen
	c.line(x-track, frontAxle, x+track, frontAxle, 2, quiet, nil)
	c.line(x-track, rearAxle, x+track, rearAxle, 2, quiet, nil)
	left, right := "outside", "inside"
	if t.Left {
		left, right = right, left
	}
	middle := vg.Length((rearAxle + frontAxle) / 2)
	c.write(x-track-20, middle-4, small, 0, quiet, draw.XRight, left)
	c.write(x+track+20, middle-4, small, 0, quiet, draw.XLeft, right)
	for i, w := range t.Wheels {
		side, axle := vg.Length(-1), vg.Length(frontAxle)
		if i%2 > 0 {
			side = 1
		}
		if i > 1 {
			axle = rearAxle
		}
		w.draw(c, x+side*track, axle, side)
	}
}

// bend draws a short arrow above the front that goes the way of the turn.
func (t *Turn) bend(c *canvas, x vg.Length) {
	side := vg.Length(1)
	if t.Left {
		side = -1
	}
	var path vg.Path
	y := vg.Length(frontAxle + 26)
	for i := range 9 {
		a := float64(i) / 8 * math.Pi / 2.6
		at := vg.Point{X: x + side*vg.Length(26*(1-math.Cos(a))), Y: y + vg.Length(18*math.Sin(a))}
		if i == 0 {
			path.Move(at)
		} else {
			path.Line(at)
		}
	}
	c.SetLineStyle(draw.LineStyle{Color: quiet, Width: 1.4})
	c.Stroke(path)
	tip := vg.Point{X: x + side*vg.Length(26*(1-math.Cos(math.Pi/2.6))), Y: y + vg.Length(18*math.Sin(math.Pi/2.6))}
	c.FillPolygon(quiet, []vg.Point{{X: tip.X + side*6, Y: tip.Y + 2}, {X: tip.X - side*2, Y: tip.Y + 4}, {X: tip.X + side*1, Y: tip.Y - 4}})
}

// draw draws a wheel about x and y, its figures on that side of it.
func (w *Wheel) draw(c *canvas, x, y, side vg.Length) {
	c.box(x-5, y-12, x+5, y+12, quiet)
	align := draw.XLeft
	if side < 0 {
		align = draw.XRight
	}
	rows := strings.Split(w.Says, "\n")
	for i, row := range rows {
		foot := y - 4 + vg.Length(len(rows)-1)*5.5 - vg.Length(i)*11
		c.write(x+side*18, foot, small, carWidth/2-track-18, text, align, row)
	}
	if math.IsNaN(w.Shift) {
		return
	}
	length := vg.Length(max(-1, min(1, w.Shift)) * longest)
	if math.Abs(float64(length)) < 1 {
		c.line(x+side*8, y, x+side*15, y, 2, quiet, nil)
		return
	}
	colour, way := blue, vg.Length(1)
	if length < 0 {
		colour, way = vermillion, -1
	}
	at := x + side*11.5
	c.line(at, y, at, y+length-way*min(6, way*length), 3, colour, nil)
	c.FillPolygon(colour, []vg.Point{{X: at, Y: y + length}, {X: at - 5, Y: y + length - way*7}, {X: at + 5, Y: y + length - way*7}})
}
