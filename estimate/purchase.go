package estimate

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// purchase is what is cut and bought.
type purchase struct {
	cuts    []CutList
	needs   []Need
	orders  []ItemOrder
	supply  Supply
	offcuts []Offcut // from the store
	asked   []trace.Query
}

// chargesThatCount is the share of an order, as one over it, from which what
// suppliers charge is worth cutting again for.
const chargesThatCount = 200

// mostCutAgain is how many suppliers of coils and sheets are put together in
// every way.
const mostCutAgain = 4

// purchase cuts and buys. It takes (BenchmarkPurchase, two cores, against the whole
// command with its workbook) 3 ms for 100 defects, 0.8 s for 1,000, 0.8 s or 4 % for
// 10,000 and 7 s for 100,000; the choice of rolls (rechoose) is another 0.4 s at 10,000.
//
// Coils and sheets are chosen at what their own order
// costs; where suppliers charge for deliveries, also from each set of their
// suppliers alone, and the cheapest is taken.
func (m *means) purchase(plan Plan, issues []Issue, dates Dates) (purchase, error) {
	best, err := m.purchaseFrom(plan, issues, dates, nil)
	if err != nil {
		return best, err
	}
	charges := decimal.Zero
	for i := range best.supply.Suppliers {
		charges = charges.Add(best.supply.Suppliers[i].Charges())
	}
	if charges.Mul(decimal.NewFromInt(chargesThatCount)).LessThan(best.supply.Cost) {
		return best, nil
	}
	names := m.cutFrom(best.cuts)
	if len(names) > mostCutAgain {
		return best, nil
	}
	for set := 1; set < 1<<len(names)-1; set++ {
		avoid := map[string]bool{}
		for i, name := range names {
			avoid[name] = set>>i&1 == 0
		}
		other, err := m.purchaseFrom(plan, issues, dates, avoid)
		if err == nil && len(other.asked) <= len(best.asked) && other.supply.Cost.LessThan(best.supply.Cost) {
			best = other
		}
	}
	return best, nil
}

// purchaseFrom cuts and buys, with coils and sheets chosen as if some suppliers had
// none of them.
func (m *means) purchaseFrom(plan Plan, issues []Issue, dates Dates, avoid map[string]bool) (p purchase, err error) {
	if p.cuts, err = cutAll(&plan, dates, avoid, m); err != nil {
		return p, fmt.Errorf("cutting: %w", err)
	}
	if p.needs, err = addUp(plan.Jobs, issues, p.cuts, m); err != nil {
		return p, err
	}
	if p.orders, p.supply, p.asked, err = buy(p.needs, plan, issues, dates, m); err != nil {
		return p, fmt.Errorf("order: %w", err)
	}
	p.offcuts = m.offcuts(p.cuts)
	p.asked = append(p.asked, m.stockPriceQuery(&p)...)
	return p, nil
}

// cutFrom are the suppliers of what can be cut, where there are several.
func (m *means) cutFrom(cuts []CutList) (names []string) {
	for i := range cuts {
		for k, code := range cuts[i].Items {
			if cuts[i].Lots[k] != "" {
				continue
			}
			for _, o := range m.OffersOf(code) {
				if !slices.Contains(names, o.Supplier) {
					names = append(names, o.Supplier)
				}
			}
		}
	}
	slices.Sort(names)
	return names
}
