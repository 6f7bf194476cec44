package export

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/scope"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// The sheets of an offer.
const (
	sheetOffer        = "Offer"
	sheetOfferRepairs = "Repairs"
)

// Offer writes the offer of a campaign as a workbook of its own, which may go to
// a client: what the bid is, without costs, suppliers or percentages.
func Offer(w io.Writer, p *estimate.Campaign, opt Options) error {
	return xlsx.Write(w, newOffer(p, opt).workbook())
}

// OfferOpen names what an offer leaves to be filled in by hand, and says whether
// it is a draft because invented figures are in it.
func OfferOpen(p *estimate.Campaign, opt Options) (open []string, draft bool) {
	f := newOffer(p, opt)
	for _, l := range f.facts() {
		if l.open && l.text == "" {
			open = append(open, l.name)
		}
	}
	return open, f.draft()
}

// offer is the workbook of an offer being made.
type offer struct {
	*book
	*leaf
	o *estimate.Offer
}

// Columns of the sheet Offer: number, what it is over two, quantity, unit, rate
// and amount.
var offerColumns = widths(8, 16, 36, 10, 9, 14, 16)

const offerWide = 7

func newOffer(p *estimate.Campaign, opt Options) *offer {
	f := &offer{book: newBook(p, opt, nil), o: p.Offer()}
	f.leaf = &leaf{name: sheetOffer, columns: offerColumns}
	return f
}

func (f *offer) workbook() *table.Workbook {
	set := &f.p.Catalog.Settings
	f.AddRow(table.Spread("Offer", look(table.Title), offerWide))
	f.AddRow(table.Spread(Notice, look(table.Caution), offerWide))
	if f.draft() {
		f.AddRow(table.Spread("DRAFT, not to be sent: prices, rates or texts of it are invented examples.", look(table.Caution), offerWide))
	}
	f.Blank(1)
	f.parties()
	f.schedule()
	f.aside()
	f.questions()
	f.leftOut()
	f.texts("Assumptions", "assumption", f.assumed)
	f.texts("Terms", "term", nil)
	f.heading("Cautions")
	for _, c := range Cautions {
		f.AddRow(table.Spread(c, look(table.Caution), offerWide))
	}
	f.signature()
	page := f.outward(false)
	page.Header.Left = "Offer " + legible(set.OfferNumber)
	s := f.leaf.sheet(page)
	s.Protected = true
	repairs := f.repairs()
	repairs.Page.Header.Left = page.Header.Left
	return &table.Workbook{
		Properties: table.Properties{
			Title: strings.TrimSpace("Offer " + legible(set.OfferNumber)), Subject: legible(set.Project), Description: Notice,
			Creator: cmp.Or(legible(set.Firm), "offer"), Created: f.printed, Keywords: runWord(f.opt.Run),
		},
		Sheets: []*table.Sheet{s, repairs},
	}
}

// draft reports whether invented figures or texts are in the offer.
func (f *offer) draft() bool { return len(f.p.Catalog.Invented) > 0 }

// offerFact is a line of the head of an offer.
type offerFact struct {
	name, text string
	open       bool // has to be filled in where it is blank
}

// facts are who offers what to whom, and of when its parts are.
func (f *offer) facts() []offerFact {
	set := &f.p.Catalog.Settings
	offered := set.OfferDay
	if offered == "" && !f.opt.Printed.IsZero() {
		offered = day(f.opt.Printed)
	}
	until := ""
	if d, err := time.Parse(time.DateOnly, offered); err == nil {
		until = day(d.AddDate(0, 0, set.ValidDays))
	}
	from, to := day(f.p.Dates.Need), day(f.p.Dates.End)
	work := ""
	if from != "" && to != "" {
		work = from + " to " + to
	}
	return []offerFact{
		{"Firm", set.Firm, true}, {"Address", set.FirmAddress, true}, {"Client", set.Client, true}, {"Project", set.Project, true},
		{"Offer number", set.OfferNumber, true}, {"Date of the offer", offered, true},
		{fmt.Sprintf("Valid until (%s)", countOf(set.ValidDays, "day", "days")), until, true},
		{"Date of the survey", set.SurveyDay, true}, {"Prices of", set.PricesDay, true},
		{"Work from, to", work, false}, {"Duration", countOf(f.p.Days, "working day", "working days"), false},
		{"Currency", f.p.Bid.Currency, false},
	}
}

