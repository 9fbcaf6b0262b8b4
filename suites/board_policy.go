package suites

import (
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// policyBoard is the name of the built-in board with the settings of the owner's own files.
const policyBoard = "from-policy"

// fromPolicy makes the built-in board that keeps the policy of the setup's car on the wires of its
// bench. What the policy leaves out is as on the demo car, or not done. Its error
// names the key or the wire that the built-in board cannot keep or read.
func fromPolicy(s *Setup, suite string) (board.Board, error) {
	settings, err := s.settingsOfPolicy()
	if err != nil {
		return nil, err
	}
	return board.NewBuiltIn(settings, s.wiring.Layout(), s.boardSeed(suite))
}

// settingsOfPolicy returns the settings of that board.
func (s *Setup) settingsOfPolicy() (board.Settings, error) {
	b := board.Bramble()
	b.SequenceTimeout = 0 // a sensor need not count its frames
	p := &s.Car.Policy
	yaw, err := s.wiresOf(&b)
	if err != nil {
		return b, err
	}
	s.timersOf(&b)
	s.demandOf(&b)
	splitOf(&b, p)
	sizeOf(&b, p)
	s.limitsOf(&b)
	b.Straight, b.Standstill, b.StandFull = straightOf(p.Straight), 0, 0
	if f := p.Standstill; f != nil {
		b.Standstill, b.StandFull = f.From, f.Full
	}
	b.NoShiftInBraking = p.Braking == law.BrakingNoShift
	b.Reverse = board.Reverse(p.Reverse.String())
	if p.Reverse == 0 {
		b.Reverse = ""
	}
	if x := p.Smoothing; x != nil {
		b.Shaping.CommandLag = x.Filter
		if x.FullRangeIn > 0 {
			b.Shaping.Slew = 1 / x.FullRangeIn.Seconds()
		}
	}
	return b, s.lossesOf(&b, yaw)
}

// demandOf has the board work the demand out as the policy declares it.
func (s *Setup) demandOf(b *board.Settings) {
	b.Wheelbase, b.UndersteerGradient = s.Car.Car.FrontAxle+s.Car.Car.RearAxle, 0
	d := s.Car.Policy.Demand
	if d == nil {
		return
	}
	b.Wheelbase, b.UndersteerGradient = d.Wheelbase, d.UndersteerGradient
	b.LateralLimit, b.YawLimit = d.LateralLimit, d.YawLimit
	b.SteerLead = signal.FromSeconds(d.SteerRate)
	if d.SpeedFrom != 0 {
		b.SpeedFrom = board.SpeedFrom(d.SpeedFrom.String())
	}
}

// splitOf has the board move whom the policy names.
func splitOf(b *board.Settings, p *law.Policy) {
	if p.TurnFrom == 0 {
		b.TurnFrom = board.TurnFromYawRate // what a policy without the word means
	} else {
		b.TurnFrom = board.TurnFrom(p.TurnFrom.String())
	}
	if p.OppositeLock != 0 {
		b.OppositeLock, b.OppositeShare = board.OppositeLock(p.OppositeLock.String()), p.OppositeLockShare
	}
	b.Understeer, b.Oversteer = branchOf(p.Understeer), branchOf(p.Oversteer)
}

func branchOf(s *law.Split) (b board.Split) {
	if s == nil {
		return b
	}
	for _, c := range s.Raise {
		b.Raise = append(b.Raise, board.Place(c))
	}
	for _, c := range s.Lower {
		b.Lower = append(b.Lower, board.Place(c))
	}
	if b.Varies = s.Varies; !b.Varies {
		b.Front, b.Rear = s.ShareOf(plant.FrontLeft), s.ShareOf(plant.RearLeft)
	}
	return b
}

// sizeOf has the shift grow as the policy declares it.
func sizeOf(b *board.Settings, p *law.Policy) {
	if p.DeadBand != nil {
		b.DeadBand = *p.DeadBand
	}
	b.GainSteps = slices.Clone(p.GainSteps)
	at := p.ShiftAt
	if at == nil {
		b.ShiftError = max(b.ShiftError, 2*b.DeadBand)
		return
	}
	b.ShiftError, b.ShiftGain, b.ShiftIs = at.Error, at.Gain, at.Is
	b.DerivativeTime = signal.FromSeconds(at.DerivativeTime)
	if b.DeadBand >= b.ShiftError {
		b.WholeBand = true // the declared point lies within the band, and then the size counts from 0
	}
	switch at.Grows {
	case law.GrowthSaturating:
		b.Grows, b.Most = board.Saturating, at.Most
		if b.Most == 0 {
			b.Most = min(2*at.Is, 1)
		}
	case law.GrowthIntegrating:
		b.Grows, b.Most, b.GrowsIn = board.Integrating, at.Most, integratesIn
		if b.Most == 0 {
			b.Most = at.Is
		}
	}
}

// integratesIn is in what time an integrating shift gets as large as declared, where the policy
// says no more than that it integrates.
const integratesIn = 200 * signal.Millisecond

// limitsOf has the commands stay between what the policy declares.
func (s *Setup) limitsOf(b *board.Settings) {
	p := &s.Car.Policy
	b.Cap, b.CapAbove, b.Floor = 1, 0, 0
	if p.Cap != nil {
		b.Cap, b.CapAbove, b.CapAfterShift = p.Cap.Of, p.Cap.SteerAbove, p.Cap.Cut == law.CapAfterShift
	}
	if b.BothWays {
		b.Floor = -1
	}
	if p.Floor != nil {
		b.Floor = max(*p.Floor, b.Floor) // below what the motors' wires can say there is no command
	}
	word := func(w, other law.AtTheLimit) board.AtTheLimit {
		if w == 0 {
			w = other
		}
		if w == 0 {
			return ""
		}
		return board.AtTheLimit(w.String())
	}
	if p.AtTheLimit != 0 {
		b.AtTheLimit = word(p.AtTheLimit, 0)
	}
	b.AtCap, b.AtFloor = word(p.AtTheCap, p.AtTheLimit), word(p.AtTheFloor, p.AtTheLimit)
	if p.SumCap != nil {
		b.SumCap = *p.SumCap
	}
	if t := p.TractionControl; t != nil {
		b.Traction = board.Traction{Share: *t * (1 + wayInside), Cut: 0.5}
	}
}

func straightOf(s *law.Straight) (b board.Straight) {
	if s == nil {
		return b
	}
	if f := s.Steer; f != nil {
		b.SteerFrom, b.SteerFull = f.From, f.Full
	}
	if f := s.Demand; f != nil {
		b.DemandFrom, b.DemandFull = f.From, f.Full
	}
	return b
}

// wayInside is by what share the board stays within times and rates that the policy declares.
const wayInside = 0.15

// timersOf has the board turn its loop and send its commands as fast as the policy asks.
func (s *Setup) timersOf(b *board.Settings) {
	p := &s.Car.Policy
	if p.LoopRate != nil {
		b.LoopPeriod = min(b.LoopPeriod, signal.FromSeconds(1 / *p.LoopRate / (1+wayInside)))
	}
	longest := s.longestCommand()
	if s.outputPeriod() == 0 {
		b.OutputPeriod = max(b.OutputPeriod, longest+100*signal.Microsecond)
	}
	if p.Response != nil {
		room := signal.Time(float64(p.Response.AtMost)*(1-wayInside)) - longest - b.OutputPeriod
		b.LoopPeriod = max(min(b.LoopPeriod, room), 200*signal.Microsecond)
	}
}

// longestCommand returns how long a motor command may take on the wire.
func (s *Setup) longestCommand() (longest signal.Time) {
	for i := range s.wiring.Motors {
		_, l := s.wiring.Motors[i].Times()
		longest = max(longest, l)
	}
	return longest
}
