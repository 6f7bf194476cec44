package estimate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate/cut"
	"wraptally/estimate/kit"
	"wraptally/estimate/mix"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Kit is the kit of a job: the one that was packed, or where a campaign is too
// large for all to be kept, the same packed again. Nobody changes it.
func (p *Campaign) Kit(j *Job) *kit.Kit {
	if j.kit != nil {
		return j.kit
	}
	return j.pack(p.means, nil)
}

// KitOf is the kit of the i-th repair, packed for one that is left out as well;
// nil where its wrap is not known.
func (p *Campaign) KitOf(i int) *kit.Kit {
	if j := p.JobOf(i); j != nil {
		return p.Kit(j)
	}
	if p.Repairs[i].Layers == 0 {
		return nil
	}
	return p.means.Pack(p.Repairs[i], nil)
}

// NotDesigned counts the repairs estimated that nobody has designed.
func (p *Campaign) NotDesigned() (n int) {
	for i := range p.Jobs {
		if by, _ := p.Jobs[i].Repair.DesignedBy(); by == "" {
			n++
		}
	}
	return n
}

// Explain works the i-th repair and its kit out again and returns every step.
func (p *Campaign) Explain(i int) []trace.Step {
	r := p.Repairs[i]
	log := &trace.Log{Prefix: r.ID + "/"}
	p.means.rules.Explain(r, log)
	if j := p.JobOf(i); j != nil {
		j.pack(p.means, log)
	}
	return log.Steps
}

// JobOf is the job of the i-th repair, nil where it is not estimated.
func (p *Campaign) JobOf(i int) *Job {
	n, ok := slices.BinarySearchFunc(p.Jobs, i, func(j Job, i int) int { return j.At - i })
	if !ok {
		return nil
	}
	return &p.Jobs[n]
}

// Place finds where a labelled piece of a kit is cut from.
func (p *Campaign) Place(label string) (PiecePlace, bool) {
	for i := range p.Cuts {
		if at, ok := p.Cuts[i].places[label]; ok {
			return at, true
		}
	}
	return PiecePlace{}, false
}

// Delivered is the weight, in kg, of all goods that go to the site.
func (p *Campaign) Delivered() decimal.Decimal { return delivered(p.Orders, p.Offcuts) }

// PieceMass is the share of a piece in the weight of its coil or sheet, kg.
func (p *Campaign) PieceMass(piece kit.Piece) float64 { return p.means.PieceMass(piece) }

// LotInStore finds a lot of an item among what is in store.
func (p *Campaign) LotInStore(item, id string) (StockLot, bool) {
	for _, l := range p.means.store {
		if l.Item == item && l.ID == id {
			return l, true
		}
	}
	return StockLot{}, false
}

// PotMinutes says of a batch of a kit, in kg, in how many minutes it is to be
// used at each of the temperatures, °C, given from cold to hot, or that it is not
// to be mixed. Source: see mix.Life; common practice, no source.
func (p *Campaign) PotMinutes(k *kit.Kit, mass float64, temps []float64) []mix.Line {
	return p.means.Minutes(k, mass, temps)
}

// Fill is where along a repair each batch of its putty goes.
func (p *Campaign) Fill(k *kit.Kit) []kit.Stretch { return p.means.Fill(k) }

// Find finds a repair by its name, as printed or as scanned, or by the id of a survey row it holds, in any
// case, or by the place of the row, "row 12". A name that several repairs answer to is an error that says which; so is
// one that none has.
func (p *Campaign) Find(name string) (int, error) {
	var named, held []int
	for i, r := range p.Repairs {
		if strings.EqualFold(r.ID, name) || strings.EqualFold(r.ScanName(), name) {
			named = append(named, i)
		}
		if slices.ContainsFunc(r.Defects, func(d *survey.Defect) bool {
			return d.ID == name || strings.EqualFold(d.Tag, name) || name == fmt.Sprintf("row %d", d.Line0)
		}) {
			held = append(held, i)
		}
	}
	switch found := append(named, held...); {
	case len(named) == 1 || len(named) == 0 && len(held) == 1:
		return found[0], nil
	case len(found) == 0:
		return 0, fmt.Errorf("there is no repair or row %q; the repairs are %s", name, p.repairNames(8))
	}
	var rows []string
	for _, i := range append(named, held...) {
		r := p.Repairs[i]
		rows = append(rows, fmt.Sprintf("%s (line %s, row %d of the survey)", r.ID, r.Line, r.Defects[0].Line0))
	}
	return 0, fmt.Errorf("%q may be any of %s", name, strings.Join(rows[:min(len(rows), 8)], ", "))
}

// repairNames lists the first repairs for a message.
func (p *Campaign) repairNames(most int) string {
	var ids []string
	for i, r := range p.Repairs {
		if i == most {
			ids = append(ids, "…")
			break
		}
		ids = append(ids, r.ID)
	}
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

// QueryTotal is the number of all queries.
func (p *Campaign) QueryTotal() int {
	n := 0
	for _, c := range p.Counts {
		n += c.Count
	}
	return n
}

// QueryTotalOf is the number of queries of one severity.
func (p *Campaign) QueryTotalOf(sev trace.Severity) int {
	n := 0
	for _, c := range p.Counts {
		if c.Severity == sev {
			n += c.Count
		}
	}
	return n
}

// FirstOrder is the order that has to be placed first, −1 without dates.
func (p *Campaign) FirstOrder() int {
	first := -1
	for i, o := range p.Orders {
		if len(o.Lines) == 0 || o.LatestOrder.IsZero() {
			continue
		}
		if first < 0 || o.LatestOrder.Before(p.Orders[first].LatestOrder) {
			first = i
		}
	}
	return first
}

// Counts are the numbers of coils or sheets used, alongside Items.
func (cl CutList) Counts() []int {
	if cl.Linear != nil {
		return cl.Linear.StocksUsed
	}
	return cl.Sheets.SheetsUsed
}

// Reserve is how many of the pieces no kit has: the allowance for growth.
func (cl CutList) Reserve() int {
	n := 0
	for _, p := range cl.Pieces[min(len(cl.owner), len(cl.Pieces)):] {
		n += p.Count
	}
	for _, r := range cl.Rects[min(len(cl.owner), len(cl.Rects)):] {
		n += r.Count
	}
	return n
}

// Used says how many coils or sheets of which kind a cut list takes.
func (cl CutList) Used() string {
	var parts []string
	for i, n := range cl.Counts() {
		if n > 0 {
			name := cl.Items[i]
			if cl.Lots[i] != "" {
				name = "offcut " + cl.Lots[i]
			}
			parts = append(parts, fmt.Sprintf("%d × %s", n, name))
		}
	}
	return strings.Join(parts, " + ")
}

// Verdict says how good the plan is.
func (cl CutList) Verdict() cut.Verdict {
	if cl.Linear != nil {
		return cl.Linear.Verdict
	}
	return cl.Sheets.Verdict
}

// Proof says how good the plan is: proven least, or how far from the bound.
func (cl CutList) Proof() string {
	v := cl.Verdict()
	if v.Proven {
		return "proven least"
	}
	return fmt.Sprintf("within %s of the bound, not proven", trace.WithUnit(v.Gap*100, "%"))
}
