package estimate

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate/allot"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
)

// Allotment says who gets what of the store and of what comes. Kits are served in
// the order in which work on them begins; each gets what lasts to its own last day
// and the margin of order.expiry_margin.
type Allotment struct {
	Lots   []AllottedLot // of each item those in store in the order of the table, then what comes
	kits   [][]Portion   // alongside the jobs
	issues [][]Portion   // alongside the issues
}

// AllottedLot is a lot, and how much of it somebody gets.
type AllottedLot struct {
	StockLot
	UseBy time.Time // last day of use; zero: it keeps
	Left  LeftWhy   // why it is not for use, at all or beyond what is given
	Given decimal.Decimal
}

// LeftWhy says why a lot is not given to everybody.
type LeftWhy string

// The reasons.
const (
	LeftExpired LeftWhy = "expired" // before the store was counted
	LeftUnknown LeftWhy = "unknown" // it keeps only so long, and its last day or that of the use is not known
	LeftOffcut  LeftWhy = "offcut"  // cut by the cutting plans, not given whole
	LeftSoon    LeftWhy = "soon"    // it does not last to the end of the work
)

// Portion is what somebody gets of an item.
type Portion struct {
	Item     int // place in the catalogue
	Lot      int // place in Allotment.Lots; −1: neither there nor coming
	Quantity decimal.Decimal
	Cut      bool // a coil or sheet out of which pieces of the kit are cut
}

// Packing says whether a kit can be packed.
type Packing struct {
	Ready bool      // all of it is there
	From  time.Time // else the day from which it is; zero: not known
	Late  bool      // that is after the day on which work on it begins, or not known
	Lacks []Portion // what is not there, each item and lot once
}

// claim is what one of the takers asks for of an item.
type claim struct {
	job      int // whose turn it is
	kit      bool
	at       int   // job or issue
	cutFor   []int // jobs for which a coil or sheet is cut
	quantity decimal.Decimal
	last     time.Time
	shift    int
	start    float64
	item     int
}

// claims are what is asked for by kits, issues and cutting, by item and within it in
// the order of need.
func (m *means) claims(plan Plan, issues []Issue, cuts []CutList, dates Dates) map[int][]claim {
	out := map[int][]claim{}
	add := func(c claim) {
		j := &plan.Jobs[c.job]
		c.shift, c.start = j.Shift, j.Start
		out[c.item] = append(out[c.item], c)
	}
	for n := range plan.Jobs {
		j := &plan.Jobs[n]
		for _, u := range j.lines {
			if m.Items[u.item].Issue == "kit" && u.qty > 0 {
				add(claim{item: int(u.item), job: n, kit: true, at: n, quantity: qty.Decimal(u.qty), last: j.Done})
			}
		}
	}
	type turn struct{ crew, shift int }
	days, ends := map[turn]time.Time{}, map[int]time.Time{}
	for _, s := range plan.Shifts {
		days[turn{s.Crew, s.Shift}] = s.Date
		if s.Date.After(ends[s.Crew]) {
			ends[s.Crew] = s.Date
		}
	}
	for i, is := range issues {
		last := days[turn{is.Crew, is.Shift}]
		switch {
		case is.Crew == 0:
			last = dates.End
		case is.Shift == 0:
			last = ends[is.Crew]
		}
		if is.Qty > 0 {
			add(claim{item: is.Item, job: is.With, at: i, quantity: qty.Decimal(is.Qty), last: last})
		}
	}
	for l := range cuts {
		for _, c := range m.cutClaims(&cuts[l], plan.Jobs) {
			add(c)
		}
	}
	for item := range out {
		slices.SortStableFunc(out[item], func(a, b claim) int {
			return cmp.Or(cmp.Compare(a.shift, b.shift), cmp.Compare(a.start, b.start), cmp.Compare(a.job, b.job))
		})
	}
	return out
}