func (f *offer) parties() {
	for _, l := range f.facts() {
		style := look(table.Plain).In(table.Literal)
		if l.open && l.text == "" {
			style = look(table.FillIn).In(table.Literal)
		} else if l.text == "" {
			continue
		}
		f.AddRow(rowOf(offerWide, over(1, 2, table.Text(l.name, look(table.Label))), over(3, offerWide, table.Text(legible(l.text), style.Wrapped()))))
	}
}

// offerLine is a line of the schedule.
type offerLine struct {
	no, text, unit string
	quantity       int
	rate, amount   decimal.Decimal
}

func (f *offer) offerTable() *table.Table[offerLine] {
	type col = table.Col[offerLine]
	cur, money := f.p.Bid.Currency, shown(table.Money(int(f.p.Bid.Minor)))
	t := table.NewTable[offerLine](sheetOffer)
	t.Add(col{Title: "No", Style: table.TextStyle, Cell: func(p pen, l offerLine) { p.Text(l.no) }})
	t.Add(col{Title: "Item", Style: table.WrapStyle, Span: 2, Cell: func(p pen, l offerLine) { p.Text(l.text) }, Foot: foot("Total before tax")})
	quantity := t.Add(col{Title: "Quantity", Style: table.IntStyle, Cell: func(p pen, l offerLine) { p.Int(l.quantity) }})
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, l offerLine) { p.Text(l.unit) }})
	rate := t.Add(col{Title: "Rate", Unit: cur, Style: money, Cell: func(p pen, l offerLine) { p.Dec(l.rate) }})
	t.Add(col{Title: "Amount", Unit: cur, Style: money, Sums: true, Cell: func(p pen, l offerLine) {
		p.Formula("ROUND(%v*%v,%d)", quantity, rate, f.p.Bid.Minor).Dec(l.amount)
	}})
	return t
}

// itemText names the repairs of an item.
func (f *offer) itemText(i *estimate.OfferItem) string {
	size := "pipe OD " + f.lengthText(i.OD)
	if i.Size != "" {
		size = "pipe size " + clip(i.Size, 12) + ", OD " + f.lengthText(i.OD)
	}
	text := fmt.Sprintf("%s, %s, %s", i.Kind, size, countOf(i.Layers, "layer", "layers"))
	if i.Provisional {
		text = "PROVISIONAL: " + text
	}
	return text
}

// itemNo is the number of the item in that place.
func (f *offer) itemNo(i int) string { return fmt.Sprint(i + 1 + f.onceLines()) }

// onceLines is 1 where something is charged once.
func (f *offer) onceLines() int {
	if f.o.Once.IsZero() {
		return 0
	}
	return 1
}

// schedule is the priced schedule with the totals.
func (f *offer) schedule() {
	f.heading("Priced schedule")
	f.note("Rates hold everything but tax. Items marked PROVISIONAL rest on an open question below: they are priced at the harder end of what the survey leaves open, and the rate is set anew when it is answered.")
	t := f.offerTable()
	var lines []offerLine
	if f.onceLines() > 0 {
		lines = append(lines, offerLine{"1", "Mobilisation, permits, papers and whatever else is charged once", "sum", 1, f.o.Once, f.o.Once})
	}
	for i := range f.o.Items {
		it := &f.o.Items[i]
		lines = append(lines, offerLine{f.itemNo(i), f.itemText(it), "repair", len(it.Jobs), it.Rate, it.Amount})
	}
	list(f.leaf, t, lines)
	net := f.Next()
	f.AddRow(t.Foot(table.Subtotal))
	last := func(text string, c table.Cell, l table.Look) {
		f.AddRow(rowOf(offerWide, over(1, offerWide-1, table.Text(text, look(l))), over(offerWide, offerWide, c)))
	}
	money := table.Money(int(f.p.Bid.Minor))
	for _, tax := range f.o.Taxes {
		last(legible(tax.Name), table.Dec(tax.Amount, look(table.Body).In(money)), table.Body)
	}
	sum := fmt.Sprintf("SUM(%s:%s)", cell(offerWide, net), cell(offerWide, f.Next()-1))
	last("Total with tax", table.FormulaDec(sum, f.o.Total, look(table.Total).In(money)), table.Total)
}

