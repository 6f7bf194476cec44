// Package estimate is the whole road on one page: the defects of a survey
// become repairs, each repair that can be estimated a job with its kit, the jobs
// a plan of work with what is issued, cut, ordered and charged for it. Each stop
// takes values and returns values, and what it needs to know of the materials is
// a package of its own below this one, which imports only what lies before it:
//
//	survey → scope → mix, takeoff → kit → cut, order → bid
//
// The result is an estimate, not a design.
package estimate

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"time"

	"wraptally/catalog"
	"wraptally/estimate/bid"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Options are what the caller adds to survey and catalogue.
type Options struct {
	Name        string                              // of the survey, for the places of queries
	Stock       []StockLot                          // what is in store, by item
	Counted     bool                                // Stock is a count of the whole store, be it empty
	Moves       []catalog.Movement                  // of the running campaign, of which the survey is the whole
	Today       time.Time                           // what expired before it is expired; zero: the first day of the work
	Earlier     *scope.Earlier                      // what earlier runs have named; nil: nothing
	Placed      time.Time                           // earliest day on which anything can be ordered; zero: any day
	QueriesOnly bool                                // only queries are wanted: a survey of more rows than the setting check.whole_rows does not go down the whole road
	Progress    func(stage string, done, total int) // may be nil
}

// Campaign is the finished estimate. It is only read.
type Campaign struct {
	Catalog *catalog.Catalog // as used: see means
	Survey  *survey.Result
	Name    string          // of the survey
	Repairs []*scope.Repair // all of them, in the order of area, line and chainage

	Plan            // the jobs: what is done of the repairs, when and by whom
	Issues  []Issue // what is issued to crews and to the campaign
	Cuts    []CutList
	Orders  []ItemOrder // what is needed and bought, one an item, in the order of the catalogue
	Store   *Allotment  // what is there and comes, and who gets it; nil where nothing is known of the store
	Coming  []OnOrder   // what has become of earlier orders
	Supply  Supply      // the orders together, by supplier
	Offcuts []Offcut    // from the store that are cut up
	Rolls   *RollSaving // nil where rolls were not chosen again
	Dates   Dates
	Bid     *bid.Bid

	Names       []Name             // of the repairs, and those that earlier runs gave to others
	Queries     []trace.Query      // of the survey, of the order and of the repairs
	Counts      []survey.CodeCount // of the queries by code and severity, those that were counted but not listed included
	Assumptions []trace.Assumption
	Silences    []Silence // what the survey leaves blank
	Account     Account
	NotLooked   string // what was not gone into, see Options.QueriesOnly; "" where all was

	means *means
}

// Account is what became of every row that was read.
type Account struct {
	Read, Estimated, Merged, Queried, Filtered, Blank int
	NotRepairable                                     int // rows whose repair the method cannot hold
}

// Run goes down the road. A survey of which nothing can be estimated gives a
// campaign without orders and with the queries that say why.
func Run(s *survey.Result, c *catalog.Catalog, opt Options) (*Campaign, error) {
	tell := opt.Progress
	if tell == nil {
		tell = func(string, int, int) {}
	}
	m := meansOf(c, opt)

	tell("repairs", 0, s.Kept())
	if opt.QueriesOnly && s.Kept() > m.Settings.CheckWhole {
		return askOnly(s, m, tell)
	}
	w, err := m.down(m.rules.Plan(s.Defects, opt.Earlier), 0, tell)
	if err != nil {
		return nil, err
	}
	m = w.means
	store, err := m.allot(w.plan, w.issues, w.bought, w.dates)
	if err != nil {
		return nil, err
	}
	tell("blanks", 0, 1)
	repairs, plan, bought, found := w.repairs, w.plan, w.bought, find(w.repairs, s, m, math.MaxInt)
	asked := slices.Concat(m.Warnings, plan.asked, bought.asked, found.asked())
	return &Campaign{
		Catalog: m.Catalog, Survey: s, Name: opt.Name, Repairs: repairs,
		Plan: plan, Issues: w.issues, Cuts: bought.cuts, Orders: bought.orders, Store: store, Coming: Outstanding(opt.Moves), Supply: bought.supply, Offcuts: bought.offcuts, Rolls: w.rolls, Dates: w.dates, Bid: w.price,
		Names: names(repairs, plan.Jobs, opt.Earlier), Queries: found.list(asked), Counts: found.count(asked),
		Assumptions: found.assumptions(bought.needs, w.dates), Silences: found.silences(), Account: found.account,
		means: m,
	}, nil
}

