// Package raspberry is a bench on the pins of a Raspberry Pi, in real time.
//
// A [Bank] is 32 lines that are set, cleared and read at once: [Memory] is a word
// in memory, with pieces of wire from line to line; [Boarded] is a word in memory
// with a board behind it; [Registers] are the GPIO registers of a Pi 3 or 4. A [Bench]
// plays into a bank and samples it: one loop on a processor of its own reads the whole
// bank over and over, stamps what changed (sampler.go), and puts out each edge when its
// time has come (player.go). What the operating system had to grant the loop, and did
// not, is in [Bench.Refused]; how well it kept time in [Bench.Timing].
//
// A [CharBench] does without registers, on a Pi 5 or any other Linux board: it drives
// lines by calls of the kernel's GPIO character device (chardev_play.go), and the kernel
// stamps the edges of captured lines (chardev_listen.go), up to the rate of OneShot125.
// What the kernel loses spoils the pulse that it belonged to, and is counted in
// [CharBench.Timing].
//
// Serial ports send on the operating system's devices (package serial), or as levels of their
// lines. When a pulse or a message was on its wire is read back (readback.go); what
// came late on encoders the player logs (overdue.go).
//
// On a bank one loop plays and samples, so that everything is on one clock, one processor is set
// aside and not two, and each write has a sample before and after it.
//
// Nothing here has been tried on a real Pi yet.
//
// # Units and signs
//
// Bit n of a bank is GPIOn, by the numbers of the chip's maker, not by header pin. A set
// bit is a high line.
//
// # Time
//
// signal.Time since the bench was opened, read from the processor's own counter
// where there is one. A stamped edge carries its uncertainty: the true change
// lies between the start of the last read that saw the old level and the end of the one
// that saw the new.
//
// On a [CharBench] time is CLOCK_MONOTONIC, which stamps the edges. All stamps are late by
// about the same; they differ by [StampDoubt] at most, which is an edge's uncertainty.
//
// # Sources
//
// Broadcom, "BCM2835 ARM Peripherals", 2012, chapter 6 (general purpose I/O);
// "BCM2711 ARM Peripherals", chapter 5: offsets of the registers, from memory.
package raspberry
