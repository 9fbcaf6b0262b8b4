// Package stand is a simulated stand for a speed controller (ESC), in virtual time:
// the controller under test, its motor and pack, a disc with an encoder, a brake with a load cell,
// and what they answer on their lines.
//
// A [Stand] takes the edges that the rig drives, throttle commands and the clock of the load
// cell's converter, and gives back those of the encoder, the converter and the controller's telemetry,
// as a board does, so that every bench that carries a board carries a stand. A second converter
// stands on I2C, [Stand.I2C]. [Settings] says what the stand is made of, [Demo] gives an invented
// one, and [ESC] what its controller makes of the throttle: [ESCNamed] has a few with one defect each.
// [Stand.Truth] is what a measurement should find.
//
// The controller is written as firmware is: it measures pulses by capture or samples the bits of
// frames, in code of its own, and acts in a loop of its own. This package uses none of the rig's
// encoders and decoders: a stand written with them would share their mistakes.
//
// # The controller
//
// It drives once it has been given idle for 300 ms. After 100 ms without a good pulse or frame it is off,
// and stays so until idle comes again. A change of duty follows a lag of first order; idle switches the
// bridge off at once. It drives and does not brake, but where [ESC] says so.
//
// # What is modelled
//
// The motor is a resistance, a torque constant, Coulomb and viscous friction, stiction and a cogging
// torque. The controller drives it by voltage, duty times pack voltage, below a limit of current.
// The winding's inductance is left out, as its time constant lies below a millisecond; what delays
// the torque is the controller's loop and its response lag. The pack is a voltage behind a
// resistance, with a limit of current where it is a laboratory supply. The disc is turned in steps
// of 250 us, in each of which its speed goes as that of a linear system does; an edge of the encoder
// comes when the angle crosses its line, to the nanosecond. Above the speed at which cogging hardly
// changes the speed, it is taken into account by first order.
//
// # Units and signs
//
// SI inside. A command is a share of range, 0..1, or -1..1 where the throttle has two directions.
// Torque, speed and angle are positive in the sense in which a positive command drives. A current
// of the winding has the sign of its torque; a current of the pack is positive when it is drained.
//
// # Time
//
// signal.Time. What a stand does depends on its settings, its seed and the edges alone, not
// on how its time is cut into calls of Run.
//
// # Sources
//
// Frames of the throttle: as published for DShot (16 bits, checksum of four). CRC-8 with polynomial 0x07
// and initial value 0: the catalogue of parametrised CRC algorithms lists it as CRC-8/SMBUS. The load
// cell's converter (25 to 27 clocks select gain and input, 60 us of clock high power it
// down, settling after four readings) and the telemetry's ten bytes are from memory.
package stand
