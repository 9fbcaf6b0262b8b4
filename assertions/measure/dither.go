package measure

import (
	"math"
	"slices"

	"hilrig/plant/portable"
)

const (
	// leastLeft is what reading in steps is taken to leave in any case, in steps, for noise is
	// not quite normal.
	leastLeft = 0.02
	// smooth is the deviation in steps from which noise of any shape makes up for the steps.
	smooth = 0.8
	// evenBlock is how many values make a block whose sum is looked at, and evenShare how
	// much less than drawn at random the sums of blocks have to spread to be no noise.
	evenBlock = 10
	evenShare = 0.3
	// counted is the share of what the spread explains that is taken off what is left: how values
	// hang together is itself known from few of them.
	counted = 0.8
	// filled is the share of the steps between the least and the most that have to occur.
	filled = 0.75
)

// MeanOfSteps returns the estimate of what x, read in steps of step, stands for: its mean, moved to
// what the noise that takes it over the edges of steps says of it. Values of which one in six is a
// step lower are rather those of a value near the edge with little noise, and seldom those of one
// that lies a sixth of a step off. systematic is what else every value shares. Of values that have two levels alone what
// their spread leaves open is at most how far these are apart.
func MeanOfSteps(x []float64, step, systematic float64) Estimate {
	off, left := OffSteps(x, step)
	e := MeanOf(x, RootSumSquare(left, systematic))
	if apart, ok := twoLevels(x, step); ok {
		e = e.within(apart)
	}
	e.Value += off
	return e
}

// MeanOfCoarse is MeanOfSteps of values that come in steps of coarse and pass through others on the way from one to the
// next, as where they are filtered: where all lie within one such step, what their spread leaves open is at most how far
// the least lies from the most.
func MeanOfCoarse(x []float64, step, coarse, systematic float64) Estimate {
	return MeanOfSteps(x, step, systematic).OfCoarse(x, step, coarse)
}

// OfCoarse returns the estimate of the mean of x with what its spread leaves open at most how far the least lies from the
// most, where all lie within one step of coarse, read in steps of step; else e itself.
func (e Estimate) OfCoarse(x []float64, step, coarse float64) Estimate {
	if apart := RangeOf(x...).Width(); apart <= coarse+step {
		return e.within(apart)
	}
	return e
}

// within returns an estimate whose spread leaves open at most so much.
func (e Estimate) within(apart float64) Estimate {
	spread := Estimate{Statistical: e.Statistical, DegreesOfFreedom: e.DegreesOfFreedom}
	if spread.Statistical > 0 && spread.Expanded() > apart {
		e.Statistical, e.DegreesOfFreedom = apart/2, 0
	}
	return e
}

// twoLevels returns how far apart the two levels are of which x has each value, each known to half a step; ok is false
// where it has one or more than two. A command that goes to and fro so slowly between two of the firmware's own steps that few changes are seen is worth
// hardly more than one value, and from its spread alone nothing would follow; but its mean lies between the two.
func twoLevels(x []float64, step float64) (apart float64, ok bool) {
	i := RangeOf(x...)
	for _, v := range x {
		if v > i.Low+step/2 && v < i.High-step/2 {
			return 0, false
		}
	}
	return i.Width(), i.Width() > step/2
}

// OffSteps returns how far what x stands for lies from its mean, as far as x tells it, and the standard
// uncertainty that reading it in steps of step leaves: that of [Resolution] where x does not spread,
// and less where noise takes the values over the edges of steps, which makes up for them. Values
// that go to and fro in a pattern, or leave steps out, are no noise, and off is 0.
//
// How often each step occurs says how likely each value and each size of normal noise is; off is
// their mean, and left their spread, beyond what that of x explains.
func OffSteps(x []float64, step float64) (off, left float64) {
	if !(step > 0) || len(x) < 2 {
		return 0, Resolution(max(step, 0))
	}
	s := Describe(x)
	if !(s.Deviation > 0) || !finite(s.Deviation) || patterned(x, &s) || gaps(x, step) {
		return 0, Resolution(step)
	}
	if s.Deviation > smooth*step {
		return 0, leastLeft * step
	}
	effective := s.effective(lagOf(&s))
	spread := s.Deviation / step
	off, left = roundedOff(x, step, (s.Mean-x[0])/step, effective/float64(s.N))
	left = math.Sqrt(max(float64(left*left)-float64(counted*spread*spread)/effective, 0))
	return step * off, step * min(max(left, leastLeft), Resolution(1))
}