// way is what the road comes to from the repairs on.
type way struct {
	means   *means          // with what the plan lets be known of the store
	repairs []*scope.Repair // with what their kits ask
	rolls   *RollSaving
	plan    Plan
	issues  []Issue
	bought  purchase
	price   *bid.Bid
	dates   Dates
}

// down goes the road from the repairs on; lost is the share of the days on which
// nobody can work.
func (m *means) down(planned []*scope.Repair, lost float64, tell func(string, int, int)) (w way, err error) {
	if w.dates, err = needDate(defectsOf(planned), m.Settings.Start); err != nil {
		return w, err
	}
	m = m.by(w.dates)
	repairs, jobs, mixes := pack(planned, m, tell)
	w.repairs = repairs
	tell("rolls", 0, 1)
	if jobs, w.rolls, err = rechoose(jobs, mixes, w.dates, m); err != nil {
		return w, fmt.Errorf("rolls: %w", err)
	}
	plan, err := schedule(jobs, w.dates, m)
	if err != nil {
		return w, fmt.Errorf("plan: %w", err)
	}
	plan = plan.withDaysLost(lost, m)
	plan.Spares = spares(plan.Jobs, m)
	w.dates = w.dates.through(plan)
	if w.issues, err = issue(plan, m); err != nil {
		return w, fmt.Errorf("issue: %w", err)
	}
	tell("order", 0, 1)
	m = m.holding(m.judged(plan, w.issues, w.dates))
	w.means = m
	if w.bought, err = m.purchase(plan, w.issues, w.dates); err != nil {
		return w, err
	}
	if w.plan, w.price, err = charge(plan, w.bought, m); err != nil {
		return w, fmt.Errorf("bid: %w", err)
	}
	return w, nil
}

// defectsOf are the defects of each repair.
func defectsOf(repairs []*scope.Repair) iter.Seq[[]*survey.Defect] {
	return func(yield func([]*survey.Defect) bool) {
		for _, r := range repairs {
			if !yield(r.Defects) {
				return
			}
		}
	}
}

// Again estimates the same survey with the same store and another catalogue.
func (p *Campaign) Again(c *catalog.Catalog, tell func(stage string, done, total int)) (*Campaign, error) {
	return Run(p.Survey, c, p.again(tell))
}

// again are the options of another run beside this one.
func (p *Campaign) again(tell func(stage string, done, total int)) Options {
	opt := p.means.given
	opt.Progress, opt.Placed = tell, time.Time{}
	return opt
}

// Rules are the rules of scope by which the repairs were made.
func (p *Campaign) Rules() *scope.Rules { return p.means.rules }

// means is what the firm works with, the same all the way down the road: the
// catalogue, from which kits are packed, and the store. A stop that comes to know more
// hands on others; none changes these.
type means struct {
	*catalog.Catalog
	*kit.Packer
	rules  *scope.Rules
	given  Options      // as they were
	store  []StockLot   // and what movements say is there or comes
	shared map[int]bool // items, by their places, whose packs a crew shares in a shift
	dates  Dates        // as they are known before the plan, by which offers are too late
	sums   bool         // sums alone are wanted: no box is given the code of its contents
}

func meansOf(c *catalog.Catalog, opt Options) *means {
	c, shared := sharedPacks(c)
	store := slices.Concat(opt.Stock, Covered(opt.Moves, opt.Counted))
	m := &means{Catalog: c, Packer: kit.NewPacker(c), rules: scope.Prepare(c), given: opt, shared: shared}
	return m.holding(m.dated(store))
}

// by are the means on a survey whose work is needed by these dates.
func (m *means) by(dates Dates) *means {
	v := *m
	v.dates = dates
	return &v
}

// holding are the means with another store.
func (m *means) holding(store []StockLot) *means {
	v := *m
	v.store = store
	return &v
}

// knowsStore reports whether anything is said of what is there or comes.
func (m *means) knowsStore() bool {
	return m.given.Counted || len(m.given.Stock) > 0 || len(m.given.Moves) > 0
}
