package export

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"wraptally/catalog"
	"wraptally/export/table"
)

// This file holds what travels against the limits up to which one vehicle carries
// it with exemptions.

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
		c.mass += qty * it.UnitMass
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
	return legible(joined(l.classes, "; ", func(c classLoad) string {
		limit, group := b.limitOf(c.class)
		what := fmt.Sprintf("%s, class %s, packing group %s", c.class.UN, c.class.Class, group)
		if c.class.UN == c.class.Class { // "not stated"
			what = "UN number, class, packing group " + group
		}
		return fmt.Sprintf("%s: %s of %s kg", what, trimmed(c.mass, 2), trimmed(limit, 0))
	}))
}

// transportRows list the loads with the sum of their shares, under the crews.
func (b *book) transportRows(pg *pager, wide int) {
	const classes, share, verdict = 3, 9, 10 // columns of the sheet Crews
	pg.rows(table.Row{Height: 8})
	head := rowOf(wide, head(1, 2, "Load", table.Left), head(classes, share-1, "Dangerous goods: UN number, class, packing group, of the limit", table.Left),
		head(share, share, "Of what is exempt", table.Right), head(verdict, wide, "Verdict", table.Left))
	pg.together(heading(wide, "Transport"), rowOf(wide, over(1, wide, table.Text("What travels with the kits and the crew, by its packed weight, against the settings transport.limit_… (ADR 1.1.3.6, from memory, not verified). "+
		"The safety data sheets and a qualified person decide; rules of other countries and of rail, sea and air are not looked at.", look(table.Muted).Wrapped()))), head)
	pg.heading = func() table.Row { return head }
	for _, l := range b.loads() {
		say := table.Text(exemptText, table.WrapStyle)
		if b.share(l) > 1 {
			say = table.Text(overText, look(table.Caution).Wrapped())
		}
		pg.rows(rowOf(wide, over(1, 2, table.Text(l.name+orBlank(", ", day(l.day)), table.WrapStyle)), over(classes, share-1, table.Text(orDash(b.classesText(l)), table.WrapStyle)),
			over(share, share, table.Num(b.share(l), table.TextStyle.In(table.Percent(1)))), over(verdict, wide, say)))
	}
	pg.heading = nil
}

// The verdicts on a load.
const (
	exemptText = "below the limits: confirm"
	overText   = "OVER: all rules of transport hold"
)
