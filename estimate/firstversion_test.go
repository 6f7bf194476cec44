package estimate

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/trace/depth"
)

// ordered is a campaign of testdata/first_version.csv: what was needed of each
// item, what was cut of bands and sheets, and what the first version of the program
// ordered it for.
type ordered struct {
	rows   int // of the survey
	needs  map[string]float64
	costs  map[string]decimal.Decimal // of what is not cut
	pieces []kit.Piece
	total  decimal.Decimal
}

// firstVersion reads the campaigns: twenty surveys of 15 to 3,000 rows drawn from
// the shipped example, estimated by the first version of the program with growth at
// zero. Sheets had other thicknesses then, and the same sizes and prices.
func firstVersion(t *testing.T) (list []*ordered) {
	t.Helper()
	f, err := os.Open("testdata/first_version.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		n, _ := strconv.Atoi(r[0])
		if len(list) == 0 || list[len(list)-1].rows != n {
			list = append(list, &ordered{rows: n, needs: map[string]float64{}, costs: map[string]decimal.Decimal{}})
		}
		o := list[len(list)-1]
		switch what, name := r[1], r[2]; what {
		case "total":
			o.total = decimal.RequireFromString(r[6])
		case "item":
			o.needs[name], err = strconv.ParseFloat(r[5], 64)
			o.costs[name] = decimal.RequireFromString(r[6])
		default:
			a, _ := strconv.Atoi(r[3])
			c, _ := strconv.Atoi(r[4])
			count, _ := strconv.Atoi(r[5])
			for range count {
				o.pieces = append(o.pieces, kit.Piece{Kind: what, Stock: name, A: a, C: c, Label: fmt.Sprint("p", len(o.pieces))})
			}
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return list
}

// boughtFor cuts and buys what a campaign needs, as purchaseFrom does.
func (o *ordered) boughtFor(t *testing.T, c *catalog.Catalog) (*purchase, *means) {
	t.Helper()
	m := meansOf(c, Options{})
	p, err := &purchase{}, error(nil)
	jobs := []Job{{pieces: o.pieces}}
	if p.cuts, err = cutAll(&Plan{Jobs: jobs}, Dates{}, nil, m); err != nil {
		t.Fatal(err)
	}
	if p.needs, err = addUp(jobs, nil, p.cuts, m); err != nil {
		t.Fatal(err)
	}
	for name, n := range o.needs {
		at := m.Position(name)
		if at < 0 {
			t.Fatalf("%s is no item of the catalogue any more", name)
		}
		p.needs = append(p.needs, Need{Item: &m.Items[at], Position: at, Net: n, Issued: n})
	}
	slices.SortFunc(p.needs, func(a, b Need) int { return a.Position - b.Position })
	if p.orders, p.supply, p.asked, err = buy(p.needs, Plan{}, nil, Dates{}, m); err != nil {
		t.Fatal(err)
	}
	return p, m
}

// What the first version ordered is never ordered dearer: the same needs and
// pieces, no growth, and nobody charging for anything but goods.
func TestNeverDearerThanTheFirstVersion(t *testing.T) {
	campaigns := firstVersion(t)
	if len(campaigns) != 20 {
		t.Fatalf("%d campaigns", len(campaigns))
	}
	c, err := catalog.Load(catalog.Options{Sets: []string{"order.growth=0"}})
	if err != nil {
		t.Fatal(err)
	}
	zero := decimal.NewNullDecimal(decimal.Zero)
	for i := range c.Suppliers {
		s := &c.Suppliers[i]
		s.Delivery, s.Minimum, s.Hazardous = zero, zero, zero
	}
	saved := decimal.Zero
	for i, o := range campaigns {
		if i%depth.Of(4, 1) != 0 {
			continue
		}
		p, m := o.boughtFor(t, c)
		goods := decimal.Zero
		for i := range p.orders {
			cost := p.orders[i].Cost(int32(m.Currency().Minor))
			goods = goods.Add(cost)
			if was, ok := o.costs[p.orders[i].Need.Item.Code]; ok && cost.GreaterThan(was) {
				t.Errorf("%d rows: %s costs %s, with the first version %s", o.rows, p.orders[i].Need.Item.Code, cost, was)
			}
		}
		if !goods.Equal(p.supply.Cost) {
			t.Errorf("%d rows: goods of %s for %s", o.rows, goods, p.supply.Cost)
		}
		if p.supply.Cost.GreaterThan(o.total) {
			t.Errorf("%d rows: ordered for %s, by the first version for %s", o.rows, p.supply.Cost, o.total)
		}
		saved = saved.Add(o.total.Sub(p.supply.Cost))
		t.Logf("%d rows: %s, by the first version %s", o.rows, p.supply.Cost, o.total)
	}
	t.Logf("%s less in all", saved)
}
