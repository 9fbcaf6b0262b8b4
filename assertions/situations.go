package assertions

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hilrig/assertions/law"
)

// situation is one thing that a policy may speak of.
type situation struct {
	name     string // the word for PolicyBranch.Of
	baseline bool   // it is judged by shifts from a baseline
	// needs is what the policy has to hold for the situation to be asked, its own key first.
	needs []need
	// plan returns what is asked of a step, at least one thing, from the policy and the steps
	// as they are meant: there is no trace.
	plan func(b *branch) []ask
}

// need is something that a policy holds or leaves out.
type need struct {
	words string // its key, or keys
	held  func(p *law.Policy) bool
}

// The needs of several situations.
var (
	needUnderOversteer = need{"understeer and oversteer", func(p *law.Policy) bool { return p.Understeer != nil || p.Oversteer != nil }}
	needDemand         = need{"demand", func(p *law.Policy) bool { return p.Demand != nil }}
	needSize           = need{"shift_at and demand, which say how far the motors should go", func(p *law.Policy) bool { return p.ShiftAt != nil && p.Demand != nil }}
	needResponse       = need{"response", func(p *law.Policy) bool { return p.Response != nil }}
)

// situations are all that a policy may speak of, in the order of Situations. A new one is a
// row below and its function in a file of its own; one of a loss is a row of lossKinds.
var situations = slices.Concat(ofSplit, byName(slices.Concat(others, lossSituations())))

// byName sorts situations by the alphabet.
func byName(all []situation) []situation {
	slices.SortFunc(all, func(a, b situation) int { return strings.Compare(a.name, b.name) })
	return all
}

// ofSplit are the situations of the split itself.
var ofSplit = []situation{
	{"understeer", true, []need{{"understeer", func(p *law.Policy) bool { return p.Understeer != nil }}}, func(b *branch) []ask { return b.split(b.p.Understeer) }},
	{"oversteer", true, []need{{"oversteer", func(p *law.Policy) bool { return p.Oversteer != nil }}}, func(b *branch) []ask { return b.split(b.p.Oversteer) }},
	{"on_demand", true, nil, (*branch).noShift},
	{"opposite_lock", true, []need{{"opposite_lock", func(p *law.Policy) bool { return p.OppositeLock != 0 }}}, (*branch).oppositeLock},
	{"zero_gain", true, nil, (*branch).noShift},
	{"standstill", true, []need{{"standstill", func(p *law.Policy) bool { return p.Standstill != nil }}}, (*branch).noShift},
	{"reverse", true, []need{{"reverse", func(p *law.Policy) bool { return p.Reverse != 0 }}}, (*branch).reverse},
	{"straight", true, []need{{"straight", func(p *law.Policy) bool { return p.Straight != nil }}}, (*branch).straight},
	{"braking", true, []need{{"braking", func(p *law.Policy) bool { return p.Braking != 0 }}}, (*branch).noShift},
	{"cap", false, []need{{"cap", func(p *law.Policy) bool { return p.Cap != nil }}}, (*branch).cap},
	{"floor", false, []need{{"floor", func(p *law.Policy) bool { return p.Floor != nil }}}, (*branch).floor},
	{"at_the_limit", true, []need{{"at_the_limit", func(p *law.Policy) bool { return cmp.Or(p.AtTheLimit, p.AtTheCap, p.AtTheFloor) != 0 }}, needDemand}, (*branch).atTheLimit},
}

