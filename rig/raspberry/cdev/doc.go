// Package cdev speaks to the GPIO character devices of Linux (/dev/gpiochipN).
//
// A [Chip] tells of its lines and hands them out: as [Outputs], which take their
// first levels in the same call that makes them outputs, so that no line dips;
// as [Inputs], whose edges the kernel stamps and keeps until they are read, many at
// once; or as [Readings], whose levels alone are of interest. A line belongs to one
// request at a time, of all programs.
//
// Edges get lost in three places. Where the kernel's buffer is full, it drops
// the oldest; where a second edge of a line comes before the first was dealt
// with, both become one event: both leave a gap in the numbers of the events,
// [Event.Number] (the second does so only in a request of several lines, for one line
// counts no other way). An edge that the chip itself did not notice leaves nothing but
// two events in the same direction, which [Event.Repeated] tells.
//
// Errors keep the kernel's number: errors.Is(err, unix.EBUSY) holds for a line
// that is in use.
//
// The package is empty on other systems than Linux.
//
// # Units and signs
//
// A line of a chip is its offset there, from 0. Within a request, bit n of a set
// of levels and [Event.Line] n are the line that was named n-th; a set bit is a
// high line.
//
// # Time
//
// Nanoseconds of CLOCK_MONOTONIC, as [Now] reads it. The kernel stamps an edge
// when its interrupt is served: later than the edge, by microseconds. The
// direction is read later still.
//
// # Sources
//
// Linux, include/uapi/linux/gpio.h (version 2 of the interface) and
// drivers/gpio/gpiolib-cdev.c, both as of 6.1.
package cdev
