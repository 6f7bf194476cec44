package export

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"wraptally/estimate/kit"
	"wraptally/estimate/survey"
	"wraptally/estimate/takeoff"
	"wraptally/export/table"
)

// This file lays out the work on the page of a kit: numbered steps in the order in
// which they are done, each with what is asked for and room for what was measured.

// step is one step of the work: its title and its rows.
type step struct {
	title string
	rows  []table.Row
	said  string // in the last row, where it is text that goes on
}

// say puts text beside the titles, in one paragraph with what was said just before.
func (s *step) say(text string) {
	if s.said != "" {
		s.rows, text = s.rows[:len(s.rows)-1], s.said+" "+text
	}
	s.put(rowOf(kitWidth, over(1, 2, table.Empty(table.Style{})), over(3, kitWidth, table.Text(text, table.Style{Wrap: true}))))
	s.said = text
}

// put puts other rows; what is said after them is a new paragraph.
func (s *step) put(rows ...table.Row) { s.rows, s.said = append(s.rows, rows...), "" }

// blanks are when the step was begun and ended and up to three values between, each
// to be written beside its name.
func (s *step) blanks(labels ...string) {
	places := [][2]int{{1, 2}, {3, 3}, {4, 6}, {7, 8}, {9, kitWidth}}
	all := append(append([]string{"start"}, labels...), make([]string, 3-len(labels))...)
	var spans []laid
	for i, label := range append(all, "finish") {
		spans = append(spans, over(places[i][0], places[i][1], table.Text(label, look(table.FillIn))))
	}
	row := rowOf(kitWidth, spans...)
	byHand(&row)
	s.put(row)
}

// blankRow is a row of up to three labels, each with room to write beside it.
func blankRow(labels ...string) table.Row {
	places := [][4]int{{1, 2, 3, 3}, {4, 6, 7, 7}, {8, 9, 10, 10}}
	fill := table.Empty(look(table.FillIn))
	var spans []laid
	for i, label := range labels {
		at := places[i]
		style := look(table.Label).To(table.Right)
		style.Wrap = true
		spans = append(spans, over(at[0], at[1], table.Text(label, style)), over(at[2], at[3], fill))
	}
	row := rowOf(kitWidth, spans...)
	byHand(&row)
	return row
}

// workSteps are the steps of a repair, in the order of the work.
func (b *book) workSteps(kt *kit.Kit) []step {
	steps := []step{b.cleanStep(kt)}
	if len(kt.Net.Seals) > 0 {
		steps = append(steps, b.sealStep(kt))
	}
	steps = append(steps, b.fillStep(kt), b.wrapStep(kt), b.filmStep(), b.cureStep(kt), b.checkStep(kt), b.returnStep(kt))
	return slices.DeleteFunc(steps, func(s step) bool { return len(s.rows) == 0 })
}

// stepRows are a step with its number and title, which stand beside its text where
// it begins with one.
func stepRows(number int, s step) []table.Row {
	name := fmt.Sprintf("%d %s", number, s.title)
	if first := s.rows[0].Cells; first[0].Kind == table.KindEmpty && first[2].Kind == table.KindText {
		rows := slices.Clone(s.rows)
		rows[0] = rowOf(kitWidth, over(1, 2, table.Text(name, look(table.Label).Wrapped())), over(3, kitWidth, first[2]))
		return rows
	}
	return append([]table.Row{rowOf(kitWidth, over(1, kitWidth, table.Text(name, look(table.Subheading))))}, s.rows...)
}

func (b *book) cleanStep(kt *kit.Kit) step {
	r, set := kt.Repair, &b.p.Catalog.Settings
	s := step{title: "Clean"}
	dry := "degrease, dry"
	if r.Surface == survey.Submerged {
		dry = "degrease, keep clean under water"
	}
	s.say(fmt.Sprintf("Mark the repair: start to end %s. Clean %s along the pipe, %s beyond it at both ends, all round (%s), to %s or better; %s.",
		b.atLeast(r.Length), b.atLeast(r.Length+2*set.PrepMargin), b.atLeast(set.PrepMargin), b.atLeast(math.Round(math.Pi*r.OD)), set.PrepGrade, dry))
	if r.Surface != survey.Submerged { // no dew forms under water
		s.say("Go on only while the surface is " + b.warmer(set.DewMargin) + " or more above the dew point. Profile " + trimmed(set.PrepProfile, 0) + " µm.")
	} else {
		s.say("Profile " + trimmed(set.PrepProfile, 0) + " µm.")
	}
	s.blanks("Profile, µm", "Surface, "+b.tempUnit(), "Dew point, "+b.tempUnit())
	return s
}

