package file

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/suites/language"
)

// conditions gives each row its held condition.
func (y *dynamometerReader) conditions(held []HeldCondition) {
	speeds := y.columns[2].name != ""
	if !speeds && len(held) > 1 && len(y.rows) > 0 {
		y.at(y.rows[0].Line, 0, "", fmt.Sprintf("%d conditions are held, and no column says which a row belongs to", len(held)), "name the column of the speed in the stand file, or hold one condition")
	}
	for i := range y.rows {
		one := &y.rows[i]
		if !speeds {
			continue
		}
		best := -1
		for j := range held {
			off := math.Abs(one.Speed - held[j].Speed)
			if off <= max(float64(heldShare*held[j].Speed), 1) && (best < 0 || off < math.Abs(one.Speed-held[best].Speed)) {
				best = j
			}
		}
		if best < 0 {
			y.at(one.Line, 0, "", fmt.Sprintf("the speed of this row, %s, is none of those that are held", radians(one.Speed)), "leave the row out, or add its speed under held")
			continue
		}
		one.Held = best
	}
}

// characteristic gives the rows of a held condition their ways, cycles and levels, and returns
// the levels.
func (y *dynamometerReader) characteristic(held int, h *HeldCondition) []float64 {
	var rows []*DynamometerRow
	for i := range y.rows {
		if y.rows[i].Held == held {
			rows = append(rows, &y.rows[i])
		}
	}
	last := max(1, bytes.Count(y.source.Text(), []byte{'\n'}))
	if len(rows) < 2 {
		y.at(last, 0, "", fmt.Sprintf("%s has fewer than two points, of which no line can be made", h), "give at least two; linearity is judged from eight on")
		return nil
	}
	y.ways(rows)
	levels := levelsOf(rows)
	if len(y.problems) > 0 {
		return nil
	}
	if len(levels) < 2 {
		y.at(rows[len(rows)-1].Line, 0, "", fmt.Sprintf("%s: all rows are at one level, %s", h, language.Share.Format(levels[0])), "give at least two levels; linearity is judged from eight on")
		return nil
	}
	y.whole(rows, levels)
	return levels
}

// ways gives each row its direction and its cycle. Without a column of the direction it is the one
// in which the command goes; where it stays, as at the top, the next row turns round.
func (y *dynamometerReader) ways(rows []*DynamometerRow) {
	for i, one := range rows {
		if !y.marked {
			one.Direction = wayOf(rows, i)
		}
		if i == 0 {
			continue
		}
		before := rows[i-1]
		one.Cycle = before.Cycle
		if one.Direction == characteristic.Up && before.Direction == characteristic.Down {
			one.Cycle++
		}
		if math.Abs(one.Command-before.Command) < sameLevel && one.Direction == before.Direction {
			y.at(one.Line, 0, "", fmt.Sprintf("level %s stands again right after itself, approached from the same side", language.Share.Format(one.Command)), "average the readings of a level into one row")
		}
	}
}

// wayOf returns in which way the command goes at a row without a column that says it.
func wayOf(rows []*DynamometerRow, i int) characteristic.Direction {
	step := 0.0 // to the row, or where it stays, from it
	if i > 0 {
		step = rows[i].Command - rows[i-1].Command
	}
	if math.Abs(step) < sameLevel && i+1 < len(rows) {
		step = rows[i+1].Command - rows[i].Command
	}
	switch {
	case math.Abs(step) < sameLevel && i > 0:
		return rows[i-1].Direction
	case step < 0:
		return characteristic.Down
	}
	return characteristic.Up
}

// levelsOf returns the levels of rows and gives each row its own: commands that differ by less
// than sameLevel are one.
func levelsOf(rows []*DynamometerRow) (levels []float64) {
	order := slices.Clone(rows)
	slices.SortStableFunc(order, func(a, b *DynamometerRow) int { return cmp.Compare(a.Command, b.Command) })
	first, sum, n := math.Inf(-1), 0.0, 0
	for _, one := range order {
		if one.Command-first >= sameLevel {
			levels, first, sum, n = append(levels, 0), one.Command, 0, 0
		}
		sum, n = sum+one.Command, n+1
		levels[len(levels)-1] = sum / float64(n)
		one.Level = len(levels) - 1
	}
	return levels
}

// whole reports levels that are missing on one way of a cycle, between two of its levels, and such as stand on it
// twice. On a way whose direction is marked levels come in any order.
func (y *dynamometerReader) whole(rows []*DynamometerRow, levels []float64) {
	for len(rows) > 0 {
		n := 1
		for n < len(rows) && rows[n].Direction == rows[0].Direction && rows[n].Cycle == rows[0].Cycle {
			n++
		}
		y.wholeWay(rows[:n], levels)
		rows = rows[n:]
	}
}

func (y *dynamometerReader) wholeWay(way []*DynamometerRow, levels []float64) {
	share := language.Share.Format
	inOrder := slices.Clone(way)
	slices.SortStableFunc(inOrder, func(a, b *DynamometerRow) int { return cmp.Compare(a.Level, b.Level) })
	for i, one := range inOrder[1:] {
		before, missing := inOrder[i], ""
		if one.Level-before.Level > 1 {
			missing = share(levels[before.Level+1])
		}
		if one.Line < before.Line {
			before, one = one, before
		}
		remedy := "read every level on every way, or leave that one out everywhere"
		if !y.marked && len(way) == 2 {
			remedy += "; where the order was drawn, name a column of the direction in the stand file"
		}
		switch next := slices.Index(way, one) == slices.Index(way, before)+1; {
		case one.Level == before.Level:
			y.at(one.Line, 0, "", fmt.Sprintf("level %s stands on this way twice, in line %d too", share(one.Command), before.Line), "average the readings of a level into one row")
		case missing == "":
		case next:
			y.at(one.Line, 0, "", fmt.Sprintf("there is a hole before this row: level %s is missing between %s and %s", missing, share(before.Command), share(one.Command)), remedy)
		default:
			y.at(one.Line, 0, "", fmt.Sprintf("level %s is missing on the way of this row, %s", missing, one.Direction), remedy)
		}
	}
}
