package export

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/scope"
	"wraptally/export/audit"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// Printed reads the figures that the JSON of a run holds, whichever version of
// this program wrote it, and that version.
func Printed(from io.Reader) (m *estimate.Measured, program string, err error) {
	m = &estimate.Measured{}
	type number struct {
		Value decimal.Decimal `json:"value"`
		Unit  string          `json:"unit"`
	}
	var bid struct {
		Direct, Total number
		Net           number `json:"before_tax"`
		Shifts        number `json:"crew_shifts"`
		Lines         []struct {
			Code, Name string
			Amount     number
		}
	}
	var orders []struct {
		Item, Name string
		Issued     number
		Lines      []struct {
			Packs number
			Cost  number `json:"cost_base"`
		}
	}
	var repairs []struct{ Status string }
	err = audit.Parts(from, func(key string, d *json.Decoder) (bool, error) {
		into := map[string]any{"program": &program, "bid": &bid, "order": &orders, "repairs": &repairs}[key]
		if into == nil {
			return true, audit.Skip(d)
		}
		return true, d.Decode(into)
	})
	if err != nil {
		return nil, "", fmt.Errorf("the JSON is damaged: %w", err)
	}
	estimated := 0
	for _, r := range repairs {
		if r.Status == string(scope.Estimated) {
			estimated++
		}
	}
	m.Put(estimate.RepairsMeasure, decimal.NewFromInt(int64(estimated)))
	m.Put(estimate.ShiftsMeasure, bid.Shifts.Value)
	cur := bid.Total.Unit
	for _, l := range bid.Lines {
		m.Put(estimate.BidMeasure(l.Code, l.Name, cur), l.Amount.Value)
	}
	m.Put(estimate.DirectMeasure.In(cur), bid.Direct.Value)
	m.Put(estimate.NetMeasure.In(cur), bid.Net.Value)
	m.Put(estimate.TotalMeasure.In(cur), bid.Total.Value)
	for _, o := range orders {
		issued, packs, cost := estimate.ItemMeasures(o.Item, o.Name, o.Issued.Unit, cur)
		m.Put(issued, o.Issued.Value)
		m.Put(packs, decimal.Zero)
		m.Put(cost, decimal.Zero)
		for _, l := range o.Lines {
			m.Put(packs, l.Packs.Value)
			m.Put(cost, l.Cost.Value)
		}
	}
	return m, program, nil
}

// decimalsIn is how many decimals a change is shown with.
func decimalsIn(p *estimate.Campaign, c estimate.Change) int32 {
	if c.Unit == p.Bid.Currency {
		return p.Bid.Minor
	}
	most := int32(0)
	for _, v := range append([]decimal.Decimal{c.Old, c.New}, c.By...) {
		most = max(most, min(3, -v.Exponent()))
	}
	return most
}

// changesIn is the changes whose keys begin so.
func changesIn(c *estimate.Comparison, prefixes ...string) (out []estimate.Change) {
	for _, ch := range c.Changes {
		if slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(ch.Key, p) }) {
			out = append(out, ch)
		}
	}
	return out
}

// bridgeOf is the change of the bid before tax; ok is false where it is the same.
func bridgeOf(c *estimate.Comparison) (estimate.Change, bool) {
	i := slices.IndexFunc(c.Changes, func(ch estimate.Change) bool { return ch.Key == estimate.NetMeasure.Key })
	if i < 0 {
		return estimate.Change{}, false
	}
	return c.Changes[i], true
}

// bridgeText is the way from the old bid to the new on one line.
func bridgeText(c *estimate.Comparison, bid estimate.Change) string {
	n := decimalsIn(c.New, bid)
	text := fmt.Sprintf("%s from %s to %s: %s", withUnitOf(bid), money(bid.Old, n), money(bid.New, n), signedAmount(bid.New.Sub(bid.Old), n))
	sign := " = "
	for k, by := range bid.By {
		if !by.IsZero() {
			digits := n
			if !by.Equal(by.Round(n)) { // a mean of two may end in half of the least unit
				digits++
			}
			text += fmt.Sprintf("%s%s (%s)", sign, signedAmount(by, digits), c.Causes[k])
			sign = " "
		}
	}
	return text
}

// splitNote says how differences are split by cause.
const splitNote = "Each difference is split by its causes: what changes when the new is put in the place of the old one cause after the other, the mean of their order and of the reverse of it, each time with the whole estimate made again. The causes add up to the difference exactly."