// sealStep ties each sealing set to its leak.
func (b *book) sealStep(kt *kit.Kit) step {
	s := step{title: "Seal, " + countOf(len(kt.Net.Seals), "set", "sets")}
	s.put(rowOf(kitWidth, head(1, 1, "Set", table.Left), head(2, 3, "Leak, where it is", table.Left), head(4, 6, "Pad of sealant", table.Left),
		head(7, 8, "Bands", table.Left), head(9, kitWidth, "Sheet", table.Left)))
	set, r := &b.p.Catalog.Settings, kt.Repair
	split := 0
	for i := range kt.Net.Seals {
		n := &kt.Net.Seals[i]
		split = max(split, n.Strips)
		p := n.Patch
		pad := b.sizeText(int(math.Ceil(p.PadA)), int(math.Ceil(p.PadC))) + ", " + b.lengthText(set.SealHeight) + " high"
		bands := countOf(n.Bands, "band", "bands")
		if pitch := bandPitch(n, b.bandWidth(n.Band)); n.Bands > 1 {
			bands += ", " + b.lengthText(pitch) + " between centres"
		}
		s.put(rowOf(kitWidth, over(1, 1, table.Text(strconv.Itoa(i+1), table.TextStyle)), over(2, 3, table.Text(b.leakText(kt, i), table.WrapStyle)),
			over(4, 6, table.Text(pad, table.WrapStyle)), over(7, 8, table.Text(bands, table.WrapStyle)), over(9, kitWidth, table.Text(b.sizeText(n.SheetA, n.SheetC), table.WrapStyle))))
	}
	for _, x := range kt.Sticks {
		s.say(fmt.Sprintf("Knead %s about %s min to one colour, several sticks of a set at the same time. Tack-free about %d min later at %s (%s min at %s): press before, lay putty after.",
			x.Sealant.Item, trimmed(x.Sealant.Knead, 1), minutesDown(kt.Open), b.tempText(r.SurfaceTemp), trimmed(x.Sealant.Tack, 1), b.tempText(x.Sealant.TimedAt)))
	}
	for i, n := range kt.Kneads {
		text := fmt.Sprintf("Knead %s for %s: the last band presses within %d min, timer.", countOf(n.Count, "stick", "sticks"), setsText(n.Sets), minutesUp(n.Draw))
		if !kt.InTime(n) {
			text = fmt.Sprintf("Knead %s for %s. NOT IN TIME: pressing takes %d min, tack-free after %d. More hands, a cooler hour or a slower sealant; ask before kneading.",
				countOf(n.Count, "stick", "sticks"), setsText(n.Sets), minutesUp(n.Draw), minutesDown(kt.Open))
		}
		if i == 0 || len(kt.Kneads) > 2 {
			s.said = "" // a line each
		}
		s.say(text)
	}
	text := "Outer bands flush with the ends of the sheet. Tighten the bands a little at a time, in turn; hex driver, no flat blade."
	if split > 1 {
		text += fmt.Sprintf(" A band is of %d strips: strip a lies over the leak, the others follow round the pipe in the order of their letters; fasteners beside the sheet.", split)
	}
	s.say(text)
	s.blanks("Kneaded at", "Pressed at", "Tack-free at")
	return s
}

func setsText(sets []int) string {
	if len(sets) == 1 {
		return "set " + strconv.Itoa(sets[0])
	}
	return fmt.Sprintf("sets %d to %d, one after the other", sets[0], sets[len(sets)-1])
}