// cutClaims are the coils or sheets of a cutting plan, each needed when the first
// kit that gets a piece of it is, or that a spare goes out with; those that only the
// reserve is cut from come with the last kit.
func (m *means) cutClaims(cl *CutList, jobs []Job) (out []claim) {
	earlier := func(a, b int) bool {
		return cmp.Or(cmp.Compare(jobs[a].Shift, jobs[b].Shift), cmp.Compare(jobs[a].Start, jobs[b].Start), cmp.Compare(a, b)) < 0
	}
	cutFor, waits := map[int][]int{}, map[int][]int{} // jobs, by the number of the coil
	for _, at := range cl.places {
		if !slices.Contains(waits[at.Coil], at.Job) {
			waits[at.Coil] = append(waits[at.Coil], at.Job)
		}
		if at.Spare == 0 && !slices.Contains(cutFor[at.Coil], at.Job) {
			cutFor[at.Coil] = append(cutFor[at.Coil], at.Job)
		}
	}
	last := 0
	for n := range jobs {
		if earlier(last, n) {
			last = n
		}
	}
	for i, stock := range cl.numbered() {
		item := m.Position(cl.Items[stock])
		if cl.Lots[stock] != "" || item < 0 {
			continue // an offcut is there
		}
		c := claim{item: item, job: last, at: -1, cutFor: cutFor[i+1], quantity: decimal.NewFromInt(1)}
		slices.Sort(c.cutFor)
		slices.Sort(waits[i+1])
		for k, n := range waits[i+1] {
			if k == 0 || earlier(n, c.job) {
				c.job = n
			}
			if jobs[n].Done.After(c.last) {
				c.last = jobs[n].Done
			}
		}
		out = append(out, c)
	}
	return out
}

// numbered are the coils or sheets used, in the order of their numbers: the place
// of each among the stock of the plan.
func (cl *CutList) numbered() (stock []int) {
	add := func(at, count int) {
		for range count {
			stock = append(stock, at)
		}
	}
	if cl.Linear != nil {
		for _, p := range cl.Linear.Patterns {
			add(p.Stock, p.Count)
		}
		return stock
	}
	for _, lay := range cl.Sheets.Layouts {
		add(lay.Sheet, lay.Count)
	}
	return stock
}

// share serves the claims on one item from lots, and checks it.
func (m *means) share(claims []claim, lots []AllottedLot) ([]allot.Part, error) {
	needs, have := make([]allot.Need, len(claims)), make([]allot.Lot, len(lots))
	for i, c := range claims {
		needs[i] = allot.Need{Quantity: c.quantity, Last: c.last}
	}
	for i := range lots {
		l := &lots[i]
		have[i] = allot.Lot{Quantity: l.Quantity, Here: l.Source.Here(), First: l.Source == IssuedOut, Comes: l.Comes}
		if !l.UseBy.IsZero() {
			have[i].Until = l.UseBy.AddDate(0, 0, -m.Settings.ExpiryMargin)
		}
		if l.Source == StillToCome { // judged as when it was called off: to the day of use
			have[i].Until = l.UseBy
		}
		if l.Left != "" && l.Left != LeftSoon {
			have[i].Quantity = decimal.Zero
		}
	}
	parts := allot.Share(needs, have)
	return parts, allot.Check(needs, have, parts)
}

// lotsAt are the whole lots of an item that are there or on order, by their places
// in the store.
func (m *means) lotsAt(item string, dates Dates) (at []int, lots []AllottedLot) {
	rule := m.orderRule(dates)
	for i := range m.store {
		if m.store[i].Item != item {
			continue
		}
		l := AllottedLot{StockLot: m.store[i]}
		known := false
		l.UseBy, known = l.Lot.UseBy()
		switch required := rule.StockMustLast(); {
		case l.Length > 0:
			l.Left = LeftOffcut
		case known && !l.UseBy.IsZero() && rule.IsExpired(l.UseBy):
			l.Left = LeftExpired
		case !known, !l.UseBy.IsZero() && required.IsZero():
			l.Left = LeftUnknown
		case !l.UseBy.IsZero() && l.UseBy.Before(required):
			l.Left = LeftSoon
		}
		at, lots = append(at, i), append(lots, l)
	}
	return at, lots
}

// judged is the store with how much of the lots that expire before the work ends is
// used before they do, so that the order is less by as much as kits get of them.
func (m *means) judged(plan Plan, issues []Issue, dates Dates) []StockLot {
	store := slices.Clone(m.store)
	var claims map[int][]claim
	for i := range m.Items {
		at, lots := m.lotsAt(m.Items[i].Code, dates)
		if !slices.ContainsFunc(lots, func(l AllottedLot) bool { return l.Left == LeftSoon }) {
			continue
		}
		if claims == nil {
			claims = m.claims(plan, issues, nil, dates)
		}
		// What is at hand before what is to come; of that, what lasts too short a time for some.
		here := lots[:0:0]
		var from []int
		for k, l := range lots {
			if l.Source.Here() || l.Left == LeftSoon {
				here, from = append(here, l), append(from, at[k])
			}
		}
		parts, err := m.share(claims[i], here)
		if err != nil {
			continue // told by allot, which makes it again
		}
		for _, p := range parts {
			if l := &store[from[p.Lot]]; here[p.Lot].Left == LeftSoon {
				l.Fit = l.Fit.Add(p.Quantity)
			}
		}
		for _, k := range from {
			if l := &store[k]; !l.Source.Here() && l.Fit.IsPositive() { // called off with the allowance for growth, spread as the use
				l.Fit = l.Fit.Mul(decimal.NewFromInt(1).Add(qty.Decimal(m.Settings.Growth).Shift(-2))).Ceil()
			}
		}
	}
	return store
}

