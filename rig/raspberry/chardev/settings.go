package chardev

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// StampUncertainty is how far apart the kernel's stamps of equal edges lie, and so the uncertainty of
// an edge that a [Bench] captures: what a pulse's width is uncertain by.
//
// On a Pi 5 stamps are 7 to 20 us late, with several us of spread (jclark/satpulse, issue
// 460 and plan/gpio-poll.md); on another small computer 98 % lie within 2.6 us (dan.drown.org,
// timer capture against interrupts, 2015). What they are late by in common falls out of a
// width. It stays in the times: a board looks slower by it.
const StampUncertainty = 3 * signal.Microsecond

// settled is how long after its edge an event is waited for: the kernel wakes a thread
// of real-time priority for it (gpiolib-cdev.c), which takes tens of microseconds on a
// loaded Pi (common practice, no source). One that comes later is reported with a longer
// Late.
const settled = 100 * signal.Microsecond

// Timing is how well a bench on the character device kept time.
type Timing struct {
	Late realtime.Histogram // of edges played: of the end of the kernel's call, after the time planned
	Count
}

// Count counts what the kernel did not tell as it was.
type Count struct {
	Lost       int64 // edges that it counted and did not deliver
	Repeated   int64 // events in the direction of the one before: an edge between was missed, or a pulse was too short
	OutOfOrder int64 // events that came after all up to their time was reported
}

// refuses says why the kernel's stamps will not do for a format. A Pi 5 is the model that
// is reached by the character device.
func refuses(formats []decode.MotorKind) error {
	limits := pinout.Pi5.Limits()
	for _, k := range formats {
		if k >= decode.MotorKinds || limits.Motors[k] == pinout.No {
			why := "it is not known"
			if k < decode.MotorKinds {
				why = limits.Reason[k]
			}
			return fmt.Errorf("bench on the character device: %v cannot be captured: %s; let the board send servo_pulse, or use a Pi 3B+ or 4B", k, why)
		}
	}
	return nil
}
