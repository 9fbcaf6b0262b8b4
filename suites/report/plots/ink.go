package plots

import (
	"fmt"
	"image/color"
	"regexp"
)

// Ink is one of the colours of pictures: the custom property of CSS that a page may give another
// colour, and the colour without a page.
type Ink struct {
	Property string
	Colour   color.RGBA
}

// The inks, those with names of colours by Okabe and Ito.
var (
	text       = ink("ink", 0x1b1d21)
	quiet      = ink("quiet", 0x5b6168)
	grid       = ink("grid", 0xdcdfe3)
	band       = ink("band", 0xe4eef5)
	shade      = ink("shade", 0xf3efe4)
	body       = ink("body", 0xf1f3f4)
	blue       = ink("blue", 0x0072b2)
	vermillion = ink("vermillion", 0xd55e00)
	green      = ink("green", 0x009e73)
	purple     = ink("purple", 0xcc79a7)
	sky        = ink("sky", 0x56b4e9)
)

// inks are all inks by how a colour is written in SVG.
var inks = map[string]Ink{}

// ink makes an ink of a property's name and a colour, 0xRRGGBB.
func ink(property string, rgb uint32) color.RGBA {
	k := Ink{"--plot-" + property, color.RGBA{R: uint8(rgb >> 16), G: uint8(rgb >> 8), B: uint8(rgb), A: 0xff}}
	inks[fmt.Sprintf("#%06X", rgb)] = k
	return k.Colour
}

// lines are the colours of lines in their order; each has dashes of its own as well.
var lines = []color.RGBA{blue, vermillion, green, purple}

// written finds the colours of a picture.
var written = regexp.MustCompile(`#[0-9A-F]{6}\b`)

// inked replaces colours in the styles of an SVG by the properties of their inks.
func inked(style string) string {
	return written.ReplaceAllStringFunc(style, func(hex string) string {
		if k, ok := inks[hex]; ok {
			return "var(" + k.Property + "," + hex + ")"
		}
		return hex
	})
}
