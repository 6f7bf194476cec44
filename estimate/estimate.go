// Package estimate is the whole road on one page: the defects of a survey
// become repairs, the repairs kits, the kits a campaign with its cutting, its
// order and its price. Each stop is a package of its own below this one, and
// imports only what lies before it:
//
//	survey → scope → mix, takeoff → kit → cut, order → bid
//
// The result is an estimate, not a design.
package estimate

import (
	"fmt"
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/bid"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Options are what the caller adds to survey and catalogue.
type Options struct {
	Name     string                              // of the survey, for the places of queries
	Stock    []StockLot                          // what is in store, by item
	Progress func(stage string, done, total int) // may be nil
}

// Campaign is the finished estimate.
type Campaign struct {
	Catalog *catalog.Catalog
	Survey  *survey.Result
	Name    string          // of the survey
	Repairs []*scope.Repair // all of them, in the order of area, line and chainage

	Counted    []int   // indexes into Repairs of those estimated
	Visits     []Visit // alongside Counted
	CrewShifts int
	Days       int
	Minutes    float64 // of all crews, repairs and shift tasks
	Mass       float64 // kg, everything that is issued with the kits

	Issues []Issue // what is issued to crews and to the campaign
	Cuts   []CutList
	Needs  []Need      // one an item, in the order of the catalogue
	Orders []ItemOrder // alongside Needs
	Rolls  *RollSaving // nil where rolls were not chosen again
	Dates  Dates
	Bid    *bid.Bid

	Queries     []trace.Query // of the survey, of the order and of the repairs
	Assumptions []trace.Assumption
	Account     Account

	asked      []trace.Query // about the order
	packer     *kit.Packer
	stock      []StockLot
	shared     map[int]bool           // items whose packs a crew shares in a shift
	chosen     map[int]kit.RollChoice // by repair, where the campaign chose other rolls than the repair alone
	places     map[string]PiecePlace  // by label: where a cut piece comes from
	lines      [][]usage              // alongside Counted
	issuesWith [][]int                // alongside Counted: places in Issues, see IssuesWith
	pots       [][]pot                // alongside Counted: what is weighed out; nil where packs are not shared
}

// Account is what became of every row that was read.
type Account struct {
	Read, Estimated, Merged, Queried, Filtered, Blank int
	NotRepairable                                     int // rows whose repair the method cannot hold
}

// usage is a quantity of an item that one repair is the reason for.
type usage struct {
	item int32 // position in the catalogue
	qty  float64
}

// Run goes down the road. A survey of which nothing can be estimated gives a
// campaign without orders and with the queries that say why.
func Run(s *survey.Result, c *catalog.Catalog, opt Options) (*Campaign, error) {
	c, shared := sharedPacks(c)
	p := &Campaign{Catalog: c, shared: shared, Survey: s, Name: opt.Name, packer: kit.NewPacker(c), stock: opt.Stock}
	tell := opt.Progress
	if tell == nil {
		tell = func(string, int, int) {}
	}

	tell("repairs", 0, len(s.Defects))
	p.Repairs = scope.Plan(s.Defects, c)
	if err := p.dates(); err != nil {
		return nil, err
	}
	rolls := p.gatherRolls()
	p.pack(rolls, tell)
	tell("rolls", 0, 1)
	if err := p.rechoose(rolls); err != nil {
		return nil, fmt.Errorf("rolls: %w", err)
	}
	p.schedule()
	if err := p.issue(); err != nil {
		return nil, fmt.Errorf("issue: %w", err)
	}
	p.placeIssues()
	if err := p.cut(); err != nil {
		return nil, fmt.Errorf("cutting: %w", err)
	}
	tell("order", 0, 1)
	if err := p.need(); err != nil {
		return nil, err
	}
	if err := p.order(); err != nil {
		return nil, fmt.Errorf("order: %w", err)
	}
	if err := p.price(); err != nil {
		return nil, fmt.Errorf("bid: %w", err)
	}
	p.collect()
	return p, nil
}

// Kit packs the kit of a repair again: kits are worked out when they are looked
// at, not kept, so that a campaign of any size fits in memory. The log may be
// nil.
func (p *Campaign) Kit(i int, log *trace.Log) *kit.Kit {
	if choice, ok := p.chosen[i]; ok {
		return p.packer.PackWith(p.Repairs[i], choice, log)
	}
	return p.packer.Pack(p.Repairs[i], log)
}

// Explain works a repair and its kit out again and returns every step.
func (p *Campaign) Explain(i int) []trace.Step {
	r := p.Repairs[i]
	log := &trace.Log{Prefix: r.ID + "/"}
	scope.Explain(r, p.Catalog, log)
	if r.Status == scope.Estimated {
		p.Kit(i, log)
	}
	return log.Steps
}

// StockLot is a lot in store of an item. With a length it is an offcut of a coil
// or sheet, from which pieces are cut first; it is not counted as a whole coil.
type StockLot struct {
	Item          string
	Length, Width int // mm, of an offcut; 0 for a whole lot
	order.Lot
}

// pack packs every kit once, keeps its sums, gathers the mixes of rolls open to
// it and sets aside the repairs whose kit raises a Stop.
func (p *Campaign) pack(rolls *rollGroups, tell func(string, int, int)) {
	for i, r := range p.Repairs {
		if r.Status != scope.Estimated {
			continue
		}
		if i%1000 == 0 {
			tell("kits", i, len(p.Repairs))
		}
		k := p.packer.Pack(r, nil)
		if len(k.Queries) > 0 {
			r.Queries = append(r.Queries, k.Queries...)
			if slices.ContainsFunc(k.Queries, func(q trace.Query) bool { return q.Severity == trace.Stop }) {
				r.Status, r.Reason = scope.Queried, k.Queries[0].Message
				continue
			}
		}
		p.Counted = append(p.Counted, i)
		p.Visits = append(p.Visits, Visit{})
		p.lines = append(p.lines, nil)
		p.pots = append(p.pots, nil)
		p.keep(len(p.Counted)-1, k)
		if rolls != nil {
			rolls.add(len(p.Counted)-1, k.Net)
		}
	}
}

// keep notes what the campaign needs to know of the n-th kit counted.
func (p *Campaign) keep(n int, k *kit.Kit) {
	p.Visits[n].Minutes, p.Visits[n].Mass = k.Minutes, k.Mass
	p.lines[n] = p.usages(k)
	p.pots[n] = p.weighedOut(k)
}

func (p *Campaign) usages(k *kit.Kit) []usage {
	out := make([]usage, len(k.Lines))
	for i, l := range k.Lines {
		out[i] = usage{int32(p.packer.Position(l.Item.Code)), l.Qty}
	}
	return out
}
