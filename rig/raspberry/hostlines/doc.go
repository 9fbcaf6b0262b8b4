// Package hostlines is the real lines of the host, those of a Raspberry Pi's 40-pin header: one by
// one ([Lines]), and as a bench in real time ([Bench]), whatever backend moves them.
//
// A [Bench] takes edges and bytes, holds them against what was handed over before, and queues
// them as a [Change] each. A [Backend] puts the changes out when they are due and tells the edges
// of the captured lines: package registers does so by a loop on a bank of lines, package chardev
// by calls of the kernel.
//
// Nothing here has been tried on a real Pi yet.
//
// # Units and signs
//
// A line is named by its GPIO number, that of the chip's maker.
//
// # Time
//
// signal.Time since the bench was opened, by its backend's clock.
package hostlines
