package catalog

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// checkRules notes consumables and tools that no rule ever issues.
func checkRules(k *checker) {
	used := map[string]bool{}
	for i := range k.c.Consumables {
		used[k.c.Consumables[i].Item] = true
	}
	for i := range k.c.Items {
		it := &k.c.Items[i]
		if (it.Kind == "consumable" || it.Kind == "tool") && !used[it.Code] {
			k.note("items", i, "item", "item-unused", "no rule issues "+it.Code, "add a row to consumables or take the item out")
		}
	}
}

// checkMinLayers: the firm's minimum is stated for leaking and sound pipe, and
// a higher pressure never needs fewer layers.
func checkMinLayers(k *checker) {
	for _, leaking := range []bool{false, true} {
		var rows []int
		for i := range k.c.MinLayers {
			if k.c.MinLayers[i].Leaking == leaking {
				rows = append(rows, i)
			}
		}
		if len(rows) == 0 {
			k.faultTable("min_layers", "service-missing", fmt.Sprintf("no minimum is stated for leaking %s", yesNo(leaking)), "add a row for it")
			continue
		}
		slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(k.c.MinLayers[a].Pressure, k.c.MinLayers[b].Pressure) })
		for j := 1; j < len(rows); j++ {
			if before := k.c.MinLayers[rows[j-1]]; k.c.MinLayers[rows[j]].Layers < before.Layers {
				k.fault("min_layers", rows[j], "layers", "layers-fall", fmt.Sprintf("fewer layers than the %d for a lower pressure", before.Layers), "check the two rows")
			}
		}
	}
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// checkCosts: the lines stand in the order in which one builds on the other,
// and a margin leaves something of the price for the cost.
func checkCosts(k *checker) {
	last := 0
	hundred := decimal.NewFromInt(100)
	for i := range k.c.Costs {
		cost := &k.c.Costs[i]
		stage := slices.Index(stages, cost.Stage)
		if stage >= 0 && stage < last {
			k.fault("costs", i, "stage", "cost-order", fmt.Sprintf("%s stands after %s", cost.Stage, stages[last]), "put the lines in the order access, freight, overhead, contingency, profit, tax")
		}
		last = max(last, stage)
		switch cost.Basis {
		case "percent-margin":
			if cost.Value.GreaterThanOrEqual(hundred) {
				k.fault("costs", i, "value", "value-out-of-range", "a margin is a share of the price and stays below 100 %", "give the margin, not the markup")
			}
		case "percent", "percent-materials":
			if cost.Value.GreaterThan(decimal.NewFromInt(1000)) {
				k.fault("costs", i, "value", "value-out-of-range", "more than 1000 %", "give a percentage")
			}
		}
	}
}

// checkComponents: every kind of component has its factor.
func checkComponents(k *checker) {
	for _, part := range parts {
		if _, ok := k.c.ComponentOf(part); !ok {
			k.faultTable("components", "component-missing", "no factor for a "+part, "add a row for it")
		}
	}
}

// checkLifeFactors: a longer life never allows more strain, and the usual life
// has its factor.
func checkLifeFactors(k *checker) {
	rows := make([]int, len(k.c.LifeFactors))
	for i := range rows {
		rows[i] = i
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(k.c.LifeFactors[a].Years, k.c.LifeFactors[b].Years) })
	for j := 1; j < len(rows); j++ {
		if before := k.c.LifeFactors[rows[j-1]]; k.c.LifeFactors[rows[j]].Factor > before.Factor {
			k.fault("life_factors", rows[j], "factor", "factor-rises", fmt.Sprintf("a longer life allows more than the %s for %s years", num(before.Factor), num(before.Years)), "check the two rows")
		}
	}
	if n := len(rows); n > 0 && k.c.LifeFactors[rows[n-1]].Years < k.c.Settings.Life {
		k.fault("life_factors", rows[n-1], "years", "life-uncovered", fmt.Sprintf("no factor for the usual service life of %s years", num(k.c.Settings.Life)), "add a row, or lower design.life")
	}
}

// checkPipes: a wall leaves a bore, and the series that stands in for walls
// not known is there.
func checkPipes(k *checker) {
	nps := false
	for i := range k.c.Pipes {
		p := &k.c.Pipes[i]
		nps = nps || p.Series == seriesNPS
		if 2*p.Wall >= p.OD {
			k.fault("pipes", i, "std_wall_mm", "value-out-of-range", "the wall leaves no bore", "give the wall in mm, below half the outside diameter")
		}
	}
	if !nps {
		k.faultTable("pipes", "series-missing", "the series NPS is missing; its standard walls stand in for walls not known", "add its sizes")
	}
}
