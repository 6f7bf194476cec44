package export

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/bid"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// Alternative is the same survey estimated with other settings.
type Alternative struct {
	Name     string
	Campaign *estimate.Campaign
}

// asGiven is what the campaign itself is called beside its alternatives.
const asGiven = "as given"

// side is a figure that is set side by side: a number, or words.
type side struct {
	name, unit string
	places     int
	number     func(p *estimate.Campaign) decimal.Decimal
	words      func(p *estimate.Campaign) string
}

// sides are the figures set side by side, in their order.
func sides(p *estimate.Campaign) []side {
	cur, minor := p.Bid.Currency, int(p.Bid.Minor)
	whole := func(of func(p *estimate.Campaign) int) func(*estimate.Campaign) decimal.Decimal {
		return func(p *estimate.Campaign) decimal.Decimal { return qty.Whole(of(p)) }
	}
	list := []side{
		{name: "wrap systems", words: wrapSystems},
		{name: "repairs estimated", number: whole(func(p *estimate.Campaign) int { return len(p.Jobs) })},
		{name: "rows not repairable", number: whole(func(p *estimate.Campaign) int { return p.Account.NotRepairable })},
		{name: "rows queried", number: whole(func(p *estimate.Campaign) int { return p.Account.Queried })},
		{name: "rolls of wrap issued", number: func(p *estimate.Campaign) decimal.Decimal {
			sum := 0.0
			for i := range p.Orders {
				n := &p.Orders[i].Need
				if n.Item.Kind == "wrap" {
					sum += n.Issued
				}
			}
			return qty.Decimal(sum)
		}},
		{name: "weight of the kits", unit: "kg", places: 1, number: func(p *estimate.Campaign) decimal.Decimal { return qty.Decimal(p.Mass) }},
		{name: "crews sent", number: whole(func(p *estimate.Campaign) int { return len(p.Crews) })},
		{name: "crew-shifts", number: whole(func(p *estimate.Campaign) int { return p.CrewShifts })},
		{name: "working days", number: whole(func(p *estimate.Campaign) int { return p.Days })},
		{name: "last day of the work", words: func(p *estimate.Campaign) string { return day(p.Dates.End) }},
		{name: "repairs late", number: whole(func(p *estimate.Campaign) int { return p.Late })},
		{name: "paid hours of all persons", unit: "h", places: 1, number: func(p *estimate.Campaign) decimal.Decimal { return qty.Decimal(p.Paid) }},
	}
	sum := func(name string, of func(b *bid.Bid) decimal.Decimal) side {
		return side{name: name, unit: cur, places: minor, number: func(p *estimate.Campaign) decimal.Decimal { return of(p.Bid) }}
	}
	for _, stage := range bid.Stages {
		list = append(list, sum(stage, func(b *bid.Bid) decimal.Decimal { return b.Stage(stage) }))
		switch stage {
		case lastDirect:
			list = append(list, sum("DIRECT COST", func(b *bid.Bid) decimal.Decimal { return b.Direct }))
		case lastNet:
			list = append(list, sum("BID BEFORE TAX", func(b *bid.Bid) decimal.Decimal { return b.Net }),
				sum("lower end of the range", func(b *bid.Bid) decimal.Decimal { return b.Low }), sum("upper end of the range", func(b *bid.Bid) decimal.Decimal { return b.High }))
		}
	}
	return append(list, sum("BID WITH TAX", func(b *bid.Bid) decimal.Decimal { return b.Total }))
}

// wrapSystems names the systems laid.
func wrapSystems(p *estimate.Campaign) string {
	return strings.Join(eachOnce(p.Jobs, func(j estimate.Job) string { return j.Repair.System }), "; ")
}

// changed are the settings in which an alternative differs, with the value there.
func changed(p, other *estimate.Campaign) []catalog.SettingRow {
	var out []catalog.SettingRow
	for _, row := range other.Catalog.SettingRows {
		i := slices.IndexFunc(p.Catalog.SettingRows, func(r catalog.SettingRow) bool { return r.Name == row.Name })
		if i < 0 || p.Catalog.SettingRows[i].Value != row.Value {
			out = append(out, row)
		}
	}
	return out
}

// settingOf is the value of a setting in force.
func settingOf(p *estimate.Campaign, name string) string {
	for _, r := range p.Catalog.SettingRows {
		if r.Name == name {
			return r.Value
		}
	}
	return ""
}

