package moment

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// degree is one degree in rad.
const degree = math.Pi / 180

// Settings are the constants of the firmware. Start from Thistle; the zero value is not valid.
type Settings struct {
	// The loop.
	LoopPeriod signal.Time // from turn to turn, 500 us to 20 ms
	Boot       signal.Time // from power-up until the loop may begin
	Compute    signal.Time // from a turn's begin until its frames do, 0 to half a period

	// The receiver, on a serial line of 100 kbaud, 8 data bits, even parity, 2 stop bits.
	ReceiverPort     string
	ReceiverInverted bool
	SteerChannel     int         // 1 to 16, as are the next two
	ThrottleChannel  int         //
	GainChannel      int         //
	SteerCentre      float64     // counts
	SteerPerCount    float64     // rad, positive to the left; not 0
	ThrottleIdle     float64     // counts that stand for 0
	ThrottleFull     float64     // counts that stand for 1
	IdleBelow        float64     // share; the throttle below it is at idle
	GainHalf         float64     // counts from which the gain is a half
	GainFull         float64     // counts from which it is 1; below GainHalf it is 0
	ReceiverTimeout  signal.Time // without a good frame

	// The yaw-rate sensor, on a serial line of 8 data bits, no parity, 1 stop bit.
	YawPort    string
	YawBaud    int64       // bits per second
	YawScale   float64     // rad/s that one count stands for
	YawTimeout signal.Time // without a good frame
	YawFade    signal.Time // over which the shift goes, and comes back

	// The wheels.
	WheelRadius  float64     // m
	EncoderLines int         // per turn; four counts a line
	Window       signal.Time // over which they are counted, a multiple of the loop's period
	DropSpeed    float64     // m/s from the middle of all four by which a wheel disagrees, or
	DropShare    float64     // this share of it, if that is more
	DropAfter    int         // windows in which it disagrees
	TakeAfter    int         // windows in which it agrees again

	// The demand.
	Wheelbase          float64 // m
	UndersteerGradient float64 // rad/(m/s2), 0 or more
	YawLimit           float64 // rad/s that the demand does not pass

	// The law.
	Proportional  float64     // share per rad/s
	Integral      float64     // share per second and rad/s
	IntegralLimit float64     // share
	MomentLimit   float64     // share
	BleedTime     signal.Time // in which the memory would be gone at the rate at which its bleeding begins
	ClearBelow    float64     // m/s
	SteerNone     float64     // rad; no shift below, all of it from SteerFull
	SteerFull     float64     //
	DemandNone    float64     // rad/s, as above
	DemandFull    float64     //
	FadeFrom      float64     // m/s, as above
	FadeTo        float64     //
	FrontShare    float64     // of the moment that each front motor takes
	RearShare     float64     //
	Cap           float64     // share
	Floor         float64     // share

	// The start.
	StillFor   signal.Time // before it can arm
	StillBelow float64     // rad/s; more is no standing still
	ArmFor     signal.Time // with the throttle at idle

	faults faultSet
}

// Thistle returns the constants of the second demo car's controller. They are invented.
func Thistle() Settings {
	return Settings{
		LoopPeriod: 2500 * signal.Microsecond, Boot: 40 * signal.Millisecond, Compute: 180 * signal.Microsecond,

		ReceiverPort: "receiver_bus", ReceiverInverted: true,
		ThrottleChannel: 1, SteerChannel: 2, GainChannel: 7,
		SteerCentre: 992, SteerPerCount: 0.03 * degree,
		ThrottleIdle: 192, ThrottleFull: 1792, IdleBelow: 0.02,
		GainHalf: 592, GainFull: 1392,
		ReceiverTimeout: 150 * signal.Millisecond,

		YawPort: "yaw_serial", YawBaud: 230400, YawScale: 0.002 * degree,
		YawTimeout: 30 * signal.Millisecond, YawFade: 100 * signal.Millisecond,

		WheelRadius: 0.042, EncoderLines: 64, Window: 10 * signal.Millisecond,
		DropSpeed: 0.8, DropShare: 0.35, DropAfter: 5, TakeAfter: 20,

		Wheelbase: 0.29, UndersteerGradient: 0.0035, YawLimit: 150 * degree,

		Proportional: 0.004 / degree, Integral: 0.005 / degree, IntegralLimit: 0.08, MomentLimit: 0.3,
		BleedTime: 200 * signal.Millisecond, ClearBelow: 1,
		SteerNone: 1.5 * degree, SteerFull: 3 * degree,
		DemandNone: 8 * degree, DemandFull: 16 * degree,
		FadeFrom: 1, FadeTo: 2,
		FrontShare: 0.4, RearShare: 0.6,
		Cap: 0.95, Floor: 0.05,

		StillFor: signal.Second, StillBelow: 15 * degree, ArmFor: 100 * signal.Millisecond,
	}
}

// check returns what is wrong with the settings.
func (s *Settings) check() error {
	for _, rule := range []struct {
		good   bool
		remedy string
	}{
		{s.LoopPeriod >= 500*signal.Microsecond && s.LoopPeriod <= 20*signal.Millisecond, "a LoopPeriod of 500 us to 20 ms"},
		{s.Boot >= 0, "a Boot of 0 or more"},
		{s.Compute >= 0 && s.Compute <= s.LoopPeriod/2, "a Compute of 0 to half the LoopPeriod"},
		{channel(s.SteerChannel) && channel(s.ThrottleChannel) && channel(s.GainChannel), "channels of 1 to 16"},
		{s.SteerPerCount != 0, "a SteerPerCount other than 0"},
		{s.ThrottleIdle != s.ThrottleFull, "a ThrottleFull other than ThrottleIdle"},
		{s.YawBaud >= 300 && s.YawBaud <= 3_000_000, "a YawBaud of 300 to 3000000"},
		{s.WheelRadius > 0 && s.EncoderLines > 0, "a WheelRadius and EncoderLines above 0"},
		{s.Window >= s.LoopPeriod, "a Window of one LoopPeriod or more"},
		{s.Wheelbase > 0 && s.UndersteerGradient >= 0, "a Wheelbase above 0 and an UndersteerGradient of 0 or more"},
		{s.YawFade > 0 && s.BleedTime > 0, "a YawFade and a BleedTime above 0"},
		{s.SteerFull > s.SteerNone && s.DemandFull > s.DemandNone && s.FadeTo > s.FadeFrom, "fades whose second bound is the higher"},
		{s.Floor >= 0 && s.Floor < s.Cap && s.Cap <= 1, "a Floor of 0 or more, below a Cap of 1 at most"},
	} {
		if !rule.good {
			return fmt.Errorf("built-in/moment: its settings need %s", rule.remedy)
		}
	}
	return nil
}

// channel says whether a receiver has a channel of that number.
func channel(number int) bool { return number >= 1 && number <= channels }
