// Package i2c reads converters of current and voltage on an I2C bus, beside a bench whose loop
// has no time for that.
//
// A [Register] says where a converter keeps a quantity and how it is written there. [Open] opens
// the bus that a device file of the kernel is, and [Start] has a [Reader] read registers of it
// again and again by a goroutine of its own; whoever plays takes what was read with [Reader.Take],
// which never waits for the bus. On a clock that is brought forward by hand no goroutine is
// started, and Take reads what is due: the same readings on every machine.
//
// What goes wrong is a reading too: an address that nobody acknowledges, a transfer that fails, a
// value at the end of the register's range. How often the raw value was the same before stands in
// each reading, and whoever knows what was commanded meanwhile says whether that is a converter
// that got stuck.
//
// # The bus's driver
//
// A bus is opened by the kernel's driver, through periph.io/x/host/v3/sysfs, and no other driver of
// that module is loaded: the one for registers takes a Pi 5 for a Pi 4 and writes, as root, into
// memory that is no register. Nothing here calls its driver registry, so that none of the drivers
// that the imported package knows is started either. How fast the bus is clocked stands in the Pi's
// config.txt (dtparam=i2c_arm_baudrate); it is not changed here.
//
// # Units and signs
//
// Values are in amperes and volts, or whatever unit scale and offset are in: raw*scale + offset.
//
// # Time
//
// signal.Time of the clock that a reader is given. A reading's time is the middle of its transfer,
// and half of the transfer's length its uncertainty. How much older what the converter holds is, its
// own conversion time says, which is not known here.
//
// # Sources
//
// The bus specification and user manual for I2C, UM10204, gives the addresses: 7 bits, of which
// 0x00 to 0x07 and 0x78 to 0x7F are reserved (from memory). The kernel's errors where nobody
// acknowledges: torvalds/linux, Documentation/i2c/fault-codes.rst, ENXIO and, by some drivers,
// EREMOTEIO (from memory).
package i2c
