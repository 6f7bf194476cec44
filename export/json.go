package export

import (
	"bufio"
	"encoding/json"
	"io"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/bid"
	"wraptally/estimate/design"
	"wraptally/estimate/gate"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Schema names the form of the JSON. A field may be added without a new
// version; one is never renamed, removed or given another unit.
const Schema = "wraptally.campaign/1"

// figure is a quantity with its unit and the id of the step that derives it.
type figure struct {
	Value any    `json:"value"`
	Unit  string `json:"unit"`
	Why   string `json:"why"`
}

// exact writes a decimal as a JSON number with all its digits.
func exact(d decimal.Decimal) json.Number { return json.Number(d.String()) }

// day is a date, empty where not known.
func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

// listed is a list of the JSON with a member for each value; it is never null.
func listed[T any](values []T, member func(v T) any) []any {
	out := make([]any, len(values))
	for i, v := range values {
		out[i] = member(v)
	}
	return out
}

type stepJSON struct {
	ID       string      `json:"id"`
	Name     string      `json:"name"`
	Rule     string      `json:"rule"`
	Formula  string      `json:"formula"`
	Inputs   []inputJSON `json:"inputs"`
	Raw      any         `json:"raw,omitempty"`
	Value    any         `json:"value"`
	Unit     string      `json:"unit"`
	Rounding string      `json:"rounding,omitempty"`
	Source   string      `json:"source"`
	Leans    []string    `json:"assumptions,omitempty"`
}

type inputJSON struct {
	Symbol string `json:"symbol"`
	Name   string `json:"name"`
	Value  any    `json:"value"`
	Unit   string `json:"unit"`
	From   string `json:"from"`
}

func stepsJSON(steps []trace.Step) []stepJSON {
	out := make([]stepJSON, len(steps))
	for i, s := range steps {
		j := stepJSON{ID: s.ID, Name: s.Name, Rule: s.Rule, Formula: s.Formula, Value: s.Value, Unit: s.Unit, Rounding: s.Rounding, Source: s.Source, Leans: s.Leans, Inputs: []inputJSON{}}
		if s.Text != "" {
			j.Value = s.Text
		} else if s.Raw != s.Value {
			j.Raw = s.Raw
		}
		for _, in := range s.Inputs {
			v := any(in.Value)
			if in.Text != "" {
				v = in.Text
			}
			j.Inputs = append(j.Inputs, inputJSON{in.Symbol, in.Name, v, in.Unit, in.From.String()})
		}
		out[i] = j
	}
	return out
}

type queryJSON struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	File     string `json:"file,omitempty"`
	Sheet    string `json:"sheet,omitempty"`
	Line     int    `json:"line,omitempty"`
	Column   int    `json:"column,omitempty"`
	Field    string `json:"field,omitempty"`
	Found    string `json:"found,omitempty"`
	Message  string `json:"message"`
	Advice   string `json:"advice,omitempty"`
	Row      string `json:"row,omitempty"`
	Repair   string `json:"repair,omitempty"`
}

func queryOf(q trace.Query) any {
	return queryJSON{
		Code: q.Code, Severity: q.Severity.String(), File: q.Place.File, Sheet: q.Place.Sheet, Line: q.Place.Line, Column: q.Place.Column,
		Field: q.Place.Field, Found: q.Found, Message: q.Message, Advice: q.Advice, Row: q.Row, Repair: q.Repair,
	}
}

// JSON writes the campaign in the form Schema: every quantity with its unit and
// the id of the step that derives it, and the steps themselves. Repairs are
// written one by one.
func JSON(w io.Writer, p *estimate.Campaign, opt Options) error {
	buf := bufio.NewWriterSize(w, 1<<16)
	j := &jsonWriter{w: buf}
	j.open()
	j.head(p, opt)
	j.field("names", namesJSON(p))
	j.field("survey", surveyJSON(p))
	j.field("settings", settingsJSON(p))
	j.field("assumptions", assumptionsJSON(p))
	j.field("queries", listed(p.Queries, queryOf))
	j.list("repairs", len(p.Repairs), repairLister(p))
	j.field("issues", issuesJSON(p))
	if len(p.Spares) > 0 {
		j.field("spares", sparesJSON(p))
	}
	if r := p.Rolls; r != nil {
		at := estimate.CampaignPrefix + "rolls"
		j.field("rolls", map[string]any{
			"before": figure{exact(r.Before), p.Bid.Currency, at}, "after": figure{exact(r.After), p.Bid.Currency, at},
			"bound": figure{exact(r.Bound), p.Bid.Currency, at}, "proven": r.Proven, "changed": r.Changed,
		})
	}
	j.field("cutting", cuttingJSON(p))
	j.field("order", orderJSON(p))
	if len(p.Offcuts) > 0 {
		j.field("offcuts", offcutsJSON(p))
	}
	j.field("supply", supplyJSON(p))
	if p.Store != nil {
		j.field("store", storeJSON(p))
	}
	if len(p.Coming) > 0 {
		j.field("on_order", onOrderJSON(p))
	}
	j.field("dates", map[string]string{"need": day(p.Dates.Need), "end": day(p.Dates.End), "from": p.Dates.From})
	j.field("bid", bidJSON(p))
	if len(opt.Alternatives) > 0 {
		j.field("alternatives", alternativesJSON(p, opt.Alternatives))
	}
	j.field("derivation", stepsJSON(p.Steps()))
	j.close()
	if j.err != nil {
		return j.err
	}
	return buf.Flush()
}

