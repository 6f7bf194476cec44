package export

import (
	"fmt"
	"math"

	"wraptally/estimate"
	"wraptally/estimate/crew"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// stint is the time that a crew spends on one repair without leaving it.
type stint struct {
	shift    int // index into the plan's shifts
	job      int
	from, to float64 // minutes from the start of the shift
	first    string  // activities
	last     string
	over     bool
}

// stints are the attended time of the plan, in the order of crews and time.
func stints(p *estimate.Campaign) []stint {
	at := map[[2]int]int{}
	for i, s := range p.Shifts {
		at[[2]int{s.Crew, s.Shift}] = i
	}
	var out []stint
	for _, s := range p.Slots {
		if s.Waits {
			continue
		}
		shift := at[[2]int{s.Crew + 1, s.Shift + 1}]
		name := p.Jobs[s.Job].Activity(s.Activity)
		if n := len(out); n > 0 && out[n-1].shift == shift && out[n-1].job == s.Job && s.FromStart-out[n-1].to < 1 {
			out[n-1].to, out[n-1].last, out[n-1].over = s.ToStart, name, out[n-1].over || s.Over
			continue
		}
		out = append(out, stint{shift: shift, job: s.Job, from: s.FromStart, to: s.ToStart, first: name, last: name, over: s.Over})
	}
	return out
}

// when is the shift in which a repair is begun, with its date where it is known.
func when(v estimate.Visit) string {
	if v.Begun.IsZero() {
		return fmt.Sprintf("shift %d", v.Shift)
	}
	return fmt.Sprintf("shift %d, %s", v.Shift, day(v.Begun))
}

// clock writes minutes as hours and minutes, "1:05".
func clock(minutes float64) string {
	m := int(math.Round(minutes))
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// drawnShifts is how many shifts are drawn.
const drawnShifts = 30

// planSheet is who works where when: by crew and shift, each stay at a repair
// with its time from the start of the shift, and what becomes of each shift.
func (d *desk) planSheet() *table.Sheet {
	b, p := d.book, d.p
	type col = table.Col[stint]
	t := table.NewTable[stint](sheetPlan)
	shift := func(s stint) *estimate.Shift { return &p.Shifts[s.shift] }
	count := table.IntStyle
	t.Add(col{Title: "Crew", Width: 11, Style: table.WrapStyle, Cell: func(p pen, s stint) { p.Text(d.p.Crews[shift(s).Crew-1].Name) }})
	t.Add(col{Title: "Shift", Width: 6, Style: count, Cell: func(p pen, s stint) { p.Int(shift(s).Shift) }})
	t.Add(col{Title: "Date", Width: 11.5, Style: dayStyle, Cell: func(p pen, s stint) { writeDay(p, shift(s).Date, "not known") }})
	t.Add(col{Title: "From", Unit: "h:min", Width: 8, Style: table.TextStyle.To(table.Right), Cell: func(p pen, s stint) { p.Text(clock(s.from)) }})
	t.Add(col{Title: "To", Unit: "h:min", Width: 8, Style: table.TextStyle.To(table.Right), Cell: func(p pen, s stint) {
		if s.over {
			p.As(look(table.Caution)).Text(clock(s.to) + " OVER")
			return
		}
		p.Text(clock(s.to))
	}})
	t.Add(col{Title: "Repair", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, s stint) { p.Text(d.p.Jobs[s.job].Repair.ID) }})
	t.Add(col{Title: "Line", Width: 14, Style: table.WrapStyle, Cell: func(p pen, s stint) { p.Text(lineName(d.p.Jobs[s.job].Repair)) }})
	t.Add(col{Title: "What is done", Width: 52, Style: table.WrapStyle, Cell: func(p pen, s stint) {
		if s.first == s.last {
			p.Text(s.first)
			return
		}
		p.Text(s.first + " … " + s.last)
	}})
	l := newLeaf(sheetPlan, "Plan", "Each stay of a crew at a repair, from the start of its shift. While sealant, putty or wrap sets, the crew works on a repair nearby. An estimate of times, not an instruction: what must not be interrupted follows the kit's page.", t.Columns())
	l.Blank(1)
	for _, text := range d.planFacts() {
		l.AddRow(table.Spread(text, look(table.Plain), len(l.columns)))
	}
	d.planPicture(l)
	d.shiftsTable(l)
	l.heading("By crew and time")
	head := l.Next()
	begin(l, t, len(p.Slots))
	s := l.headed(b.page(false), 0)
	s.TitleRows = table.Span{First: head, Last: head} // the list that goes on over pages
	s.Rows = then(l, t, stints(p))
	return s
}

// planFacts are the plan in sentences.
func (d *desk) planFacts() []string {
	p := d.p
	work, walk, fixed, stand := 0.0, 0.0, 0.0, 0.0
	for _, s := range p.Shifts {
		work, walk, fixed, stand = work+s.Minutes.Work, walk+s.Minutes.Walk, fixed+s.Minutes.Fixed, stand+s.Minutes.Stand
	}
	facts := []string{
		fmt.Sprintf("%s over %s with %s; no plan with these crews takes less than %s.", countOf(p.CrewShifts, "crew-shift", "crew-shifts"), countOf(p.Days, "working day", "working days"),
			countOf(len(p.Crews), "crew", "crews"), countOf(p.Bound, "working day", "working days")),
		fmt.Sprintf("Of the attended time %s h go into repairs, %s h into walking, %s h into coming, setting up and clearing up, %s h are spent standing by while repairs set.",
			trimmed(work/60, 1), trimmed(walk/60, 1), trimmed(fixed/60, 1), trimmed(stand/60, 1)),
	}
	if p.Late > 0 {
		facts = append(facts, fmt.Sprintf("%s done after the day needed; see the sheet %s.", countOf(p.Late, "repair is", "repairs are"), sheetQueries))
	}
	return facts
}

// shiftsTable says what becomes of the minutes of each shift.
func (d *desk) shiftsTable(l *leaf) {
	type col = table.Col[estimate.Shift]
	t := table.NewTable[estimate.Shift](sheetPlan)
	minutes := func(title string, of func(crew.Shift) float64) {
		t.Add(col{Title: title, Unit: "min", Style: table.IntStyle, Cell: func(p pen, s estimate.Shift) { p.Num(of(s.Minutes)) }})
	}
	t.Add(col{Title: "Crew", Style: table.WrapStyle, Cell: func(p pen, s estimate.Shift) { p.Text(d.p.Crews[s.Crew-1].Name) }})
	t.Add(col{Title: "Shift", Style: table.IntStyle, Cell: func(p pen, s estimate.Shift) { p.Int(s.Shift) }})
	t.Add(col{Title: "Date", Style: dayStyle, Cell: func(p pen, s estimate.Shift) { writeDay(p, s.Date, "not known") }})
	minutes("Work", func(s crew.Shift) float64 { return s.Work })
	minutes("Walk", func(s crew.Shift) float64 { return s.Walk })
	minutes("Set-up", func(s crew.Shift) float64 { return s.Fixed })
	minutes("Standing by", func(s crew.Shift) float64 { return s.Stand })
	t.Add(col{Title: "Repairs", Style: table.WrapStyle, Cell: func(p pen, s estimate.Shift) {
		p.Text(clip(joined(s.Jobs, ", ", func(j int) string { return d.p.Jobs[j].Repair.ID }), 400))
	}})
	section(l, "Shifts", t, d.p.Shifts[:min(len(d.p.Shifts), mostShifts)], "")
	if left := len(d.p.Shifts) - mostShifts; left > 0 {
		l.note(fmt.Sprintf("%d further shifts stand in the list below only.", left))
	}
}

// mostShifts is how many shifts are listed with their minutes.
const mostShifts = 2000

// planPicture draws the first shifts as bars.
func (d *desk) planPicture(l *leaf) {
	var bars []draw.Bar
	list := stints(d.p)
	for i, s := range d.p.Shifts {
		if len(bars) == drawnShifts {
			break
		}
		label := fmt.Sprintf("%s, %d", d.p.Crews[s.Crew-1].Name, s.Shift)
		if !s.Date.IsZero() {
			label = fmt.Sprintf("%s, %s", d.p.Crews[s.Crew-1].Name, day(s.Date))
		}
		bar, at := draw.Bar{Label: clip(label, 40)}, 0.0
		for _, st := range list {
			if st.shift != i {
				continue
			}
			if st.from > at+0.5 {
				bar.Segments = append(bar.Segments, draw.Segment{Length: st.from - at, Kind: draw.Keep})
			}
			bar.Segments = append(bar.Segments, draw.Segment{Length: st.to - math.Max(at, st.from), Label: d.p.Jobs[st.job].Repair.ID, Kind: draw.Piece})
			at = st.to
		}
		if len(bar.Segments) > 0 {
			bar.Length = math.Max(at, d.p.Catalog.Settings.ShiftHours*60)
			bar.Segments = append(bar.Segments, draw.Segment{Length: bar.Length - at, Kind: draw.Keep})
			bars = append(bars, bar)
		}
	}
	if len(bars) == 0 {
		return
	}
	wide := 0.0
	for _, c := range l.columns {
		wide += table.MM(c.Width)
	}
	pic, err := draw.Bars(bars, wide-2, draw.Scale{Per: 60, Unit: "h"},
		map[draw.Kind]string{draw.Piece: "at the repair named", draw.Keep: "coming, setting up, walking, standing by, clearing up"})
	if err != nil {
		return // a plan that cannot be drawn is still listed
	}
	l.heading("The first shifts")
	d.picture(l, pic, "The first shifts of each crew as bars, with the repairs worked on")
}
