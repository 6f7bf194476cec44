package estimate_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
	"wraptally/export"
)

func jsonOf(t fataler, p *estimate.Campaign) []byte {
	var b bytes.Buffer
	if err := export.JSON(&b, p, export.Options{Version: "test"}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Same rows in another order: same bytes.
func TestOrderOfRowsIsNothing(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 12)
		a := jsonOf(t, run(t, ds, c))
		b := jsonOf(t, run(t, rapid.Permutation(ds).Draw(t, "order"), c))
		if !bytes.Equal(a, b) {
			t.Fatalf("the order of the rows changes the result at %s", firstDifference(a, b))
		}
	})
}

func firstDifference(a, b []byte) string {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("%q and %q", a[max(0, i-80):min(len(a), i+80)], b[max(0, i-80):min(len(b), i+80)])
		}
	}
	return fmt.Sprintf("lengths %d and %d", len(a), len(b))
}

// Rows without an id of their own are named by their place in the file; even
// then another order changes no order and no price.
func TestNamelessRows(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 12)
		if len(ds) > 2 { // two at one place
			ds[1].Line, ds[1].Area, ds[1].Chainage, ds[1].OD = ds[0].Line, ds[0].Area, ds[0].Chainage, ds[0].OD
		}
		number := func(ds []survey.Defect) {
			for i := range ds {
				ds[i].Line0, ds[i].ID = i+2, fmt.Sprintf("row %d", i+2)
			}
		}
		other := rapid.Permutation(append([]survey.Defect(nil), ds...)).Draw(t, "order")
		number(ds)
		number(other)
		a, b := run(t, ds, c), run(t, other, c)
		if len(a.Repairs) != len(b.Repairs) || len(a.Orders) != len(b.Orders) || !a.Bid.Total.Equal(b.Bid.Total) || a.Account != b.Account {
			t.Fatalf("%d repairs, %d orders, %s; renumbered %d, %d, %s", len(a.Repairs), len(a.Orders), a.Bid.Total, len(b.Repairs), len(b.Orders), b.Bid.Total)
		}
		for i := range a.Orders {
			if !a.Orders[i].Net.Equal(b.Orders[i].Net) || a.Orders[i].Need.Item.Code != b.Orders[i].Need.Item.Code {
				t.Fatalf("%s: %s, renumbered %s", a.Orders[i].Need.Item.Code, a.Orders[i].Net, b.Orders[i].Net)
			}
		}
	})
}

// Every row read is accounted for, once.
func TestAccount(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 15)
		s := trial.Result(ds)
		s.Account.Queried, s.Account.Filtered, s.Account.Blank = rapid.IntRange(0, 3).Draw(t, "queried"), rapid.IntRange(0, 3).Draw(t, "filtered"), rapid.IntRange(0, 3).Draw(t, "blank")
		s.Account.Read += s.Account.Queried + s.Account.Filtered + s.Account.Blank
		p, err := estimate.Run(s, c, estimate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		a := p.Account
		if a.Read != a.Estimated+a.Merged+a.Queried+a.NotRepairable+a.Filtered+a.Blank {
			t.Fatalf("%+v", a)
		}
		if a.Estimated != len(p.Jobs) {
			t.Fatalf("%d counted, %+v", len(p.Jobs), a)
		}
		for _, j := range p.Jobs {
			i := j.At
			if j.Repair != p.Repairs[i] || p.Repairs[i].Status != scope.Estimated {
				t.Fatalf("%s is counted and %s", p.Repairs[i].ID, p.Repairs[i].Status)
			}
		}
		for _, q := range p.Queries {
			if strings.HasPrefix(q.Place.File, "offers ") || strings.HasPrefix(q.Place.File, "suppliers ") {
				continue // of what is bought for many repairs
			}
			if q.Row != survey.AllRows && (q.Repair == "" || q.Row == "") {
				t.Fatalf("%+v names no repair", q)
			}
		}
	})
}