// head is what the run is and what it was made from.
func (j *jsonWriter) head(p *estimate.Campaign, opt Options) {
	j.field("schema", Schema)
	j.field("program", "wraptally "+opt.Version)
	j.field("notice", Notice)
	j.field("cautions", Cautions)
	j.field("run", map[string]string{"mark": opt.Run, "survey": p.Name, "date": day(opt.Printed)})
	if opt.Made != nil {
		j.field("made_from", opt.Made)
	}
}

// jsonWriter writes one object field by field, so that the repairs of a large
// campaign are never all in memory.
type jsonWriter struct {
	w     *bufio.Writer
	err   error
	comma bool
}

func (j *jsonWriter) text(s string) {
	if j.err == nil {
		_, j.err = j.w.WriteString(s)
	}
}

func (j *jsonWriter) value(v any) {
	if j.err != nil {
		return
	}
	enc := json.NewEncoder(j.w)
	enc.SetEscapeHTML(false)
	j.err = enc.Encode(v) // ends with a line break, which keeps large files readable by line
}

func (j *jsonWriter) open()  { j.text("{\n") }
func (j *jsonWriter) close() { j.text("}\n") }

func (j *jsonWriter) key(name string) {
	if j.comma {
		j.text(",")
	}
	j.comma = true
	j.text(`"` + name + `": `)
}

func (j *jsonWriter) field(name string, v any) {
	j.key(name)
	j.value(v)
}

func (j *jsonWriter) list(name string, n int, at func(int) any) {
	j.key(name)
	j.text("[\n")
	for i := range n {
		if i > 0 {
			j.text(",")
		}
		j.value(at(i))
	}
	j.text("]\n")
}

func surveyJSON(p *estimate.Campaign) any {
	a := p.Account
	return map[string]any{
		"file":     p.Name,
		"detected": detectedJSON(p.Survey.Detected),
		"rows": map[string]int{
			"read": a.Read, "estimated": a.Estimated, "merged": a.Merged, "queried": a.Queried, "not_repairable": a.NotRepairable,
			"filtered": a.Filtered, "blank": a.Blank,
		},
	}
}

func settingsJSON(p *estimate.Campaign) any {
	type row struct {
		Name     string `json:"name"`
		Value    string `json:"value"`
		Unit     string `json:"unit"`
		Basis    string `json:"basis"`
		Verified string `json:"verified"`
		Meaning  string `json:"meaning"`
		Changed  string `json:"changed_by,omitempty"`
	}
	return listed(p.Catalog.SettingRows, func(s catalog.SettingRow) any {
		return row{s.Name, s.Value, s.Unit, s.Basis, s.Verified, s.Meaning, s.Changed}
	})
}

func assumptionsJSON(p *estimate.Campaign) any {
	type row struct {
		Code  string `json:"code"`
		Text  string `json:"text"`
		Basis string `json:"basis"`
		Count int    `json:"count"`
		Where string `json:"where"`
	}
	return listed(p.Assumptions, func(a trace.Assumption) any { return row{a.Code, a.Text, a.Basis, a.Count, a.Where} })
}