// bandPitch is the distance between the centres of the bands of a set, the outer
// ones flush with the ends of the sheet.
func bandPitch(s *takeoff.Seal, width float64) float64 {
	return math.Floor((float64(s.SheetA) - width) / math.Max(1, float64(s.Bands-1)))
}

// bandWidth is the width of a banding.
func (b *book) bandWidth(band string) float64 {
	for i := range b.p.Catalog.Bands {
		if c := &b.p.Catalog.Bands[i]; c.Band == band {
			return c.Width
		}
	}
	return 0
}

// leakText says which leaks a set, counted from 0, is for, and where its middle is.
func (b *book) leakText(kt *kit.Kit, set int) string {
	p := kt.Net.Seals[set].Patch
	var ids []string
	for _, d := range p.Defects {
		ids = append(ids, clip(d.ID, 20))
	}
	const most = 4
	if len(ids) > most {
		ids = append(ids[:most], "…")
	}
	at, unit := b.along(p.X)
	text := fmt.Sprintf("%s: %s %s, %s from the start", strings.Join(ids, ", "), trimmed(at, 3), unit, b.lengthText(kit.Millimetres(p.X-kt.Repair.From)))
	if p.ClockKnown {
		text += ", " + clockText(p.Clock)
	} else {
		text += ", clock NOT KNOWN"
	}
	return text
}

// fillStep is the putty: its heights, how it is mixed and where each batch goes.
func (b *book) fillStep(kt *kit.Kit) step {
	set := &b.p.Catalog.Settings
	s := step{title: "Fill with " + orDash(kt.Net.Putty.Name)}
	text := "Putty " + b.lengthText(set.PuttyHeight) + " high from start to end"
	if len(kt.Net.Seals) > 0 {
		text += fmt.Sprintf(", %s over each sheet and %s beyond it", b.lengthText(set.PuttyHeightLeak), b.lengthText(set.PuttyFootprint))
	}
	if len(kt.Repair.Pits) > 0 {
		text += "; pits filled flush first"
	}
	s.say(text + ". Begin at the start; each batch goes where the one before ended.")
	s.put(beside(kitWidth, b.mixingCard(kt), b.potTable(kt))...)
	fill := table.Empty(look(table.FillIn))
	label := look(table.Label).To(table.Right)
	for n, stretch := range b.p.Fill(kt) {
		row := rowOf(kitWidth, over(1, 4, table.Text(fmt.Sprintf("Batch %d goes from %s to %s", n+1, b.bareText(kit.Millimetres(stretch.From)), b.lengthText(kit.Millimetres(stretch.To))), table.TextStyle)),
			over(5, 6, table.Text("mixed at", label)), over(7, 7, fill), over(8, 8, table.Text("laid at", label)), over(9, kitWidth, fill))
		byHand(&row)
		s.put(row)
	}
	s.put(b.mixingNote(kt))
	if firm, ok := kt.Takes("firm"); ok {
		s.say(fmt.Sprintf("Wait about %d min at %s until it is firm enough to be wrapped.", minutesUp(firm), b.tempText(kt.Repair.SurfaceTempLow)))
	}
	return s
}

// wrapStep says how the wrap is laid.
func (b *book) wrapStep(kt *kit.Kit) step {
	r, set := kt.Repair, &b.p.Catalog.Settings
	s := step{title: "Wrap"}
	text := fmt.Sprintf("%d layers in %s, %s long, %s thick.", r.Layers, countOf(r.Passes, "pass", "passes"), b.atLeast(r.Length), b.atLeast(r.WrapThickness))
	if kt.Tape == nil {
		s.say(text)
		return s
	}
	turns := trimmed(set.EndTurns, 1) + " full turns"
	if set.EndTurns == 1 {
		turns = "a full turn"
	}
	text += fmt.Sprintf(" Tape %s, overlap %s; %s at both ends of a pass.", b.lengthText(kt.Tape.Width), b.atLeast(kt.Tape.Width*set.Overlap), turns)
	var rolls []string
	soak, work := 0.0, math.Inf(1)
	for _, x := range kt.Rolls {
		long, unit := b.along(x.Roll.Length)
		rolls = append(rolls, fmt.Sprintf("%d × %s %s", x.Count, trimmed(long, 2), unit))
		soak = math.Max(soak, x.Roll.Soak)
		work = math.Min(work, takeoff.WorkSeconds(x.Roll, r.SurfaceTemp, set))
	}
	text += " Rolls " + strings.Join(rolls, " + ") + "; open a pouch only to lay it."
	if len(kt.Rolls) > 0 {
		text += fmt.Sprintf(" Soak %s s, then lay the roll within %s min at %s, timer.", trimmed(soak, 0), trimmed(math.Floor(work/6+1e-9)/10, 1), b.tempText(r.SurfaceTemp))
	}
	text += fmt.Sprintf(" People needed: %d.", kt.Tape.Hands)
	s.say(text)
	s.blanks("Surface, "+b.tempUnit(), "First roll soaked at", "Last roll at")
	return s
}