// The campaign's totals are the sums over its repairs: issued with the kits, to
// crews, to the campaign and cut from stock; mass; time; rolls, sticks and packs.
func TestTotalsAreSums(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 15), c)
		issued, wide := map[string]float64{}, map[string]float64{}
		mass, minutes := 0.0, 0.0
		for n := range p.Jobs {
			j := &p.Jobs[n]
			k := p.Kit(j)
			for _, l := range k.Lines {
				if l.Item.Issue == "kit" {
					issued[l.Item.Code] += l.Qty
				} else {
					wide[l.Item.Code] += l.Qty
				}
			}
			mass += k.Mass
			minutes += k.Minutes
			lines := 0
			for range j.Lines() {
				lines++
			}
			if j.Minutes != k.Minutes || lines != len(k.Lines) {
				t.Fatalf("%s: visit of %v min, kit of %v", k.Repair.ID, j.Minutes, k.Minutes)
			}
			if again := p.PackAgain(j); !reflect.DeepEqual(k, again) {
				t.Fatalf("%s: the kit that is kept is not the one packed again:\n%+v\n%+v", k.Repair.ID, k, again)
			}
		}
		given := map[string]float64{}
		for _, is := range p.Issues {
			code := c.Items[is.Item].Code
			if is.Qty != math.Trunc(is.Qty) || is.Qty < is.Grown-1e-9 || is.Qty >= is.Grown+1 || is.Grown < is.Net {
				t.Fatalf("%s: %v issued for %v", code, is.Qty, is.Net)
			}
			given[code] += is.Net
			issued[code] += is.Qty
		}
		for code, q := range wide { // what the kits ask for at a wider level is among what is issued there
			if given[code] < q-1e-6 {
				t.Fatalf("%s: kits ask for %v, %v is issued", code, q, given[code])
			}
		}
		for _, cl := range p.Cuts {
			used := []int(nil)
			if cl.Linear != nil {
				used = cl.Linear.StocksUsed
			} else {
				used = cl.Sheets.SheetsUsed
			}
			for i, n := range used {
				if cl.Lots[i] == "" {
					issued[cl.Items[i]] += float64(n)
				}
			}
		}
		for _, o := range p.Orders {
			n := o.Need
			if !trial.Near(issued[n.Item.Code], n.Issued) || n.Issued < n.Net-1e-9 {
				t.Fatalf("%s: %v issued, %v needed", n.Item.Code, issued[n.Item.Code], n)
			}
			delete(issued, n.Item.Code)
		}
		for code, q := range issued {
			if q > 0 {
				t.Fatalf("%v of %s are issued and not ordered", q, code)
			}
		}
		if !trial.Near(mass, p.Mass) {
			t.Fatalf("%v kg of kits, %v of campaign", mass, p.Mass)
		}
		productive := c.Settings.Productive
		for i := range p.Jobs {
			if access, ok := c.AccessOf(p.Jobs[i].Repair.Access); ok && p.Jobs[i].Access {
				minutes += access.SetUp
			}
		}
		work, attended := 0.0, 0.0
		for _, s := range p.Shifts {
			work += s.Minutes.Work
			attended += c.Settings.ShiftHours + s.Minutes.Over/60
		}
		if !trial.Near(minutes/productive, work) || !trial.Near(attended, p.CrewHours) {
			t.Fatalf("%v minutes of repairs are %v of the plan; %v h are attended, %v paid", minutes/productive, work, attended, p.CrewHours)
		}
	})
}

