// Package plots draws what a run measured as SVG that stands in a page as it is: quantities over
// time one above the other ([Over], [Picture]), estimates with interval and limit ([Bars]), how
// readings are spread ([Histogram]), one quantity over another ([Across]), and the torque that is
// shifted between the wheels of a car seen from above ([Car]).
//
// Letters are text. Colours are custom properties of CSS with what stands for them on paper behind, so
// that a page can give others, as on a dark ground: see [Ink] and its like. Nothing is said by colour
// alone: lines differ by their dashes too, and have their names beside them. Nothing has an id, so that any number of
// pictures stand in one page.
//
// # Units
//
// Times in s, lengths of a picture in its own units: [Width] across, letters of 11. Values are in the unit that
// is named beside them.
//
// # Sources
//
// The palette is that of Okabe and Ito, Color Universal Design, 2008 (from memory): eight colours that
// are told apart with every common kind of colour blindness.
package plots
