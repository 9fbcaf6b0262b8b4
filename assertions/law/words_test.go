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
		{"oversteer", read[law.OppositeLock], law.OppositeLockOversteer},
		{"no_shift", read[law.OppositeLock], law.OppositeLockNoShift},
		{"cap", read[law.AtTheLimit], law.LimitCap},
		{"move_partner", read[law.AtTheLimit], law.LimitMovePartner},
		{"no_shift", read[law.Reverse], law.ReverseNoShift},
		{"ignored", read[law.BadChecksum], law.BadChecksumIgnored},
		{"by_itself", read[law.Recovers], law.RecoversByItself},
		{"throttle_at_idle", read[law.Recovers], law.RecoversAtThrottleIdle},
		{"power_cycle", read[law.Recovers], law.RecoversAtPowerCycle},
		{"idle", read[law.Outputs], law.OutputsIdle},
		{"silent", read[law.Outputs], law.OutputsSilent},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("%T %s", tt.value, tt.word), func(t *testing.T) {
			assert.Equal(t, tt.word, tt.value.String())
			assert.Equal(t, tt.value, tt.read(tt.word))
		})
	}
	assert.Len(t, tests, count[law.TurnFrom]()+count[law.OppositeLock]()+count[law.AtTheLimit]()+
		count[law.Reverse]()+count[law.BadChecksum]()+count[law.Recovers]()+count[law.Outputs]())
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
