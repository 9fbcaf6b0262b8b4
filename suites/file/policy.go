package file

import (
	"slices"
	"strings"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// PolicyTable declares the owner's policy. A key that is left out is not
// asked, and listed as not asked, unless its line says what it means to leave it out.
var PolicyTable = language.NewTable("a policy", "What the owner says that the board should do. Nothing is asked of the board that does not stand here; declare what your firmware does on purpose, and leave out what you do not know.",
	turnKeys, sizeKeys, limitKeys, whenKeys, timingKeys, lossKeys, outputKeys)

// turnKeys say when the car turns too little or too much, and who then moves.
var turnKeys = []language.Key{
	{Name: "demand", Kind: language.Group, Table: demandTable, Doc: "the yaw rate that the driver asks for, as the firmware works it out; what is written in a suite as a share of the demand needs it"},
	{Name: "turn_from", Kind: language.Word, Words: law.TurnFrom(0).Words(), Doc: "by whose sign the firmware takes the outside of a turn: that of the gyro, of the steering, or of the demand, which with a steering rate fed forward may be another; left out: any of these is right"},
	{Name: "opposite_lock", Kind: language.Word, Words: law.OppositeLock(0).Words(), Doc: "what to do when the driver steers against the turn, so that demand and yaw rate have opposite signs: as in oversteer; nothing; by the sign of the yaw error, which is as in understeer; or a share of what oversteer asks for; signs that are opposite by the steering's rate alone, which is fed forward, may count or not"},
	{Name: "opposite_lock_share", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "200 %", Example: "50 %", Doc: "share of oversteer's shift under opposite lock; goes with opposite_lock: share, and with no other word; of a shift that saturates or grows with time no such share is asked"},
	{Name: "understeer", Kind: language.Group, Table: splitTable, Doc: "whom to shift when the car turns less than asked"},
	{Name: "oversteer", Kind: language.Group, Table: splitTable, Doc: "whom to shift when the car turns more than asked"},
}

// sizeKeys say by how much the motors move.
var sizeKeys = []language.Key{
	{Name: "shift_at", Kind: language.Group, Table: shiftAtTable, Doc: "size of the shift at one yaw error and one gain trim"},
	{Name: "dead_shift", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "50 %", Example: "1 %", Doc: "a shift below this share of range counts as none; left out: the larger of 1 % and three command steps"},
	{Name: "dead_band", Kind: language.Measure, Quantity: language.AngularRate, Least: "0 deg/s", Most: "2000 deg/s", Example: "0 deg/s", Doc: "yaw error that the board ignores on purpose; beyond it the shift may count from the band's edge or from 0, at once or coming in over a range"},
	{Name: "straight", Kind: language.Group, Table: straightTable, Words: none, Doc: "no shift while the car goes nearly straight on; none where the shift does not depend on how far the wheels are turned; where the policy does not say, shifts are asked for well away from straight on alone"},
	{Name: "gain_steps", Kind: language.Measure, Quantity: language.Share, Many: language.OneOrList, Words: none, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "the gain trim is a switch with these positions, ascending, and the firmware takes the nearest; none where it is continuous; where the policy does not say, sizes are asked for at the gain of shift_at and at 100 % alone; of a shift that saturates or grows with time no position is told from another but for 0 %"},
	{Name: "sum", Kind: language.Word, Words: []string{"kept"}, Doc: "the sum of the four commands is that of the baseline"},
}

// none is the word of what there is not.
var none = []string{"none"}

// limitKeys say between what the commands stay.
var limitKeys = []language.Key{
	{Name: "cap", Kind: language.Group, Table: capTable, Doc: "highest command while the steering is turned"},
	{Name: "sum_cap", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "400 %", Example: "350 %", Doc: "the four commands together go no higher, in ranges of one motor, as a limit of the pack's current asks; they may be scaled or cut; left out: no such limit"},
	{Name: "floor", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "0 %", Doc: "a limit of the commands: no motor goes below this while the throttle is at or above it. With throttle_curve: calibrated it is asked where the motors were seen to come to it with nothing shifted, so that a dead zone of the throttle with motors that stand in it is right; with no curve the throttle itself says where. With the throttle below it a motor may follow the throttle or stay at the floor"},
	{Name: "at_the_limit", Kind: language.Word, Words: law.AtTheLimit(0).Words(), Doc: "what happens when a motor has no room for its whole shift: cap, it stays at its limit and its partner moves as it would; move_partner, the partner moves by twice the amount; partner_only, it does not move at all and the partner moves by twice the amount; scale, all shifts become smaller by one factor, so that the farthest comes just to its limit. Of a shift that saturates or grows with time it is not asked how far the others go"},
	{Name: "at_the_cap", Kind: language.Word, Words: law.AtTheLimit(0).Words(), Doc: "the same at the cap alone; left out: as at_the_limit"},
	{Name: "at_the_floor", Kind: language.Word, Words: law.AtTheLimit(0).Words(), Doc: "the same at the floor alone; left out: as at_the_limit"},
	{Name: "traction_control", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "1000 %", Example: "20 %", Doc: "a wheel that turns faster than the slowest by this share may have its motor cut; left out: no motor is cut for its wheel"},
}

// whenKeys say in what states of the car there is a shift, and what the commands go through.
var whenKeys = []language.Key{
	{Name: "standstill", Kind: language.Group, Table: standstillTable, Doc: "no shift when the car stands"},
	{Name: "braking", Kind: language.Word, Words: law.Braking(0).Words(), Doc: "what to do while the throttle brakes, which it does at every command below 0 %, the receiver's idle; from 0 % to 2 % a shift may be there or not, whatever the policy; no_shift: none"},
	{Name: "reverse", Kind: language.Word, Words: law.Reverse(0).Words(), Doc: "what to do when the car rolls backwards: no shift; the same motors as forwards; or mirrored, those of the other end of the car on the same side, front and rear exchanged with their shares. The side is that of the steering: with the wheels to the left the outside is the right, as forwards; that is asked with turn_from: steer alone, for firmware may take its speed with a sign or without. Backwards the demand has the other sign than the steering: understeer is a yaw rate of the demand's sign and of less size, oversteer one of more, and of one of the other sign nothing is asked. Of a shift that saturates, or grows with time to no declared bound, mirrored is not told from as_forward where they differ by front and rear alone"},
	{Name: "smoothing", Kind: language.Group, Table: smoothingTable, Doc: "what the commands may go through on their way out: a bound, and no claim that is asked. A board whose commands come at once passes too, and one that is slower than this fails where its commands are late; the times that are declared of losses end with what it is given, and as long as it takes to pass that on is added to them; left out: nothing that can be measured beside the board's own delay"},
	{Name: "throttle_curve", Kind: language.Word, Words: law.ThrottleCurve(0).Words(), Doc: "what the firmware makes of the throttle: none, a command with no shift is the throttle; calibrated, a curve that is measured at the beginning of a run; any, nothing is asked of it"},
}

// timingKeys say how fast the board is.
var timingKeys = []language.Key{
	{Name: "loop_rate", Kind: language.Group, Table: loopRateTable, Doc: "how often the board updates its commands"},
	{Name: "response", Kind: language.Group, Table: responseTable, Doc: "how late the board answers"},
	{Name: "longest_gap", Kind: language.Measure, Quantity: language.Duration, Least: "100 us", Most: "10 s", Example: "20 ms", Doc: "the longest time that a motor may go without a new command, as a controller that then stops its motor asks; from the end of a frame or pulse to the end of the next"},
	{Name: "corrupt_frames", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "50 %", Example: "0.1 %", Doc: "share of the motor commands that may be corrupt or missing; left out: none"},
}

// outputKeys say what the motor lines carry when nothing drives them, and how the four go together.
var outputKeys = []language.Key{
	{Name: "safe_state", Kind: language.Word, Words: law.Outputs(0).Words(), Doc: "what the motor lines carry after a loss that stops the motors: commands at idle; no commands; or either, as of a board that sends idle for a while and then nothing"},
	{Name: "start", Kind: language.Word, Words: law.Outputs(0).Words(), Doc: "what the motor lines carry after power-up, until the board may drive: until each input has been there after whose loss it would stop, and those of start_waits_for; either of idle and silent as of a board that sends nothing while it boots, and idle then"},
	{Name: "start_waits_for", Kind: language.Word, Many: language.OneOrList, Words: law.Input(0).Words(), Doc: "inputs that have to have been there once after power-up before the board drives, although it drives on without a shift once they are lost; left out: it may drive without them, and may wait"},
	{Name: "start_at_rest", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "1 min", Example: "1 s", Doc: "how long the car has to stand still after power-up before the board drives, as for the zero of its gyro, which is played where the yaw rate's field in the bench file has an offset that the firmware does not know; left out: it need not"},
	{Name: "arms", Kind: language.Word, Words: armWords, Doc: "what it takes after power-up to drive: the throttle once at idle; left out: nothing"},
	{Name: "outputs_together", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 s", Example: "500 us", Doc: "changes of the four commands stand this close"},
	{Name: "motors_equal_within", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "50 %", Example: "1 %", Doc: "how far apart the four commands may stand with no shift asked"},
	{Name: "resolution", Kind: language.Measure, Quantity: language.Share, Least: "0.001 %", Most: "50 %", Example: "0.5 %", Doc: "largest step of a command"},
	{Name: "drives_better", Kind: language.Flag, Doc: "the drives in closed loop have to be better with the board's shift than without it; left out: that is not asked"},
}

// armWords are what a board may need after power-up to drive.
var armWords = []string{law.RecoversAtThrottleIdle.String()}

var demandTable = language.NewTable("a demand", "Yaw rate = speed x steer / (wheelbase + understeer_gradient x speed^2).", []language.Key{
	{Name: "model", Kind: language.Word, Words: []string{"single_track"}, Required: true, Doc: "the formula that the firmware has"},
	{Name: "wheelbase", Kind: language.Measure, Quantity: language.Length, Required: true, Least: "50 mm", Most: "2 m", Doc: "as the firmware has it; lint warns where it is not the car's, by more than within"},
	{Name: "understeer_gradient", Kind: language.Measure, Quantity: language.UndersteerGradient, Required: true, Least: "-0.5 rad/(m/s2)", Most: "0.5 rad/(m/s2)", Doc: "as the firmware has it"},
	{Name: "steer", Kind: language.Word, Words: []string{"linear"}, Doc: "the firmware takes the wheel angle as linear in the pulse; left out: by the car's steering table"},
	{Name: "lateral_limit", Kind: language.Measure, Quantity: language.Acceleration, Words: []string{"none"}, Least: "0.1 m/s2", Most: "100 m/s2", Doc: "demand is limited to this over speed, as grip limits it; left out: none"},
	{Name: "yaw_limit", Kind: language.Measure, Quantity: language.AngularRate, Words: []string{"none"}, Least: "1 deg/s", Most: "2000 deg/s", Example: "150 deg/s", Doc: "demand goes no further than this; left out: none"},
	{Name: "speed_from", Kind: language.Word, Words: law.SpeedFrom(0).Words(), Doc: "of which wheels the firmware takes the car's speed; left out: any of these is right"},
	{Name: "steer_rate", Kind: language.Measure, Quantity: language.Duration, Least: "0.1 ms", Most: "2 s", Example: "20 ms", Doc: "the firmware feeds the steering's rate forward: this time multiplied by how fast the steering changes the demand is added to the demand. It is asked where the steering swings, fast and less fast: what the firmware smooths of the steering lasts no longer than response and the slowest wire's frame together; left out: not fed forward"},
	{Name: "within", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "how close the board's demand has to be"},
})

// ratioAlone is what is asked of the shares of the axles where no size is.
const ratioAlone = "only the ratio of front to rear is asked, and that where it grows with time up to most; "

var splitTable = language.NewTable("a branch of the torque split", "", []language.Key{
	{Name: "raise", Kind: language.Word, Many: language.OneOrList, Words: corners, Doc: "motors that get more torque"},
	{Name: "lower", Kind: language.Word, Many: language.OneOrList, Words: corners, Doc: "motors that get less torque"},
	{Name: "front", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "200 %", Example: "40 %", Doc: "share of the declared shift by which motors of the front axle move; of a shift that saturates or grows with time " + ratioAlone + "left out: 100 %"},
	{Name: "rear", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "200 %", Example: "60 %", Doc: "the same for the rear axle; left out: 100 %"},
	{Name: "shares", Kind: language.Word, Words: []string{"vary"}, Doc: "the shares go with speed or with the room that each motor has, so that each moves by something up to twice the declared shift, and those of one sense together by as much as if each moved by that; left out: they do not"},
})

var shiftAtTable = language.NewTable("a size of shift", "At other errors and gains the shift is in proportion to both, unless grows says otherwise.", []language.Key{
	{Name: "error", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Least: "0.1 deg/s", Most: "2000 deg/s", Doc: "yaw error"},
	{Name: "gain", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "50 %", Doc: "gain trim; of a shift that saturates or grows with time it is not asked that the shift goes with the trim, only that there is none at 0 %"},
	{Name: "is", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.01 %", Most: "100 %", Example: "8 %", Doc: "shift of each motor, share of range; of a shift that grows with time it is only asked that there is one where this would surely be one, of one that saturates also that it is no larger"},
	{Name: "within", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "how close it has to be, share of the shift; of a shift that grows with time it is not asked, of one that saturates upwards alone"},
	{Name: "grows", Kind: language.Word, Words: law.Growth(0).Words(), Doc: "how the shift grows: with the error; less and less towards a bound, as by a soft limiter; or with time while the error lasts, as by an integrator. Of the last two no size is asked beyond its sign and its bound, and hilrig list names what of the policy is not asked for that. One that grows with time may stay when the error is gone, or leak away as slowly as it likes; where it has a bound it is asked that it goes back when the error turns round; left out: proportional"},
	{Name: "most", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Example: "30 %", Doc: "the bound of a saturating or integrating shift, share of range, before the axles' shares are taken of it, and as much beyond as motors_equal_within lets motors stand apart; left out: the end of the range"},
	{Name: "derivative_time", Kind: language.Measure, Quantity: language.Duration, Least: "0.1 ms", Most: "1 s", Example: "20 ms", Doc: "this time multiplied by how fast the yaw error changes is added to the error, as a controller with derivative action does, so that a shift overshoots while the car begins to turn otherwise. It is asked where the yaw rate swings, fast and less fast: what the firmware smooths of it lasts no longer than response and the slowest wire's frame together; of a shift that saturates or gathers it is not asked; left out: nothing is added"},
})

var straightTable = language.NewTable("a straight", "By the steering, by the demand, or by both; between the two values of a range the shift comes in, and anything between none and all of it is right.", []language.Key{
	{Name: "no_shift_below", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "60 deg", Example: "1.5 deg", Doc: "steer angle, to either side, below which there is no shift; left out: 0 deg where full_from stands"},
	{Name: "full_from", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "60 deg", Example: "3 deg", Doc: "steer angle from which there is all of it, or of a shift that saturates or grows with time some of it; left out: the same as no_shift_below"},
	{Name: "demand_below", Kind: language.Measure, Quantity: language.AngularRate, Least: "0 deg/s", Most: "2000 deg/s", Example: "5 deg/s", Doc: "demand, to either side, below which there is no shift; left out: 0 deg/s where demand_full_from stands"},
	{Name: "demand_full_from", Kind: language.Measure, Quantity: language.AngularRate, Least: "0 deg/s", Most: "2000 deg/s", Example: "10 deg/s", Doc: "demand from which there is all of it, or of such a shift some of it; left out: the same as demand_below"},
})

var capTable = language.NewTable("a cap", "", []language.Key{
	{Name: "of", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "100 %", Example: "92 %", Doc: "highest command"},
	{Name: "steer_above", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "60 deg", Example: "2 deg", Doc: "steer angle above which it holds; left out: 0 deg"},
	{Name: "cut", Kind: language.Word, Words: law.CapCut(0).Words(), Doc: "whether the command is cut to the cap before the shift is added, so that a motor that is lowered starts from the cap, or after; left out: either is right"},
})

var standstillTable = language.NewTable("a standstill", "", []language.Key{
	{Name: "no_shift_below", Kind: language.Measure, Quantity: language.Speed, Required: true, Least: "0.01 m/s", Most: "10 m/s", Example: "0.5 m/s", Doc: "speed below which there is no shift"},
	{Name: "full_from", Kind: language.Measure, Quantity: language.Speed, Least: "0.01 m/s", Most: "20 m/s", Example: "1 m/s", Doc: "speed from which there is all of it, or of a shift that saturates or grows with time some of it; between, anything from none to all is right; left out: the same as no_shift_below"},
})

var smoothingTable = language.NewTable("a smoothing of the commands", "It widens by when a command may have come, and how far it may be from where it goes. Nothing asks whether the filter is there: to leave it out of the firmware is no mistake by the policy.", []language.Key{
	{Name: "filter", Kind: language.Measure, Quantity: language.Duration, Least: "0.1 ms", Most: "5 s", Example: "20 ms", Doc: "time constant of a first-order low-pass filter; left out: none"},
	{Name: "full_range_in", Kind: language.Measure, Quantity: language.Duration, Least: "1 ms", Most: "20 s", Example: "300 ms", Doc: "a slew limit: how long a command takes from 0 % to 100 %; where the motor commands have a neutral or two directions, from -100 % to 100 % it takes twice as long; left out: none"},
})

var loopRateTable = language.NewTable("a loop rate", "", []language.Key{{Name: "at_least", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "1 Hz", Most: "20 kHz", Doc: "mean rate"}})

var responseTable = language.NewTable("a response", "", []language.Key{
	{Name: "at_most", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "10 s", Example: "12 ms", Doc: "from the change on the wire to the end of the first changed command"},
	{Name: "of", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "99.9 %", Example: "95 %", Doc: "share of the trials that have to keep it; left out: 95 %"},
})

// PolicyKeys lists the keys that a policy may have, in the order of [PolicyTable].
func PolicyKeys() []string { return PolicyTable.Names() }

// PolicyAsks lists the keys by which a policy asks something, in the order of [PolicyTable]:
// all but those that say what it means to leave them out.
func PolicyAsks() (names []string) {
	for i := range PolicyTable.Keys {
		if k := &PolicyTable.Keys[i]; k.Name != "opposite_lock_share" && !strings.Contains(k.Doc, "left out:") {
			names = append(names, k.Name)
		}
	}
	return names
}

// corners lists every word for a motor.
var corners = func() []string {
	words := make([]string, len(law.Corners))
	for i, c := range law.Corners {
		words[i] = string(c)
	}
	return words
}()

// policy puts a policy together, and lists its keys as asked.
func (r *reader) policy(c *Car, v *language.Mapping) {
	if v == nil {
		return
	}
	c.places = map[string]language.Place{}
	for name, x := range v.Values {
		c.Asked = append(c.Asked, name)
		c.places[name] = r.PlaceOf(x.Key)
	}
	slices.Sort(c.Asked)
	p := &c.Policy
	r.readTurn(p, v)
	r.readSize(p, v)
	r.readLimits(p, v)
	r.readWhen(p, v)
	readTiming(p, v)
	r.readLosses(p, v)
	r.readOutputs(p, v)
}
