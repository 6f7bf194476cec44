package export

import (
	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/estimate/survey"
)

// detectedJSON tells how the survey was read.
func detectedJSON(d survey.Detected) any {
	columns := listed(d.Columns, func(c survey.Column) any {
		return map[string]any{"column": c.Index, "heading": c.Heading, "field": c.Field, "unit": c.Unit, "unit_from": c.UnitFrom, "via": c.Via, "why_ignored": c.Why}
	})
	return map[string]any{
		"form": d.Form, "encoding": d.Encoding, "byte_order_mark": d.BOM, "line_ends": d.LineEnds, "delimiter": d.Delimiter, "decimal": d.Decimal,
		"sheet": d.Sheet, "heading_line": d.HeaderRow, "heading_lines": d.HeaderRows, "preamble_lines": d.Preamble,
		"given": append([]string{}, d.Set...), "columns": columns, "missing": append([]string{}, d.Missing...),
	}
}

// cuttingJSON writes the cutting plans with their certificates, from which
// anyone can verify the bound again: no single coil or sheet yields pieces worth
// more than its k together, a piece being worth its y, so that the demand's worth
// over k, rounded up, bounds the number.
func cuttingJSON(p *estimate.Campaign) any {
	out := []any{}
	for _, cl := range p.Cuts {
		counts := cl.Counts()
		why := "stock"
		used := []any{}
		for i, n := range counts {
			j := map[string]any{"item": cl.Items[i]}
			step := estimate.CampaignPrefix + "cut/" + cl.Items[i]
			if cl.Lots[i] != "" {
				j["lot"], step = cl.Lots[i], "stock"
			} else if n > 0 || why == "stock" {
				why = step
			}
			j["count"] = figure{n, "pc", step}
			used = append(used, j)
		}
		j := map[string]any{"kind": cl.Kind, "stock": cl.Stock, "used": used}
		if cl.Linear != nil {
			linearJSON(j, cl.Linear, why)
		} else {
			sheetsJSON(j, cl.Sheets, why)
		}
		out = append(out, j)
	}
	return out
}

func linearJSON(j map[string]any, plan *cut.LinearPlan, why string) {
	mm := func(v int64) figure { return figure{v, "mm", why} }
	j["patterns"] = listed(plan.Patterns, func(pt cut.Pattern) any {
		cuts := listed(pt.Cuts, func(c cut.Cut) any { return map[string]any{"length": mm(int64(c.Length)), "count": c.Count} })
		return map[string]any{"from": pt.Stock, "count": pt.Count, "cuts": cuts, "left": mm(int64(pt.Left)), "keep": pt.Keep}
	})
	c := plan.Certificate
	j["proof"] = proofJSON(plan.Verdict, map[string]any{"lengths_mm": c.Lengths, "y": c.Y, "k": c.K})
	j["totals"] = map[string]any{
		"pieces": figure{plan.Pieces, "pc", why}, "cut": mm(plan.CutTotal), "kerf": mm(plan.KerfTotal), "trim": mm(plan.TrimTotal),
		"scrap": mm(plan.ScrapTotal), "kept": mm(plan.KeptTotal),
	}
}

func sheetsJSON(j map[string]any, plan *cut.SheetPlan, why string) {
	mm2 := func(v int64) figure { return figure{v, "mm²", why} }
	j["layouts"] = listed(plan.Layouts, func(l cut.Layout) any {
		parts := listed(l.Parts, func(p cut.Part) any { return map[string]any{"x_mm": p.X, "y_mm": p.Y, "w_mm": p.W, "h_mm": p.H} })
		return map[string]any{"from": l.Sheet, "count": l.Count, "parts": parts, "cuts": cutsJSON(l.Cuts), "kept": mm2(l.Kept)}
	})
	c := plan.Certificate
	sizes := listed(c.Sizes, func(s cut.Size) any { return []int{s.W, s.H} })
	j["proof"] = proofJSON(plan.Verdict, map[string]any{"method": string(c.Method), "sizes_mm": sizes, "y": c.Y, "k": c.K, "grid_mm": c.Grid})
	j["totals"] = map[string]any{
		"pieces": figure{plan.Pieces, "pc", why}, "cut": mm2(plan.CutArea), "kerf": mm2(plan.KerfArea), "trim": mm2(plan.TrimArea),
		"scrap": mm2(plan.ScrapArea), "kept": mm2(plan.KeptArea),
	}
}

func proofJSON(v cut.Verdict, certificate map[string]any) any {
	return map[string]any{
		"counted_in": string(v.Basis), "total": exact(v.Objective), "bound": exact(v.Bound), "proven": v.Proven, "gap": v.Gap, "method": v.Method,
		"certificate": certificate,
	}
}

// cutsJSON is the tree of guillotine cuts: each cut runs from edge to edge of its
// rectangle and leaves first (left or lower) and second (right or upper).
func cutsJSON(n *cut.Node) any {
	if n == nil {
		return nil
	}
	j := map[string]any{"x_mm": n.X, "y_mm": n.Y, "w_mm": n.W, "h_mm": n.H}
	switch {
	case n.Cut != cut.Whole:
		j["cut"], j["at_mm"] = string(n.Cut), n.At
		j["first"], j["second"] = cutsJSON(n.First), cutsJSON(n.Second)
	case n.Part >= 0:
		j["part"] = n.Part
	default:
		j["keep"] = n.Keep
	}
	return j
}
