package estimate

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

// Cause is why a campaign comes out otherwise than an earlier one.
type Cause string

// The causes, in the order in which they are put in the place of one another.
const (
	ByVersion  Cause = "version of the program"
	ByDefects  Cause = "new and closed defects"
	BySizes    Cause = "sizes of defects"
	ByWall     Cause = "walls and corrosion"
	ByPressure Cause = "pressures and stresses"
	ByPlace    Cause = "other columns of the survey"
	ByProducts Cause = "products and tables of rules"
	ByPrices   Cause = "prices and suppliers"
	ByRates    Cause = "rates, times and costs"
	BySettings Cause = "settings"
	ByStore    Cause = "store, movements, day and earlier runs"
)

// inTurn are the causes that a run may have, in that order.
var inTurn = []Cause{ByDefects, BySizes, ByWall, ByPressure, ByPlace, ByProducts, ByPrices, ByRates, BySettings, ByStore}

// ownTables are the causes that are tables of the catalogue; the tables that none
// of them names are ByProducts.
var ownTables = map[Cause][]string{
	ByPrices:   {"offers", "prices", "suppliers", "closures"},
	ByRates:    {"labour", "crews", "overtime", "holidays", "tasks", "costs", "currencies", "accesses"},
	BySettings: {"settings", "classes"},
}

// ofTable is the cause that a table belongs to.
func ofTable(name string) Cause {
	for _, c := range []Cause{ByPrices, ByRates, BySettings} {
		if slices.Contains(ownTables[c], name) {
			return c
		}
	}
	return ByProducts
}

// columnsOf puts what a cause of the survey holds from one row into another.
var columnsOf = map[Cause]func(to, from *survey.Defect){
	BySizes: func(to, from *survey.Defect) { to.Axial, to.Circ, to.Hole = from.Axial, from.Circ, from.Hole },
	ByWall: func(to, from *survey.Defect) {
		to.Wall, to.Remaining, to.Depth, to.SeatWall = from.Wall, from.Remaining, from.Depth, from.SeatWall
		to.CorrosionRate, to.Mechanism = from.CorrosionRate, from.Mechanism
	},
	ByPressure: func(to, from *survey.Defect) {
		to.Pressure, to.LivePressure, to.Stress, to.AxialForce, to.Cycles = from.Pressure, from.LivePressure, from.Stress, from.AxialForce, from.Cycles
	},
}

// Measure is a figure of a campaign that can be compared with that of another.
type Measure struct {
	Key, Name, Unit string // Key tells it apart in every run: "bid/materials", "item/BAND-20-15/packs"
}

// Measured is the figures of a campaign, by key, with what they are in the order
// in which they are told.
type Measured struct {
	Of    []Measure
	Value map[string]decimal.Decimal
}

// Put adds a figure; a second one of the same key is added up with the first.
func (m *Measured) Put(of Measure, v decimal.Decimal) {
	if m.Value == nil {
		m.Value = map[string]decimal.Decimal{}
	}
	if _, there := m.Value[of.Key]; !there {
		m.Of = append(m.Of, of)
	}
	m.Value[of.Key] = m.Value[of.Key].Add(v)
}

// The figures of the campaign as a whole. Those of the bid are in its currency.
var (
	RepairsMeasure = Measure{"campaign/repairs", "repairs estimated", ""}
	ShiftsMeasure  = Measure{"campaign/crew-shifts", "crew-shifts", ""}
	DirectMeasure  = Measure{"bid-sum/direct", "direct cost", ""}
	NetMeasure     = Measure{"bid-sum/before-tax", "bid before tax", ""}
	TotalMeasure   = Measure{"bid-sum/total", "bid with tax", ""}
)

// In is the figure in a unit.
func (m Measure) In(unit string) Measure {
	m.Unit = unit
	return m
}

// ItemMeasures are the figures of an item's order.
func ItemMeasures(code, name, unit, currency string) (issued, packs, cost Measure) {
	key := "item/" + code
	return Measure{key + "/issued", name + ", issued", unit}, Measure{key + "/packs", name + ", packs ordered", "pack"}, Measure{key + "/cost", name + ", cost of the order", currency}
}

// BidMeasure is the figure of a line of the build-up.
func BidMeasure(code, name, currency string) Measure { return Measure{"bid/" + code, name, currency} }

