package law_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
)

// The words are those of car files, and have to stay.
func TestPolicyWordsAreThoseOfCarFiles(t *testing.T) {
	tests := []struct {
		word  string
		read  func(word string) fmt.Stringer
		value fmt.Stringer
	}{
		{"yaw_rate", read[law.TurnFrom], law.TurnFromYawRate},
		{"steer", read[law.TurnFrom], law.TurnFromSteer},
		{"demand", read[law.TurnFrom], law.TurnFromDemand},
		{"oversteer", read[law.OppositeLock], law.OppositeLockOversteer},
		{"no_shift", read[law.OppositeLock], law.OppositeLockNoShift},
		{"understeer", read[law.OppositeLock], law.OppositeLockUndersteer},
		{"share", read[law.OppositeLock], law.OppositeLockShare},
		{"cap", read[law.AtTheLimit], law.LimitCap},
		{"move_partner", read[law.AtTheLimit], law.LimitMovePartner},
		{"partner_only", read[law.AtTheLimit], law.LimitPartnerOnly},
		{"scale", read[law.AtTheLimit], law.LimitScale},
		{"no_shift", read[law.Reverse], law.ReverseNoShift},
		{"as_forward", read[law.Reverse], law.ReverseAsForward},
		{"mirrored", read[law.Reverse], law.ReverseMirrored},
		{"no_shift", read[law.Braking], law.BrakingNoShift},
		{"before_shift", read[law.CapCut], law.CapBeforeShift},
		{"after_shift", read[law.CapCut], law.CapAfterShift},
		{"proportional", read[law.Growth], law.GrowthProportional},
		{"saturating", read[law.Growth], law.GrowthSaturating},
		{"integrating", read[law.Growth], law.GrowthIntegrating},
		{"mean", read[law.SpeedFrom], law.SpeedFromMean},
		{"front_mean", read[law.SpeedFrom], law.SpeedFromFront},
		{"rear_mean", read[law.SpeedFrom], law.SpeedFromRear},
		{"slowest", read[law.SpeedFrom], law.SpeedFromSlowest},
		{"second_slowest", read[law.SpeedFrom], law.SpeedFromSecondSlowest},
		{"second_fastest", read[law.SpeedFrom], law.SpeedFromSecondFastest},
		{"fastest", read[law.SpeedFrom], law.SpeedFromFastest},
		{"none", read[law.ThrottleCurve], law.ThrottleCurveNone},
		{"calibrated", read[law.ThrottleCurve], law.ThrottleCurveCalibrated},
		{"any", read[law.ThrottleCurve], law.ThrottleCurveAny},
		{"no_shift", read[law.LossThen], law.LossNoShift},
		{"idle", read[law.LossThen], law.LossIdle},
		{"ignored", read[law.LossThen], law.LossIgnored},
		{"held", read[law.LossThen], law.LossHeld},
		{"value", read[law.LossThen], law.LossValue},
		{"ignored", read[law.BadChecksum], law.BadChecksumIgnored},
		{"ignored", read[law.BadPulse], law.BadPulseIgnored},
		{"by_itself", read[law.Recovers], law.RecoversByItself},
		{"throttle_at_idle", read[law.Recovers], law.RecoversAtThrottleIdle},
		{"power_cycle", read[law.Recovers], law.RecoversAtPowerCycle},
		{"idle", read[law.Outputs], law.OutputsIdle},
		{"silent", read[law.Outputs], law.OutputsSilent},
		{"idle_or_silent", read[law.Outputs], law.OutputsIdleOrSilent},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("%T %s", tt.value, tt.word), func(t *testing.T) {
			assert.Equal(t, tt.word, tt.value.String())
			assert.Equal(t, tt.value, tt.read(tt.word))
		})
	}
	assert.Len(t, tests, count[law.TurnFrom]()+count[law.OppositeLock]()+count[law.AtTheLimit]()+
		count[law.Reverse]()+count[law.BadChecksum]()+count[law.BadPulse]()+count[law.Recovers]()+count[law.Outputs]()+
		count[law.Braking]()+count[law.CapCut]()+count[law.Growth]()+count[law.SpeedFrom]()+count[law.ThrottleCurve]()+count[law.LossThen]())
}

func TestAWordThatIsLeftOutIsNotAsked(t *testing.T) {
	assert.Zero(t, law.WordFor[law.Recovers](""))
	assert.Zero(t, law.WordFor[law.Recovers]("idle"), "a word of another kind")
	assert.Empty(t, law.Recovers(0).String())
	assert.Equal(t, "policy word 9", law.Recovers(9).String())
}

// word is a kind of policy word.
type word interface {
	~uint8
	String() string
	Words() []string
}

func read[W word](text string) fmt.Stringer { return law.WordFor[W](text) }
func count[W word]() int                    { return len(W(0).Words()) }