// packsChanged is what is to be ordered more of, and what is too much.
func packsChanged(c *estimate.Comparison) (out []estimate.Change) {
	for _, ch := range changesIn(c, "item/") {
		if strings.HasSuffix(ch.Key, "/packs") && !ch.Old.Equal(ch.New) {
			out = append(out, ch)
		}
	}
	return out
}

// notKept are the repairs that are not as they were.
func notKept(c *estimate.Comparison) []estimate.RepairChange {
	return slices.DeleteFunc(slices.Clone(c.Repairs), func(r estimate.RepairChange) bool { return r.What == estimate.RepairKept })
}

func namesOf(list []*scope.Repair) string {
	return joined(list, ", ", func(r *scope.Repair) string { return r.ID })
}

// PrintComparison writes a comparison as text.
func PrintComparison(out io.Writer, c *estimate.Comparison) error {
	fmt.Fprintln(out, Notice)
	if len(c.Changes) == 0 && c.Kept == len(c.Repairs) {
		_, err := fmt.Fprintf(out, "nothing differs: %s as they were\n", countOf(c.Kept, "repair", "repairs"))
		return err
	}
	fmt.Fprintf(out, "repairs: %s\n", fates(c))
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, r := range notKept(c) {
		fmt.Fprintf(tab, "  %s\t%s\t%s\n", r.What, namesOf(r.Old)+" → "+namesOf(r.New), repairSays(r))
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out, splitNote)
	if bid, differs := bridgeOf(c); differs {
		fmt.Fprintln(out, bridgeText(c, bid))
	}
	write := func(title string, list []estimate.Change) error {
		if len(list) == 0 {
			return nil
		}
		tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
		fmt.Fprintf(tab, "%s\told\tnew\tdifference\t", title)
		for _, cause := range c.Causes {
			fmt.Fprintf(tab, "%s\t", cause)
		}
		fmt.Fprintln(tab)
		for _, ch := range list {
			n := decimalsIn(c.New, ch)
			fmt.Fprintf(tab, "%s\t%s\t%s\t%s\t", withUnitOf(ch), money(ch.Old, n), money(ch.New, n), signedAmount(ch.New.Sub(ch.Old), n))
			for _, by := range ch.By {
				fmt.Fprintf(tab, "%s\t", signedAmount(by, n))
			}
			fmt.Fprintln(tab)
		}
		return tab.Flush()
	}
	if err := write("campaign and bid", changesIn(c, "campaign/", "bid/", "bid-sum/")); err != nil {
		return err
	}
	var more, less []string
	for _, ch := range packsChanged(c) {
		name := strings.TrimSuffix(ch.Name, ", packs ordered")
		if d := ch.New.Sub(ch.Old); d.IsNegative() {
			less = append(less, packCount(d.Neg())+" of "+name)
		} else {
			more = append(more, packCount(d)+" of "+name)
		}
	}
	tell := func(title string, list []string) {
		if len(list) > 0 {
			fmt.Fprintf(out, "%s\n  %s\n", title, strings.Join(list, "\n  "))
		}
	}
	tell("order more:", more)
	tell("too much, where the old order is placed:", less)
	return nil
}

func packCount(d decimal.Decimal) string { return countOf(int(d.IntPart()), "pack", "packs") }

func withUnitOf(ch estimate.Change) string {
	if ch.Unit == "" {
		return ch.Name
	}
	return ch.Name + ", " + ch.Unit
}

// signedAmount writes a difference with its sign; nothing where it is none.
func signedAmount(d decimal.Decimal, n int32) string {
	switch d.Sign() {
	case 0:
		return "0"
	case 1:
		return "+" + money(d, n)
	}
	return "−" + money(d.Neg(), n)
}

// fates counts what became of the repairs.
func fates(c *estimate.Comparison) string {
	count := map[string]int{}
	for _, r := range c.Repairs {
		count[r.What]++
	}
	var parts []string
	for _, what := range []string{estimate.RepairKept, estimate.RepairNew, estimate.RepairDone, estimate.RepairGone, estimate.RepairGrown, estimate.RepairSmaller, estimate.RepairJoined, estimate.RepairParted, estimate.RepairMoved, estimate.RepairChanged} {
		if count[what] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[what], what))
		}
	}
	return strings.Join(parts, ", ")
}

