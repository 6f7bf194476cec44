package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
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
	words := map[estimate.Source]string{estimate.IssuedOut: "issued", estimate.StillToCome: "on order", estimate.ToBeOrdered: "to be ordered"}
	return cmp.Or(words[l.Source], "in store")
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

// allotted is what a taker gets: the lots in store, each with its last day and its
// place where they lie apart, and how much is still to come when.
func (b *book) allotted(list []estimate.Portion) string {
	apart := len(b.places(list)) > 1
	return joined(list, "; ", func(x estimate.Portion) string { return b.portionText(x, apart) })
}

// places are where lots in the store lie that a taker gets, each once.
func (b *book) places(list []estimate.Portion) []string {
	here := slices.DeleteFunc(slices.Clone(list), func(x estimate.Portion) bool {
		l := b.lotOf(x)
		return l == nil || l.Source != estimate.InStore
	})
	return eachOnce(here, func(x estimate.Portion) string { return placeOf(b.p, b.lotOf(x)) })
}

// from is where an item is picked for a taker: where its lots lie, or where the
// catalogue has it.
func (b *book) from(item int, list []estimate.Portion) string {
	return cmp.Or(strings.Join(b.places(list), ", "), b.p.Catalog.Items[item].Store)
}

// fromOf is where an item is picked for a kit.
func (b *book) fromOf(k int, it *catalog.Item) string {
	if b.p.Store == nil {
		return it.Store
	}
	item := b.number[it.Code] - 1
	return b.from(item, b.portionsOf(k, item))
}

func (b *book) portionText(x estimate.Portion, apart bool) string {
	l, n := b.lotOf(x), x.Quantity.String()
	switch {
	case l == nil:
		return n + " MISSING"
	case !l.Source.Here() && l.Comes.IsZero():
		return n + " to come, day NOT KNOWN"
	case !l.Source.Here():
		return n + " to come, " + day(l.Comes)
	}
	text := n + " × " + lotName(l)
	if !l.UseBy.IsZero() {
		text += ", " + day(l.UseBy)
	}
	if apart {
		text += " at " + placeOf(b.p, l)
	}
	return text
}

// lacksText says what a kit lacks and when it comes, from where and on what day.
func (b *book) lacksText(k estimate.Packing) string {
	items := b.p.Catalog.Items
	var from []string
	what := map[string][]string{}
	for _, x := range k.Lacks {
		text := fmt.Sprintf("%s %s %s", x.Quantity, items[x.Item].Unit, items[x.Item].Code)
		if x.Cut {
			text += " to cut from"
		}
		source := b.comesFrom(x)
		if _, ok := what[source]; !ok {
			from = append(from, source)
		}
		what[source] = append(what[source], text)
	}
	for i, source := range from {
		from[i] = source + ": " + strings.Join(what[source], ", ")
	}
	return strings.Join(from, "; ")
}

// comesFrom is where a portion comes from that is not there, and when.
func (b *book) comesFrom(x estimate.Portion) string {
	l := b.lotOf(x)
	if l == nil {
		return "NOT TO BE HAD"
	}
	text, when := "on order "+l.From, day(l.Comes)
	if l.Source == estimate.ToBeOrdered {
		text = "to be ordered from " + l.From
	}
	if when == "" {
		when = "DAY NOT KNOWN"
	}
	return text + ", " + when
}

func (b *book) lotOf(x estimate.Portion) *estimate.AllottedLot {
	if x.Lot < 0 {
		return nil
	}
	return &b.p.Store.Lots[x.Lot]
}

// packWord says in few words whether a kit can be packed.
func packWord(k estimate.Packing) string {
	switch {
	case k.Ready:
		return "yes"
	case k.From.IsZero():
		return "NO, day not known"
	case k.Late:
		return "from " + day(k.From) + ", LATE"
	}
	return "from " + day(k.From)
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
	kits := upTo(len(b.part))
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
		if l := &b.p.Store.Lots[i]; l.Source != estimate.ToBeOrdered { // that is the order
			lots = append(lots, l)
		}
	}
	section(l, "Lots in store, issued and on order, and what becomes of them", t, lots, "Nothing is in store and nothing comes.")
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

// lotsOf are the lots of an item that a kit gets, with their quantities and days;
// "" where they are not known.
func (b *book) lotsOf(k, item int) string {
	if b.p.Store == nil {
		return ""
	}
	return b.allotted(b.portionsOf(k, item))
}

func (b *book) portionsOf(k, item int) (list []estimate.Portion) {
	for _, x := range b.p.Store.Kit(b.part[k]) {
		if x.Item == item && !x.Cut {
			list = append(list, x)
		}
	}
	return list
}

// heldLots are the lots in store that a kit gets of an item, as its page says it:
// the last day is the earliest of theirs.
type heldLots struct {
	names string
	useBy time.Time
}

// heldFor are the lots of an item for the page of a kit; none where part of it is
// still to come, so that what came is written in by hand.
func (b *book) heldFor(k int, it *catalog.Item) (h heldLots) {
	if b.p.Store == nil {
		return h
	}
	list := b.portionsOf(k, b.number[it.Code]-1)
	var names []string
	for _, x := range list {
		l := b.lotOf(x)
		if l == nil || l.Source != estimate.InStore || l.ID == "" {
			return heldLots{}
		}
		name := l.ID
		if len(list) > 1 {
			name = x.Quantity.String() + " × " + name
		}
		if len(b.places(list)) > 1 {
			name += " at " + placeOf(b.p, l)
		}
		names = append(names, name)
		if !l.UseBy.IsZero() && (h.useBy.IsZero() || l.UseBy.Before(h.useBy)) {
			h.useBy = l.UseBy
		}
	}
	h.names = strings.Join(names, "; ")
	return h
}

// packingRows say on the page of a kit whether it can be packed, and what it lacks.
func (b *book) packingRows(k int) []table.Row {
	if b.p.Store == nil {
		return nil
	}
	v := b.packingOf(k)
	label, text := "Can be packed", packWord(v)
	style := table.Style{Wrap: true}
	if !v.Ready {
		label, text = "CANNOT PACK YET", text+"; missing, "+b.lacksText(v)
	}
	return []table.Row{rowOf(kitWidth, over(1, 2, table.Text(label, style.As(table.Label))), over(3, kitWidth, table.Text(clip(text, 900), style)))}
}
