package export

import (
	"encoding/csv"
	"io"
	"strconv"

	"wraptally/estimate"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// OrderCSV writes the order lines as plain comma-separated text, for import
// elsewhere: a line a supplier and price tier, dates as 2027-03-01, decimals
// with a point. Text that a spreadsheet would take for a formula is prefixed
// with an apostrophe.
func OrderCSV(w io.Writer, p *estimate.Campaign) error {
	out := csv.NewWriter(w)
	rows := [][]string{{
		"item", "name", "supplier", "part_code", "unit", "needed", "packs", "pack_qty", "pack", "ordered_qty", "from_packs", "price_per_pack",
		"currency", "cost", "rate", "cost_" + p.Bid.Currency, "latest_order", "lead_days", "why",
	}}
	for i, o := range p.Orders {
		n := p.Needs[i]
		for k, l := range o.Lines {
			offer := o.Offers[l.Offer]
			for _, t := range l.Tiers {
				rows = append(rows, []string{
					n.Item.Code, n.Item.Name, l.Supplier, l.Part, n.Item.Unit, o.Net.String(), strconv.Itoa(t.Packs), l.PackQuantity.String(), offer.PackName,
					l.PackQuantity.Mul(qty.Whole(t.Packs)).String(), strconv.Itoa(t.FromPacks), t.Price.String(), l.Currency, t.Cost.String(), l.Rate.String(),
					t.Cost.Mul(l.Rate).Round(p.Bid.Minor).StringFixed(p.Bid.Minor), day(l.LatestOrder), strconv.Itoa(offer.LeadDays), reasonsOf(o, k),
				})
			}
		}
	}
	for _, row := range rows {
		for i := range row {
			row[i] = table.SafeText(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// reasonsOf joins the reasons of one line of an order.
func reasonsOf(o estimate.ItemOrder, line int) string {
	text := ""
	for _, r := range o.Reasons {
		if r.Line != line && r.Line >= 0 {
			continue
		}
		if text != "" {
			text += "; "
		}
		text += r.String()
	}
	return text
}