// repairSays is what changed of repairs.
func repairSays(c estimate.RepairChange) string {
	if len(c.Old) != 1 || len(c.New) != 1 {
		return ""
	}
	a, b := c.Old[0], c.New[0]
	var parts []string
	add := func(name, unit string, before, after float64) {
		if math.Abs(before-after) > 1e-6 {
			parts = append(parts, strings.TrimSpace(fmt.Sprintf("%s %s to %s %s", name, trimmed(before, 2), trimmed(after, 2), unit)))
		}
	}
	if a.Status != b.Status {
		parts = append(parts, fmt.Sprintf("%s, was %s", b.Status, a.Status))
	}
	add("layers", "", float64(a.Layers), float64(b.Layers))
	add("length", "mm", a.Length, b.Length)
	add("from", "m", a.From/1000, b.From/1000)
	add("wall", "mm", a.Wall, b.Wall)
	if a.Pressure.OK && b.Pressure.OK {
		add("pressure", "MPa", a.Pressure.V, b.Pressure.V)
	}
	area := map[bool]string{false: "not hazardous", true: "hazardous"}
	for _, w := range [][3]string{{"way of access", a.Access, b.Access}, {"surface", string(a.Surface), string(b.Surface)}, {"area", area[a.Hazardous], area[b.Hazardous]}} {
		if w[1] != w[2] {
			parts = append(parts, fmt.Sprintf("%s %s, was %s", w[0], w[2], w[1]))
		}
	}
	return strings.Join(parts, "; ")
}

