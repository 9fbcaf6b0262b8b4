package search

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"hilrig/suites/language"
	"hilrig/suites/record"
)

const (
	// mostTried is how many drives are played at most to shrink one.
	mostTried = 240
	// atOnce is how many are played side by side: the first of them that still fails is gone on with.
	atOnce = 8
	least  = 100 // ms, of a piece
)

// shrunk shrinks a drive in which a check fails, and confirms it at two seeds more. again is false
// where the check does not fail at another seed.
func (s *searcher) shrunk(ctx context.Context, d drive, k *record.Check, number int) (f Finding, again bool, err error) {
	seed := s.setup.Seed
	f = Finding{Check: k.Name, Why: k.Why, Drive: number, Seeds: []uint64{seed}}
	name := titled(number, seed)
	is := func(d *drive) {
		source := d.suite(name, about(number, seed))
		f.File, f.Suite = source.Path, string(source.Data)
	}
	fails := func(all []drive, seed uint64) ([]*record.Check, error) {
		var sources []language.Source
		for i := range all {
			sources = append(sources, all[i].suite(name, about(number, seed)))
		}
		outcomes, err := s.play(ctx, seed, sources)
		checks := make([]*record.Check, len(all))
		for i := range outcomes {
			checks[i] = outcomes[i].failing(k.Name)
		}
		return checks, err
	}
	// first returns the number of the first of drives in which the check fails at both seeds, -1 where it does in none. One
	// that is shrunk to what no search draws may fail for that.
	first := func(all []drive) (int, error) {
		checks, err := fails(all, seed)
		for i, c := range checks {
			if c == nil || err != nil || !s.artist.allGo(&all[i]) {
				continue
			}
			var other []*record.Check
			if other, err = fails(all[i:i+1], seed+1); err == nil && other[0] != nil {
				f.Why = c.Why
				return i, nil
			}
		}
		return -1, err
	}
	i, err := first([]drive{d})
	switch {
	case err != nil:
		return f, false, err
	case i < 0 && ctx.Err() != nil: // it was seen once, and is kept
		is(&d)
		return f, true, nil
	case i < 0:
		is(&d)
		return f, false, nil
	}
	if d, err = shrink(d, cmp.Or(s.options.Tries, mostTried), first); err != nil {
		return f, false, err
	}
	is(&d)
	f.Seeds = append(f.Seeds, seed+1)
	third, err := fails([]drive{d}, seed+2)
	if err == nil && third[0] != nil {
		f.Seeds, f.Confirmed = append(f.Seeds, seed+2), true
	}
	return f, true, err
}

// titled returns the name of a drive's suite from when it is drawn on: the phases of a board's timers go by the name, so that
// what is found fails again just as it did.
func titled(number int, seed uint64) string {
	return fmt.Sprintf("found in drive %d at seed %d", number, seed)
}

// about says in a suite file where it is from.
func about(number int, seed uint64) string {
	return fmt.Sprintf("From drive %d of a search at seed %d.", number, seed)
}

// shrink makes a drive less as long as it still fails. first returns the number of the first of drives that
// fails, -1 where none does; so many are tried at most.
func shrink(d drive, tries int, first func([]drive) (int, error)) (drive, error) {
	for better := true; better; {
		better = false
		smaller := smallerThan(&d)
		for len(smaller) > 0 && tries > 0 && !better {
			batch := smaller[:min(atOnce, len(smaller))]
			smaller, tries = smaller[len(batch):], tries-len(batch)
			i, err := first(batch)
			if err != nil {
				return d, err
			}
			if better = i >= 0; better {
				d = batch[i]
			}
		}
	}
	return d, nil
}

// smallerThan returns drives that say less than one does, those that say the least less first tried.
func smallerThan(d *drive) (all []drive) {
	add := func(change func(d *drive)) {
		one := d.clone()
		change(&one)
		one.join()
		if one.cost() < d.cost()-0.01 {
			all = append(all, one)
		}
	}
	n := len(d.pieces)
	for i := range n - 1 { // what comes behind the failure, then what is before it
		add(func(d *drive) { d.pieces = d.pieces[:i+1] })
		add(func(d *drive) { d.pieces = d.pieces[i+1:] })
	}
	for i := range n {
		if n > 1 {
			add(func(d *drive) { d.pieces = slices.Delete(d.pieces, i, i+1) })
		}
	}
	if d.loss != nil {
		for after := range d.loss.after {
			add(func(d *drive) { l := *d.loss; l.after = after; d.loss = &l })
		}
	}
	if d.wait > 0 {
		add(func(d *drive) { d.wait = 0 })
		add(func(d *drive) { d.wait = d.wait / 2 })
	}
	if d.straight != 0 {
		add(func(d *drive) { d.straight = 0 })
	}
	for i := range n {
		if d.loss == nil && (d.point == nil || d.point.held == nil) {
			add(func(d *drive) { p := &d.pieces[i]; p.length = max(least, round100(p.length/2)) })
		}
		for c := range channels {
			simpler(add, d, i, c)
		}
	}
	return all
}

func round100(ms int) int { return (ms + 50) / 100 * 100 }

// simpler adds drives with a channel that does less in a piece: it stays, it leaps, its value is rounder.
func simpler(add func(func(*drive)), d *drive, i int, c channel) {
	if i > 0 {
		add(func(d *drive) { d.pieces[i].values[c] = value{to: d.pieces[i-1].values[c].to} })
	}
	if d.pieces[i].values[c].over > 0 {
		add(func(d *drive) { d.pieces[i].values[c].over = 0 })
	}
	at := d.pieces[i].values[c].to
	for _, to := range rounder(c, at) {
		add(func(d *drive) { d.move(i, c, to) })
	}
}

// move gives a channel another value in a piece, and in those behind it as long as it stays.
func (d *drive) move(i int, c channel, to float64) {
	for old := d.pieces[i].values[c].to; i < len(d.pieces) && d.pieces[i].values[c].to == old; i++ {
		d.pieces[i].values[c].to = to
	}
}

// rounder returns rounder numbers near a value, the roundest first.
func rounder(c channel, x float64) (all []float64) {
	steps := [channels][]float64{speed: {1, 0.5}, steer: {10, 5, 1}, yawRate: {100, 50, 10, 5}, throttle: {50, 10, 5}, gain: {100, 50, 10}}[c]
	if c == yawRate || c == steer {
		all = append(all, 0)
	}
	for _, step := range steps {
		if to := math.Round(x/step) * step; to != x && !slices.Contains(all, to) {
			all = append(all, to)
		}
	}
	return all
}