// others are those that are neither of the split itself nor of a loss.
var others = []situation{
	{"arms", false, []need{{"arms", func(p *law.Policy) bool { return p.Arms != 0 }}}, (*branch).arms},
	{"answers_throttle", false, nil, (*branch).answersThrottle},
	{"answers_too_little", true, []need{needUndersteer}, (*branch).answersYaw},
	{"answers_too_much", true, []need{needOversteerOnly}, (*branch).answersYaw},
	{"bad_checksum", true, []need{{"bad_checksum", func(p *law.Policy) bool { return p.BadChecksum != 0 }}}, (*branch).badChecksum},
	{"bad_pulse", true, []need{{"bad_pulse", func(p *law.Policy) bool { return p.BadPulse != 0 }}}, (*branch).badPulse},
	{"dead_band", true, []need{{"dead_band", func(p *law.Policy) bool { return p.DeadBand != nil }}}, (*branch).deadBand},
	{"demand", false, []need{needDemand}, (*branch).sweptDemand},
	{"demand_side", true, []need{{"shift_at that grows: integrating; any other shift tells the demand in a sweep", (*law.Policy).Integrates}, needDemand, needUnderOversteer}, (*branch).demandSide},
	{"derivative", false, []need{needDerivative, needUnderOversteer, needResponse}, (*branch).derivative},
	{"follows", false, nil, (*branch).followsLog},
	{"loop_rate", false, []need{{"loop_rate", func(p *law.Policy) bool { return p.LoopRate != nil }}}, (*branch).loopRate},
	{"monotone", false, []need{needUnderOversteer, needDemand}, (*branch).monotone},
	{"no_wind_up", true, []need{needResponse}, (*branch).noWindUp},
	{"no_wrap", false, nil, (*branch).noWrap},
	{"outputs_together", false, []need{{"outputs_together", func(p *law.Policy) bool { return p.OutputsTogether != nil }}}, (*branch).outputsTogether},
	{"proportional", true, []need{needSize, needUnderOversteer}, (*branch).proportional},
	{"recovers", false, nil, (*branch).recovers},
	{"resolution", false, []need{{"resolution", func(p *law.Policy) bool { return p.Resolution != nil }}}, (*branch).resolution},
	{"response", false, []need{needResponse}, (*branch).response},
	{"spike", true, []need{{"spike", func(p *law.Policy) bool { return p.Spike != nil }}}, (*branch).spike},
	{"sum_cap", false, []need{{"sum_cap", func(p *law.Policy) bool { return p.SumCap != nil }}}, (*branch).sumCap},
	{"throttle_as_it_is", false, []need{{"throttle_curve", func(p *law.Policy) bool { return p.ThrottleCurve != 0 }}}, (*branch).throttleAsItIs},
	{"start_at_rest", false, []need{{"start_at_rest", func(p *law.Policy) bool { return p.StartAtRest != nil }}}, (*branch).startAtRest},
	{"throttle_curve", false, []need{{"throttle_curve: calibrated, or any", func(p *law.Policy) bool { return p.ThrottleCurve > law.ThrottleCurveNone }}}, (*branch).throttleCurve},
	{"winds_back", true, windsBackNeeds, (*branch).windsBack},
	{"steer_rate", false, []need{needSteerRate, needUnderOversteer, needResponse}, (*branch).steerRate},
	{"start", false, []need{{"start", func(p *law.Policy) bool { return p.StartState != 0 }}}, (*branch).start},
}

// Situations lists the words for PolicyBranch.Of: those of the split itself first, then the
// others by the alphabet. For understeer and oversteer the motors that the policy raises
// have to be raised, those it lowers lowered, the others unchanged; and where it declares
// them, the sum kept and the size of the shift as declared; where the law has none surely move,
// no motor may go a way in which it never has it go. on_demand, zero_gain,
// standstill and reverse ask for no shift; opposite_lock for what the policy's
// opposite_lock says; cap and floor for each command within the cap or above the floor;
// at_the_limit for how the branch behaves there. The others are described at the functions
// that judge them.
var Situations = func() (names []string) {
	for _, s := range situations {
		names = append(names, s.name)
	}
	return names
}()

// NeedsBaseline says whether a situation is judged by shifts from a baseline, which its case
// then has to have.
func NeedsBaseline(of string) bool {
	i := slices.Index(Situations, of)
	return i >= 0 && situations[i].baseline
}

// plan returns the situation c.Of and what is asked of it. Where the policy says nothing about
// it, that is one thing that is not asked.
func (c PolicyBranch) plan(e *Evidence) (b *branch, asked []ask) {
	played := e.unplayed()
	b = &branch{e: played, p: played.policy(), of: c.Of}
	i := slices.Index(Situations, c.Of)
	if i < 0 {
		return b, []ask{unshown(c.Of, fmt.Errorf("%q is no situation; use one of %v", c.Of, Situations))}
	}
	for _, n := range situations[i].needs {
		if !n.held(b.p) {
			return b, b.notAsked("the policy has no " + n.words)
		}
	}
	var err error
	if b.s, err = played.step(c.Step); err != nil {
		return b, b.unshown(err)
	}
	b.base, err = played.baselineOf(b.s)
	if situations[i].baseline && err != nil {
		return b, b.unshown(err)
	}
	if situations[i].baseline {
		if err := b.misplaced(); err != nil {
			return b, b.unshown(err)
		}
		if b.ignored() {
			return b, b.notAsked(fmt.Sprintf("the yaw error of %s deg/s lies in the policy's dead band of %s deg/s", degrees(b.yawError()), degrees(*b.p.DeadBand)))
		}
		if len(b.s.Faults) == 0 && b.baselineSpins() {
			return b, b.notAsked("a wheel goes so much faster than the slowest in the baseline that the policy's traction_control may cut its motor there, now and then or all the time, and a shift from it says nothing")
		}
	}
	return b, situations[i].plan(b)
}

// unplayed returns the evidence as it is before its case is played.
func (e *Evidence) unplayed() *Evidence {
	out := *e
	out.Trace, out.Off, out.NoBoard, out.Repeats, out.disturbances = nil, nil, nil, nil, nil
	return &out
}

// judge returns a result for all that is asked of the situation c.Of, each named after it:
// "understeer: outside_rear raised".
func (c PolicyBranch) judge(e *Evidence) []Result {
	b, asked := c.plan(e)
	played := *b
	played.e = e
	return each(asked, func(a ask) Result { return a.result(&played) })
}
