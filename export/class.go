package export

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/trace"
)

// classText says of what class the estimate is, and of its range and contingency
// how large they are and where each comes from.
func classText(p *estimate.Campaign) string {
	c, set := p.Catalog, &p.Catalog.Settings
	low, high := c.Whence("bid.range_low"), c.Whence("bid.range_high")
	from := low
	if high != low {
		from = "lower end " + low + ", upper end " + high
	}
	text := fmt.Sprintf("class %s by AACE 18R-97, from memory: range %s to %s (%s)", set.Class, signed(set.RangeLow), trace.WithUnit(set.RangeHigh, "%"), from)
	return text + "; contingency " + contingency(p) + " (" + contingencyFrom(p) + ")"
}

func signed(v float64) string {
	if v < 0 {
		return "−" + trace.FormatNumber(-v, "%")
	}
	return trace.FormatNumber(v, "%")
}

// contingency is what the contingency adds, in per cent of the total before it
// or, where it is no percentage, the amount.
func contingency(p *estimate.Campaign) string {
	sum, percent := decimal.Zero, true
	for i := range p.Bid.Lines {
		if l := &p.Bid.Lines[i]; l.Stage == "contingency" {
			sum, percent = sum.Add(l.Rate), percent && l.Basis == "percent"
		}
	}
	if percent {
		return sum.String() + " %"
	}
	return money(p.Bid.Stage("contingency"), p.Bid.Minor) + " " + p.Bid.Currency
}

func contingencyFrom(p *estimate.Campaign) string {
	if slices.ContainsFunc(p.Catalog.Costs, func(c catalog.Cost) bool { return c.Class }) {
		return p.Catalog.Whence("bid.contingency")
	}
	return "table costs"
}
