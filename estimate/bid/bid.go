// Package bid builds the price from the direct cost: materials, labour, site
// (ways of access, plant), freight, overhead, contingency, profit, tax, each its own line,
// rounded once, half away from zero, to the currency's minor unit.
package bid

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/qty"
)

// Stages in the order of the build-up.
var Stages = []string{"materials", "labour", "site", "freight", "overhead", "contingency", "profit", "tax"}

// Campaign is what the build-up needs to know of the work.
type Campaign struct {
	Materials decimal.Decimal // cost of what is bought and charged in full, base currency
	Stock     decimal.Decimal // what is drawn from the store and charged in full
	Tools     decimal.Decimal // hire and write-off of what comes back
	Ordered   decimal.Decimal // cost of everything that is bought
	Labour    []Labour        // paid hours
	Suppliers []Charge        // what they charge beside the goods
	Access    decimal.Decimal // Σ access cost of the repairs
	Repairs   int
	Counts    []Counted // what else costs may be charged by
	Costs     []catalog.Cost
	Currency  string
	Minor     int32
	RangeLow  decimal.Decimal // %, negative
	RangeHigh decimal.Decimal // %

	// Weights of the repairs, for their shares.
	MaterialWeights, LabourWeights, AccessWeights []float64

	stage map[string]decimal.Decimal // total of each stage so far
}

// Counted is something that a cost is charged by.
type Counted struct {
	Basis    string // as the costs table names it
	Title    string
	Quantity decimal.Decimal
	Exact    int32  // decimals that it is shown with
	Note     string // where it comes from
}

// Charge is an amount that is charged once, as it is.
type Charge struct {
	Code, Name string
	Amount     decimal.Decimal // base currency
}

// Labour is paid hours of one kind.
type Labour struct {
	Code, Name  string
	Crew        string          // whose rate it is, where crews cost differently
	Hours, Rate decimal.Decimal // of a whole crew
}

// Line is one line of the build-up, worked out by its Rule.
type Line struct {
	Code, Name, Stage string
	Basis             string // percent, percent-materials, percent-order, percent-stage, percent-margin, hour, sum, or what it counts
	Of                string // stage that percent-stage is taken of
	Quantity          decimal.Decimal
	Unit              string
	Rate              decimal.Decimal // money per unit, or %
	Base              decimal.Decimal // what a percentage is taken of
	Amount            decimal.Decimal // rounded to the minor unit
	Note              string
}

// Rule is how the amount of a line is worked out.
type Rule struct {
	Unit    string // of a percentage; of a count it is what is counted
	Percent bool   // of a base
	// Formula of the amount: n the quantity at a rate, k the percentage of base.
	Formula string
	Source  string
	amount  func(l *Line) decimal.Decimal
}

var hundred = decimal.NewFromInt(100)

// The rules there are. A margin is a share of the price, a markup a share of the
// cost: markup = k/(1 − k).
var (
	Count   = Rule{Formula: "n·rate", Source: "costs table of the firm", amount: func(l *Line) decimal.Decimal { return l.Quantity.Mul(l.Rate) }}
	Percent = Rule{Unit: "%", Percent: true, Formula: "base·k/100", Source: "costs table of the firm",
		amount: func(l *Line) decimal.Decimal { return l.Base.Mul(l.Rate).Div(hundred) }}
	Margin = Rule{Unit: "% margin", Percent: true, Formula: "base·k/(100 − k)", Source: "derived: a margin is a share of the price",
		amount: func(l *Line) decimal.Decimal { return l.Base.Mul(l.Rate).Div(hundred.Sub(l.Rate)) }}
)

// Rule is that of the line.
func (l *Line) Rule() *Rule {
	switch l.Basis {
	case "percent", "percent-materials", "percent-order", "percent-stage":
		return &Percent
	case "percent-margin":
		return &Margin
	}
	return &Count
}

// Unrounded is the amount of the line before it is rounded.
func (l *Line) Unrounded() decimal.Decimal { return l.Rule().amount(l) }

// Bid is the finished build-up.
type Bid struct {
	Lines    []Line
	Counts   []Counted       // what the lines may be charged by
	Direct   decimal.Decimal // materials, labour, access, freight
	Net      decimal.Decimal // before tax
	Total    decimal.Decimal
	Low      decimal.Decimal // of the accuracy range, on Net
	High     decimal.Decimal
	Currency string
	Minor    int32
}

// Stage is the total of one stage.
func (b *Bid) Stage(name string) decimal.Decimal {
	sum := decimal.Zero
	for i := range b.Lines {
		if b.Lines[i].Stage == name {
			sum = sum.Add(b.Lines[i].Amount)
		}
	}
	return sum
}

// Share is what one repair carries, in the base currency.
type Share struct {
	Materials, Labour, Access, Other, Total decimal.Decimal
}

