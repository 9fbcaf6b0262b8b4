// Package live puts a setup on a bench whose pins are real, or stand for such ones in
// memory, under the supervisor, and decides whether that bench may go live, so that its
// motors can have their supply.
//
// [Ask] says whether a power level may go live at all and whether a person is to be
// asked. [List] is what that person has to confirm, and [Confirms] says whether an answer
// does. [Limit] and [Watched] say what the motors' commands are held to from then on. [Inputs] keeps
// every file of a run as it was read first, so that a file saved while the list is shown
// changes nothing. These are functions of what they are given: they read no terminal, no
// clock and no file of their own.
//
// [Pinned], [InFile] and [InMemory] make the benches. [Claim] and [Place.Claim] keep other
// programs off their lines; [Tidy] and [BehindStopped] make safe what others left there.
// [Settings] says how a supervisor starts the process that plays, [HandDown] what that process
// inherits, and [PutUnderSupervisor] lets it play while the supervisor watches.
//
// A stand for a speed controller goes the same ways, by what [OfBench] and [OfStand] say of wires and
// supply. There the rig itself sends what turns a motor: [MayPlay] says whether a stand may go live,
// [StandList] what is confirmed, [StandFirst] by how much its motor turns first, and
// [StandUnderSupervisor] has each command looked at before it goes out. [BusOf] has its converters on
// I2C read beside the loop.
//
// [Readiness] keeps what was tried before motors are powered, stage by stage, and [PrepareTiming]
// says on what a machine's timing is measured.
//
// The package prints nothing and asks nobody. None of it is a safety device.
//
// # Units and signs
//
// A limit is a share of full motor command, 0 to 1, either way.
package live
