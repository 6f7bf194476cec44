package export

import (
	"fmt"
	"time"

	"wraptally/estimate"
	"wraptally/export/table"
)

// This file tells of a running campaign: what has come of earlier orders.

// OnOrderText says what has become of what was ordered; settled is false where it
// comes late or on a day not known.
func OnOrderText(p *estimate.Campaign, o estimate.OnOrder) (state string, settled bool) {
	open := o.Open().String()
	need := p.Dates.Need
	switch {
	case o.Open().IsZero():
		return "all there", true
	case o.Arrives.IsZero():
		return open + " to come, DAY NOT KNOWN: ask the supplier", false
	case !need.IsZero() && o.Arrives.After(need):
		return open + " to come on " + day(o.Arrives) + ", LATE: needed on " + day(need), false
	}
	return open + " to come on " + day(o.Arrives), !need.IsZero()
}

// onOrder holds what has come against what was ordered.
func (d *desk) onOrder(s *ordered) {
	if len(d.p.Coming) == 0 {
		return
	}
	type col = table.Col[estimate.OnOrder]
	count := table.IntStyle
	t := table.NewTable[estimate.OnOrder](sheetOrder)
	t.Add(col{Title: "Comes on", Style: dayStyle, Cell: func(p pen, o estimate.OnOrder) {
		if o.Open().IsZero() {
			p.As(table.TextStyle).Text("all there")
			return
		}
		writeDay(p, o.Arrives, "NOT KNOWN")
	}})
	t.Add(col{Title: "Order", Span: 2, Style: table.WrapStyle, Cell: func(p pen, o estimate.OnOrder) { p.Text(o.Order) }})
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, o estimate.OnOrder) { p.Text(o.Item) }})
	t.Add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, o estimate.OnOrder) {
		if it, ok := d.p.Catalog.Item(o.Item); ok {
			p.Text(it.Name)
		}
	}})
	t.Add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, o estimate.OnOrder) {
		if it, ok := d.p.Catalog.Item(o.Item); ok {
			p.Text(it.Unit)
		}
	}})
	ordered := t.Add(col{Title: "Ordered", Style: count, Cell: func(p pen, o estimate.OnOrder) { p.In(decimalsOf(o.Ordered)).Dec(o.Ordered) }})
	arrived := t.Add(col{Title: "Arrived", Style: count, Cell: func(p pen, o estimate.OnOrder) { p.In(decimalsOf(o.Received)).Dec(o.Received) }})
	t.Add(col{Title: "To come", Style: count, Cell: func(p pen, o estimate.OnOrder) {
		p.In(decimalsOf(o.Open())).Formula("MAX(0,%v-%v)", ordered, arrived).Dec(o.Open())
	}})
	t.Add(col{Title: "State", Span: 7, Style: table.WrapStyle, Cell: func(p pen, o estimate.OnOrder) {
		text, settled := OnOrderText(d.p, o)
		if !settled {
			p.As(look(table.Caution).Wrapped())
		}
		p.Text(text)
	}})
	s.Blank(1)
	s.AddRow(table.Spread("Ordered before, and what has arrived of it; the order above is net of what is still to come", look(table.Heading), s.why.Column()))
	list(s.leaf, t, d.p.Coming)
}

// onOrderJSON is what has become of earlier orders.
func onOrderJSON(p *estimate.Campaign) any {
	return listed(p.Coming, func(o estimate.OnOrder) any {
		unit := ""
		if it, ok := p.Catalog.Item(o.Item); ok {
			unit = it.Unit
		}
		state, _ := OnOrderText(p, o)
		return map[string]any{
			"order": o.Order, "item": o.Item, "arrives": day(o.Arrives), "says": state,
			"ordered": figure{exact(o.Ordered), unit, movements}, "received": figure{exact(o.Received), unit, movements}, "to_come": figure{exact(o.Open()), unit, movements},
		}
	})
}

// movements is the origin of figures that the table of movements gives.
const movements = "movements"

// PackingText says how many kits can be packed from the store as it is; "" where
// nothing is known of it.
func PackingText(p *estimate.Campaign) string {
	if p.Store == nil {
		return ""
	}
	ready, unknown := 0, 0
	last := time.Time{}
	for n := range p.Jobs {
		switch k := p.Store.Packing(n, &p.Jobs[n]); {
		case k.Ready:
			ready++
		case k.From.IsZero():
			unknown++
		case k.From.After(last):
			last = k.From
		}
	}
	text := fmt.Sprintf("packing: %d of %s can be packed from the store", ready, countOf(len(p.Jobs), "kit", "kits"))
	if !last.IsZero() {
		text += "; others by " + day(last) + " as goods come"
	}
	if unknown > 0 {
		text += fmt.Sprintf("; %d wait for goods of which no day is known", unknown)
	}
	for _, o := range p.Store.Lots {
		if o.Left == estimate.LeftExpired {
			return text + "; lots in store are EXPIRED: quarantine"
		}
	}
	return text
}

// storeJSON is what is in the store and comes, who gets it, and which kit can be
// packed when.
func storeJSON(p *estimate.Campaign) any {
	lots := listed(p.Store.Lots, func(l estimate.AllottedLot) any {
		unit, _ := lotUnit(p, &l)
		return map[string]any{
			"item": l.Item, "lot": l.ID, "place": l.Location, "from": sourceWord(&l), "comes": day(l.Comes), "use_by": day(l.UseBy), "says": lotSays(p, &l),
			"quantity": figure{exact(l.Quantity), unit, "stock"}, "given": figure{exact(l.Given), unit, "stock"},
		}
	})
	portion := func(x estimate.Portion) any {
		it := &p.Catalog.Items[x.Item]
		return map[string]any{"item": it.Code, "lot": x.Lot + 1, "for_cutting": x.Cut, "quantity": figure{exact(x.Quantity), it.Unit, "stock"}}
	}
	kits := []any{}
	for n := range p.Jobs {
		k := p.Store.Packing(n, &p.Jobs[n])
		kits = append(kits, map[string]any{
			"kit": p.Jobs[n].Repair.ID, "ready": k.Ready, "from": day(k.From), "late": k.Late, "given": listed(p.Store.Kit(n), portion), "lacks": listed(k.Lacks, portion),
		})
	}
	return map[string]any{"lots": lots, "kits": kits}
}
