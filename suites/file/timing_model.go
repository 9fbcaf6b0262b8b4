package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// Sampler is how a simulated bench reads its lines. The zero value sees every
// edge at its true time.
type Sampler struct {
	Period signal.Time // from look to look; 0: perfect
	Stalls Stalls
}

// Player is how a simulated bench plays its lines. The zero value plays every edge
// when it is due.
type Player struct {
	Stalls Stalls
}

// Stalls are times in which nothing is done, at random. Their zero value is none.
type Stalls struct {
	Every       signal.Time // from one to the next, on average; 0: none
	Least, Most signal.Time // their length
}

// Perfect says that the bench plays and reads every edge when it comes.
func (b *Bench) Perfect() bool { return b.Sampler.Period == 0 && b.Player.Stalls.Every == 0 }

// timingModel reads how far the bench is from a perfect one.
func (r *reader) timingModel(b *Bench, v *language.Mapping) {
	sampler := v.Sub("sampler")
	b.Sampler = Sampler{Period: sampler.Time("period"), Stalls: r.stalls(sampler.Sub("stalls"))}
	b.Player.Stalls = r.stalls(v.Sub("player").Sub("stalls"))
}

func (r *reader) stalls(v *language.Mapping) Stalls {
	s := Stalls{Every: v.Time("every"), Least: v.Time("least"), Most: v.Time("most")}
	if v.Has("least") && v.Has("most") && s.Least > s.Most {
		r.Report(v.Get("most").Node, fmt.Sprintf("stalls: the longest, %s, is shorter than the shortest, %s", span(s.Most), span(s.Least)), "give a larger most or a smaller least")
	}
	return s
}