// filmStep is the film that holds the wrap while it sets.
func (b *book) filmStep() step {
	s := step{title: "Film and perforate"}
	text := "Wind stretch film tight over the wrap, in the direction of the wrap; perforate it at once, so that gas gets out."
	for i := range b.p.Catalog.Tasks {
		if t := &b.p.Catalog.Tasks[i]; t.Task == "film" && t.Within > 0 {
			text += fmt.Sprintf(" Begin within %s min after the last roll of a pass.", trimmed(t.Within, 0))
		}
	}
	s.say(text)
	s.blanks()
	return s
}

// cureStep is the waiting, the pressure and the hold test.
func (b *book) cureStep(kt *kit.Kit) step {
	r := kt.Repair
	s := step{title: "Cure, pressure"}
	if cure, ok := kt.Takes("cure"); ok {
		s.say(fmt.Sprintf("Leave it about %d min at %s, longer where it is colder; then take the film off.", minutesUp(cure), b.tempText(r.SurfaceTempLow)))
	}
	text := "Pressure may be raised, or return, only when the hardness below is reached and the qualified person in charge says so"
	if cure, ok := kt.Takes("cure"); ok {
		text += fmt.Sprintf(", and not before %s after the last layer; write both times down", hoursUp(cure))
	}
	text += "."
	labels := []string{"Set at", "Surface, " + b.tempUnit()}
	if hold, ok := kt.Takes("hold"); ok {
		text += fmt.Sprintf(" Hold test: %d min at the pressure of the line, watch for weeping.", minutesUp(hold))
		labels = append(labels, "Hold test, tight")
	}
	s.say(text)
	s.blanks(labels...)
	s.blanks("Last layer at", "Pressure not before", "Pressure raised at")
	return s
}

// checkStep are the checks of the finished work, each with room for what was
// measured.
func (b *book) checkStep(kt *kit.Kit) step {
	r, set := kt.Repair, &b.p.Catalog.Settings
	s := step{title: "Check and sign"}
	checks := []string{"Surface grade: " + set.PrepGrade + " or better"}
	if len(kt.Net.Seals) > 0 {
		checks = append(checks, "Sealant tack-free, no leak")
	}
	checks = append(checks, "Putty set, no soft spots", fmt.Sprintf("Layers laid: %d or more", r.Layers),
		"Extent: "+b.atLeast(r.Length)+" or more", "Thickness: "+b.atLeast(r.WrapThickness)+" or more", "Tap test all over: no hollow sound")
	if len(kt.Rolls) > 0 {
		checks = append(checks, "Hardness: "+trimmed(kt.Rolls[0].Roll.Hardness, 0)+" Shore D or more")
	}
	fill := table.Empty(look(table.FillIn))
	for i := 0; i < len(checks); i += 2 {
		spans := []laid{over(1, 3, table.Text(checks[i], table.TextStyle)), over(4, leftEnd, fill)}
		if i+1 < len(checks) {
			spans = append(spans, over(rightAt, 8, table.Text(checks[i+1], table.TextStyle)), over(9, kitWidth, fill))
		}
		row := rowOf(kitWidth, spans...)
		byHand(&row)
		s.put(row)
	}
	s.put(signRow("Done by", "Checked by"))
	return s
}

