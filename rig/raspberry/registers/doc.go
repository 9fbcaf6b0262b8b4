// Package registers plays into a bank of lines and samples it, by one loop in real time.
//
// A [PinBank] is 32 lines that are set, cleared and read at once: [Memory] is a word
// in memory, with pieces of wire from line to line; [SimulatedPinBank] is a word in memory
// with a board behind it; [MemoryFile] is one that other programs have too; [Registers] are
// the GPIO registers of a Pi 3 or 4. A [Bench] plays into a bank and samples it: one loop on a
// processor of its own reads the whole bank over and over, stamps what changed (sampler.go), and
// puts out each edge when its time has come (edge_output.go). What the operating system had to grant
// the loop, and did not, is in [Bench.Denied]; how well it kept time in [Bench.Timing].
//
// What every bench on real lines shares, serial ports among it, is in package hostlines. When a pulse
// or a message was on its wire is read back (backend.go); what came late on encoders the edge output
// logs (late_log.go). A [TimingTrial] measures how well a
// machine keeps time on a bank.
//
// One loop plays and samples, so that everything is on one clock, one processor is set
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
// # Sources
//
// Broadcom, "BCM2835 ARM Peripherals", 2012, chapter 6 (general purpose I/O);
// "BCM2711 ARM Peripherals", chapter 5: offsets of the registers, from memory.
package registers