// Measures are the figures of a campaign.
func (p *Campaign) Measures() *Measured {
	m := &Measured{}
	estimated := 0
	for _, r := range p.Repairs {
		if r.Status == scope.Estimated {
			estimated++
		}
	}
	m.Put(RepairsMeasure, qty.Whole(estimated))
	m.Put(ShiftsMeasure, qty.Whole(p.CrewShifts))
	cur := p.Bid.Currency
	for _, l := range p.Bid.Lines {
		m.Put(BidMeasure(l.Code, l.Name, cur), l.Amount)
	}
	m.Put(DirectMeasure.In(cur), p.Bid.Direct)
	m.Put(NetMeasure.In(cur), p.Bid.Net)
	m.Put(TotalMeasure.In(cur), p.Bid.Total)
	for i := range p.Orders {
		o := &p.Orders[i]
		it := o.Need.Item
		issued, packs, cost := ItemMeasures(it.Code, it.Name, it.Unit, cur)
		m.Put(issued, qty.Decimal(o.Need.Issued))
		n := 0
		for _, l := range o.Lines {
			n += l.Packs
		}
		m.Put(packs, qty.Whole(n))
		m.Put(cost, o.Cost(p.Bid.Minor))
	}
	return m
}

// Change is one figure in both runs, and by how much each cause changed it: New −
// Old is the sum of By exactly.
type Change struct {
	Measure
	Old, New decimal.Decimal
	By       []decimal.Decimal // alongside the causes of the comparison
}

// RepairChange is what became of repairs.
type RepairChange struct {
	What     string // one of the words below
	Old, New []*scope.Repair
}

// What can become of repairs.
const (
	RepairNew     = "new"
	RepairDone    = "done"
	RepairGone    = "gone"
	RepairJoined  = "joined"
	RepairParted  = "parted"
	RepairMoved   = "moved"
	RepairGrown   = "grown"
	RepairSmaller = "smaller"
	RepairChanged = "changed" // in its status or its figures, being no larger and no smaller
	RepairKept    = "kept"    // as it was
)

// Comparison is two campaigns side by side, both made by this program.
type Comparison struct {
	Old, New *Campaign
	Causes   []Cause  // those that differ, in their order
	Changes  []Change // every figure that differs
	Repairs  []RepairChange
	Kept     int
}

// Side is what a run is made from, and what it printed where that is known.
type Side struct {
	*Campaign
	Printed *Measured // nil: nothing is known but what this program makes of it
}

// Compare sets two runs side by side and splits each difference by its causes:
// the mean of putting the new in the place of the old one cause after the other,
// in their order and in the reverse of it. With the two runs changed about every
// difference is its negative.
func Compare(old, now Side, tell func(done, total int)) (*Comparison, error) {
	if a, b := old.Bid.Currency, now.Bid.Currency; a != b {
		return nil, fmt.Errorf("the old run is in %s, the new one in %s: estimate both in one currency (money.currency)", a, b)
	}
	x := &exchange{old: old.Campaign, now: now.Campaign}
	x.pair()
	out := &Comparison{Old: old.Campaign, New: now.Campaign, Repairs: x.repairs()}
	for i := range out.Repairs {
		if out.Repairs[i].What == RepairKept {
			out.Kept++
		}
	}
	causes := x.causes()
	steps, err := x.split(causes, tell)
	if errors.Is(err, errNoMix) {
		causes = withoutTables(causes)
		x.together = true
		steps, err = x.split(causes, tell)
	}
	if err != nil {
		return nil, err
	}
	before, after := printedOr(old), printedOr(now)
	remade, again := old.Measures(), now.Measures()
	out.Causes = causes
	if !equal(before, remade) || !equal(after, again) {
		out.Causes = append([]Cause{ByVersion}, causes...)
	}
	for _, of := range union(before, after, remade, again) {
		c := Change{Measure: of, Old: before.Value[of.Key], New: after.Value[of.Key]}
		if len(out.Causes) > len(causes) {
			c.By = append(c.By, remade.Value[of.Key].Sub(c.Old).Add(c.New.Sub(again.Value[of.Key])))
		}
		differs := !c.Old.Equal(c.New)
		for _, s := range steps {
			by := s[of.Key]
			differs = differs || !by.IsZero()
			c.By = append(c.By, by)
		}
		if differs {
			out.Changes = append(out.Changes, c)
		}
	}
	return out, nil
}

func printedOr(s Side) *Measured {
	if s.Printed != nil {
		return s.Printed
	}
	return s.Measures()
}

// equal reports whether two runs have the same figures.
func equal(a, b *Measured) bool {
	return !slices.ContainsFunc(union(a, b), func(of Measure) bool { return !a.Value[of.Key].Equal(b.Value[of.Key]) })
}

// union is the figures of several runs, each once, in the order in which they
// first stand.
func union(all ...*Measured) (out []Measure) {
	seen := map[string]bool{}
	for _, m := range all {
		for _, of := range m.Of {
			if !seen[of.Key] {
				seen[of.Key] = true
				out = append(out, of)
			}
		}
	}
	order := func(key string) int {
		return slices.IndexFunc([]string{"campaign/", "bid/", "bid-sum/", "item/"}, func(p string) bool { return strings.HasPrefix(key, p) })
	}
	slices.SortStableFunc(out, func(a, b Measure) int { return cmp.Compare(order(a.Key), order(b.Key)) })
	return out
}