// returnStep is what comes back to the store.
func (b *book) returnStep(kt *kit.Kit) step {
	s := step{title: "Bring back"}
	text := "This page, filled in; tools; unopened sticks, packs, pouches and fasteners; leftovers of band and sheet; waste and opened wrap in the bags, apart."
	if len(kt.Putty.Left) > 0 {
		text += " Opened packs, closed and marked with the time of opening."
	}
	s.say(text)
	return s
}

// permitRows are to be ticked and filled in before anything is begun.
func (b *book) permitRows(kt *kit.Kit) []table.Row {
	wall := "☐ Wall measured"
	if len(kt.Net.Seals) > 0 {
		wall += ", at bands " + b.atLeast(b.p.Catalog.Settings.GateSeat) + " or more"
	}
	return []table.Row{blankRow("☐ Permit no.", "☐ Isolation ready, by", "☐ Way out free"), blankRow("☐ Gas test", wall, "☐ Pressure now")}
}

// assumedRow says what of the page is taken for granted.
func assumedRow(kt *kit.Kit) []table.Row {
	if len(kt.Repair.Leans) == 0 {
		return nil
	}
	words := joined(kt.Repair.Leans, "; ", func(code string) string { return strings.ReplaceAll(code, "-", " ") })
	return []table.Row{rowOf(kitWidth, over(1, 2, table.Text("Assumed", look(table.Label))),
		over(3, kitWidth, table.Text(words+". Find out before the work; what each means is on the sheet "+sheetAssumptions+".", table.Style{Wrap: true})))}
}

// pieceRows are the pieces cut for the kit: those of one size of a set in a line.
func (b *book) pieceRows(kt *kit.Kit) (rows []table.Row) {
	for _, list := range alikePieces(kt.Pieces) {
		row := rowOf(kitWidth, over(1, 1, table.Text("☐", table.TickStyle)), over(2, 3, table.Text(pieceNames(list), table.WrapStyle)),
			over(4, 7, table.Text(fmt.Sprintf("%d × %s, %s", len(list), b.pieceSize(list[0]), list[0].Stock), table.WrapStyle)),
			over(8, kitWidth, table.Text(b.cutFromAll(list), table.WrapStyle)))
		tight(&row)
		rows = append(rows, row)
	}
	return rows
}

// alikePieces parts pieces into runs of one set, stock and size.
func alikePieces(list []kit.Piece) (out [][]kit.Piece) {
	for i := 0; i < len(list); {
		end := i + 1
		for end < len(list) {
			x, y := list[i], list[end]
			if y.Label = x.Label; x != y {
				break
			}
			end++
		}
		out = append(out, list[i:end])
		i = end
	}
	return out
}

// pieceNames are the labels of a run of pieces.
func pieceNames(list []kit.Piece) string {
	name := list[0].Label
	if n := len(list); n > 1 {
		last := list[n-1].Label
		name += " to " + last[strings.LastIndex(last, "-B")+1:]
	}
	return name
}

func (b *book) pieceSize(p kit.Piece) string {
	if p.Kind == "sheet" {
		return b.sizeText(p.A, p.C)
	}
	return b.atLeast(float64(p.A))
}

// cutFromAll says which coils or sheets pieces come from: "coil 1, no. 1 to 4".
func (b *book) cutFromAll(list []kit.Piece) string {
	type run struct{ coil, first, last int }
	var runs []run
	for _, p := range list {
		at, ok := b.p.Place(p.Label)
		if !ok {
			continue
		}
		if n := len(runs); n > 0 && runs[n-1].coil == at.Coil && runs[n-1].last+1 == at.Number {
			runs[n-1].last = at.Number
			continue
		}
		runs = append(runs, run{at.Coil, at.Number, at.Number})
	}
	what := "coil"
	if list[0].Kind == "sheet" {
		what = "sheet"
	}
	return orDash(joined(runs, "; ", func(r run) string {
		return fmt.Sprintf("%s %d, no. %s", what, r.coil, numbers(r.first, r.last-r.first+1))
	}))
}
