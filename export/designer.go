package export

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// notDesigned stands on the kit of a repair that nobody has designed.
const notDesigned = "NOT DESIGNED: do not start"

// entry is a line of a designer's sheet: a heading where it has no value.
type entry struct{ label, value string }

// designSheet is all that a designer needs of the i-th repair, as the sheet and
// explain --design give it.
func designSheet(p *estimate.Campaign, i int) []entry {
	r := p.Repairs[i]
	d := designerSheet{p: p, i: i, r: r, kit: p.KitOf(i)}
	d.head(r.ID+": line "+r.Line+", "+r.Kind(), string(r.Status)+orBlank(": ", r.Reason))
	d.inputs()
	d.bases()
	d.shares()
	d.products()
	d.gate()
	d.signature()
	return d.out
}

type designerSheet struct {
	p   *estimate.Campaign
	i   int
	r   *scope.Repair
	kit *kit.Kit // nil where the wrap is not known
	out []entry
}

func orBlank(before, text string) string {
	if text == "" {
		return ""
	}
	return before + text
}

func (d *designerSheet) head(label, value string) {
	d.out = append(d.out, entry{label: label})
	if value != "" {
		d.put("Status", value)
	}
}

func (d *designerSheet) put(label, value string) { d.out = append(d.out, entry{label, orDash(value)}) }

// inputs are what the survey says of each defect, field by field; what bears on
// quantity or safety and is not there is marked.
func (d *designerSheet) inputs() {
	d.head("Inputs", "")
	for _, f := range survey.Fields() {
		if f.Bears == survey.Nothing || strings.HasPrefix(f.Key, "bend_") && d.r.BendRadius == 0 || f.Key == "remaining" && len(d.r.Pits) == 0 {
			continue // a pipe has no bend, a leak no wall left
		}
		var says []string
		for _, x := range d.r.Defects {
			if text, _ := survey.Says(x, f.Key); text != "" {
				says = append(says, x.ID+" "+text)
			}
		}
		if _, kept := survey.Says(d.r.Defects[0], f.Key); !kept {
			continue
		}
		missing := len(d.r.Defects) - len(says)
		switch text := strings.Join(says, "; "); {
		case missing == len(d.r.Defects):
			d.put(f.Key, "MISSING; taken: "+f.Blank)
		case missing > 0:
			d.put(f.Key, fmt.Sprintf("%s; MISSING in %d of %d rows; taken: %s", text, missing, len(d.r.Defects), f.Blank))
		default:
			d.put(f.Key, text)
		}
	}
	if text := d.r.Until(); text != "" {
		d.put("Open", text)
	}
}

// bases are the bases of design side by side.
func (d *designerSheet) bases() {
	d.head("Bases of design side by side", "")
	for _, b := range d.p.Bases(d.i) {
		text := "thickness " + trace.WithUnit(b.T(), "mm")
		switch {
		case b.Missing != "":
			text = "does not count, incomplete: " + b.Missing
		case b.Invalid != "":
			text += "; does not count: " + b.Invalid
		case b.Layers > 0:
			text += fmt.Sprintf("; %d layers; materials %s %s", b.Layers, money(b.Materials, 2), d.p.Catalog.Settings.Currency)
		}
		if b.Taken {
			text += "; TAKEN"
		}
		d.put(string(b.Basis), text)
	}
	d.put("Laid", fmt.Sprintf("%d layers, %s thick, by %s", d.r.Layers, trace.WithUnit(d.r.WrapThickness, "mm"), d.r.LayersFrom))
}

// shares are how far each limit is used up, and what the hole counts as.
func (d *designerSheet) shares() {
	r, set := d.r, &d.p.Catalog.Settings
	got := d.p.Rules().Examine(r)
	d.head("Utilisation", "")
	share := func(label string, v, limit float64, unit string) {
		if limit <= 0 || math.IsInf(limit, 0) {
			return
		}
		d.put(label, fmt.Sprintf("%.2f (%s of %s)", v/limit, trace.FormatNumber(v, unit), trace.WithUnit(limit, unit)))
	}
	share("P/ceiling of the leak", r.Pressure.V, r.Ceiling, "MPa")
	share("P/full wall 2·s·t/D", r.Pressure.V, 2*r.Stress*r.Wall/r.OD, "MPa")
	share(fmt.Sprintf("t/(D/%g)", set.ThickAsk), r.WrapThickness, r.OD/set.ThickAsk, "mm")
	share(fmt.Sprintf("d/√(%g·D·t)", set.HoleLimit), got.Size, math.Sqrt(set.HoleLimit*r.OD*r.Wall), "mm")
	share("shear length/reach", r.ShearReach, math.Max(r.Reach, r.ShearReach), "mm")
	d.put("Wall at the end of the life", trace.WithUnit(got.WallEnd, "mm")+orBlank(", of ", got.Defect))
	if got.Size > 0 {
		widest := 0.0
		for i := range r.Patches {
			widest = math.Max(widest, r.Patches[i].SheetA)
		}
		d.put("Hole against unbonded", fmt.Sprintf("the leak counts as %s among its neighbours; the sheet of the sealing set, on which the wrap may not bond, is %s",
			trace.WithUnit(got.Size, "mm"), trace.WithUnit(widest, "mm")))
		for _, basis := range []string{"interacting", "unbonded"} {
			x := d.p.Rules().With(r, func(s *catalog.Settings) { s.HoleBasis = basis })
			text := string(x.Status) + orBlank(": ", x.Reason)
			if x.Status == scope.Estimated {
				text = fmt.Sprintf("%d layers, ceiling %s", x.Layers, trace.WithUnit(x.Ceiling, "MPa"))
			}
			if basis == d.p.Catalog.Settings.HoleBasis {
				text += "; TAKEN"
			}
			d.put("hole.basis "+basis, text)
		}
	}
}

