package assertions_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
)

// The words are those of car files, and have to stay.
func TestPolicyWordsAreThoseOfCarFiles(t *testing.T) {
	tests := []struct {
		word  string
		read  func(word string) fmt.Stringer
		value fmt.Stringer
	}{
		{"yaw_rate", read[assertions.TurnFrom], assertions.TurnFromYawRate},
		{"steer", read[assertions.TurnFrom], assertions.TurnFromSteer},
		{"oversteer", read[assertions.OppositeLock], assertions.OppositeLockOversteer},
		{"no_shift", read[assertions.OppositeLock], assertions.OppositeLockNoShift},
		{"cap", read[assertions.AtTheLimit], assertions.LimitCap},
		{"move_partner", read[assertions.AtTheLimit], assertions.LimitMovePartner},
		{"no_shift", read[assertions.Reverse], assertions.ReverseNoShift},
		{"ignored", read[assertions.BadChecksum], assertions.BadChecksumIgnored},
		{"by_itself", read[assertions.Recovers], assertions.RecoversByItself},
		{"throttle_at_idle", read[assertions.Recovers], assertions.RecoversAtThrottleIdle},
		{"power_cycle", read[assertions.Recovers], assertions.RecoversAtPowerCycle},
		{"idle", read[assertions.Outputs], assertions.OutputsIdle},
		{"silent", read[assertions.Outputs], assertions.OutputsSilent},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("%T %s", tt.value, tt.word), func(t *testing.T) {
			assert.Equal(t, tt.word, tt.value.String())
			assert.Equal(t, tt.value, tt.read(tt.word))
		})
	}
	assert.Len(t, tests, count[assertions.TurnFrom]()+count[assertions.OppositeLock]()+count[assertions.AtTheLimit]()+
		count[assertions.Reverse]()+count[assertions.BadChecksum]()+count[assertions.Recovers]()+count[assertions.Outputs]())
}

func TestAWordThatIsLeftOutIsNotAsked(t *testing.T) {
	assert.Zero(t, assertions.PolicyWord[assertions.Recovers](""))
	assert.Zero(t, assertions.PolicyWord[assertions.Recovers]("idle"), "a word of another kind")
	assert.Empty(t, assertions.Recovers(0).String())
	assert.Equal(t, "policy word 9", assertions.Recovers(9).String())
}

// word is a kind of policy word.
type word interface {
	~uint8
	String() string
	Words() []string
}

func read[W word](text string) fmt.Stringer { return assertions.PolicyWord[W](text) }
func count[W word]() int                    { return len(W(0).Words()) }
