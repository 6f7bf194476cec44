package export

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/export/table"
)

// sheetPacking says which kit can be packed when, and who gets which lot. It stands
// in the workbook where something is known of the store.
const sheetPacking = "Packing"

// lotUnit is the unit in which a lot is counted.
func lotUnit(p *estimate.Campaign, l *estimate.AllottedLot) (unit, name string) {
	it, ok := p.Catalog.Item(l.Item)
	switch {
	case !ok:
		return "", l.Item
	case l.Length > 0:
		return "offcut", it.Name
	}
	return it.Unit, it.Name
}

// sourceWord is where a lot is.
func sourceWord(l *estimate.AllottedLot) string {
	switch l.Source {
	case estimate.IssuedOut:
		return "issued"
	case estimate.StillToCome:
		return "on order"
	case estimate.ToBeOrdered:
		return "to be ordered"
	}
	return "in store"
}

// lotName names a lot for whoever looks for it.
func lotName(l *estimate.AllottedLot) string {
	switch {
	case l.Source == estimate.ToBeOrdered:
		return "to be ordered, " + l.From
	case l.ID == "":
		return "without lot"
	}
	return l.ID
}

// lotSays is what becomes of a lot, or why it must stay.
func lotSays(p *estimate.Campaign, l *estimate.AllottedLot) string {
	switch {
	case l.Left == estimate.LeftExpired:
		return order.Expired + ", quarantine"
	case l.Left == estimate.LeftUnknown:
		return "not used: to which day it keeps, or is needed, is not known"
	case l.Left == estimate.LeftOffcut:
		return "cut first, see " + sheetCutting
	case l.Left == estimate.LeftSoon && l.Given.IsZero():
		return "not used: it expires before the work that needs it, with the margin of " + countOf(p.Catalog.Settings.ExpiryMargin, "day", "days")
	case l.Left == estimate.LeftSoon:
		return "for the first kits only: it does not last to the end of the work"
	case !l.Source.Here() && l.Comes.IsZero():
		return "comes on a day NOT KNOWN"
	case !l.Source.Here():
		return "comes on " + day(l.Comes)
	case l.Given.IsZero():
		return "free"
	}
	return ""
}

// allotted is what a taker gets of the store, as it is told; "" where nothing is
// known of the store.
func (b *book) allotted(list []estimate.Portion) string {
	var parts []string
	for _, x := range list {
		parts = append(parts, b.portionText(x))
	}
	return strings.Join(parts, "; ")
}

func (b *book) portionText(x estimate.Portion) string {
	if x.Lot < 0 {
		return x.Quantity.String() + " MISSING"
	}
	l := &b.p.Store.Lots[x.Lot]
	text := lotName(l)
	if !l.Source.Here() && !l.Comes.IsZero() {
		text += " " + day(l.Comes)
	}
	if len(text) > 0 && !x.Quantity.Equal(decimal.NewFromInt(1)) {
		text += " × " + x.Quantity.String()
	}
	return text
}

