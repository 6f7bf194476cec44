package export

import (
	"strings"

	"wraptally/estimate"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// repairEntry is a row of the sheet Repairs.
type repairEntry struct {
	*scope.Repair
	at, jobAt int           // its places among the repairs and the jobs
	job       *estimate.Job // nil where it is left out
}

// repairs is the sheet Repairs with the columns that other sheets refer to.
type repairs struct {
	*leaf
	rows           *table.Table[repairEntry]
	id, status     table.Ref
	areaNo, lineNo table.Ref
	mass           table.Ref    // of the kit
	shares         [4]table.Ref // alongside shareNames
}

// newRepairs declares the sheet. Of a repair that is left out, what a job would
// say stays blank.
func (d *desk) newRepairs() *repairs {
	type col = table.Col[repairEntry]
	cur, money, length := d.p.Bid.Currency, shown(d.money()), d.lengthUnit()
	t := table.NewTable[repairEntry](sheetRepairs)
	s := &repairs{rows: t}
	text := func(title string, width float64, write func(r repairEntry) string) table.Ref {
		return t.Add(col{Title: title, Width: width, Style: table.WrapStyle, Cell: func(p pen, r repairEntry) { p.Text(write(r)) }})
	}
	// known is a number that is blank where it is not known, which is 0.
	known := func(title, unit string, width float64, f table.Format, value func(r repairEntry) float64) {
		t.Add(col{Title: title, Unit: unit, Width: width, Style: shown(f), Cell: func(p pen, r repairEntry) {
			if v := value(r); v != 0 {
				p.Num(v)
			}
		}})
	}
	// planned is a column of the job.
	planned := func(title, unit string, width float64, style table.Style, write func(p pen, r repairEntry)) table.Ref {
		return t.Add(col{Title: title, Unit: unit, Width: width, Style: style, Cell: func(p pen, r repairEntry) {
			if r.job != nil {
				write(p, r)
			}
		}})
	}
	s.id = t.Add(col{Title: "Repair", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, r repairEntry) { p.Text(r.ID) }})
	text("Area", 15, func(r repairEntry) string { return r.Area })
	text("Line", 15, func(r repairEntry) string { return r.Line })
	_, along := d.along(0)
	place := func(title string, of func(r repairEntry) float64) {
		t.Add(col{Title: title, Unit: along, Width: 10, Style: shown(table.Number(3)), Cell: func(p pen, r repairEntry) {
			at, _ := d.along(of(r))
			p.Num(at)
		}})
	}
	place("From", func(r repairEntry) float64 { return r.From })
	place("To", func(r repairEntry) float64 { return r.To })
	known("Outside diameter", length, 10, d.units().fine, func(r repairEntry) float64 { return d.length(r.OD) })
	t.Add(col{Title: "Size", Width: 8, Style: unitStyle, Cell: func(p pen, r repairEntry) { p.Text(r.Size) }})
	text("Kind", 15, func(r repairEntry) string { return r.Kind() })
	s.status = text("Status", 13, func(r repairEntry) string { return string(r.Status) })
	text("Survey rows", 16, func(r repairEntry) string { return strings.Join(rowIDs(r.Repair), ", ") })
	known("Layers", "", 7, table.Number(0), func(r repairEntry) float64 { return float64(r.Layers) })
	known("Passes", "", 7, table.Number(0), func(r repairEntry) float64 { return float64(r.Passes) })
	known("Wrap", length, 8, d.units().fine, func(r repairEntry) float64 { return d.length(r.WrapThickness) })
	known("Length", length, 9, d.units().lengths, func(r repairEntry) float64 { return d.length(r.Length) })
	text("Layers by", 22, func(r repairEntry) string { return r.LayersFrom })
	text("Open until known", 30, func(r repairEntry) string { return d.open(r.Repair, r.at) })
	text("Left out because", 40, func(r repairEntry) string { return d.reason(r.Repair) })
	planned("Crew", "", 6, table.IntStyle, func(p pen, r repairEntry) { p.Int(r.job.Crew) })
	planned("Shift", "", 6, table.IntStyle, func(p pen, r repairEntry) { p.Int(r.job.Shift) })
	s.mass = planned("Kit", d.massUnit(), 8, shown(table.Number(1)), func(p pen, r repairEntry) {
		if r.jobAt < len(d.part) {
			p.By(d.kitWeight(r.jobAt))
		}
		p.Num(d.mass(r.job.Mass))
	})
	planned("Time", "min", 8, shown(table.Number(0)), func(p pen, r repairEntry) { p.Num(r.job.Minutes) })
	for k, name := range shareNames {
		s.shares[k] = planned(name, cur, 12, money, func(p pen, r repairEntry) { p.Dec(sharesOf(&r.job.Share)[k]) })
	}
	planned("Total with tax", cur, 13, money, func(p pen, r repairEntry) { p.Dec(r.job.Share.Total) })
	planned("Kit page", "", 10, unitStyle, func(p pen, r repairEntry) {
		if target := d.kitPlace(r.jobAt); target != "" {
			p.Link("kit", target)
		}
	})
	planned("Cost", "", 8, unitStyle, func(p pen, r repairEntry) {
		p.Link("cost", ref(sheetCost, 1, max(1, d.cost.lineAt[r.jobAt])))
	})
	s.areaNo = planned("Area no.", "", 7, table.IntStyle, func(p pen, r repairEntry) { p.Int(d.places.areaOf[r.jobAt] + 1) })
	s.lineNo = planned("Line no.", "", 7, table.IntStyle, func(p pen, r repairEntry) { p.Int(d.places.pipeOf[r.jobAt] + 1) })

	s.leaf = &leaf{name: sheetRepairs, columns: t.Columns()}
	s.AddRow(besideTitle("Repairs", look(table.Title)))
	s.AddRow(besideTitle("In the order of area, line and chainage. Shares of cost are as estimated and do not follow changes of prices or quantities; they add up to the bid with tax exactly.", look(table.Muted)))
	s.Blank(1)
	begin(s.leaf, t, len(d.p.Repairs))
	return s
}

