package law

// Branch is what demand and yaw rate make together.
type Branch uint8

// The branches. Open stands for inputs that may make more than one of them, and for those
// of which the policy, having no demand, does not say.
const (
	OnDemand Branch = iota
	Understeer
	Oversteer
	OppositeLocked
	Open
)

var branchNames = [...]string{"on demand", "understeer", "oversteer", "opposite lock", "open"}

// String returns the branch in words.
func (b Branch) String() string { return branchNames[b] }

// branch returns the one branch that the inputs make, or Open.
func (r *reckoning) branch() Branch {
	found, n := Open, 0
	for b, may := range r.branches {
		if may {
			found, n = Branch(b), n+1
		}
	}
	if n != 1 {
		return Open
	}
	return found
}