// What is ordered covers what is needed, in whole packs, cartons and minimum
// orders; what is too much is less than a pack or says why; and Check agrees.
func TestOrderedCoversNeeded(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 15), c)
		for _, o := range p.Orders {
			n := o.Need
			if o.Item != n.Item.Code || o.Needed.LessThan(o.Raised) || !o.Needed.Equal(o.Drawn.Add(o.Net)) || o.Bought.LessThan(o.Net) || !o.Excess.Equal(o.Bought.Sub(o.Net)) {
				t.Fatalf("%+v", o)
			}
			growth := decimal.NewFromFloat(1 + c.Settings.Growth/100)
			if !p.Grows(&n) { // the pieces that are cut have grown, see TestPiecesHavePlaces
				growth = decimal.NewFromInt(1)
			}
			if o.Raised.LessThan(decimal.NewFromFloat(n.Issued).Mul(growth).Sub(decimal.New(1, -5))) {
				t.Fatalf("%s: %v issued, raised to %s", o.Item, n.Issued, o.Raised)
			}
			bought := decimal.Zero
			for k, l := range o.Lines {
				offer := o.Offers[l.Offer]
				if l.Packs <= 0 || l.Packs%max(1, offer.Carton) != 0 || l.Packs < offer.MinPacks || offer.Available > 0 && l.Packs > offer.Available {
					t.Fatalf("%s: %d packs of %+v", o.Item, l.Packs, offer)
				}
				bought = bought.Add(l.Quantity)
				if o.Excess.GreaterThanOrEqual(l.PackQuantity) && !reasoned(o.Reasons, k) {
					t.Fatalf("%s: %s too much of packs of %s for no reason: %v", o.Item, o.Excess, l.PackQuantity, o.Reasons)
				}
			}
			if !bought.Equal(o.Bought) {
				t.Fatalf("%s: lines hold %s, %s bought", o.Item, bought, o.Bought)
			}
		}
	})
}

// reasoned reports whether a reason other than whole packs made a line larger.
func reasoned(reasons []order.Reason, line int) bool {
	for _, r := range reasons {
		switch r.Code {
		case order.ReasonMinimum, order.ReasonCarton, order.ReasonBreak, order.ReasonSplit, order.ReasonFree, order.ReasonCalled:
			if r.Line == line || r.Line < 0 {
				return true
			}
		}
	}
	return false
}

// The bid is the sum of its lines, the materials the sum of the order, and the
// shares of the repairs add up to each exactly.
func TestSharesAddUp(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 15), c)
		b := p.Bid
		materials := decimal.Zero
		for _, o := range p.Orders {
			if o.Need.Item.Hire.Valid || o.Need.Item.WriteOff.Valid {
				materials = materials.Add(o.Charge.Amount) // worked out in TestChargedByHand
				continue
			}
			materials = materials.Add(o.Cost(b.Minor))
			drawn := decimal.Zero
			for _, d := range o.Draws {
				drawn = drawn.Add(d.Quantity.Mul(kit.UnitPrice(p.Catalog, o.Item)))
			}
			materials = materials.Add(drawn.Round(b.Minor))
		}
		for _, o := range p.Offcuts {
			materials = materials.Add(o.Value)
		}
		lines, labour, ordered, access := decimal.Zero, decimal.Zero, decimal.Zero, decimal.Zero
		for _, l := range b.Lines {
			lines = lines.Add(l.Amount)
			switch {
			case l.Stage == "labour":
				labour = labour.Add(l.Amount)
			case l.Stage == "materials":
				ordered = ordered.Add(l.Amount)
			case l.Code == "access-repairs":
				access = access.Add(l.Amount)
			}
		}
		if !lines.Equal(b.Total) || !ordered.Equal(materials) {
			t.Fatalf("lines %s, total %s; order %s, line %s", lines, b.Total, materials, ordered)
		}
		if len(p.Jobs) == 0 {
			return
		}
		sum := p.Jobs[0].Share
		for _, j := range p.Jobs[1:] {
			s := j.Share
			sum.Materials, sum.Labour, sum.Access, sum.Total = sum.Materials.Add(s.Materials), sum.Labour.Add(s.Labour), sum.Access.Add(s.Access), sum.Total.Add(s.Total)
		}
		if !sum.Total.Equal(b.Total) || !sum.Materials.Equal(materials) || !sum.Labour.Equal(labour) || !sum.Access.Equal(access) {
			t.Fatalf("shares %+v, total %s, materials %s, labour %s, access %s", sum, b.Total, materials, labour, access)
		}
		for i, j := range p.Jobs {
			s := j.Share
			if s.Total.IsNegative() || s.Materials.IsNegative() {
				t.Fatalf("share %d is %+v", i, s)
			}
		}
	})
}