// ComparisonJSON writes a comparison as data; amounts are exact.
func ComparisonJSON(w io.Writer, c *estimate.Comparison) error {
	type change struct {
		Key        string                 `json:"key"`
		Name       string                 `json:"name"`
		Unit       string                 `json:"unit"`
		Old        json.Number            `json:"old"`
		New        json.Number            `json:"new"`
		Difference json.Number            `json:"difference"`
		By         map[string]json.Number `json:"by"`
	}
	type repair struct {
		What string `json:"what"`
		Old  []any  `json:"old"`
		New  []any  `json:"new"`
		Says string `json:"says,omitempty"`
	}
	id := func(r *scope.Repair) any { return r.ID }
	out := struct {
		Schema  string   `json:"schema"`
		Notice  string   `json:"notice"`
		Split   string   `json:"split"`
		Causes  []string `json:"causes"`
		Kept    int      `json:"kept"`
		Repairs []repair `json:"repairs"`
		Changes []change `json:"changes"`
	}{Schema: "wraptally.comparison/1", Notice: Notice, Split: splitNote, Causes: []string{}, Kept: c.Kept, Repairs: []repair{}, Changes: []change{}}
	for _, cause := range c.Causes {
		out.Causes = append(out.Causes, string(cause))
	}
	for _, r := range notKept(c) {
		out.Repairs = append(out.Repairs, repair{r.What, listed(r.Old, id), listed(r.New, id), repairSays(r)})
	}
	for _, ch := range c.Changes {
		by := map[string]json.Number{}
		for k, v := range ch.By {
			by[string(c.Causes[k])] = exact(v)
		}
		out.Changes = append(out.Changes, change{ch.Key, ch.Name, ch.Unit, exact(ch.Old), exact(ch.New), exact(ch.New.Sub(ch.Old)), by})
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", " ")
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}

// Comparison writes a comparison as a workbook.
func Comparison(w io.Writer, c *estimate.Comparison, opt Options) error {
	b := newBook(c.New, opt, nil)
	return xlsx.Write(w, b.bind("Comparison of two runs", b.bridgeSheet(c), b.changesSheet(c), b.fatesSheet(c), b.orderMoreSheet(c)))
}

// The sheets of a comparison.
const (
	sheetBridge  = "Bridge"
	sheetChanges = "By cause"
	sheetFates   = "Repairs"
	sheetMore    = "Order more"
)

// bridgeStep is a bar of the way from the old bid to the new: an end, or a cause.
type bridgeStep struct {
	name string
	by   decimal.Decimal
	end  bool
}

// bridgeSheet is the way from the old bid before tax to the new one, with its
// picture.
func (b *book) bridgeSheet(c *estimate.Comparison) *table.Sheet {
	type col = table.Col[bridgeStep]
	cur, minor := b.p.Bid.Currency, int(b.p.Bid.Minor)
	bid, differs := bridgeOf(c)
	if !differs {
		bid = estimate.Change{Old: c.Old.Bid.Net, New: c.New.Bid.Net}
	}
	steps := []bridgeStep{{"old bid before tax", bid.Old, true}}
	for k, by := range bid.By {
		steps = append(steps, bridgeStep{string(c.Causes[k]), by, false})
	}
	steps = append(steps, bridgeStep{"new bid before tax", bid.New, true})
	t := table.NewTable[bridgeStep](sheetBridge)
	format := table.Number(minor)
	total, hidden := decimal.Zero, []decimal.Decimal{}
	for _, s := range steps {
		if s.end {
			total = s.by
			hidden = append(hidden, decimal.Zero)
			continue
		}
		hidden = append(hidden, decimal.Min(total, total.Add(s.by)))
		total = total.Add(s.by)
	}
	row := func(p pen) int { return p.Row() - t.First() }
	name := t.Add(col{Title: "From the old run to the new", Width: 34, Style: table.TextStyle, Cell: func(p pen, s bridgeStep) { p.Text(s.name) }})
	amount := t.Add(col{Title: "Amount, " + cur, Width: 18, Style: shown(format), Cell: func(p pen, s bridgeStep) { p.Dec(s.by) }})
	var running table.Ref
	sum := decimal.Zero
	running = t.Add(col{Title: "Running total, " + cur, Width: 18, Style: shown(format), Cell: func(p pen, s bridgeStep) {
		switch {
		case row(p) == 0:
			sum = s.by
			p.Formula("%v", amount).Dec(sum)
		case s.end:
			p.Formula("%s", running.In(p.Row()-1).String()).Dec(sum)
		default:
			sum = sum.Add(s.by)
			p.Formula("%s+%v", running.In(p.Row()-1).String(), amount).Dec(sum)
		}
	}})
	under := t.Add(col{Title: "Drawn from", Width: 14, Style: shown(format), Cell: func(p pen, s bridgeStep) { p.Dec(hidden[row(p)]) }})
	bar := t.Add(col{Title: "Bar", Width: 14, Style: shown(format), Cell: func(p pen, s bridgeStep) { p.Formula("ABS(%v)", amount).Dec(s.by.Abs()) }})
	l := newLeaf(sheetBridge, "Comparison", "The bid before tax of two runs of the campaign and why they differ. "+splitNote, t.Columns())
	l.AddRow(table.Spread(Notice, look(table.Caution), len(l.columns)))
	l.AddRow(table.Spread("Repairs: "+fates(c)+".", look(table.Plain), len(l.columns)))
	l.Blank(1)
	list(l, t, steps)
	l.Blank(2)
	at := l.Next()
	s := l.headed(b.page(true), 0)
	s.Charts = []table.Chart{{
		At: table.At{Column: 1, Row: at}, WidthMM: 190, HeightMM: 66, Stacked: true, Title: "From the old bid before tax to the new", ValueTitle: cur, Values: table.Number(0),
		Alt: "bars from the old bid over its causes to the new bid",
		Series: []table.Series{
			{Name: under.Head(), Categories: name.All(), Numbers: under.All(), Unseen: true},
			{Name: bar.Head(), Categories: name.All(), Numbers: bar.All()},
		},
	}}
	return s
}

// changesSheet is every figure that differs, by cause.
func (b *book) changesSheet(c *estimate.Comparison) *table.Sheet {
	type col = table.Col[estimate.Change]
	t := table.NewTable[estimate.Change](sheetChanges)
	number := func(title string, of func(ch estimate.Change) decimal.Decimal) table.Ref {
		return t.Add(col{Title: legible(title), Width: 15, Style: shown(table.Number(2)), Cell: func(p pen, ch estimate.Change) {
			p.In(table.Number(int(decimalsIn(b.p, ch)))).Dec(of(ch))
		}})
	}
	t.Add(col{Title: "Figure", Width: 40, Style: table.WrapStyle, Cell: func(p pen, ch estimate.Change) { p.Text(ch.Name) }})
	t.Add(col{Title: "Unit", Width: 8, Style: unitStyle, Cell: func(p pen, ch estimate.Change) { p.Text(ch.Unit) }})
	old := number("Old", func(ch estimate.Change) decimal.Decimal { return ch.Old })
	now := number("New", func(ch estimate.Change) decimal.Decimal { return ch.New })
	difference := t.Add(col{Title: "Difference", Width: 15, Style: shown(table.Number(2)), Cell: func(p pen, ch estimate.Change) {
		p.In(table.Number(int(decimalsIn(b.p, ch)))).Formula("%v-%v", now, old).Dec(ch.New.Sub(ch.Old))
	}})
	var first, last table.Ref
	for k, cause := range c.Causes {
		last = number(string(cause), func(ch estimate.Change) decimal.Decimal { return ch.By[k] })
		if k == 0 {
			first = last
		}
	}
	l := newLeaf(sheetChanges, "Differences by cause", splitNote, nil)
	if len(c.Causes) > 0 {
		t.Add(col{Title: "Causes", Width: 14, Style: table.TextStyle, Cell: func(p pen, ch estimate.Change) {
			l.verdict(p, decimal.Sum(decimal.Zero, ch.By...).Equal(ch.New.Sub(ch.Old)), fmt.Sprintf("ABS(SUM(%s:%s)-%s)<0.000001", first.In(p.Row()), last.In(p.Row()), difference.In(p.Row())), addsUp, doesNotAdd)
		}})
	}
	l.columns = t.Columns()
	l.Blank(1)
	list(l, t, c.Changes)
	return l.headed(b.page(true), 1)
}

// fatesSheet is what became of each repair that is not as it was.
func (b *book) fatesSheet(c *estimate.Comparison) *table.Sheet {
	type col = table.Col[estimate.RepairChange]
	t := table.NewTable[estimate.RepairChange](sheetFates)
	text := func(title string, width float64, of func(r estimate.RepairChange) string) {
		t.Add(col{Title: title, Width: width, Style: table.WrapStyle, Cell: func(p pen, r estimate.RepairChange) { p.Text(of(r)) }})
	}
	text("What became\nof it", 12, func(r estimate.RepairChange) string { return r.What })
	text("Old", 28, func(r estimate.RepairChange) string { return namesOf(r.Old) })
	text("New", 28, func(r estimate.RepairChange) string { return namesOf(r.New) })
	text("Difference", 60, repairSays)
	l := newLeaf(sheetFates, "Repairs", fmt.Sprintf("Repairs that are not as they were; %s.", countOf(c.Kept, "is", "are")+" as before"), t.Columns())
	l.Blank(1)
	list(l, t, notKept(c))
	return l.headed(b.page(true), 0)
}

// orderMoreSheet is what is to be ordered more of, and what is too much.
func (b *book) orderMoreSheet(c *estimate.Comparison) *table.Sheet {
	type col = table.Col[estimate.Change]
	t := table.NewTable[estimate.Change](sheetMore)
	t.Add(col{Title: "Item", Width: 46, Style: table.WrapStyle, Cell: func(p pen, ch estimate.Change) { p.Text(strings.TrimSuffix(ch.Name, ", packs ordered")) }})
	old := t.Add(col{Title: "Packs\nold", Width: 10, Style: table.IntStyle, Cell: func(p pen, ch estimate.Change) { p.Dec(ch.Old) }})
	now := t.Add(col{Title: "Packs\nnew", Width: 10, Style: table.IntStyle, Cell: func(p pen, ch estimate.Change) { p.Dec(ch.New) }})
	t.Add(col{Title: "Order\nmore", Width: 10, Style: table.IntStyle, Cell: func(p pen, ch estimate.Change) {
		p.Formula("MAX(0,%v-%v)", now, old).Dec(decimal.Max(decimal.Zero, ch.New.Sub(ch.Old)))
	}})
	t.Add(col{Title: "Too\nmuch", Width: 10, Style: table.IntStyle, Cell: func(p pen, ch estimate.Change) {
		p.Formula("MAX(0,%v-%v)", old, now).Dec(decimal.Max(decimal.Zero, ch.Old.Sub(ch.New)))
	}})
	l := newLeaf(sheetMore, "Order more", "Packs of the two orders. What is too much matters where the old order is placed; what is on order is best kept in a table of movements (buy --moves).", t.Columns())
	l.Blank(1)
	section(l, "Items", t, packsChanged(c), "The same packs are ordered.")
	return l.headed(b.page(false), 0)
}