// Build makes the bid, and the shares of the repairs, whose totals add up to its
// total exactly. It refuses a cost line whose basis it does not know, a
// margin that leaves nothing, and weights that are not one a repair.
func Build(c Campaign) (*Bid, []Share, error) {
	for _, weights := range [][]float64{c.MaterialWeights, c.LabourWeights, c.AccessWeights} {
		if len(weights) != c.Repairs {
			return nil, nil, fmt.Errorf("%d weights for the shares of %d repairs", len(weights), c.Repairs)
		}
	}
	b := &Bid{Currency: c.Currency, Minor: c.Minor, Counts: c.Counts}
	c.stage = map[string]decimal.Decimal{}
	running := decimal.Zero
	add := func(l Line) {
		l.Amount = l.Unrounded().Round(c.Minor)
		b.Lines = append(b.Lines, l)
		running = running.Add(l.Amount)
		c.stage[l.Stage] = c.stage[l.Stage].Add(l.Amount)
	}
	for _, stage := range Stages {
		for _, l := range c.worked(stage) {
			add(l)
		}
		base := running // each percentage of a stage is of the total before the stage
		for _, l := range c.charged(stage) {
			add(l)
		}
		for _, cost := range c.Costs {
			if cost.Stage != stage {
				continue
			}
			l, err := costLine(cost, c, base)
			if err != nil {
				return nil, nil, err
			}
			add(l)
		}
		switch stage {
		case "freight":
			b.Direct = running
		case "profit":
			b.Net = running
		}
	}
	b.Total = running
	b.Low = b.Net.Mul(hundred.Add(c.RangeLow)).Div(hundred).Round(c.Minor)
	b.High = b.Net.Mul(hundred.Add(c.RangeHigh)).Div(hundred).Round(c.Minor)
	return b, shares(b, c), nil
}

// worked are the lines of a stage that come from the work itself.
func (c *Campaign) worked(stage string) (lines []Line) {
	switch stage {
	case "materials":
		lines = append(lines, once("materials", "Materials, bought", stage, c.Materials))
		if !c.Stock.IsZero() {
			lines = append(lines, once("stock", "Materials, drawn from the store", stage, c.Stock))
		}
		if !c.Tools.IsZero() {
			lines = append(lines, once("tools", "Tools that come back, hire and write-off", stage, c.Tools))
		}
	case "labour":
		for _, l := range c.Labour {
			lines = append(lines, Line{Code: l.Code, Name: l.Name, Stage: stage, Basis: "hour", Quantity: l.Hours, Unit: "h", Rate: l.Rate})
		}
	case "site":
		if !c.Access.IsZero() {
			lines = append(lines, once("access-repairs", "Ways of access to the repairs", stage, c.Access))
		}
	}
	return lines
}

// charged are the lines of a stage that suppliers charge.
func (c *Campaign) charged(stage string) (lines []Line) {
	if stage == "freight" {
		for _, s := range c.Suppliers {
			lines = append(lines, once(s.Code, s.Name, stage, s.Amount))
		}
	}
	return lines
}

// once is a line of an amount that is charged as it is.
func once(code, name, stage string, amount decimal.Decimal) Line {
	return Line{Code: code, Name: name, Stage: stage, Basis: "sum", Quantity: decimal.NewFromInt(1), Rate: amount}
}

// costLine works out one row of the costs table.
func costLine(cost catalog.Cost, c Campaign, base decimal.Decimal) (Line, error) {
	l := Line{Code: cost.Code, Name: cost.Name, Stage: cost.Stage, Basis: cost.Basis, Of: cost.Of, Rate: cost.Value, Note: cost.Note}
	l.Unit = cost.Basis
	switch cost.Basis {
	case "percent", "percent-margin":
		l.Base, l.Unit = base, l.Rule().Unit
		if l.Rule() == &Margin && cost.Value.GreaterThanOrEqual(hundred) {
			return l, fmt.Errorf("cost %s: a margin of %s %% leaves nothing for the cost; give less than 100", cost.Code, cost.Value)
		}
	case "percent-materials":
		l.Base, l.Unit = c.stage["materials"], l.Rule().Unit
	case "percent-order":
		l.Base, l.Unit = c.Ordered.Round(c.Minor), l.Rule().Unit
	case "percent-stage":
		l.Base, l.Unit = c.stage[cost.Of], l.Rule().Unit
	case "campaign":
		l.Quantity = qty.Whole(min(c.Repairs, 1)) // nothing to do costs nothing
	default:
		at := slices.IndexFunc(c.Counts, func(n Counted) bool { return n.Basis == cost.Basis })
		if at < 0 {
			return l, fmt.Errorf("cost %s: basis %q is not known", cost.Code, cost.Basis)
		}
		l.Quantity = c.Counts[at].Quantity
	}
	return l, nil
}

// shares gives each repair its part of every line: materials, labour and
// access by their own weights, the rest in proportion to those three. Each
// line is shared out to the last minor unit, so the shares add up exactly.
func shares(b *Bid, c Campaign) []Share {
	n := c.Repairs
	out := make([]Share, n)
	if n == 0 {
		return out
	}
	minor := func(d decimal.Decimal) int64 { return d.Shift(c.Minor).IntPart() }
	var materials, labour, access, other int64
	for _, l := range b.Lines {
		switch {
		case l.Stage == "materials":
			materials += minor(l.Amount)
		case l.Stage == "labour":
			labour += minor(l.Amount)
		case l.Code == "access-repairs":
			access += minor(l.Amount)
		default:
			other += minor(l.Amount)
		}
	}
	m := qty.Share(materials, c.MaterialWeights)
	w := qty.Share(labour, c.LabourWeights)
	a := qty.Share(access, c.AccessWeights)
	direct := make([]float64, n)
	for i := range direct {
		direct[i] = float64(m[i] + w[i] + a[i])
	}
	o := qty.Share(other, direct)
	money := func(v int64) decimal.Decimal { return decimal.New(v, -c.Minor) }
	for i := range out {
		out[i] = Share{
			Materials: money(m[i]), Labour: money(w[i]), Access: money(a[i]), Other: money(o[i]),
			Total: money(m[i] + w[i] + a[i] + o[i]),
		}
	}
	return out
}
