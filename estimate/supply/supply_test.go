package supply

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

// cost is what a plan costs, reckoned without the search.
func cost(items [][]Choice, terms []Terms, pick []int) int64 {
	total, value, used := int64(0), make([]int64, len(terms)), make([]bool, len(terms))
	for i, k := range pick {
		total += items[i][k].Cost
		for _, p := range items[i][k].Parts {
			value[p.Supplier] += p.Value
			used[p.Supplier] = true
		}
	}
	for k, t := range terms {
		switch {
		case !used[k]:
		case t.FreeFrom == 0 || value[k] < t.FreeFrom:
			total += t.Delivery + max(0, t.Minimum-value[k])
		default:
			total += max(0, t.Minimum-value[k])
		}
	}
	return total
}

// every goes through all plans.
func every(items [][]Choice, terms []Terms) (least int64) {
	pick := make([]int, len(items))
	least = math.MaxInt64
	for {
		least = min(least, cost(items, terms, pick))
		i := 0
		for i < len(pick) {
			if pick[i]++; pick[i] < len(items[i]) {
				break
			}
			pick[i] = 0
			i++
		}
		if i == len(pick) {
			return least
		}
	}
}

func draw(rt *rapid.T) ([][]Choice, []Terms) {
	terms := make([]Terms, rapid.IntRange(1, 4).Draw(rt, "suppliers"))
	for k := range terms {
		terms[k] = Terms{Delivery: rapid.Int64Range(0, 60).Draw(rt, "delivery"), FreeFrom: rapid.Int64Range(0, 200).Draw(rt, "free"), Minimum: rapid.SampledFrom([]int64{0, 0, 30, 120}).Draw(rt, "minimum")}
	}
	items := make([][]Choice, rapid.IntRange(1, 6).Draw(rt, "items"))
	for i := range items {
		items[i] = make([]Choice, rapid.IntRange(1, 4).Draw(rt, "choices"))
		for k := range items[i] {
			c := Choice{Cost: rapid.Int64Range(0, 100).Draw(rt, "cost")}
			for range rapid.IntRange(0, 2).Draw(rt, "parts") {
				c.Parts = append(c.Parts, Part{rapid.IntRange(0, len(terms)-1).Draw(rt, "at"), rapid.Int64Range(0, 80).Draw(rt, "value")})
			}
			items[i][k] = c
		}
	}
	return items, terms
}

// Against every plan there is, on small cases.
func TestCheapestIsCheapest(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		items, terms := draw(rt)
		want := every(items, terms)
		got, err := Cheapest(items, terms, 1<<40)
		if err != nil {
			rt.Fatal(err)
		}
		again := cost(items, terms, got.Pick)
		if again != got.Cost || got.Cost != want || !got.Proven || got.Bound != want {
			rt.Fatalf("cost %d (reckoned again %d), least %d, bound %d, proven %v", got.Cost, again, want, got.Bound, got.Proven)
		}
	})
}

// A search that is stopped never claims more than it knows.
func TestStoppedSearchIsHonest(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		items, terms := draw(rt)
		want := every(items, terms)
		got, err := Cheapest(items, terms, rapid.Int64Range(0, 12).Draw(rt, "steps"))
		if err != nil {
			rt.Fatal(err)
		}
		if got.Bound > want || got.Cost < want || got.Proven && got.Cost != want {
			rt.Fatalf("cost %d, bound %d, proven %v; the least is %d", got.Cost, got.Bound, got.Proven, want)
		}
	})
}

// Two items: each is 5 cheaper at its own supplier, and a second delivery costs
// 40. By hand: 100 + 105 + 40 at one supplier is less than 100 + 100 + 80.
func TestOneDeliveryByHand(t *testing.T) {
	items := [][]Choice{
		{{Cost: 100, Parts: []Part{{0, 100}}}, {Cost: 105, Parts: []Part{{1, 105}}}},
		{{Cost: 105, Parts: []Part{{0, 105}}}, {Cost: 100, Parts: []Part{{1, 100}}}},
	}
	got, err := Cheapest(items, []Terms{{Delivery: 40}, {Delivery: 40}}, 1000)
	if err != nil || got.Cost != 245 {
		t.Errorf("cost %d, %v; by hand 245", got.Cost, err)
	}
	// Free from 205 at the first: 205.
	got, err = Cheapest(items, []Terms{{Delivery: 40, FreeFrom: 205}, {Delivery: 40}}, 1000)
	if err != nil || got.Cost != 205 {
		t.Errorf("cost %d, %v; by hand 205", got.Cost, err)
	}
	// The second asks for 300, the first is dear: 105 + 100, and the 95 missing.
	got, err = Cheapest(items, []Terms{{Delivery: 500}, {Minimum: 300}}, 1000)
	if err != nil || got.Cost != 300 {
		t.Errorf("cost %d, %v; by hand 300", got.Cost, err)
	}
}

func TestRefusesNonsense(t *testing.T) {
	for _, c := range []struct {
		items [][]Choice
		terms []Terms
	}{
		{[][]Choice{{}}, nil},
		{[][]Choice{{{Cost: -1}}}, nil},
		{[][]Choice{{{Cost: 1, Parts: []Part{{2, 1}}}}}, []Terms{{}}},
		{nil, []Terms{{Delivery: -1}}},
	} {
		if _, err := Cheapest(c.items, c.terms, 100); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
}