// openRepairs declares the sheet, which the storeman's sheets lead to.
func (d *desk) openRepairs() {
	d.places, d.repairs = newPlaces(d.p), d.newRepairs()
	d.repairID = d.repairs.id
}

// repairsSheet has a row a repair, those left out included.
func (d *desk) repairsSheet() *table.Sheet {
	r := d.repairs
	s := r.headed(d.page(true), 1)
	s.Page.FitWide = 2
	s.TitleColumns = table.Span{First: 1, Last: 1}
	s.Filter = r.rows.Area()
	s.Conditions = []table.Condition{{
		Area:    r.status.Rows(),
		Formula: r.status.In(r.rows.First()).String() + `<>"` + string(scope.Estimated) + `"`, Show: table.Alert,
	}}
	s.Rows = then(r.leaf, r.rows, d.repairEntries())
	return s
}

// besideTitle is a row of one text in the second column: the first is repeated on
// every printed page.
func besideTitle(text string, s table.Style) table.Row {
	return table.Row{Cells: []table.Cell{{}, table.Text(text, s)}}
}

func (d *desk) repairEntries() []repairEntry {
	out, n := make([]repairEntry, len(d.p.Repairs)), 0 // of the jobs
	for i, r := range d.p.Repairs {
		out[i] = repairEntry{Repair: r, at: i}
		if n < len(d.p.Jobs) && d.p.Jobs[n].At == i {
			out[i].job, out[i].jobAt = &d.p.Jobs[n], n
			n++
		}
	}
	return out
}

// open is what blanks of the survey leave open: layers, repairable or not, and
// the cost of the materials at both ends.
func (d *desk) open(r *scope.Repair, at int) string {
	if r.Blank == 0 {
		return ""
	}
	easy, hard := d.p.Ends(at)
	text := r.Until()
	if text == "" {
		text = r.Hard.String() + " whatever " + r.Blank.String() + " may be"
	}
	if r.MayNotBe {
		text = "MAY NOT BE REPAIRABLE: " + text + "; the worst that is repairable is ordered"
	}
	low, high := easy.Materials.StringFixed(d.p.Bid.Minor), hard.Materials.StringFixed(d.p.Bid.Minor)
	switch cur := d.p.Bid.Currency; {
	case easy.Status == scope.Estimated && hard.Status == scope.Estimated && low != high:
		text += "; materials " + low + " to " + high + " " + cur
	case easy.Status == scope.Estimated && hard.Status != scope.Estimated:
		text += "; materials from " + low + " " + cur
	}
	return text
}

// reason is why a repair is left out, with the pressure above which the method
// holds nothing where that was worked out.
func (b *book) reason(r *scope.Repair) string {
	text := r.Reason
	if ceiling := trace.WithUnit(r.Ceiling, "MPa"); r.Status == scope.NotRepairable && r.Ceiling > 0 && !strings.Contains(text, ceiling) {
		text += "; no thickness of this wrap holds more than " + ceiling
	}
	return b.said(text)
}