// Every piece of every kit and spare set is cut from one place, and no two from the same.
func TestPiecesHavePlaces(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 15), c)
		taken := map[estimate.PiecePlace]string{}
		pieces := 0
		var all [][]kit.Piece
		for n := range p.Jobs {
			all = append(all, p.Kit(&p.Jobs[n]).Pieces)
		}
		for i := range p.Spares {
			all = append(all, p.Spares[i].Pieces)
		}
		for _, list := range all {
			for _, piece := range list {
				at, ok := p.Place(piece.Label)
				if !ok || at.Coil < 1 || at.Number < 1 || p.Cuts[at.List].Kind != piece.Kind || p.Cuts[at.List].Stock != piece.Stock {
					t.Fatalf("%+v is cut at %+v, %v", piece, at, ok)
				}
				if other, twice := taken[at]; twice {
					t.Fatalf("%s and %s are cut at %+v", piece.Label, other, at)
				}
				taken[at] = piece.Label
				pieces++
			}
		}
		planned := 0
		for _, cl := range p.Cuts {
			all, reserve, spare := 0, 0, 0
			count := func(label string, n int) {
				all += n
				switch {
				case label == estimate.Reserve:
					reserve += n
				case strings.HasPrefix(label, "CREW"):
					spare += n
				}
			}
			for _, piece := range cl.Pieces {
				count(piece.Label, piece.Count)
			}
			for _, piece := range cl.Rects {
				count(piece.Label, piece.Count)
			}
			// The reserve is the allowance of 5 %, up to whole pieces of the item; what is spare
			// does not grow.
			if own := all - reserve - spare; reserve != (own*5+99)/100 || reserve != cl.Reserve() {
				t.Fatalf("%s: %d pieces for the kits, %d in reserve", cl.Stock, own, reserve)
			}
			planned += all - reserve
		}
		if planned != pieces {
			t.Fatalf("%d pieces planned, %d in kits", planned, pieces)
		}
	})
}

// Each repair is begun and finished in shifts that its crew attends; no plan is
// below its bound. That crews do one thing at a time is the planner's own check.
func TestSchedule(t *testing.T) {
	c := builtin(t, "crew.count=2", "campaign.start=2027-03-05")
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 25), c)
		attended := map[[2]int]bool{}
		for _, s := range p.Shifts {
			attended[[2]int{s.Crew, s.Shift}] = true
			if d := s.Date.Weekday(); d == time.Saturday || d == time.Sunday {
				t.Fatalf("crew %d works on %s, %v", s.Crew, s.Date, d)
			}
		}
		for _, v := range p.Jobs {
			if !attended[[2]int{v.Crew, v.Shift}] || !attended[[2]int{v.Crew, v.Last}] || v.Done.Before(v.Begun) || v.Sharing < 1 {
				t.Fatalf("%+v", v.Visit)
			}
		}
		if p.Days < p.Bound || p.CrewShifts != len(p.Shifts) {
			t.Fatalf("%d days of at least %d, %d crew-shifts", p.Days, p.Bound, p.CrewShifts)
		}
	})
}

