package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wraptally/catalog"
	"wraptally/export/table"
)

// sheetTransport holds what travels against the limits up to which one vehicle
// carries it with exemptions.
const sheetTransport = "Transport"

// load is what one vehicle carries of dangerous goods: what one crew takes along
// for one shift, or all at once.
type load struct {
	name    string
	day     time.Time
	classes []classLoad
}

// classLoad is what is carried of one transport class.
type classLoad struct {
	class *catalog.Transport
	mass  float64 // kg, packed
	items []string
}

// limitOf is the limit of a class by its packing group, the least where the group
// is not stated or not known.
func (b *book) limitOf(t *catalog.Transport) (kg float64, group string) {
	s := &b.p.Catalog.Settings
	switch t.Group {
	case "II":
		return s.TransportII, t.Group
	case "III":
		return s.TransportIII, t.Group
	case "I":
		return s.TransportI, t.Group
	}
	return s.TransportI, t.Group + ", taken as I"
}

// share is the sum of the shares of the limits; 1 is all that may be carried.
// A limit of nothing is used up by anything.
func (b *book) share(l load) (sum float64) {
	for _, c := range l.classes {
		if limit, _ := b.limitOf(c.class); limit > 0 {
			sum += c.mass / limit
		} else if c.mass > 0 {
			sum++
		}
	}
	return sum
}

// loads are what travels by crew and shift, and all of it at once.
func (b *book) loads() (out []load) {
	all := load{name: "All kits of this workbook at once"}
	items := b.p.Catalog.Items
	add := func(l *load, item int, qty float64) {
		it := &items[item]
		t, ok := b.p.Catalog.TransportOf(it.Code)
		if !ok || qty <= 0 {
			return
		}
		i := slices.IndexFunc(l.classes, func(c classLoad) bool { return c.class == t })
		if i < 0 {
			i = len(l.classes)
			l.classes = append(l.classes, classLoad{class: t})
		}
		c := &l.classes[i]
		if c.mass += qty * it.UnitMass; !slices.Contains(c.items, it.Code) {
			c.items = append(c.items, it.Code)
		}
	}
	turns := b.turns()
	slices.SortStableFunc(turns, func(x, y turn) int { return cmp.Or(cmp.Compare(x.shift, y.shift), cmp.Compare(x.crew, y.crew)) })
	for _, t := range turns {
		l := load{name: fmt.Sprintf("Shift %d, %s", t.shift, b.p.Crews[t.crew-1].Name), day: b.job(t.kits[0]).Begun}
		for _, k := range t.kits {
			for item, qty := range b.job(k).Lines() {
				if items[item].Issue == catalog.LevelKit {
					add(&l, item, qty)
					add(&all, item, qty)
				}
			}
		}
		for _, is := range b.issues() {
			if j := &b.p.Jobs[is.With]; j.Crew == t.crew && j.Shift == t.shift {
				add(&l, is.Item, is.Qty)
				add(&all, is.Item, is.Qty)
			}
		}
		out = append(out, l)
	}
	return append(out, all)
}

// classesText says what a load holds of each class.
func (b *book) classesText(l load) string {
	var parts []string
	for _, c := range l.classes {
		limit, group := b.limitOf(c.class)
		parts = append(parts, fmt.Sprintf("%s, class %s, packing group %s: %s kg of %s kg (%s)", c.class.UN, c.class.Class, group, trimmed(c.mass, 2), trimmed(limit, 0), strings.Join(c.items, ", ")))
	}
	return legible(strings.Join(parts, "; "))
}

// transportSheet lists the loads with the sum of their shares.
func (b *book) transportSheet() *table.Sheet {
	type col = table.Col[load]
	t := table.NewTable[load](sheetTransport)
	t.Add(col{Title: "Load", Width: 26, Style: table.WrapStyle, Cell: func(p pen, l load) { p.Text(l.name) }})
	t.Add(col{Title: "Day", Width: 12, Style: dayStyle, Cell: func(p pen, l load) { writeDay(p, l.day, "–") }})
	t.Add(col{Title: "Dangerous goods: UN number, class, packing group, of the limit", Width: 92, Style: table.WrapStyle, Cell: func(p pen, l load) { p.Text(orDash(b.classesText(l))) }})
	t.Add(col{Title: "Of what is exempt", Width: 10, Style: shown(table.Percent(1)), Cell: func(p pen, l load) { p.Num(b.share(l)) }})
	t.Add(col{Title: "Verdict", Width: 24, Style: table.WrapStyle, Cell: func(p pen, v load) {
		if b.share(v) > 1 {
			p.As(look(table.Caution).Wrapped()).Text(overText)
			return
		}
		p.Text(exemptText)
	}})
	l := newLeaf(sheetTransport, "Transport", "What travels with the kits and the crew, by its packed weight, against the limits of the settings transport.limit_… (ADR 1.1.3.6, from memory, not verified). The safety data sheets and a qualified person decide; rules of other countries and of rail, sea and air are not looked at.", t.Columns())
	l.Blank(1)
	list(l, t, b.loads())
	s := l.headed(b.page(true), 0)
	s.Protected = true
	return s
}

// The verdicts on a load.
const (
	exemptText = "below the limits: confirm"
	overText   = "OVER: all rules of transport hold"
)
