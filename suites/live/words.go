package live

// What a person reads in hilrig ready.
const (
	// ReadyHelp says what it tries, and in which order.
	ReadyHelp = `Tries one thing after the other, and stops before what would be dangerous while
something is wrong:

  machine    which computer it is, what the program may do, kernel, processors,
             serial ports, and how well it keeps time; touches no pin
  pins       every driven line at its safe level, read back; those of the wheel
             sensors at the other level too; a broken wire is not seen that way
  board      its motor lines while it is at rest: frames come, all at idle
  throttle   where motors are to be powered: the board armed, a small throttle for a
             second, and all four motor lines follow it alike
  stop       you open and close the stop contact
  relay      you say when the motors' supply is on: only while the heartbeat runs
  rotation   where the bench file has motors_powered above signals_only: the motors
             turn for the first time, and you say which way

All that drives a line is done by a process of its own under the interlock, as in a
run: the stop contact, silence, Ctrl-C or a dropped connection open the relay, stop the
heartbeat and bring each line to its safe level; then it ends with 4.

Up to relay the motors stay disconnected. Rotation asks you in so many words to
connect them and to switch their supply on, then has them turn 4 times for a second,
by a small throttle (10 % of range, and never above half of the bench's
motor_limit), the car standing and steering straight. Before each you look at one
wheel, front left first, and say go; the relay is open until then, and opens again
behind it. After it you say whether that one turned forward. The rig cannot choose
which motor the board drives: all four are commanded alike and turn at once, and you
look at one at a time. That a motor is plugged in another's place shows only where
no more than the named wheel's speed controller has its supply. A command beyond
motor_limit, at most 25 % here, the stop contact, silence or Ctrl-C open the relay.

With motors_powered above signals_only nothing goes live before rotation has passed
since the machine was started, with the bench file's wiring. Be ready anew after a
lead was moved, or firmware or a speed controller was changed.

With --stand a stand file takes the place of bench and board: machine, pins, stop and relay
are tried, and the motor turns for the first time at the beginning of hilrig esc.

With --loopback it ends behind the pins and tells which driven line reaches which
captured one, by jumpers that you lay in place of the board.

It has to do for the suites that are named, or the standard ones: their speeds say
how many edges the wheel sensors give.

Says READY, with what to expect where there are warnings, and ends with 0; or
NOT READY with the cure, and ends with 2; with 4 if the interlock tripped.`
	// Cautions stand before anything that touches a pin.
	Cautions = `
Before a pin is touched:
  - Disconnect the motors' supply. Take the wheels off, or the car off the ground, and clamp it.
  - Power the board's logic alone, from a supply with a limit to its current; take no lithium pack.
  - Join the grounds of board and Pi. The Pi takes 3.3 V and no more at any pin.
  - Keep eyes, hair, sleeves and bystanders clear of whatever could turn.
  - Everything up to the relay is tried like that. Only rotation, the last, asks for the motors'
    supply, in so many words.
  - This program is not a safety device. Be able to remove the power by hand, without it.
    Have the circuit checked by somebody qualified, and follow your local rules.
`
	// TrialText stands before motors turn for the first time: their throttle and limit in %, and how they are powered.
	TrialText = `  Up to here no motor was to have its supply. Now all four are to turn, for the first
  time: 4 times for a second, at %.3g %% of their range (beyond %.3g %% they lose their
  supply), and you look at one of them at a time. The rig cannot choose which of them the
  board drives. To find a motor in another's place as well, have only that wheel's
  speed controller plugged in.

  hilrig is not a safety device. Motors powered as %v, go on only if all of this is so:

`
	// TrialQuestion asks for their supply.
	TrialQuestion = `All of this is so. Connect the motors NOW and switch their supply on, in front of
    the relay, which is open. It is done, and I stand clear: yes or no?`
)