// lacksText says what a kit lacks and when it comes.
func (b *book) lacksText(k estimate.Packing) string {
	items := b.p.Catalog.Items
	var parts []string
	for _, x := range k.Lacks {
		it := &items[x.Item]
		text := fmt.Sprintf("%s %s %s", x.Quantity, it.Unit, it.Code)
		if x.Cut {
			text += " to cut from"
		}
		switch l := b.lotOf(x); {
		case l == nil:
			text += " (not to be had)"
		case l.Comes.IsZero():
			text += " (" + comesFrom(l) + ", DAY NOT KNOWN)"
		default:
			text += " (" + comesFrom(l) + ", " + day(l.Comes) + ")"
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

func (b *book) lotOf(x estimate.Portion) *estimate.AllottedLot {
	if x.Lot < 0 {
		return nil
	}
	return &b.p.Store.Lots[x.Lot]
}

func comesFrom(l *estimate.AllottedLot) string {
	if l.Source == estimate.ToBeOrdered {
		return "to be ordered from " + l.From
	}
	return "on order " + l.From
}

// packWord says in few words whether a kit can be packed.
func packWord(k estimate.Packing) string {
	text := "yes"
	switch {
	case k.Ready:
		return text
	case k.From.IsZero():
		return "NO, day not known"
	}
	text = "from " + day(k.From)
	if k.Late {
		text += ", LATE"
	}
	return text
}

// packingOf is whether the k-th kit of this workbook can be packed.
func (b *book) packingOf(k int) estimate.Packing { return b.p.Store.Packing(b.part[k], b.job(k)) }

// packingSheet lists which kit can be packed when, what it lacks, and which lots
// it gets; below it every lot with what becomes of it.
func (b *book) packingSheet() *table.Sheet {
	type col = table.Col[int] // of this workbook's kits
	t := table.NewTable[int](sheetPacking)
	wrap := table.WrapStyle
	t.Add(col{Title: "Kit", Width: nameWidth, Style: wrap, Cell: func(p pen, k int) { p.Link(b.repair(k).ID, b.kitTarget(k)) }})
	t.Add(col{Title: "Crew", Width: 7, Style: table.IntStyle, Cell: func(p pen, k int) { p.Int(b.job(k).Crew) }})
	t.Add(col{Title: "Shift", Width: 7, Style: table.IntStyle, Cell: func(p pen, k int) { p.Int(b.job(k).Shift) }})
	t.Add(col{Title: "Used on", Width: 12, Style: dayStyle, Cell: func(p pen, k int) { writeDay(p, b.job(k).Begun, "not known") }})
	t.Add(col{Title: "Can be packed", Width: 16, Style: wrap, Cell: func(p pen, k int) {
		v := b.packingOf(k)
		if v.Late {
			p.As(look(table.Caution).Wrapped())
		}
		p.Text(packWord(v))
	}})
	t.Add(col{Title: "Missing, and when it comes", Width: 58, Style: wrap, Cell: func(p pen, k int) { p.Text(orDash(b.lacksText(b.packingOf(k)))) }})
	t.Add(col{Title: "Lots from the store", Width: 46, Style: wrap, Cell: func(p pen, k int) { p.Text(orDash(b.kitLots(k))) }})

	l := newLeaf(sheetPacking, "Packing", "Kits in the order of their repairs; they are served in the order in which work on them begins. A lot goes to a kit only if it lasts to the kit's last day and "+countOf(b.p.Catalog.Settings.ExpiryMargin, "day", "days")+" more (order.expiry_margin).", t.Columns())
	l.Blank(1)
	kits := make([]int, len(b.part))
	for k := range kits {
		kits[k] = k
	}
	if len(kits) > 0 {
		list(l, t, kits)
	} else {
		l.note("The kits are in workbooks of their own, each with this sheet.")
	}
	if b.complete() || len(kits) == 0 {
		b.lotTable(l)
	}
	s := l.headed(b.page(true), 1)
	if len(kits) > 0 {
		s.Filter = t.Area()
	}
	return s
}

// kitLots names the lots at hand that a kit gets.
func (b *book) kitLots(k int) string {
	var parts []string
	for _, x := range b.p.Store.Kit(b.part[k]) {
		if l := b.lotOf(x); l != nil && l.Source.Here() {
			parts = append(parts, fmt.Sprintf("%s %s: %s", x.Quantity, b.p.Catalog.Items[x.Item].Code, lotName(l)))
		}
	}
	return strings.Join(parts, "; ")
}

// lotTable lists every lot that is there or comes.
func (b *book) lotTable(l *leaf) {
	type col = table.Col[*estimate.AllottedLot]
	t := table.NewTable[*estimate.AllottedLot](sheetPacking)
	amount := func(p pen, v decimal.Decimal) { p.In(decimalsOf(v)).Dec(v) }
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, v *estimate.AllottedLot) { p.Text(v.Item) }})
	t.Add(col{Title: "Held", Style: table.IntStyle, Cell: func(p pen, v *estimate.AllottedLot) { amount(p, v.Quantity) }})
	t.Add(col{Title: "Given", Style: table.IntStyle, Cell: func(p pen, v *estimate.AllottedLot) { amount(p, v.Given) }})
	t.Add(col{Title: "Use by", Style: dayStyle, Cell: func(p pen, v *estimate.AllottedLot) { b.writeUseBy(p, v) }})
	t.Add(col{Title: "Place", Style: table.WrapStyle, Cell: func(p pen, v *estimate.AllottedLot) { p.Text(placeOf(b.p, v)) }})
	t.Add(col{Title: "Lot, and what becomes of it", Style: table.WrapStyle, Cell: func(p pen, v *estimate.AllottedLot) {
		if v.Left == estimate.LeftExpired {
			p.As(look(table.Caution).Wrapped())
		}
		p.Text(lotName(v) + orBlank(": ", lotSays(b.p, v)))
	}})
	t.Add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, v *estimate.AllottedLot) {
		_, name := lotUnit(b.p, v)
		p.Text(name)
	}})
	var lots []*estimate.AllottedLot
	for i := range b.p.Store.Lots {
		lots = append(lots, &b.p.Store.Lots[i])
	}
	section(l, "Lots, and who gets them", t, lots, "Nothing is in store and nothing comes.")
}

// writeUseBy writes the last day of use of a lot.
func (b *book) writeUseBy(p pen, l *estimate.AllottedLot) {
	none := "no date"
	if it, ok := b.p.Catalog.Item(l.Item); ok && it.ShelfDays > 0 {
		none = "not known"
	}
	writeDay(p, l.UseBy, none)
}

// placeOf is where a lot lies.
func placeOf(p *estimate.Campaign, l *estimate.AllottedLot) string {
	if !l.Source.Here() || l.Source == estimate.IssuedOut {
		return sourceWord(l)
	}
	if l.Location != "" {
		return l.Location
	}
	if it, ok := p.Catalog.Item(l.Item); ok {
		return it.Store
	}
	return ""
}

// lotsOf are the lots of an item that a kit gets, for its page and its lines: their
// names with the quantities and the earliest last day. Nothing where they are not
// known yet.
func (b *book) lotsOf(k, item int) (text string, useBy time.Time) {
	if b.p.Store == nil {
		return "", useBy
	}
	var list []estimate.Portion
	for _, x := range b.p.Store.Kit(b.part[k]) {
		if x.Item != item || x.Cut {
			continue
		}
		list = append(list, x)
		if l := b.lotOf(x); l != nil && !l.UseBy.IsZero() && (useBy.IsZero() || l.UseBy.Before(useBy)) {
			useBy = l.UseBy
		}
	}
	return b.allotted(list), useBy
}