// The values and sizes of noise that are looked at, in steps: cells of value from -reach to
// reach about the step that is nearest to the mean, and sizes whose roots are spread evenly,
// between evenly spread and so by their logarithm.
const (
	reach      = 1.0
	valueCells = 60
	noiseSizes = 16
	mostNoise  = 1.3
	sideSteps  = 5 // on each side of the nearest
)

// chances are the logarithms of how likely each step is with each value and size of noise.
var chances = func() (all [noiseSizes][valueCells][2*sideSteps + 1]float64) {
	for i := range all {
		size := noiseSize(i)
		for j := range all[i] {
			value := cellValue(j)
			for k := range all[i][j] {
				low := (float64(k-sideSteps) - 0.5 - value) / size
				all[i][j][k] = portable.Log(max(normalAbove(low)-normalAbove(low+1/size), 1e-9))
			}
		}
	}
	return all
}()

func noiseSize(i int) float64 {
	root := (float64(i) + 0.5) / noiseSizes
	return mostNoise * float64(root*root)
}

func cellValue(j int) float64 { return reach * (float64(2*j+1)/valueCells - 1) }

// roundedOff returns the mean and the deviation of how far values lie from the mean of x, in steps,
// each as likely as it makes x, of which every value counts with weight. mean is from x[0].
func roundedOff(x []float64, step, mean, weight float64) (off, deviation float64) {
	nearest := math.Round(mean)
	var seen [2*sideSteps + 1]float64
	for _, v := range x {
		k := int(math.Round((v-x[0])/step-nearest)) + sideSteps
		seen[min(max(k, 0), 2*sideSteps)] += weight
	}
	best := math.Inf(-1)
	var fits [noiseSizes][valueCells]float64
	for i := range fits {
		for j := range fits[i] {
			for k, n := range seen {
				if n > 0 {
					fits[i][j] += float64(n * chances[i][j][k])
				}
			}
			best = max(best, fits[i][j])
		}
	}
	square, whole := 0.0, 0.0
	for i := range fits {
		for j, fit := range fits[i] {
			if best-fit > 30 {
				continue
			}
			w, d := portable.Exp(fit-best), cellValue(j)-(mean-nearest)
			off += float64(w * d)
			square += float64(w*d) * d
			whole += w
		}
	}
	off /= whole
	return off, math.Sqrt(max(square/whole-float64(off*off), 0))
}

// patterned says whether values make up for each other within a few, as no noise does.
func patterned(x []float64, s *Series) bool {
	blocks := len(x) / evenBlock
	if blocks < 5 {
		return false
	}
	sums := make([]float64, blocks)
	for i := range sums {
		for _, v := range x[i*evenBlock : (i+1)*evenBlock] {
			sums[i] += v - s.Mean
		}
	}
	d := Describe(sums).Deviation
	return float64(d*d) < evenShare*evenBlock*float64(s.Deviation*s.Deviation)
}

// gaps says whether many of the steps between the least and the most of x do not occur.
func gaps(x []float64, step float64) bool {
	at := make([]int64, len(x))
	for i, v := range x {
		at[i] = int64(math.Round((v - x[0]) / step))
	}
	slices.Sort(at)
	at = slices.Compact(at)
	// The outermost of noise leave some out: between those of all but one in twenty.
	trim := len(at) / 20
	inner := at[trim : len(at)-trim]
	return float64(len(inner)) < filled*float64(inner[len(inner)-1]-inner[0]+1)
}
