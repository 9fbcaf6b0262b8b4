package file

import (
	"fmt"

	"hilrig/rig/signal"
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

// imperfect reads how far the bench is from a perfect one.
func (r *reader) imperfect(b *Bench, v *values) {
	sampler := v.sub("sampler")
	b.Sampler = Sampler{Period: sampler.time("period"), Stalls: r.stalls(sampler.sub("stalls"))}
	b.Player.Stalls = r.stalls(v.sub("player").sub("stalls"))
}

func (r *reader) stalls(v *values) Stalls {
	s := Stalls{Every: v.time("every"), Least: v.time("least"), Most: v.time("most")}
	if v.has("least") && v.has("most") && s.Least > s.Most {
		r.problem(v.get("most").node, fmt.Sprintf("stalls: the longest, %s, is shorter than the shortest, %s", span(s.Most), span(s.Least)), "give a larger most or a smaller least")
	}
	return s
}
