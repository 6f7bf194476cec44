// Package allot shares what there is of one item out to those who need it, in the
// order of their need. It knows quantities and days, not what the item is.
//
// The rule, common practice, no source: who comes first is served first. Each
// takes of what is at hand and lasts to the end of its own use, what expires first
// before the rest and what keeps without end last; then of what is still to come,
// what comes first before the rest and what comes on a day not known last.
package allot

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// Lot is a quantity that is at hand or will come.
type Lot struct {
	Quantity decimal.Decimal // whole units are given; ≥ 0
	Until    time.Time       // last day of use, a margin included; zero: it keeps
	Here     bool            // at hand
	Comes    time.Time       // where it is not: the day, zero where that is not known
	First    bool            // at hand and given before any other: it is in use already
}

// Need is what one asks for.
type Need struct {
	Quantity decimal.Decimal // > 0
	Last     time.Time       // last day of its use; zero: not known, so that nothing that expires is given
}

// Part is what a need is given of a lot; both by their places.
type Part struct {
	Need, Lot int
	Quantity  decimal.Decimal
}

// lasts reports whether a lot may be used by a need.
func (l *Lot) lasts(n *Need) bool {
	return l.Until.IsZero() || !n.Last.IsZero() && !l.Until.Before(n.Last)
}

// Share gives the lots to the needs, which are in the order in which they are
// served. What no part covers of a need cannot be had.
func Share(needs []Need, lots []Lot) (parts []Part) {
	order := make([]int, len(lots))
	left := make([]decimal.Decimal, len(lots))
	for i := range lots {
		order[i], left[i] = i, lots[i].Quantity.Floor()
	}
	slices.SortStableFunc(order, func(a, b int) int { return compare(&lots[a], &lots[b]) })
	for n := range needs {
		open := needs[n].Quantity
		for _, at := range order {
			if !open.IsPositive() {
				break
			}
			if !left[at].IsPositive() || !lots[at].lasts(&needs[n]) {
				continue
			}
			q := decimal.Min(open, left[at])
			left[at], open = left[at].Sub(q), open.Sub(q)
			parts = append(parts, Part{n, at, q})
		}
	}
	return parts
}

// compare says which of two lots is given first.
func compare(a, b *Lot) int {
	rank := func(l *Lot) int {
		switch {
		case l.Here && l.First:
			return 0
		case l.Here:
			return 1
		case !l.Comes.IsZero():
			return 2
		}
		return 3
	}
	endless := func(t time.Time) int {
		if t.IsZero() {
			return 1
		}
		return 0
	}
	if c := cmp.Compare(rank(a), rank(b)); c != 0 {
		return c
	}
	if !a.Here {
		return a.Comes.Compare(b.Comes)
	}
	return cmp.Or(cmp.Compare(endless(a.Until), endless(b.Until)), a.Until.Compare(b.Until))
}

// Check goes through an allotment again, against its rule and not the way by
// which it was made: no lot gives more than it holds or past its last day, nobody
// gets more than it asked for, and nobody goes without, or takes what is given
// later, while a lot that it could have had is left or goes to one who comes after.
func Check(needs []Need, lots []Lot, parts []Part) error {
	given, got := make([]decimal.Decimal, len(lots)), make([]decimal.Decimal, len(needs))
	last := make([]int, len(lots)) // need that was given of the lot, the last of all
	for i := range last {
		last[i] = -1
	}
	takes := make([][]int, len(needs))
	for _, p := range parts {
		switch {
		case p.Need < 0 || p.Need >= len(needs) || p.Lot < 0 || p.Lot >= len(lots):
			return fmt.Errorf("allotment: need %d and lot %d are not both there", p.Need, p.Lot)
		case !p.Quantity.IsPositive():
			return fmt.Errorf("allotment: need %d is given %s of lot %d", p.Need, p.Quantity, p.Lot)
		case !lots[p.Lot].Until.IsZero() && (needs[p.Need].Last.IsZero() || needs[p.Need].Last.After(lots[p.Lot].Until)):
			return fmt.Errorf("allotment: lot %d, to be used by %s, is given to a need of %s", p.Lot, lots[p.Lot].Until.Format(time.DateOnly), needs[p.Need].Last.Format(time.DateOnly))
		}
		given[p.Lot], got[p.Need] = given[p.Lot].Add(p.Quantity), got[p.Need].Add(p.Quantity)
		last[p.Lot] = max(last[p.Lot], p.Need)
		takes[p.Need] = append(takes[p.Need], p.Lot)
	}
	for i := range lots {
		if given[i].GreaterThan(lots[i].Quantity) {
			return fmt.Errorf("allotment: lot %d of %s gives %s", i, lots[i].Quantity, given[i])
		}
	}
	for n := range needs {
		if got[n].GreaterThan(needs[n].Quantity) {
			return fmt.Errorf("allotment: need %d asks for %s and is given %s", n, needs[n].Quantity, got[n])
		}
		for i := range lots {
			had := !lots[i].Until.IsZero() && (needs[n].Last.IsZero() || lots[i].Until.Before(needs[n].Last))
			open := lots[i].Quantity.Truncate(0).Sub(given[i]).IsPositive() || last[i] > n
			if had || !open {
				continue // it could not have had it, or had all that was there for it
			}
			if got[n].LessThan(needs[n].Quantity) {
				return fmt.Errorf("allotment: need %d goes without %s while lot %d is not used up", n, needs[n].Quantity.Sub(got[n]), i)
			}
			for _, t := range takes[n] {
				if sooner(lots[i], lots[t]) {
					return fmt.Errorf("allotment: need %d takes of lot %d while lot %d, which goes first, is there for it", n, t, i)
				}
			}
		}
	}
	return nil
}

// sooner reports whether a lot has to be given before another, case by case.
func sooner(a, b Lot) bool {
	switch {
	case a.Here && !b.Here:
		return true
	case !a.Here && b.Here:
		return false
	case a.Here && a.First != b.First:
		return a.First
	case a.Here:
		return !a.Until.IsZero() && (b.Until.IsZero() || a.Until.Before(b.Until))
	}
	return !a.Comes.IsZero() && (b.Comes.IsZero() || a.Comes.Before(b.Comes))
}