// exchange is two runs of which parts can be put in the place of one another.
type exchange struct {
	old, now *Campaign
	mates    map[*survey.Defect]*survey.Defect // each row of the one to its row of the other, both ways
	together bool                              // the tables of the catalogue cannot be exchanged apart
}

// pair finds the rows that are of the same defect: of one line and id, then of one
// line and chainage, since a later survey may be numbered anew. Rows alike in that are
// paired in their order.
func (x *exchange) pair() {
	x.mates = map[*survey.Defect]*survey.Defect{}
	x.pairBy(func(d *survey.Defect) string { return d.Tag })
	x.pairBy(func(d *survey.Defect) string { return fmt.Sprintf("%.0f", d.Chainage.V) })
}

// pairBy pairs the rows without a mate that agree in line and key; "" is no key.
func (x *exchange) pairBy(key func(d *survey.Defect) string) {
	free := map[[2]string][]*survey.Defect{}
	each := func(defects []survey.Defect, do func(at [2]string, d *survey.Defect)) {
		for i := range defects {
			if d := &defects[i]; x.mates[d] == nil && key(d) != "" {
				do([2]string{d.Line, key(d)}, d)
			}
		}
	}
	each(x.old.Survey.Defects, func(at [2]string, d *survey.Defect) { free[at] = append(free[at], d) })
	each(x.now.Survey.Defects, func(at [2]string, d *survey.Defect) {
		if list := free[at]; len(list) > 0 {
			x.mates[d], x.mates[list[0]], free[at] = list[0], d, list[1:]
		}
	})
}

// causes are those in which the runs differ.
func (x *exchange) causes() (out []Cause) {
	has := map[Cause]bool{}
	for _, p := range []*Campaign{x.old, x.now} {
		for i := range p.Survey.Defects {
			d := &p.Survey.Defects[i]
			m := x.mates[d]
			if m == nil {
				has[ByDefects] = true
				continue
			}
			for cause, put := range columnsOf {
				with := *d
				if put(&with, m); !reflect.DeepEqual(with, *d) {
					has[cause] = true
				}
			}
			if rest := x.mixedRow(d, m, map[Cause]bool{ByPlace: true}); !sameBut(rest, d) {
				has[ByPlace] = true
			}
		}
	}
	for _, name := range catalog.Differs(x.old.Catalog, x.now.Catalog) {
		has[ofTable(name)] = true
	}
	has[ByStore] = !reflect.DeepEqual(x.old.given(), x.now.given())
	for _, c := range inTurn {
		if has[c] {
			out = append(out, c)
		}
	}
	return out
}

// sameBut reports whether two rows are the same but for where they stand in the
// file.
func sameBut(a survey.Defect, b *survey.Defect) bool {
	a.ID, a.Line0 = b.ID, b.Line0
	return reflect.DeepEqual(a, *b)
}

// mixedRow is the row of the old run with what the causes taken hold put in from
// its mate of the new one.
func (x *exchange) mixedRow(old, now *survey.Defect, taken map[Cause]bool) survey.Defect {
	out := *old
	if taken[ByPlace] {
		out = *now
	}
	for cause, put := range columnsOf {
		from := old
		if taken[cause] {
			from = now
		}
		put(&out, from)
	}
	return out
}

// errNoMix: the tables of the catalogues do not go together by halves.
var errNoMix = errors.New("tables of two catalogues do not go together")

// run makes the run in which the causes taken are of the new one and the others of
// the old one.
func (x *exchange) run(taken map[Cause]bool) (map[string]decimal.Decimal, error) {
	s := *x.old.Survey
	s.Defects = nil
	rows := x.old
	if taken[ByDefects] {
		rows = x.now
	}
	for i := range rows.Survey.Defects {
		d := &rows.Survey.Defects[i]
		m := x.mates[d]
		switch {
		case m == nil:
			s.Defects = append(s.Defects, *d)
		case rows == x.now:
			s.Defects = append(s.Defects, x.mixedRow(m, d, taken))
		default:
			s.Defects = append(s.Defects, x.mixedRow(d, m, taken))
		}
	}
	c := catalog.Mixed(x.old.Catalog, x.now.Catalog, func(table string) bool {
		if x.together {
			return taken[ByProducts]
		}
		return taken[ofTable(table)]
	})
	from := x.old
	if taken[ByStore] {
		from = x.now
	}
	p, err := Run(&s, c, from.given())
	if err != nil {
		if !x.together {
			return nil, fmt.Errorf("%w: %w", errNoMix, err)
		}
		return nil, err
	}
	return p.Measures().Value, nil
}

// given are the options of a run but for what does not bear on its numbers: the
// store, movements, the day and what earlier runs have left.
func (p *Campaign) given() Options {
	opt := p.means.given
	opt.Name, opt.Progress = "", nil
	return opt
}