// Every figure of the JSON says by which step it was derived, and the step is
// there; no two steps share an id; references to steps in the inputs hold; plain
// formulas give their values.
func TestEveryWhyIsThere(t *testing.T) {
	c := builtin(t)
	plain := 0
	settings, err := fs.ReadFile(catalog.Book(), "settings.csv")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := run(t, drawn(t, c, 8), c)
		var doc any
		dec := json.NewDecoder(bytes.NewReader(jsonOf(t, p)))
		dec.UseNumber()
		if err := dec.Decode(&doc); err != nil {
			t.Fatal(err)
		}
		steps, leftOut := map[string]bool{}, map[string]bool{}
		for _, r := range p.Repairs {
			leftOut[r.ID] = r.Status != scope.Estimated
		}
		collect(doc, func(m map[string]any) {
			if id, ok := m["id"].(string); ok && m["formula"] != nil {
				if steps[id] {
					t.Fatalf("step %s is there twice", id)
				}
				steps[id] = true
			}
		})
		collect(doc, func(m map[string]any) {
			why, ok := m["why"].(string)
			if !ok {
				return
			}
			if _, unit := m["unit"].(string); !unit {
				t.Fatalf("%v has no unit", m)
			}
			if why == "survey" || why == "stock" || why == "prices" {
				return // as given
			}
			if id, _, _ := strings.Cut(why, "/"); !steps[why] && !leftOut[id] { // what is left out may end before its last step
				t.Fatalf("%v: no step %s", m, why)
			}
		})
		all := p.Steps()
		for i := range p.Repairs {
			all = append(all, p.Explain(i)...)
		}
		if len(all) != len(steps) {
			t.Fatalf("%d steps, %d in the JSON", len(all), len(steps))
		}
		for _, s := range all {
			if s.Name == "" || s.Rule == "" || s.Source == "" || s.Formula == "" {
				t.Fatalf("%+v lacks something", s)
			}
			why, ok := trial.Disagrees(s)
			if why != "" {
				t.Fatal(why)
			}
			if ok {
				plain++
			}
			for _, in := range s.Inputs {
				for _, from := range in.From {
					if id, is := strings.CutPrefix(from.String(), "step "); is && !present(steps, s.ID, id) && !leftOut[s.ID[:strings.Index(s.ID, "/")]] {
						t.Fatalf("%s: input %s comes from %q, which is not there", s.ID, in.Symbol, in.From)
					}
					if name, is := strings.CutPrefix(from.String(), "setting "); is && !bytes.Contains(settings, []byte("\n"+name+",")) {
						t.Fatalf("%s: input %s comes from %q, which the catalogue does not have", s.ID, in.Symbol, in.From)
					}
				}
			}
		}
	})
	if plain < depth.Of(200, 3000) {
		t.Errorf("only %d formulas were plain", plain)
	}
}

// present reports whether a step named in an input is there: by its whole id, or
// without the repair's, or by its name beside the step that names it.
func present(steps map[string]bool, id, name string) bool {
	repair, _, _ := strings.Cut(id, "/")
	return steps[name] || steps[repair+"/"+name] || steps[id[:strings.LastIndex(id, "/")+1]+name]
}

// collect shows every object of a JSON document.
func collect(v any, show func(map[string]any)) {
	switch v := v.(type) {
	case map[string]any:
		show(v)
		for _, name := range slices.Sorted(maps.Keys(v)) {
			collect(v[name], show)
		}
	case []any:
		for _, x := range v {
			collect(x, show)
		}
	}
}

// Nothing that is not estimated is in kits, order or price.
func TestLeftOut(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 10)
		p := run(t, ds, c)
		var kept []survey.Defect
		for _, j := range p.Jobs {
			for _, d := range j.Repair.Defects {
				kept = append(kept, *d)
			}
		}
		only := run(t, kept, c)
		if len(only.Jobs) != len(p.Jobs) {
			return // a defect left out no longer lies between two others
		}
		if !only.Bid.Total.Equal(p.Bid.Total) && p.Dates == only.Dates {
			t.Fatalf("%s with what is left out, %s without", p.Bid.Total, only.Bid.Total)
		}
		for _, r := range p.Repairs {
			if r.Status == scope.Estimated {
				continue
			}
			if r.Reason == "" {
				t.Fatalf("%s is %s without a reason", r.ID, r.Status)
			}
			stops := 0
			for _, q := range p.Queries {
				if q.Repair == r.ID && q.Severity == trace.Stop {
					stops++
				}
			}
			if r.Status == scope.Queried && stops == 0 {
				t.Fatalf("%s is queried and no query says so", r.ID)
			}
		}
	})
}