// products are the data of what is laid.
func (d *designerSheet) products() {
	d.head("Products", "")
	for _, w := range d.p.Catalog.WrapsFor(d.r.OD) {
		if w.System != d.r.System {
			continue
		}
		x := w.Rolls[0]
		d.put(w.System, fmt.Sprintf("ply %s; moduli %g/%g/%g MPa round, along, shear; ν %g; γ %g J/m²; strain %g/%g; bond %g MPa; Tm %s, Tg %s; for a surface %s at most; qualification: %s",
			trace.WithUnit(x.Ply, "mm"), x.HoopMod, x.AxialMod, x.ShearMod, x.Poisson, x.Gamma, x.Strain, x.StrainA, x.Bond,
			trace.WithUnit(x.Service, "°C"), trace.WithUnit(x.Glass, "°C"), orDash(x.Surface), missing(x.Ref)))
		break
	}
	kt := d.kit
	if kt == nil {
		return
	}
	if packs, _, ok := d.p.Catalog.PuttyNamed(kt.Net.Putty.Name); ok {
		x := packs[0]
		d.put(x.Putty, fmt.Sprintf("%g to %s at laying, %s in service; for a surface %s at most; qualification: %s",
			x.TempMin, trace.WithUnit(x.TempMax, "°C"), trace.WithUnit(x.Service, "°C"), orDash(x.Surface), missing(x.Ref)))
	}
	for i, s := range kt.Net.Seals {
		if s.Sealant != nil && s.Fastener != nil {
			d.put(fmt.Sprintf("Set %d", i+1), fmt.Sprintf("%s, qualification: %s; %s; %d × %s with %d × %s of %g N each; contact %s against live %s",
				s.Sealant.Item, missing(s.Sealant.Ref), s.Sheet, s.Bands, s.Band, s.Strips, s.Fastener.Item, s.Fastener.Tension, knownOr(survey.Num(s.Contact)), knownOr(d.r.Live)))
		}
	}
}

func missing(text string) string { return cmp.Or(text, "MISSING") }

func knownOr(n survey.Num) string {
	if !n.OK {
		return notKnown
	}
	return trace.WithUnit(n.V, "MPa")
}

// gate is the live-leak gate.
func (d *designerSheet) gate() {
	kt := d.kit
	if kt == nil || len(kt.Gate) == 0 {
		return
	}
	d.head("Live-leak gate: "+kt.Gate.Verdict().Words(), "")
	for _, l := range kt.Gate {
		name, rest, _ := strings.Cut(l.String(), ": ")
		d.put(name, rest)
	}
}

// signature says who has designed the repair, or leaves room for it.
func (d *designerSheet) signature() {
	d.head("Designer", "")
	by, reference := d.r.DesignedBy()
	if by == "" {
		d.put("Designed by", notDesigned)
	} else {
		d.put("Designed by", by+orBlank(", ", reference))
	}
	for _, label := range []string{"Name", "Date", "Signature"} {
		d.put(label, "____________________")
	}
}

// ExplainDesign writes the designer's sheet of a repair.
func ExplainDesign(out io.Writer, p *estimate.Campaign, repair string, width int) error {
	i, err := p.Find(repair)
	if err != nil {
		return err
	}
	fmt.Fprint(out, folded(Notice, width))
	for _, e := range designSheet(p, i) {
		if e.value == "" {
			fmt.Fprintln(out)
			fmt.Fprint(out, folded(e.label, width))
			continue
		}
		fmt.Fprint(out, folded("  "+e.label+": "+e.value, width))
	}
	return nil
}

// designerSheets is a page a repair for its designer. The sheet is hidden, so that
// it is not printed with the workbook.
func (d *desk) designerSheets() *table.Sheet {
	columns := widths(34, 96)
	return paged(&table.Sheet{Name: sheetDesigner, Columns: columns, Page: d.page(false), Hidden: true}, func(pg *pager) error {
		for i := range designed(d.p) {
			pg.page()
			for n, e := range designSheet(d.p, i) {
				look := table.Subheading
				if n == 0 {
					look = table.Heading
				}
				row := rowOf(2, over(1, 2, table.Text(legible(e.label), table.Style{Look: look})))
				if e.value != "" {
					row = rowOf(2, over(1, 1, table.Text(legible(e.label), table.Style{Look: table.Label, Wrap: true})), over(2, 2, table.Text(clip(legible(e.value), 600), table.WrapStyle)))
				}
				pg.rows(row)
			}
		}
		if text := undesigned(d.p); text != "" {
			pg.page()
			pg.rows(rowOf(2, over(1, 2, table.Text(text, table.WrapStyle))))
		}
		return nil
	})
}

// designed is how many repairs have a designer's page in the workbook.
func designed(p *estimate.Campaign) int {
	return min(p.Catalog.Settings.DesignPages, len(p.Repairs))
}

// undesigned says which repairs have no designer's page in the workbook, and how
// to get theirs; "" where all have one.
func undesigned(p *estimate.Campaign) string {
	n := designed(p)
	if n == len(p.Repairs) {
		return ""
	}
	return fmt.Sprintf("The designer's sheet holds the first %d of %d repairs; for each of the other %d: wraptally explain SURVEY REPAIR --design, or a higher output.designer_repairs (at most 1000)",
		n, len(p.Repairs), len(p.Repairs)-n)
}