// aside are the provisional sums that are in no total.
func (f *offer) aside() {
	if len(f.o.Stopped) == 0 {
		return
	}
	f.Row(f.heading("Provisional sums, in no total above")).Break = true
	f.note("For work that is stopped by a question: at the rate of the dearest item like it. It is priced when the question is answered; until then it is neither offered nor done.")
	t := f.offerTable()
	var lines []offerLine
	for i, s := range f.o.Stopped {
		l := offerLine{no: fmt.Sprintf("P%d", i+1), quantity: s.Rows, unit: "repair", amount: s.Sum}
		if s.Like >= 0 {
			l.rate = f.o.Items[s.Like].Rate
		}
		if r := s.Repair; r != nil {
			l.text = fmt.Sprintf("PROVISIONAL: %s, %s, %s", r.ID, placeText(f.book, r), r.Kind())
		} else {
			l.text, l.unit = "PROVISIONAL: rows of the survey that could not be read far enough to make a repair of", "row"
		}
		if s.Like >= 0 {
			l.text += "; at the rate of item " + f.itemNo(s.Like)
		}
		lines = append(lines, l)
	}
	list(f.leaf, t, lines)
	row := t.Foot(table.Subtotal)
	row.Cells[1] = table.Text("Provisional sums", look(table.Subtotal))
	f.AddRow(row)
}

func placeText(b *book, r *scope.Repair) string {
	return fmt.Sprintf("line %s, %s", clip(lineName(r), 40), b.alongText(r))
}

// said is a line of a list of texts: what it is about, and the text.
type said struct{ about, text string }

func (f *offer) saidTable(about string) *table.Table[said] {
	type col = table.Col[said]
	t := table.NewTable[said](sheetOffer)
	t.Add(col{Title: about, Style: table.WrapStyle, Span: 2, Cell: func(p pen, s said) { p.Text(s.about) }})
	t.Add(col{Title: "", Style: table.WrapStyle, Span: offerWide - 2, Cell: func(p pen, s said) { p.Text(s.text) }})
	return t
}

// mostNames is how many repairs a line of an offer names.
const mostNames = 6