// repairLister gives the n-th repair as it is written.
func repairLister(p *estimate.Campaign) func(int) any {
	return func(i int) any {
		r := p.Repairs[i]
		at := r.ID + "/"
		out := map[string]any{
			"id": r.ID, "line": r.Line, "area": r.Area, "kind": r.Kind(), "status": string(r.Status), "rows": rowIDs(r),
			"method": r.Method, "layers_from": r.LayersFrom, "surface": string(r.Surface), "component": string(r.Component),
			"access": r.Access, "hazardous": r.Hazardous, "assumptions": append([]string{}, r.Leans...),
		}
		if r.Reason != "" {
			out["reason"] = r.Reason
		}
		if r.Blank != 0 {
			easy, hard := p.Ends(i)
			end := func(e estimate.End) any {
				return map[string]any{"status": string(e.Status), "layers": e.Layers, "length_mm": e.Length, "kit_kg": e.Mass, "materials": exact(e.Materials)}
			}
			out["open"] = map[string]any{"blank": r.Blank.Keys(), "says": r.Until(), "easy": end(easy), "hard": end(hard), "may_not_be_repairable": r.MayNotBe}
		}
		figures := map[string]figure{
			"outside_diameter": {r.OD, "mm", "survey"},
			"reach":            {r.Reach, "mm", at + "reach"},
			"length":           {r.Length, "mm", at + "length"},
			"from":             {r.From / 1000, "m", at + "length"},
			"to":               {r.To / 1000, "m", at + "length"},
		}
		if r.WrapThickness > 0 { // a repair that is left out may have none
			figures["taper"] = figure{r.Taper, "mm", at + "taper"}
			figures["layers"] = figure{r.Layers, "", at + "layers"}
			figures["passes"] = figure{r.Passes, "", at + "passes"}
			figures["wrap_thickness"] = figure{r.WrapThickness, "mm", at + "wrap-thickness"}
		}
		if r.Ceiling > 0 {
			figures["pressure_ceiling"] = figure{r.Ceiling, "MPa", at + "ceiling"}
		}
		out["figures"] = figures
		by, reference := r.DesignedBy()
		out["designed"] = map[string]any{"is": by != "", "by": by, "reference": reference}
		if kt := p.KitOf(i); kt != nil && len(kt.Gate) > 0 {
			out["gate"] = gateJSON(kt.Gate)
		}
		if v := p.JobOf(i); v != nil {
			out["kit"] = kitJSON(p, p.Kit(v), v.Code)
			s := v.Share
			out["visit"] = map[string]int{"crew": v.Crew, "shift": v.Shift}
			out["cost"] = map[string]figure{
				"materials": {exact(s.Materials), p.Bid.Currency, "campaign/bid/stage-materials"},
				"labour":    {exact(s.Labour), p.Bid.Currency, "campaign/bid/labour"},
				"access":    {exact(s.Access), p.Bid.Currency, "campaign/bid/access-repairs"},
				"other":     {exact(s.Other), p.Bid.Currency, "campaign/bid/total"},
				"total":     {exact(s.Total), p.Bid.Currency, "campaign/bid/total"},
			}
		}
		out["derivation"] = stepsJSON(p.Explain(i))
		return out
	}
}

// gateJSON is the live-leak gate with its verdict; a number that is not known is
// left out.
func gateJSON(lines gate.Lines) any {
	out := listed(lines, func(l gate.Line) any {
		j := map[string]any{"name": l.Name, "verdict": l.Verdict.String(), "unit": l.Unit, "says": l.Said, "advice": l.Advice, "source": l.Source}
		for key, n := range map[string]design.Num{"found": l.Found, "limit": l.Limit, "margin": l.Margin} {
			if n.OK {
				j[key] = n.V
			}
		}
		return j
	})
	return map[string]any{"verdict": lines.Verdict().String(), "lines": out}
}

func rowIDs(r *scope.Repair) []string {
	out := make([]string, len(r.Defects))
	for i, d := range r.Defects {
		out[i] = d.ID
	}
	return out
}

