package cut

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// Sizes beyond these are taken for slips of the pen, not for coils.
const (
	maxLength = 1_000_000  // mm
	maxPieces = 10_000_000 // pieces in all
	maxStocks = 10_000     // stock lines
)

// item is one length demanded, all pieces of it together.
type item struct {
	length int // mm
	w      int // length + kerf, in grid units
	d      int // pieces demanded
}

// bin is one stock that can hold at least one piece.
type bin struct {
	stock  int // index into the stock given
	usable int // mm after trim
	cap    int // usable + kerf in grid units, rounded down
	count  int // coils, or Unlimited
	cost   int64
	offcut bool
}

// problem is the input in the solver's terms: each piece carries one kerf and
// each coil has one kerf more than its usable length, so that kerf vanishes
// from the arithmetic; and lengths are counted in their greatest common
// divisor, which loses nothing and shortens every table.
type problem struct {
	items    []item // longest first
	bins     []bin  // offcuts first, then in the order given
	stocks   int    // number of stocks given
	grid     int    // mm in a grid unit
	kerf     int
	keep     int // mm, 0: nothing is kept
	offFirst bool
	pieces   int
	material int64 // grid units of all pieces
	basis    Basis
	unit     decimal.Decimal // what one unit of bin.cost is worth in the unit of basis
	work     *meter
}

func newProblem(pieces []Piece, stock []Stock, rule LinearRule) (*problem, error) {
	if err := checkRule(rule); err != nil {
		return nil, err
	}
	if err := checkStock(stock); err != nil {
		return nil, err
	}
	p := &problem{kerf: rule.Kerf, keep: rule.KeepOver, offFirst: rule.OffcutsFirst, stocks: len(stock)}
	p.work = &meter{limit: rule.Budget}
	if rule.Budget == 0 {
		p.work.limit = DefaultBudget
	}
	if err := p.group(pieces); err != nil {
		return nil, err
	}
	p.open(stock, rule)
	if err := p.fits(pieces, stock, rule); err != nil {
		return nil, err
	}
	if err := p.price(stock); err != nil {
		return nil, err
	}
	return p, nil
}

func checkRule(r LinearRule) error {
	for _, n := range []struct {
		name string
		v    int
	}{{"kerf", r.Kerf}, {"end trim", r.Trim}, {"end trim of offcuts", r.OffcutTrim}, {"length worth keeping", r.KeepOver}} {
		if n.v < 0 || n.v > maxLength {
			return &InputError{"rule", -1, "", fmt.Sprintf("%s %d mm is outside 0 to %d mm", n.name, n.v, maxLength)}
		}
	}
	if r.Budget < 0 {
		return &InputError{"rule", -1, "", "the work budget is negative"}
	}
	return nil
}

func checkStock(stock []Stock) error {
	if len(stock) > maxStocks {
		return &InputError{"stock", maxStocks, "", fmt.Sprintf("more than %d lines of stock", maxStocks)}
	}
	for i, s := range stock {
		bad := func(format string, a ...any) error {
			return &InputError{"stock", i, s.Name, fmt.Sprintf(format, a...)}
		}
		switch {
		case s.Length < 1 || s.Length > maxLength:
			return bad("length %d mm is outside 1 to %d mm", s.Length, maxLength)
		case s.Count < Unlimited || s.Count > maxPieces:
			return bad("count %d is outside 0 to %d (%d is unlimited)", s.Count, maxPieces, Unlimited)
		case s.Offcut && s.Count == Unlimited:
			return bad("existing offcuts cannot be unlimited")
		case s.Cost.IsNegative():
			return bad("the cost is negative")
		case !saneCost(s.Cost):
			return bad("the cost is too large or too finely divided")
		}
	}
	return nil
}

// group collects equal lengths and fixes the grid.
func (p *problem) group(pieces []Piece) error {
	var got []item
	for i, pc := range pieces {
		bad := func(format string, a ...any) error {
			return &InputError{"piece", i, pc.Label, fmt.Sprintf(format, a...)}
		}
		switch {
		case pc.Length < 1 || pc.Length > maxLength:
			return bad("length %d mm is outside 1 to %d mm", pc.Length, maxLength)
		case pc.Count < 0 || pc.Count > maxPieces-p.pieces:
			return bad("count %d is negative or brings the total over %d pieces", pc.Count, maxPieces)
		case pc.Count == 0:
			continue
		}
		p.pieces += pc.Count
		got = append(got, item{length: pc.Length, d: pc.Count})
	}
	slices.SortFunc(got, func(a, b item) int { return cmp.Compare(b.length, a.length) })
	for _, it := range got {
		if n := len(p.items); n > 0 && p.items[n-1].length == it.length {
			p.items[n-1].d += it.d
			continue
		}
		p.items = append(p.items, it)
		p.grid = gcd(p.grid, it.length+p.kerf)
	}
	for i := range p.items {
		it := &p.items[i]
		it.w = (it.length + p.kerf) / p.grid
		p.material += int64(it.w) * int64(it.d)
	}
	return nil
}