func names(ids []string) string {
	text := strings.Join(ids[:min(len(ids), mostNames)], ", ")
	if more := len(ids) - mostNames; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// questions are what the client has to answer.
func (f *offer) questions() {
	var list []said
	for _, q := range f.o.Open {
		text := q.Text
		if q.Ask != "" {
			text += " To answer: " + q.Ask + "."
		}
		list = append(list, said{names(q.Repairs), text})
	}
	at := f.Next() + 1
	section(f.leaf, "Open questions", f.saidTable("Repairs"), list, "None.")
	f.Row(at).Break = len(f.o.Stopped) == 0 // the schedule has its own pages
}

// leftOut are the exclusions: what of the survey is not in the price and why,
// and what the firm never includes.
func (f *offer) leftOut() {
	var rows []said
	for _, g := range f.o.LeftOut {
		s := said{about: "row " + cmp.Or(g.Row, "not named"), text: g.Reason}
		if r := g.Repair; r != nil {
			s.about = fmt.Sprintf("%s (rows %s)", r.ID, names(rowIDs(r)))
			s.text = placeText(f.book, r) + ": " + f.reason(r)
		}
		if g.Method {
			s.text += ". No answer brings it in: it needs another method."
		} else {
			s.text += ". It stays out until this is answered."
		}
		rows = append(rows, s)
	}
	if more := f.p.Survey.More; more > 0 {
		rows = append(rows, said{"", countOf(more, "further question", "further questions") + " of the survey not listed here"})
	}
	for _, by := range f.o.Filtered {
		rows = append(rows, said{countOf(by.Rows, "row", "rows"), "left out by the rule “" + clip(by.Rule, 120) + "”"})
	}
	rows = append(rows, f.terms("exclusion")...)
	section(f.leaf, "Exclusions", f.saidTable("What"), rows, "None.")
}

// terms are the firm's texts of a part.
func (f *offer) terms(part string) []said {
	var out []said
	for i := range f.p.Catalog.Terms {
		if t := &f.p.Catalog.Terms[i]; t.Part == part {
			out = append(out, said{t.Heading, t.Text})
		}
	}
	return out
}

// assumed are the assumptions of the survey and the repairs.
func (f *offer) assumed() []said {
	var out []said
	for _, a := range f.o.Assumptions {
		out = append(out, said{cmp.Or(a.Where, "survey"), a.Text})
	}
	return out
}

func (f *offer) texts(title, part string, first func() []said) {
	var rows []said
	if first != nil {
		rows = first()
	}
	section(f.leaf, title, f.saidTable("About"), append(rows, f.terms(part)...), "None.")
}

func (f *offer) signature() {
	f.Blank(2)
	line := table.Empty(look(table.FillIn))
	f.AddRow(rowOf(offerWide, over(1, 3, line), over(5, offerWide, line)))
	f.AddRow(rowOf(offerWide, over(1, 3, table.Text("place, date", look(table.Muted))), over(5, offerWide, table.Text("signature", look(table.Muted)))))
}

// offerRepair is a row of the list of repairs.
type offerRepair struct {
	*scope.Repair
	item, state string
}

// repairs lists every repair with the item that holds it.
func (f *offer) repairs() *table.Sheet {
	type col = table.Col[offerRepair]
	t := table.NewTable[offerRepair](sheetOfferRepairs)
	text := func(title string, width float64, of func(r offerRepair) string) {
		t.Add(col{Title: title, Width: width, Style: table.WrapStyle, Cell: func(p pen, r offerRepair) { p.Text(of(r)) }})
	}
	text("Repair", 8, func(r offerRepair) string { return r.ID })
	text("Area", 14, func(r offerRepair) string { return r.Area })
	text("Line", 16, func(r offerRepair) string { return r.Line })
	text("Where along it", 22, func(r offerRepair) string { return f.alongText(r.Repair) })
	text("Pipe", 24, func(r offerRepair) string { return f.pipeText(r.Repair) })
	text("Kind", 17, func(r offerRepair) string { return r.Kind() })
	text("Survey rows", 18, func(r offerRepair) string { return names(rowIDs(r.Repair)) })
	t.Add(col{Title: "Layers", Width: 8, Style: table.IntStyle, Cell: func(p pen, r offerRepair) {
		if r.Layers > 0 {
			p.Int(r.Layers)
		}
	}})
	t.Add(col{Title: "Item", Width: 7, Style: unitStyle, Cell: func(p pen, r offerRepair) { p.Text(r.item) }})
	text("In the price", 22, func(r offerRepair) string { return r.state })
	in := map[*scope.Repair]offerRepair{}
	for i := range f.o.Items {
		it := &f.o.Items[i]
		state := "yes"
		if it.Provisional {
			state = "PROVISIONAL"
		}
		for _, n := range it.Jobs {
			r := f.p.Jobs[n].Repair
			in[r] = offerRepair{r, f.itemNo(i), state}
		}
	}
	for i, s := range f.o.Stopped {
		if s.Repair != nil {
			in[s.Repair] = offerRepair{s.Repair, fmt.Sprintf("P%d", i+1), "no: provisional sum"}
		}
	}
	rows := make([]offerRepair, len(f.p.Repairs))
	for i, r := range f.p.Repairs {
		rows[i] = cmp.Or(in[r], offerRepair{r, "", "no: not by this method"})
	}
	l := newLeaf(sheetOfferRepairs, "Repairs of the offer", "Every repair with the item of the offer that holds it. "+Notice, t.Columns())
	l.Blank(1)
	list(l, t, rows)
	return l.headed(f.outward(true), 1)
}
