package export

import (
	"io"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// OrderCSV writes the order lines as plain comma-separated text, for import
// elsewhere: a line a supplier and price step, and a day on which goods come that
// are called off; dates as 2027-03-01, decimals with
// a point, text safe from being taken for a formula. gross is what is needed
// with the allowance for growth, net what of it has to be bought: gross less
// from_store, which holds what is on order too.
func OrderCSV(w io.Writer, p *estimate.Campaign) error {
	plain := table.Style{}
	head := []string{
		"item", "name", "supplier", "part_code", "unit", "needed", "packs", "pack_qty", "pack", "ordered_qty", "from_packs", "price_per_pack",
		"currency", "cost", "rate", "cost_" + p.Bid.Currency, "latest_order", "lead_days", "why",
		"need_date", "use_by", "gross", "from_store", "net",
	}
	return table.WriteCSV(w, "order lines", func(yield func(table.Row) bool) {
		var row table.Row
		for _, name := range head {
			row.Cells = append(row.Cells, table.Text(name, plain))
		}
		if !yield(row) {
			return
		}
		for i := range p.Orders {
			o := &p.Orders[i]
			n := o.Need
			for k, l := range o.Lines {
				offer := o.Offers[l.Offer]
				charged := map[int]decimal.Decimal{} // of a tier so far
				left := map[int]int{}
				for _, b := range parcels(p, o, k) {
					t := l.Tiers[b.tier]
					if _, begun := left[b.tier]; !begun {
						left[b.tier] = t.Packs
					}
					cost := b.sum().Mul(l.Rate).Round(p.Bid.Minor)
					if left[b.tier] -= b.packs; left[b.tier] == 0 { // the last takes what rounding left
						cost = t.Cost.Mul(l.Rate).Round(p.Bid.Minor).Sub(charged[b.tier])
					}
					charged[b.tier] = charged[b.tier].Add(cost)
					packs := qty.Whole(b.packs)
					if !yield(table.Row{Cells: []table.Cell{
						table.Text(n.Item.Code, plain), table.Text(n.Item.Name, plain), table.Text(l.Supplier, plain), table.Text(l.Part, plain), table.Text(n.Item.Unit, plain),
						table.Dec(o.Net, plain), table.Int(b.packs, plain), table.Dec(l.PackQuantity, plain), table.Text(offer.PackName, plain),
						table.Dec(l.PackQuantity.Mul(packs), plain), table.Int(t.FromPacks, plain), table.Dec(t.Price, plain),
						table.Text(l.Currency, plain), table.Dec(b.sum(), plain), table.Dec(l.Rate, plain), table.Dec(cost, plain),
						table.Text(day(l.LatestOrder), plain), table.Int(offer.LeadDays, plain), table.Text(reasonsOf(*o, k), plain),
						table.Text(day(b.by), plain), table.Text(day(b.until(p.Dates.Need)), plain), table.Dec(o.Needed, plain), table.Dec(o.Drawn, plain), table.Dec(o.Net, plain),
					}}) {
						return
					}
				}
			}
		}
	})
}

// reasonsOf joins the reasons of one line of an order.
func reasonsOf(o estimate.ItemOrder, line int) string {
	own := slices.DeleteFunc(slices.Clone(o.Reasons), func(r order.Reason) bool { return r.Line != line && r.Line >= 0 })
	return joined(own, "; ", order.Reason.String)
}