func kitJSON(p *estimate.Campaign, k *kit.Kit, code string) any {
	at := k.Repair.ID + "/"
	lines := listed(k.Lines, func(l kit.Line) any {
		return map[string]any{
			"item": l.Item.Code, "name": l.Item.Name, "level": l.Item.Issue,
			"net": figure{l.Net, l.Item.Unit, at + "item/" + l.Item.Code}, "issued": figure{l.Qty, l.Item.Unit, at + "item/" + l.Item.Code},
		}
	})
	pieces := listed(k.Pieces, func(piece kit.Piece) any {
		set := at + "seal" + strconv.Itoa(piece.Set) + "/"
		return pieceJSON(p, &piece, set+"strip", set+"sheet-axial", set+"sheet-round")
	})
	batches := []any{}
	for n, b := range k.Putty.Batches {
		packs := []any{}
		for i, pk := range b.Packs {
			j := map[string]any{"item": pk.Putty.Item, "count": figure{pk.Count, "pack", at + "mix/batches"}}
			if pk.Weighed {
				why := at + "mix/batches"
				if pk.Putty.Ratio() > 0 {
					why = at + "mix/hardener" + strconv.Itoa(n+1) + "-" + strconv.Itoa(i+1)
				}
				j["resin"], j["hardener"] = figure{pk.Resin * 1000, "g", at + "mix/batches"}, figure{pk.Hardener * 1000, "g", why}
			}
			packs = append(packs, j)
		}
		batches = append(batches, map[string]any{
			"mass": figure{b.Mass, "kg", at + "mix/batches"}, "use_within": figure{b.Minutes, "min", at + "mix/usable" + strconv.Itoa(n+1)},
			"waste": figure{b.Waste, "kg", at + "mix/batches"}, "packs": packs,
		})
	}
	return map[string]any{
		"contents": code, "lines": lines, "pieces": pieces, "batches": batches,
		"mass":     figure{k.Mass, "kg", at + "mass"},
		"time":     figure{k.Minutes, "min", at + "time"},
		"prepared": figure{k.Net.Prep, "m²", at + "prep/area"},
	}
}

// pieceJSON is a piece that is cut, with the steps of its sizes.
func pieceJSON(p *estimate.Campaign, piece *kit.Piece, length, along, round string) any {
	j := map[string]any{"label": piece.Label, "kind": piece.Kind, "stock": piece.Stock}
	if piece.Kind == "band" {
		j["length"] = figure{piece.A, "mm", length}
	} else {
		j["along"], j["round"] = figure{piece.A, "mm", along}, figure{piece.C, "mm", round}
	}
	if place, ok := p.Place(piece.Label); ok {
		j["from"], j["number"] = place.Coil, place.Number
	}
	return j
}

// sparesJSON are the pieces of the spare sealing sets of the crews; their sticks
// and fasteners are issues.
func sparesJSON(p *estimate.Campaign) any {
	return listed(p.Spares, func(s estimate.Spare) any {
		pieces := []any{}
		for n := range s.Pieces {
			at := estimate.CampaignPrefix + s.SpareID(n)
			pieces = append(pieces, pieceJSON(p, &s.Pieces[n], at, at+"/along", at+"/round"))
		}
		return map[string]any{"crew": s.Crew, "sets": s.Sets, "pieces": pieces}
	})
}

func issuesJSON(p *estimate.Campaign) any {
	return listed(p.Issues, func(is estimate.Issue) any {
		it := &p.Catalog.Items[is.Item]
		return map[string]any{
			"item": it.Code, "crew": is.Crew, "shift": is.Shift,
			"issued": figure{is.Qty, it.Unit, estimate.CampaignPrefix + estimate.IssueID(is, it.Code)},
		}
	})
}

func orderJSON(p *estimate.Campaign) any {
	return listed(p.Orders, func(o estimate.ItemOrder) any {
		n := o.Need
		at := estimate.CampaignPrefix + "order/" + n.Item.Code + "/"
		lines := []any{}
		for k, l := range o.Lines {
			id := at + "line" + strconv.Itoa(k+1)
			lines = append(lines, map[string]any{
				"supplier": l.Supplier, "part_code": l.Part, "packs": figure{l.Packs, "pack", id + "/packs"},
				"price":        figure{exact(l.Break.Price), l.Currency, "prices"},
				"cost":         figure{exact(l.Cost), l.Currency, id + "/cost"},
				"cost_base":    figure{exact(estimate.LineCost(l, p.Bid.Minor)), o.Base, id + "/cost"},
				"latest_order": day(l.LatestOrder),
			})
		}
		reasons := listed(o.Reasons, func(r order.Reason) any { return r.String() })
		drawn := listed(o.Draws, func(d order.Draw) any {
			return map[string]any{"lot": d.Lot.ID, "quantity": figure{exact(d.Quantity), n.Item.Unit, "stock"}, "price": figure{exact(p.DrawnAt(n.Item.Code, d.Lot.ID)), p.Bid.Currency, "stock"}, "use_by": day(d.UseBy)}
		})
		passed := listed(o.Passed, func(l order.PassedLot) any { return l.String() })
		return map[string]any{
			"item": n.Item.Code, "name": n.Item.Name,
			"issued": figure{n.Issued, n.Item.Unit, at + "issued"},
			"needed": figure{exact(o.Net), n.Item.Unit, at + "needed"},
			"excess": figure{exact(o.Excess), n.Item.Unit, at + "needed"},
			"level":  n.Item.Issue, "net": figure{n.Net, n.Item.Unit, at + "issued"}, "charged": chargedJSON(p, &o),
			"lines": lines, "deliveries": deliveriesJSON(&o), "reasons": reasons, "from_stock": drawn, "stock_not_used": passed, "latest_order": day(o.LatestOrder),
		}
	})
}