// open turns stocks into bins, leaving out those too short for any piece.
func (p *problem) open(stock []Stock, rule LinearRule) {
	if len(p.items) == 0 {
		return
	}
	shortest := p.items[len(p.items)-1].length
	for i, s := range stock {
		b := bin{stock: i, usable: usable(s, rule), count: s.Count, offcut: s.Offcut}
		if b.count == 0 || b.usable < shortest {
			continue
		}
		b.cap = (b.usable + p.kerf) / p.grid
		p.bins = append(p.bins, b)
	}
	slices.SortStableFunc(p.bins, func(a, b bin) int {
		if a.offcut != b.offcut {
			if a.offcut {
				return -1
			}
			return 1
		}
		return 0
	})
}

func usable(s Stock, rule LinearRule) int {
	if s.Offcut {
		return s.Length - rule.OffcutTrim
	}
	return s.Length - rule.Trim
}

// fits names the first piece that no stock can yield.
func (p *problem) fits(pieces []Piece, stock []Stock, rule LinearRule) error {
	if len(p.items) == 0 {
		return nil
	}
	longest, name := 0, ""
	for _, s := range stock {
		if u := usable(s, rule); s.Count != 0 && u > longest {
			longest, name = u, s.Name
		}
	}
	for i, pc := range pieces {
		if pc.Count > 0 && pc.Length > longest {
			return &TooLongError{Index: i, Label: pc.Label, Length: pc.Length, Longest: longest, Stock: name}
		}
	}
	return nil
}

// price states costs as small integers: the fewest new coils where there is
// one new stock, else money in its smallest unit used, else length.
func (p *problem) price(stock []Stock) error {
	fresh, priced, pricedOff := 0, 0, 0
	for _, b := range p.bins {
		positive := stock[b.stock].Cost.IsPositive()
		switch {
		case b.offcut && positive:
			pricedOff++
		case !b.offcut:
			fresh++
			if positive {
				priced++
			}
		}
	}
	switch {
	case fresh == 1 && pricedOff == 0:
		p.basis, p.unit = ByCoils, decimal.NewFromInt(1)
		for i := range p.bins {
			if !p.bins[i].offcut {
				p.bins[i].cost = 1
			}
		}
		return nil
	case priced == 0 && pricedOff == 0:
		p.basis, p.unit = ByLength, decimal.NewFromInt(1)
		for i := range p.bins {
			if b := &p.bins[i]; !b.offcut || fresh == 0 {
				b.cost = int64(stock[b.stock].Length)
			}
		}
	default:
		for _, b := range p.bins {
			if s := stock[b.stock]; !b.offcut && !s.Cost.IsPositive() {
				return &InputError{"stock", b.stock, s.Name, "has no cost while other stock has; give all costs or none"}
			}
		}
		p.basis = ByCost
		costs := make([]decimal.Decimal, len(p.bins))
		for i, b := range p.bins {
			costs[i] = stock[b.stock].Cost
		}
		ints, unit, bad := integerCosts(costs)
		if bad >= 0 {
			i := p.bins[bad].stock
			return &InputError{"stock", i, stock[i].Name, "the cost is too large or too finely divided"}
		}
		p.unit = unit
		for i := range p.bins {
			p.bins[i].cost = ints[i]
		}
	}
	all := make([]*int64, len(p.bins))
	for i := range p.bins {
		all[i] = &p.bins[i].cost
	}
	p.unit = reduced(all, p.unit)
	return nil
}

// saneCost guards against exponents that would make plain arithmetic take for
// ever, such as 1e1000000000.
func saneCost(c decimal.Decimal) bool { return c.Exponent() >= -100 && c.Exponent() <= 12 }

// integerCosts scales costs to integers without loss. bad is the index of a
// cost that would need more than maxMoney units, else −1.
func integerCosts(costs []decimal.Decimal) (ints []int64, unit decimal.Decimal, bad int) {
	const maxMoney = 1_000_000_000_000
	exp := int32(0)
	for _, c := range costs {
		exp = min(exp, c.Exponent())
	}
	if exp < -9 {
		for i, c := range costs {
			if !c.Equal(c.Truncate(9)) {
				return nil, decimal.Decimal{}, i
			}
		}
		exp = -9
	}
	limit := decimal.NewFromInt(maxMoney)
	for i, c := range costs {
		v := c.Shift(-exp)
		if v.GreaterThan(limit) {
			return nil, decimal.Decimal{}, i
		}
		ints = append(ints, v.IntPart())
	}
	return ints, decimal.New(1, exp), -1
}

// rest returns what is left of a coil of bin b after pieces of total width used
// (grid units), as a length in mm and whether it is worth keeping.
func (p *problem) rest(b, used int) (left int, keep bool) {
	left = p.bins[b].usable - used*p.grid // = usable − Σ length − n·kerf
	if left <= 0 {
		return 0, false
	}
	return left, p.keep > 0 && left >= p.keep
}