// changesText says what an alternative changes.
func changesText(p *estimate.Campaign, a Alternative) string {
	text := a.Name + ": " + cmp.Or(joined(changed(p, a.Campaign), ", ", func(row catalog.SettingRow) string {
		return fmt.Sprintf("%s %q in place of %q", row.Name, row.Value, settingOf(p, row.Name))
	}), "nothing is changed")
	if n, m := len(a.Campaign.Jobs), len(p.Jobs); n != m {
		text += fmt.Sprintf(". NOT THE SAME WORK: %s estimated in place of %d", countOf(n, "repair", "repairs"), m)
	}
	return text
}

// alternativesSheet sets the alternatives side by side, each with what it
// differs by.
func (d *desk) alternativesSheet() *table.Sheet {
	type col = table.Col[side]
	t := table.NewTable[side](sheetAlternatives)
	t.Add(col{Title: "Figure", Width: 26, Style: table.TextStyle, Cell: func(p pen, s side) { p.Text(s.name) }})
	t.Add(col{Title: "Unit", Width: 7, Style: unitStyle, Cell: func(p pen, s side) { p.Text(s.unit) }})
	value := func(name string, of *estimate.Campaign) table.Ref {
		return t.Add(col{Title: legible(name), Width: 18, Style: shown(table.Number(0)), Cell: func(p pen, s side) {
			if s.words != nil {
				p.As(table.WrapStyle).Text(s.words(of))
				return
			}
			p.In(table.Number(s.places)).Dec(s.number(of))
		}})
	}
	base := value(asGiven, d.p)
	for _, a := range d.opt.Alternatives {
		at := value(a.Name, a.Campaign)
		t.Add(col{Title: "Difference", Width: 14, Style: shown(table.Number(0)), Cell: func(p pen, s side) {
			if s.number != nil {
				p.In(table.Number(s.places)).Formula("%v-%v", at, base).Dec(s.number(a.Campaign).Sub(s.number(d.p)))
			}
		}})
	}
	l := newLeaf(sheetAlternatives, "Alternatives", "The same survey estimated with other settings, each a whole run: values, which do not follow changes in this workbook. The other sheets are of the estimate as given.", t.Columns())
	for _, a := range d.opt.Alternatives {
		l.note(legible(changesText(d.p, a)))
	}
	l.Blank(1)
	list(l, t, sides(d.p))
	return l.headed(d.page(true), 2)
}

// PrintAlternatives writes the same side by side as text.
func PrintAlternatives(out io.Writer, p *estimate.Campaign, others []Alternative) error {
	if len(others) == 0 {
		return nil
	}
	fmt.Fprintln(out, "alternatives, each the whole estimate again:")
	for _, a := range others {
		fmt.Fprintln(out, " ", changesText(p, a))
	}
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "\t\t%s\t", asGiven)
	for _, a := range others {
		fmt.Fprintf(tab, "%s\tdifference\t", a.Name)
	}
	fmt.Fprintln(tab)
	for _, s := range sides(p) {
		show := func(c *estimate.Campaign) string {
			if s.words != nil {
				return s.words(c)
			}
			return money(s.number(c), int32(s.places))
		}
		fmt.Fprintf(tab, "%s\t%s\t%s\t", s.name, s.unit, show(p))
		for _, a := range others {
			difference := ""
			if s.number != nil {
				difference = money(s.number(a.Campaign).Sub(s.number(p)), int32(s.places))
			}
			fmt.Fprintf(tab, "%s\t%s\t", show(a.Campaign), difference)
		}
		fmt.Fprintln(tab)
	}
	return tab.Flush()
}

// alternativesJSON is the same as data.
func alternativesJSON(p *estimate.Campaign, others []Alternative) any {
	type change struct {
		Name  string `json:"name"`
		Base  string `json:"base"`
		Value string `json:"value"`
	}
	type line struct {
		Name       string `json:"name"`
		Unit       string `json:"unit"`
		Base       any    `json:"base"`
		Value      any    `json:"value"`
		Difference any    `json:"difference,omitempty"`
	}
	out := []any{}
	for _, a := range others {
		changes, lines := []change{}, []line{}
		for _, row := range changed(p, a.Campaign) {
			changes = append(changes, change{row.Name, settingOf(p, row.Name), row.Value})
		}
		for _, s := range sides(p) {
			if s.words != nil {
				lines = append(lines, line{Name: s.name, Base: s.words(p), Value: s.words(a.Campaign)})
				continue
			}
			base, value := s.number(p), s.number(a.Campaign)
			lines = append(lines, line{s.name, s.unit, exact(base), exact(value), exact(value.Sub(base))})
		}
		out = append(out, map[string]any{"name": a.Name, "settings": changes, "figures": lines})
	}
	return out
}
