package estimate

import (
	"cmp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate/bid"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Offer is the bid as a client may see it: priced items that hold everything up
// to the bid before tax, and what is open or left out. It names no cost, no
// supplier and no percentage but that of a tax.
type Offer struct {
	Once  decimal.Decimal // what is charged once, with what rounding the rates leaves
	Items []OfferItem     // the firm ones first
	Net   decimal.Decimal // Once and all Items
	Taxes []OfferTax
	Total decimal.Decimal

	Stopped  []OfferSum // provisional, in no total
	LeftOut  []OfferGap
	Filtered []survey.FilterCount // rows that a rule of the user left out

	Assumptions []trace.Assumption // of the survey and the repairs
	Open        []OfferQuestion    // whose answers may change an item
}

// OfferItem is repairs of one kind, size of pipe and number of layers.
type OfferItem struct {
	Kind        string
	OD          float64 // mm
	Size        string
	Layers      int
	Provisional bool // priced at the harder end of what is not answered
	Jobs        []int
	bid.Priced
}

// OfferTax is a tax on the offer.
type OfferTax struct {
	Name   string
	Amount decimal.Decimal
}

// OfferSum is what is set aside for work that is not estimated.
type OfferSum struct {
	Repair *scope.Repair // nil for rows of which no repair could be made
	Rows   int           // repairs, or rows where there is none
	Like   int           // place of the item whose rate is taken, −1 where there is none
	Sum    decimal.Decimal
}

// OfferGap is a repair or row that is left out, and why.
type OfferGap struct {
	Repair *scope.Repair // nil for a row of which no repair could be made
	Row    string
	Reason string
	Method bool // the method cannot hold it: no answer brings it in
}

// OfferQuestion is what the client has not answered.
type OfferQuestion struct {
	Field, Text, Ask string
	Repairs          []string
}

// onceBases are what costs are charged by whatever is repaired.
var onceBases = []string{"campaign", "crew", "supplier"}

// Offer makes the offer of the campaign. It is the bid: nothing is estimated
// again.
func (p *Campaign) Offer() *Offer {
	o := &Offer{Net: p.Bid.Net, Total: p.Bid.Total, Filtered: p.Survey.Account.FilteredBy}
	asked := p.openQuestions(o)
	p.offerItems(o, asked)
	for i := range p.Bid.Lines {
		if l := &p.Bid.Lines[i]; l.Stage == "tax" {
			o.Taxes = append(o.Taxes, OfferTax{l.Name, l.Amount})
		}
	}
	p.offerGaps(o)
	codes := map[string]bool{}
	for _, r := range p.Repairs {
		for _, c := range r.Leans {
			codes[c] = true
		}
	}
	for _, a := range p.Survey.Assumptions {
		codes[a.Code] = true
	}
	for _, a := range p.Assumptions {
		if codes[a.Code] {
			o.Assumptions = append(o.Assumptions, a)
		}
	}
	return o
}

// offerItems groups the repairs and prices the groups. The direct cost decides
// what each weighs; what is charged once weighs what is charged by the campaign,
// crew or supplier, and the crews' way to the site and home.
func (p *Campaign) offerItems(o *Offer, asked map[*scope.Repair]bool) {
	once, labour, moving := decimal.Zero, p.Bid.Stage("labour"), decimal.Zero
	for i := range p.Bid.Lines {
		switch l := &p.Bid.Lines[i]; {
		case strings.HasPrefix(l.Code, "labour-"+string(Moving)):
			moving = moving.Add(l.Amount)
		case (l.Stage == "site" || l.Stage == "freight") && slices.Contains(onceBases, l.Basis):
			once = once.Add(l.Amount)
		}
	}
	once = once.Add(moving)
	kept := 1.0 // of the labour, with the repairs
	if labour.IsPositive() {
		kept = 1 - moving.Div(labour).InexactFloat64()
	}
	byRepair := make([]float64, len(p.Jobs))
	sum := 0.0
	for n := range p.Jobs {
		s := &p.Jobs[n].Share
		byRepair[n] = s.Materials.InexactFloat64() + kept*s.Labour.InexactFloat64() + s.Access.InexactFloat64()
		sum += byRepair[n]
	}
	scale := 1.0 // to the direct cost that is not charged once
	if rest := p.Bid.Direct.Sub(once).InexactFloat64(); sum > 0 {
		scale = rest / sum
	}
	type key struct {
		kind        string
		od          float64
		layers      int
		provisional bool
	}
	at, weights := map[key]int{}, []float64{}
	for n := range p.Jobs {
		r := p.Jobs[n].Repair
		k := key{r.Kind(), r.OD, r.Layers, asked[r]}
		i, ok := at[k]
		if !ok {
			i = len(o.Items)
			at[k] = i
			o.Items = append(o.Items, OfferItem{Kind: k.kind, OD: k.od, Size: r.Size, Layers: k.layers, Provisional: k.provisional})
			weights = append(weights, 0)
		}
		o.Items[i].Jobs = append(o.Items[i].Jobs, n)
		weights[i] += scale * byRepair[n]
	}
	counts := make([]int, len(o.Items))
	for i := range o.Items {
		counts[i] = len(o.Items[i].Jobs)
	}
	priced, left := p.Bid.Schedule(counts, weights, once.InexactFloat64())
	for i := range o.Items {
		o.Items[i].Priced = priced[i]
	}
	o.Once = left
	slices.SortStableFunc(o.Items, func(a, b OfferItem) int {
		order := func(i *OfferItem) int {
			if i.Provisional {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(order(&a), order(&b)), cmp.Compare(b.Kind, a.Kind), cmp.Compare(a.OD, b.OD), cmp.Compare(a.Layers, b.Layers))
	})
}

// openQuestions lists what is asked of the client about repairs that are priced,
// and marks those repairs. Questions about the catalogue or the order, which may
// name costs or suppliers, are none of the client's.
func (p *Campaign) openQuestions(o *Offer) map[*scope.Repair]bool {
	marked, texts := map[*scope.Repair]bool{}, scope.Assumptions(&p.Catalog.Settings)
	at := map[string]int{}
	ask := func(key string, q OfferQuestion, r *scope.Repair) {
		i, ok := at[key]
		if !ok {
			i = len(o.Open)
			at[key] = i
			o.Open = append(o.Open, q)
		}
		o.Open[i].Repairs = append(o.Open[i].Repairs, r.ID)
		marked[r] = true
	}
	ofRow := map[string][]trace.Query{}
	for _, q := range p.Survey.Queries {
		if q.Severity == trace.Ask && q.Row != "" {
			ofRow[q.Row] = append(ofRow[q.Row], q)
		}
	}
	for n := range p.Jobs {
		r := p.Jobs[n].Repair
		for _, d := range r.Defects {
			for _, q := range ofRow[d.ID] {
				ask(q.Code+"\x00"+q.Message, OfferQuestion{Field: q.Place.Field, Text: q.Message}, r)
			}
		}
		for _, code := range r.Leans {
			if a := texts[code]; a.Ask != "" {
				ask(code, OfferQuestion{Field: survey.HeadingOf(a.Field), Text: a.Text, Ask: a.Ask}, r)
			}
		}
		for _, q := range r.Queries {
			if q.Severity >= trace.Ask {
				ask(q.Code+"\x00"+q.Message, OfferQuestion{Field: q.Place.Field, Text: q.Message}, r)
			}
		}
	}
	return marked
}

// offerGaps lists what is left out and sets provisional sums aside for what an
// answer may bring in: at the dearest rate of an item of the same kind on a pipe
// as large or larger, else the dearest there is.
func (p *Campaign) offerGaps(o *Offer) {
	dearest := func(fits func(*OfferItem) bool) int {
		best := -1
		for i := range o.Items {
			if fits(&o.Items[i]) && (best < 0 || o.Items[i].Rate.GreaterThan(o.Items[best].Rate)) {
				best = i
			}
		}
		return best
	}
	all := dearest(func(*OfferItem) bool { return true })
	aside := func(r *scope.Repair, rows, like int) {
		s := OfferSum{Repair: r, Rows: rows, Like: like}
		if like >= 0 {
			s.Sum = o.Items[like].Rate.Mul(decimal.NewFromInt(int64(rows)))
		}
		o.Stopped = append(o.Stopped, s)
	}
	unread := p.Account.Queried
	for _, r := range p.Repairs {
		switch r.Status {
		case scope.NotRepairable:
			o.LeftOut = append(o.LeftOut, OfferGap{Repair: r, Reason: r.Reason, Method: true})
		case scope.Queried:
			unread -= len(r.Defects)
			o.LeftOut = append(o.LeftOut, OfferGap{Repair: r, Reason: r.Reason})
			like := all
			if r.OD > 0 {
				if k := dearest(func(i *OfferItem) bool { return i.Kind == r.Kind() && i.OD >= r.OD }); k >= 0 {
					like = k
				}
			}
			aside(r, 1, like)
		}
	}
	for _, q := range p.Survey.Queries {
		if q.Severity == trace.Stop {
			text := q.Message
			if q.Found != "" {
				text += " (found “" + q.Found + "”)"
			}
			o.LeftOut = append(o.LeftOut, OfferGap{Row: q.Row, Reason: text})
		}
	}
	if unread > 0 {
		aside(nil, unread, all)
	}
}
