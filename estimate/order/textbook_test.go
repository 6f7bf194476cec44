package order

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

// The price list of the quantity discount example of many operations management
// courses (Heizer and Render, Operations Management, chapter on inventory: 5.00
// up to 999, 4.80 from 1,000, 4.75 from 2,000 [from memory]). The counts at
// which buying up to the next break pays are worked out here by hand:
// 5.00·n > 4.80·1,000 from n = 961, 4.80·n > 4.75·2,000 from n = 1,980 (9,504).
func TestTextbookPriceBreaks(t *testing.T) {
	o := offerOf("A", "1", Break{1, dec("5.00")}, Break{1000, dec("4.80")}, Break{2000, dec("4.75")})
	for _, c := range []struct {
		need  int64
		packs int
		cost  string
	}{
		{700, 700, "3500"}, {959, 959, "4795"}, {960, 960, "4800"}, {961, 1000, "4800"}, {999, 1000, "4800"},
		{1000, 1000, "4800"}, {1500, 1500, "7200"}, {1979, 1979, "9499.2"}, {1980, 2000, "9500"}, {2000, 2000, "9500"}, {2001, 2001, "9504.75"},
	} {
		got, err := Best(Need{Quantity: decimal.NewFromInt(c.need)}, []Offer{o}, nil, Rule{Base: "EUR"})
		if err != nil || got.Lines[0].Packs != c.packs || !got.Total.Equal(dec(c.cost)) {
			t.Errorf("%d: %d packs for %s, %v; want %d for %s", c.need, got.Lines[0].Packs, got.Total, err, c.packs, c.cost)
		}
	}
	o.Scheme = Incremental
	got, err := Best(Need{Quantity: dec("2500")}, []Offer{o}, nil, Rule{Base: "EUR"})
	if err != nil || !got.Total.Equal(dec("12174.75")) { // 999·5.00 + 1,000·4.80 + 501·4.75 = 4,995 + 4,800 + 2,379.75
		t.Errorf("incremental: %s, %v", got.Total, err)
	}
}

// Sylvester's theorem (Educational Times 1884 [from memory]): of two sizes a, b
// without common factor every quantity above ab − a − b can be made exactly,
// that one cannot, and of those up to it just (a−1)(b−1)/2 cannot. Where packs
// cost their size, the cheapest cover is the one of least excess.
func TestSylvester(t *testing.T) {
	for _, c := range [][2]int{{3, 5}, {4, 7}, {9, 20}, {25, 36}} {
		a, b := c[0], c[1]
		coverer, err := NewRollCoverer([]Roll{{Length: a, Cost: decimal.NewFromInt(int64(a))}, {Length: b, Cost: decimal.NewFromInt(int64(b))}}, 0)
		if err != nil {
			t.Fatal(err)
		}
		inexact := 0
		for need := 1; need <= 2*a*b; need++ {
			m, err := best(coverer, need)
			if err != nil {
				t.Fatal(err)
			}
			if m.Excess > 0 {
				inexact++
				if need > a*b-a-b {
					t.Errorf("%d of %d and %d: excess %d", need, a, b, m.Excess)
				}
			} else if need == a*b-a-b {
				t.Errorf("%d of %d and %d was made exactly", need, a, b)
			}
		}
		if inexact != (a-1)*(b-1)/2 {
			t.Errorf("%d and %d: %d quantities cannot be made, want %d", a, b, inexact, (a-1)*(b-1)/2)
		}
	}
}

// Growth is rounded up before the store is drawn on, and the packs are said to be
// those of a price break: 17·1.1 = 18.7, 19 − 2 = 17; 17 at 23 cost 391, 20 at
// 19 cost 380.
func TestGrowthStoreAndBreak(t *testing.T) {
	o := offerOf("A", "1", Break{1, dec("23")}, Break{20, dec("19")})
	need := Need{Item: "tape", Unit: "roll", Quantity: dec("17"), GrowthPercent: dec("10"), Whole: true}
	got, err := Best(need, []Offer{o}, []Lot{{ID: "1", Quantity: dec("2")}}, Rule{Base: "EUR"})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Raised.Equal(dec("18.7")) || !got.Needed.Equal(dec("19")) || !got.Net.Equal(dec("17")) {
		t.Errorf("raised to %s, needed %s, to be bought %s", got.Raised, got.Needed, got.Net)
	}
	if got.Lines[0].Packs != 20 || !got.Total.Equal(dec("380")) || len(got.Reasons) == 0 || !strings.Contains(got.Reasons[0].String(), "price break") {
		t.Errorf("%d packs for %s because of %v", got.Lines[0].Packs, got.Total, got.Reasons)
	}
}
