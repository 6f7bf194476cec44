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
	Name     string                              // of the survey, for the places of queries
	Stock    []StockLot                          // what is in store, by item
	Placed   time.Time                           // earliest day on which anything can be ordered; zero: any day
	Progress func(stage string, done, total int) // may be nil
}

// Campaign is the finished estimate. It is only read.
type Campaign struct {
	Catalog *catalog.Catalog // as used: see means
	Survey  *survey.Result
	Name    string          // of the survey
	Repairs []*scope.Repair // all of them, in the order of area, line and chainage

	Plan           // the jobs: what is done of the repairs, when and by whom
	Issues []Issue // what is issued to crews and to the campaign
	Cuts   []CutList
	Orders []ItemOrder // what is needed and bought, one an item, in the order of the catalogue
	Supply Supply      // the orders together, by supplier
	Rolls  *RollSaving // nil where rolls were not chosen again
	Dates  Dates
	Bid    *bid.Bid

	Queries     []trace.Query      // of the survey, of the order and of the repairs
	Counts      []survey.CodeCount // of the queries by code and severity, those that were counted but not listed included
	Assumptions []trace.Assumption
	Silences    []Silence // what the survey leaves blank
	Account     Account

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
	m := meansOf(c, opt.Stock)

	tell("repairs", 0, len(s.Defects))
	planned := m.rules.Plan(s.Defects)
	dates, err := needDate(planned, m.Settings.Start)
	if err != nil {
		return nil, err
	}
	m.placed, m.dates = opt.Placed, dates
	repairs, jobs, mixes := pack(planned, m, tell)
	tell("blanks", 0, 1)
	silent := silences(repairs, m)
	tell("rolls", 0, 1)
	jobs, rolls, err := rechoose(jobs, mixes, dates, m)
	if err != nil {
		return nil, fmt.Errorf("rolls: %w", err)
	}
	plan, err := schedule(jobs, dates, m)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	dates = dates.through(plan)
	issues, err := issue(plan, m)
	if err != nil {
		return nil, fmt.Errorf("issue: %w", err)
	}
	tell("order", 0, 1)
	bought, err := m.purchase(plan, issues, dates)
	if err != nil {
		return nil, err
	}
	asked := append(plan.asked, bought.asked...)
	plan, price, err := charge(plan, bought, m)
	if err != nil {
		return nil, fmt.Errorf("bid: %w", err)
	}
	asked = slices.Concat(m.Warnings, asked)
	for i := range silent {
		asked = append(asked, silent[i].ask(m, s, opt.Name))
	}
	asked = append(asked, holes(repairs, m, opt.Name)...)
	asked = append(asked, byHand(repairs, &m.Settings, opt.Name)...)
	return &Campaign{
		Catalog: m.Catalog, Survey: s, Name: opt.Name, Repairs: repairs,
		Plan: plan, Issues: issues, Cuts: bought.cuts, Orders: bought.orders, Supply: bought.supply, Rolls: rolls, Dates: dates, Bid: price,
		Queries: queries(s, asked, repairs, opt.Name), Counts: count(s.Counts, asked, repairs),
		Assumptions: assumptions(s, repairs, bought.needs, dates, &m.Settings), Silences: silent, Account: account(s.Account, repairs),
		means: m,
	}, nil
}

// Again estimates the same survey with the same store and another catalogue.
func (p *Campaign) Again(c *catalog.Catalog, tell func(stage string, done, total int)) (*Campaign, error) {
	return Run(p.Survey, c, Options{Name: p.Name, Stock: p.means.store, Progress: tell})
}

// Rules are the rules of scope by which the repairs were made.
func (p *Campaign) Rules() *scope.Rules { return p.means.rules }

// means is what the firm works with, the same all the way down the road: the
// catalogue, from which kits are packed, and the store.
type means struct {
	*catalog.Catalog
	*kit.Packer
	rules  *scope.Rules
	store  []StockLot
	shared map[int]bool // items, by their places, whose packs a crew shares in a shift
	placed time.Time    // earliest day on which anything can be ordered; zero: any day
	dates  Dates        // as they are known before the plan, by which offers are too late
}

func meansOf(c *catalog.Catalog, store []StockLot) *means {
	c, shared := sharedPacks(c)
	return &means{Catalog: c, Packer: kit.NewPacker(c), rules: scope.Prepare(c), store: store, shared: shared}
}