// allot shares out what is there and what comes, of all items.
func (m *means) allot(plan Plan, issues []Issue, bought purchase, dates Dates) (*Allotment, error) {
	if !m.knowsStore() {
		return nil, nil
	}
	a := &Allotment{kits: make([][]Portion, len(plan.Jobs)), issues: make([][]Portion, len(issues))}
	claims := m.claims(plan, issues, bought.cuts, dates)
	ordered := map[int]*ItemOrder{}
	for i := range bought.orders {
		ordered[bought.orders[i].Need.Position] = &bought.orders[i]
	}
	for i := range m.Items {
		_, lots := m.lotsAt(m.Items[i].Code, dates)
		if o := ordered[i]; o != nil {
			lots = append(lots, m.toOrder(o)...)
		}
		parts, err := m.share(claims[i], lots)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", m.Items[i].Code, err) // nobody packs by an allotment that was not gone through twice
		}
		open := make([]decimal.Decimal, len(claims[i]))
		for k, c := range claims[i] {
			open[k] = c.quantity
		}
		for _, p := range parts {
			lots[p.Lot].Given = lots[p.Lot].Given.Add(p.Quantity)
			open[p.Need] = open[p.Need].Sub(p.Quantity)
			a.give(&claims[i][p.Need], Portion{Item: i, Lot: len(a.Lots) + p.Lot, Quantity: p.Quantity})
		}
		for k, q := range open {
			if q.IsPositive() {
				a.give(&claims[i][k], Portion{Item: i, Lot: -1, Quantity: q})
			}
		}
		a.Lots = append(a.Lots, lots...)
	}
	return a, nil
}

// give hands a portion to whoever claims it.
func (a *Allotment) give(c *claim, p Portion) {
	switch {
	case c.at < 0:
		p.Cut = true
		for _, n := range c.cutFor {
			a.kits[n] = append(a.kits[n], p)
		}
	case c.kit:
		a.kits[c.at] = append(a.kits[c.at], p)
	default:
		a.issues[c.at] = append(a.issues[c.at], p)
	}
}

// toOrder are the deliveries of an order as lots to come: on the days for which
// they are called off, or where today is known, no sooner than they can be there.
func (m *means) toOrder(o *ItemOrder) (out []AllottedLot) {
	rule := m.orderRule(m.dates)
	for _, d := range o.Deliveries {
		line := &o.Lines[d.Line]
		day, offer := d.Day, o.Offers[line.Offer]
		if !day.IsZero() && !m.given.Today.IsZero() {
			terms := m.termsOf(offer.Supplier)
			soonest := rule.Arrival(&order.Offer{WorkingDays: terms.WorkingDays, Closed: terms.Closed, LeadDays: offer.LeadDays}, m.given.Today)
			if soonest.After(day) {
				day = soonest
			}
		}
		out = append(out, AllottedLot{StockLot: StockLot{
			Item: o.Need.Item.Code, Lot: order.Lot{Quantity: line.PackQuantity.Mul(qty.Whole(d.Packs))}, Source: ToBeOrdered, From: line.Supplier, Comes: day,
		}})
	}
	return out
}

// Kit is what the kit of the n-th job gets, in the order of the catalogue's items.
func (a *Allotment) Kit(n int) []Portion { return a.kits[n] }

// Issue is what the i-th issue gets.
func (a *Allotment) Issue(i int) []Portion { return a.issues[i] }

// Packing says whether the kit of a job can be packed, and what it lacks.
func (a *Allotment) Packing(n int, job *Job) Packing {
	p := Packing{Ready: true}
	known := true
	for _, x := range a.kits[n] {
		if x.Lot >= 0 && a.Lots[x.Lot].Source.Here() {
			continue
		}
		p.Ready = false
		if x.Lot < 0 || a.Lots[x.Lot].Comes.IsZero() {
			known = false
		} else if c := a.Lots[x.Lot].Comes; c.After(p.From) {
			p.From = c
		}
		if at := slices.IndexFunc(p.Lacks, func(y Portion) bool { return y.Item == x.Item && y.Lot == x.Lot && y.Cut == x.Cut }); at >= 0 {
			p.Lacks[at].Quantity = p.Lacks[at].Quantity.Add(x.Quantity)
		} else {
			p.Lacks = append(p.Lacks, x)
		}
	}
	if !known {
		p.From = time.Time{}
	}
	p.Late = !p.Ready && (p.From.IsZero() || !job.Begun.IsZero() && p.From.After(job.Begun))
	return p
}
