package law

// Reasons say why what is asked of a motor is open: why all of it may, or need not, be there.
type Reasons uint16

// The reasons.
const (
	NearStandstill Reasons = 1 << iota
	NearStraight
	NearIdle
	NearBraking
	NearDemand
	InDeadBand
	SideOpen
	GainOpen
	SizeOpen
	SmallShift
)

// OfSize are the reasons that lie in how large the shift is.
const OfSize = SizeOpen | SmallShift

var reasonWords = [...]string{
	"the speed lies where the shift comes in",
	"the car goes so nearly straight that the shift only comes in",
	"the throttle is so near idle that firmware may leave the motors alone",
	"the throttle lies where braking begins",
	"the yaw rate is as near the demand as the demand's tolerance",
	"the yaw error lies at the edge of the dead band",
	"inside and outside are open, for what they go by is near 0 or not declared",
	"the gain lies between two steps, or at 0",
	"the policy declares no size of the shift that surely is one here",
	"the shift that is asked for may be so small that it counts as none",
}

// String returns the first of the reasons in words, "" where there is none.
func (r Reasons) String() string {
	for k, words := range reasonWords {
		if r&(1<<k) != 0 {
			return words
		}
	}
	return ""
}