// chargedJSON is what the campaign is charged for an item: all that is bought and
// drawn, or hire or write-off of what comes back.
func chargedJSON(p *estimate.Campaign, o *estimate.ItemOrder) any {
	c, at := &o.Charge, estimate.CampaignPrefix+"order/"+o.Need.Item.Code+"/"
	out := map[string]any{"as": string(c.As)}
	if c.As != estimate.InFull {
		out["tool"] = figure{exact(c.Amount), p.Bid.Currency, at + "tool"}
		return out
	}
	if len(o.Lines) > 0 {
		out["bought"] = figure{exact(c.Bought), p.Bid.Currency, at + "bought"}
	}
	if c.Drawn.IsPositive() {
		out["stock"] = figure{exact(c.Drawn), p.Bid.Currency, at + "from-store"}
	}
	return out
}

// offcutsJSON are the offcuts from the store with what they are charged at.
func offcutsJSON(p *estimate.Campaign) any {
	return listed(p.Offcuts, func(o estimate.Offcut) any {
		return map[string]any{"item": o.Item, "lot": o.Lot, "count": o.Count, "stock": figure{exact(o.Value), p.Bid.Currency, estimate.CampaignPrefix + "order/" + o.Item + "/offcut-" + o.Lot + "/from-store"}}
	})
}

// deliveriesJSON are the deliveries of an order's lines.
func deliveriesJSON(o *estimate.ItemOrder) any {
	return listed(o.Deliveries, func(d estimate.Delivery) any {
		return map[string]any{"supplier": o.Lines[d.Line].Supplier, "part_code": o.Lines[d.Line].Part, "packs": d.Packs, "day": day(d.Day), "after_days": d.After}
	})
}

func supplyJSON(p *estimate.Campaign) any {
	s := &p.Supply
	money := func(d decimal.Decimal, id string) figure {
		return figure{exact(d), p.Bid.Currency, estimate.CampaignPrefix + id}
	}
	list := listed(s.Suppliers, func(v estimate.SupplierOrder) any {
		id := "supplier/" + v.Supplier
		return map[string]any{
			"supplier": v.Supplier, "goods": money(v.Goods, id), "delivery": money(v.Delivery, id), "hazardous": money(v.Surcharge, id), "shortfall": money(v.Shortfall, id),
			"deliveries": v.Deliveries, "not_known": append([]string{}, v.Assumed...),
		}
	})
	return map[string]any{
		"suppliers": list, "cost": money(s.Cost, "suppliers"), "bound": money(s.Bound, "suppliers"), "apart": money(s.Apart, "suppliers"), "proven": s.Proven, "verdict": s.Verdict(),
	}
}

// stageInJSON is a stage by the name that it has borne in this form of the JSON
// from the first; "group" names it as everywhere else.
func stageInJSON(stage string) string {
	if stage == "site" {
		return "access"
	}
	return stage
}

func bidJSON(p *estimate.Campaign) any {
	b := p.Bid
	lines := listed(b.Lines, func(l bid.Line) any {
		return map[string]any{
			"code": l.Code, "name": l.Name, "stage": stageInJSON(l.Stage), "group": l.Stage, "basis": l.Basis,
			"amount": figure{exact(l.Amount), b.Currency, estimate.CampaignPrefix + "bid/" + l.Code},
		}
	})
	sum := func(d decimal.Decimal, id string) figure {
		return figure{exact(d), b.Currency, estimate.CampaignPrefix + "bid/" + id}
	}
	return map[string]any{
		"currency": b.Currency, "lines": lines, "direct": sum(b.Direct, "direct"), "before_tax": sum(b.Net, "net"), "total": sum(b.Total, "total"),
		"low": sum(b.Low, "low"), "high": sum(b.High, "high"), "class": p.Catalog.Settings.Class,
		"class_from":  map[string]string{"range_low": p.Catalog.Whence("bid.range_low"), "range_high": p.Catalog.Whence("bid.range_high"), "contingency": contingencyFrom(p)},
		"crew_shifts": figure{p.CrewShifts, "", "campaign/crew-shifts"}, "crew_hours": figure{p.CrewHours, "h", "campaign/crew-shifts"},
	}
}
