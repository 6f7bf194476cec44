package allot

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/estimate/trace/depth"
)

func on(day int) time.Time {
	if day == 0 {
		return time.Time{}
	}
	return time.Date(2027, 3, day, 0, 0, 0, 0, time.UTC)
}

// drawn are random needs, in the order of their days or not, and lots.
func drawn(t *rapid.T) (needs []Need, lots []Lot) {
	n := decimal.NewFromInt
	for range rapid.IntRange(0, 8).Draw(t, "needs") {
		needs = append(needs, Need{n(int64(rapid.IntRange(1, 4).Draw(t, "asks"))), on(rapid.IntRange(0, 9).Draw(t, "day"))})
	}
	for range rapid.IntRange(0, 6).Draw(t, "lots") {
		l := Lot{Quantity: decimal.New(int64(rapid.IntRange(0, 100).Draw(t, "holds")), -1), Until: on(rapid.IntRange(0, 9).Draw(t, "until"))}
		if l.Here = rapid.Bool().Draw(t, "here"); l.Here {
			l.First = rapid.IntRange(0, 3).Draw(t, "first") == 0
		} else {
			l.Comes = on(rapid.IntRange(0, 9).Draw(t, "comes"))
		}
		lots = append(lots, l)
	}
	return needs, lots
}

// Every allotment holds against the checker, which goes another way; and one that
// is bent does not: a unit taken from one need for a later one, or from a lot
// that goes first, is found.
func TestAllotmentsHold(t *testing.T) {
	bent := 0
	rapid.Check(t, func(t *rapid.T) {
		needs, lots := drawn(t)
		parts := Share(needs, lots)
		if err := Check(needs, lots, parts); err != nil {
			t.Fatal(err)
		}
		one := decimal.NewFromInt(1)
		for i := range parts {
			// Given one less: either the lot is left while the need goes without, or
			// somebody after it had it.
			worse := append([]Part(nil), parts...)
			if worse[i].Quantity = worse[i].Quantity.Sub(one); worse[i].Quantity.IsZero() {
				worse = append(worse[:i], worse[i+1:]...)
			}
			if Check(needs, lots, worse) == nil {
				t.Fatalf("need %d goes without a unit of lot %d and nothing is said", parts[i].Need, parts[i].Lot)
			}
			// Given of a lot that goes later, of which something is left.
			for l := range lots {
				left := lots[l].Quantity.Floor()
				for _, p := range parts {
					if p.Lot == l {
						left = left.Sub(p.Quantity)
					}
				}
				if left.IsPositive() && sooner(lots[parts[i].Lot], lots[l]) {
					bent++
					if Check(needs, lots, append(append([]Part(nil), worse...), Part{parts[i].Need, l, one})) == nil {
						t.Fatalf("need %d takes of lot %d, which goes after lot %d", parts[i].Need, l, parts[i].Lot)
					}
				}
			}
		}
	})
	if bent == 0 && depth.Full() {
		t.Error("no lot was ever taken out of turn: the test shows nothing")
	}
}

// Where needs come in the order of their days and all lots are at hand, no other
// way of giving serves more: held against a search over all ways.
func TestNoOtherWayServesMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		needs, lots := drawn(t)
		needs, lots = needs[:min(len(needs), 4)], lots[:min(len(lots), 3)]
		for i := range needs {
			needs[i].Last = on(1 + 2*i) // rising
		}
		for i := range lots {
			lots[i].Here, lots[i].First = true, false
			lots[i].Quantity = decimal.Min(lots[i].Quantity.Floor(), decimal.NewFromInt(4))
		}
		sum := decimal.Zero
		for _, p := range Share(needs, lots) {
			sum = sum.Add(p.Quantity)
		}
		left := make([]int, len(lots))
		for i := range lots {
			left[i] = int(lots[i].Quantity.IntPart())
		}
		if most := search(needs, lots, 0, 0, left); sum.IntPart() != int64(most) {
			t.Fatalf("%s given, %d could be: %+v %+v", sum, most, needs, lots)
		}
	})
}

// search is the most that the needs from the n-th on, the n-th having so many units
// already, can be given of what is left.
func search(needs []Need, lots []Lot, n, has int, left []int) int {
	if n == len(needs) {
		return 0
	}
	most := search(needs, lots, n+1, 0, left)
	if has < int(needs[n].Quantity.IntPart()) {
		for i := range lots {
			if left[i] > 0 && (lots[i].Until.IsZero() || !lots[i].Until.Before(needs[n].Last)) {
				left[i]--
				most = max(most, 1+search(needs, lots, n, has+1, left))
				left[i]++
			}
		}
	}
	return most
}

// What the checker is for, fault by fault.
func TestCheckFinds(t *testing.T) {
	n := decimal.NewFromInt
	needs := []Need{{n(2), on(5)}, {n(2), on(8)}}
	lots := []Lot{{Quantity: n(2), Until: on(6), Here: true}, {Quantity: n(2), Here: true}}
	for what, parts := range map[string][]Part{
		"more than a lot holds":  {{0, 0, n(2)}, {1, 1, n(3)}},
		"past its day":           {{0, 1, n(2)}, {1, 0, n(2)}},
		"more than asked for":    {{0, 0, n(2)}, {0, 1, n(1)}, {1, 1, n(1)}},
		"out of turn":            {{0, 1, n(2)}},
		"a need that goes short": {{1, 1, n(2)}},
		"nothing given":          {{0, 0, n(2)}, {1, 1, n(0)}},
		"no such lot":            {{0, 2, n(2)}},
	} {
		if Check(needs, lots, parts) == nil {
			t.Errorf("%s: nothing is said", what)
		}
	}
	if err := Check(needs, lots, []Part{{0, 0, n(2)}, {1, 1, n(2)}}); err != nil {
		t.Error(err)
	}
}