// withoutTables puts the causes that are tables together.
func withoutTables(causes []Cause) (out []Cause) {
	for _, c := range inTurn {
		if _, table := ownTables[c]; c == ByProducts || !table && slices.Contains(causes, c) {
			out = append(out, c)
		}
	}
	return out
}

// split is what each cause changes of each figure: half of what it does when it
// comes in after those before it, half of what it does after those behind it.
func (x *exchange) split(causes []Cause, tell func(done, total int)) ([]map[string]decimal.Decimal, error) {
	n := len(causes)
	if n == 0 {
		return nil, nil
	}
	start, end := x.old.Measures().Value, x.now.Measures().Value
	done, total := 0, 2*max(0, n-1)
	// through makes the runs in which 0, 1, … of the causes have come in, in an order.
	through := func(order []int) ([]map[string]decimal.Decimal, error) {
		runs := []map[string]decimal.Decimal{start}
		taken := map[Cause]bool{}
		for _, k := range order[:n-1] {
			tell(done, total)
			taken[causes[k]] = true
			got, err := x.run(taken)
			if err != nil {
				return nil, err
			}
			runs = append(runs, got)
			done++
		}
		return append(runs, end), nil
	}
	order := make([]int, n)
	for k := range order {
		order[k] = k
	}
	there, err := through(order)
	if err != nil {
		return nil, err
	}
	slices.Reverse(order)
	back, err := through(order)
	if err != nil {
		return nil, err
	}
	out := make([]map[string]decimal.Decimal, n)
	for k := range causes {
		out[k] = map[string]decimal.Decimal{}
		step := func(runs []map[string]decimal.Decimal, at int) {
			keys := maps.Clone(runs[at])
			maps.Copy(keys, runs[at+1])
			for key := range keys {
				out[k][key] = out[k][key].Add(runs[at+1][key].Sub(runs[at][key]).Mul(half))
			}
		}
		step(there, k)
		step(back, n-1-k)
	}
	return out, nil
}

var half = decimal.New(5, -1)

// repairs pairs the repairs of the two runs by the rows they hold.
func (x *exchange) repairs() (out []RepairChange) {
	of := func(p *Campaign) map[*survey.Defect]*scope.Repair {
		m := map[*survey.Defect]*scope.Repair{}
		for _, r := range p.Repairs {
			for _, d := range r.Defects {
				m[d] = r
			}
		}
		return m
	}
	inOld, inNow := of(x.old), of(x.now)
	partners := func(r *scope.Repair, in map[*survey.Defect]*scope.Repair) (list []*scope.Repair) {
		for _, d := range r.Defects {
			if m := x.mates[d]; m != nil && in[m] != nil && !slices.Contains(list, in[m]) {
				list = append(list, in[m])
			}
		}
		return list
	}
	for _, r := range x.now.Repairs {
		olds := partners(r, inOld)
		c := RepairChange{Old: olds, New: []*scope.Repair{r}}
		switch {
		case len(olds) == 0:
			c.What = RepairNew
		case len(olds) > 1:
			c.What = RepairJoined
		default:
			news := partners(olds[0], inNow)
			if len(news) > 1 {
				if news[0] != r {
					continue // told of with the first of them
				}
				c.What, c.New = RepairParted, news
				break
			}
			c.What = became(olds[0], r)
		}
		out = append(out, c)
	}
	done := map[string]bool{}
	for i := range x.now.Names {
		n := &x.now.Names[i]
		done[n.Name] = n.Fate == Done
	}
	for _, r := range x.old.Repairs {
		if len(partners(r, inNow)) == 0 {
			what := RepairGone
			if done[r.ID] {
				what = RepairDone
			}
			out = append(out, RepairChange{What: what, Old: []*scope.Repair{r}})
		}
	}
	return out
}

// became says what became of a repair that is one repair still.
func became(old, now *scope.Repair) string {
	const near = 1e-6
	more, less := false, false
	for _, v := range [][2]float64{{old.Length, now.Length}, {float64(old.Layers), float64(now.Layers)}, {float64(len(old.Patches)), float64(len(now.Patches))}, {float64(len(old.Defects)), float64(len(now.Defects))}} {
		more, less = more || v[1] > v[0]+near, less || v[1] < v[0]-near
	}
	switch {
	case old.Status != now.Status || more && less:
		return RepairChanged
	case more:
		return RepairGrown
	case less:
		return RepairSmaller
	case math.Abs((old.From+old.To)-(now.From+now.To)) > 2: // mm, of the middle by more than one
		return RepairMoved
	case old.ID != now.ID || old.Wall != now.Wall || old.Pressure != now.Pressure || old.Access != now.Access || old.Surface != now.Surface || old.Hazardous != now.Hazardous:
		return RepairChanged
	}
	return RepairKept
}
