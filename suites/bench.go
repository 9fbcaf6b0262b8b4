package suites

import (
	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/stimulus/wire"
	"hilrig/suites/file"
)

// simulated opens the simulated bench of a suite.
func (s *Setup) simulated(suite *file.Suite, b board.Board, repliers []*wire.Replier, tap func(driven, captured []signal.Edge)) (rig.Bench, error) {
	out := simulated.Settings{Layout: s.wiring.Layout(), Board: b, Tap: tap, Responders: responding(repliers)}
	timing := s.Bench.Timing
	out.Sampler.Period = timing.SamplerPeriod
	out.Sampler.Stalls = s.stalls(suite, "sampler", timing.SamplerStalls)
	out.EdgeOutput.Stalls = s.stalls(suite, "player", timing.EdgeOutputStalls)
	bench, err := simulated.New(out)
	if err != nil {
		return nil, err
	}
	return bench, nil
}

// stalls returns stalls whose chance comes from the seed.
func (s *Setup) stalls(suite *file.Suite, what string, declared file.Stalls) simulated.Stalls {
	if declared.Every == 0 {
		return simulated.Stalls{}
	}
	noise := portable.NewNoise(s.seed(suite.Name, what), "stalls")
	return simulated.Stalls{Mean: declared.Every, Least: declared.Least, Most: declared.Most, Draw: noise.Uint64}
}

// responding puts the sensors that answer requests on their lines.
func responding(repliers []*wire.Replier) []simulated.Responding {
	var list []simulated.Responding
	for _, r := range repliers {
		list = append(list, simulated.Responding{Responder: r, Lines: []signal.Line{r.Port().Input}, Latency: r.Latency()})
	}
	return list
}
