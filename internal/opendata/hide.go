package opendata

import (
	"fmt"
	"slices"
	"time"

	"thwart/internal/exchange"
)

// cell is what could single a craft out: week, launch, what is known of its last water, which one that was, and craft class,
// as small numbers. What is given up last stands first: where craft come from matters more to others than their class.
type cell uint64

// How many bits each takes. A number that does not fit counts as the last that does, which joins cells and hides more.
const (
	weekBits, launchBits, classBits, statusBits, waterBits = 16, 16, 12, 4, 16

	classAt  = 0
	waterAt  = classAt + classBits
	statusAt = waterAt + waterBits
	launchAt = statusAt + statusBits
	weekAt   = launchAt + launchBits
)

func cellOf(week, launch, class, status, water int) cell {
	put := func(n, bits, at int) cell { return cell(min(n, 1<<bits-1)) << at }
	return put(week, weekBits, weekAt) | put(launch, launchBits, launchAt) | put(class, classBits, classAt) |
		put(status, statusBits, statusAt) | put(water, waterBits, waterAt)
}

// hiding says how much of a record is left out.
type hiding uint8

// Hidings, each leaving out what the one before it does and more.
const (
	showAll hiding = iota
	hideClass
	hideWater
	hideStatus
	hideLaunch
	hideWeek
	hideRecord
)

// numbers gives names small numbers.
type numbers struct {
	of    map[string]int
	names []string
}

func (n *numbers) number(name string) int {
	if i, ok := n.of[name]; ok {
		return i
	}
	if n.of == nil {
		n.of = map[string]int{}
	}
	n.of[name] = len(n.names)
	n.names = append(n.names, name)
	return len(n.names) - 1
}

// cells counts records per cell and then says how each cell is to be hidden.
type cells struct {
	weeks, launches, classes, statuses, waters numbers

	count map[cell]int
	hide  map[cell]hiding
}

func newCells() *cells { return &cells{count: map[cell]int{}, hide: map[cell]hiding{}} }

func weekOf(t time.Time) string {
	y, w := t.ISOWeek()
	return fmt.Sprintf("%04d-W%02d", y, w)
}

// weekSpan gives the first and the last day of an ISO 8601 week such as 2026-W27.
func weekSpan(week string) (first, last string) {
	var y, w int
	if _, err := fmt.Sscanf(week, "%d-W%d", &y, &w); err != nil {
		return "", ""
	}
	// 4 January is always in the first week (ISO 8601).
	d := time.Date(y, time.January, 4, 0, 0, 0, 0, time.UTC)
	d = d.AddDate(0, 0, (w-1)*7-(int(d.Weekday())+6)%7)
	return d.Format(time.DateOnly), d.AddDate(0, 0, 6).Format(time.DateOnly)
}

func (c *cells) at(week, launch, class, status, water string) cell {
	return cellOf(c.weeks.number(week), c.launches.number(launch), c.classes.number(class), c.statuses.number(status), c.waters.number(water))
}

// settle decides for every cell. Cells with fewer than [exchange.SmallCell] records are pooled under what they share, without
// what sets them apart. A pool that is itself too small takes in the smallest of the others, so that no pool can be had by
// taking what is shown from what is known; where that is not enough, everything in it goes one step further up. Every record
// is therefore among at least [exchange.SmallCell] that look the same, or is left out.
func (c *cells) settle() {
	keys := make([]cell, 0, len(c.count))
	for k := range c.count {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	c.settleUnder(keys, 0)
	if c.total(keys) < exchange.SmallCell {
		for _, k := range keys {
			c.hide[k] = hideRecord
		}
	}
}

var depthShift = []int{weekAt, launchAt, statusAt, waterAt, classAt}

func (c *cells) total(keys []cell) int {
	n := 0
	for _, k := range keys {
		n += c.count[k]
	}
	return n
}

// settleUnder settles the cells that share everything above a depth: 0 nothing, 1 the week, 2 the launch too, 3 what is
// known of the last water, 4 the last water.
func (c *cells) settleUnder(keys []cell, depth int) {
	if depth == len(depthShift) {
		return
	}
	var children [][]cell
	for start, i := 0, 0; i < len(keys); i++ {
		if i+1 == len(keys) || keys[i+1]>>depthShift[depth] != keys[start]>>depthShift[depth] {
			children = append(children, keys[start:i+1])
			start = i + 1
		}
	}
	for _, ch := range children {
		c.settleUnder(ch, depth+1)
	}
	slices.SortStableFunc(children, func(a, b []cell) int { return c.total(a) - c.total(b) })
	pooled := 0
	for _, ch := range children {
		n := c.total(ch)
		if n >= exchange.SmallCell && (pooled == 0 || pooled >= exchange.SmallCell) {
			break // the rest are larger still
		}
		pooled += n
		for _, k := range ch {
			c.hide[k] = hiding(len(depthShift) - depth)
		}
	}
}
