package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/takeoff"
	"wraptally/export/table"
)

// heading opens a block.
func blockHead(first, last int, text string) []laid {
	return []laid{over(first, last, table.Text(text, table.Style{Look: table.Subheading}))}
}

// note is wrapped small print over a block.
func note(first, last int, text string) []laid {
	return []laid{over(first, last, table.Text(text, table.Style{Look: table.Muted, Wrap: true}))}
}

func head(first, last int, text string, a table.Align) laid {
	return over(first, last, table.Text(text, table.HeadStyle.To(a)))
}

// mixingCard says batch by batch what goes into the pot and how long it lives.
func (b *book) mixingCard(kt *kit.Kit) block {
	card := block{blockHead(1, leftEnd, "Mixing card at "+potText(kt.Repair)+": "+orDash(kt.Net.Putty.Name))}
	card.add(head(1, 1, "No.", table.Left), head(2, 3, "Packs", table.Left), head(4, 4, "Grams", table.Right), head(5, 5, "Min.", table.Right))
	for _, g := range groupBatches(kt.Putty.Batches) {
		batch := g.batch
		card.add(
			over(1, 1, table.Text(g.name(), table.TextStyle)),
			over(2, 3, table.Text(packsText(batch), table.WrapStyle)),
			over(4, 4, table.Num(grams(batch.Mass), table.IntStyle)),
			over(5, 5, table.Int(minutesDown(batch.Minutes), table.IntStyle)))
	}
	return card
}

// potText is the temperature for which the minutes hold.
func potText(r *scope.Repair) string {
	text := trimmed(r.PotTemp, 1) + " °C"
	if r.Blank.Has("air_temp") || r.Blank.Has("surface_temp") {
		text += " ASSUMED, measure"
	}
	return text
}

// mixingNote stands under the mixing card and the table beside it.
func (b *book) mixingNote(kt *kit.Kit) table.Row {
	text := fmt.Sprintf("The hotter of air and pipe counts: measure both. Mix about %s min to one colour; minutes count from the end of mixing. Waste, mixed and not laid: %s g planned.%s Never mix more than a batch of the card in one pot.",
		trimmed(b.p.Catalog.Settings.MixTime, 1), trimmed(grams(kt.Putty.Waste), 0), leftText(kt))
	return rowOf(kitWidth, note(1, kitWidth, text)...)
}

// batches is a run of batches that are mixed alike.
type batches struct {
	batch       *kit.Batch
	first, last int // numbers, from 1
}

func (g batches) name() string {
	if g.first == g.last {
		return strconv.Itoa(g.first)
	}
	return fmt.Sprintf("%d–%d", g.first, g.last)
}

// groupBatches joins neighbouring batches whose lines on the card are alike.
func groupBatches(list []kit.Batch) []batches {
	var out []batches
	for i := range list {
		if n := len(out); n > 0 && alike(out[n-1].batch, &list[i]) {
			out[n-1].last = i + 1
			continue
		}
		out = append(out, batches{&list[i], i + 1, i + 1})
	}
	return out
}

func alike(a, b *kit.Batch) bool {
	return grams(a.Mass) == grams(b.Mass) && minutesDown(a.Minutes) == minutesDown(b.Minutes) && packsText(a) == packsText(b)
}

// packsText says which packs make a batch.
func packsText(batch *kit.Batch) string {
	var parts []string
	for _, p := range batch.Packs {
		if p.Weighed {
			parts = append(parts, "weigh "+partsText(&p)+" out of "+p.Putty.Item)
			continue
		}
		parts = append(parts, fmt.Sprintf("%s × %s (%s kg)", trimmed(p.Count, 0), p.Putty.Item, trimmed(p.Putty.Pack, 3)))
	}
	return strings.Join(parts, " + ")
}

// partsText is what is weighed out of one pack: resin and hardener, or the one part
// there is.
func partsText(p *kit.Packs) string {
	if p.Hardener == 0 {
		return trimmed(p.Mass*1000, 1) + " g"
	}
	return trimmed(p.Resin*1000, 1) + " g resin + " + trimmed(p.Hardener*1000, 1) + " g hardener"
}

// leftText says what stays in opened packs and how long it keeps; "" where none is
// opened.
func leftText(kt *kit.Kit) string {
	var parts []string
	keeps := 0.0
	for _, l := range kt.Putty.Left {
		parts = append(parts, trimmed(grams(l.Mass), 0)+" g in "+l.Putty.Item)
		keeps = l.Putty.OpenLife
	}
	if parts == nil {
		return ""
	}
	return " Not mixed, stays in the opened pack: " + strings.Join(parts, "; ") + "; close it, mark it with the time of opening: it keeps " + trimmed(keeps, 1) + " h."
}

// potTable shows, batch by batch beside the mixing card, in how many minutes the
// same batch is to be used when it is colder or hotter.
func (b *book) potTable(kt *kit.Kit) block {
	card := block{blockHead(rightAt, kitWidth, "Minutes of the same batch if colder or hotter")}
	temps := make([]float64, len(kit.PotSteps))
	var heads []laid
	for i, step := range kit.PotSteps {
		temps[i] = kt.Putty.Temp + step
		heads = append(heads, head(rightAt+i, rightAt+i, trimmed(temps[i], 1)+" °C", table.Right))
	}
	card.add(heads...)
	for _, g := range groupBatches(kt.Putty.Batches) {
		var line []laid
		for i, at := range b.p.PotMinutes(kt, g.batch.Mass, temps) {
			cell := table.Text("do not mix", table.WrapStyle.To(table.Right))
			if at.Mix {
				cell = table.Int(int(at.Minutes), table.IntStyle)
			}
			line = append(line, over(rightAt+i, rightAt+i, cell))
		}
		card.add(line...)
	}
	return card
}

// sealingSteps are the steps for the sealant of a leaking repair.
func (b *book) sealingSteps(kt *kit.Kit) block {
	if len(kt.Net.Seals) == 0 {
		return block{
			blockHead(1, leftEnd, "Sealing"),
			note(1, leftEnd, "No leak: reinforcement only, no sealing set."),
		}
	}
	card := block{blockHead(1, leftEnd, "Sealing, "+countOf(len(kt.Net.Seals), "set", "sets"))}
	bands := 0
	for i := range kt.Net.Seals {
		bands += kt.Net.Seals[i].Bands
	}
	step := 0
	say := func(text string) {
		step++
		card.add(over(1, 1, table.Text(strconv.Itoa(step), table.Style{Look: table.Label})), over(2, leftEnd, table.Text(text, table.Style{Wrap: true})))
	}
	for _, s := range kt.Sticks {
		say(fmt.Sprintf("Knead each stick of %s about %s min to one colour; %s.",
			s.Sealant.Item, trimmed(s.Sealant.Knead, 1), countOf(s.Count, "stick", "sticks")))
	}
	for i := range kt.Net.Seals {
		p := kt.Net.Seals[i].Patch
		say(fmt.Sprintf("Set %d: pad %s, sheet %s, %s.", i+1, b.sizeText(int(math.Ceil(p.PadA)), int(math.Ceil(p.PadC))),
			b.sizeText(kt.Net.Seals[i].SheetA, kt.Net.Seals[i].SheetC), countOf(kt.Net.Seals[i].Bands, "band", "bands")))
	}
	say("Press pad and sheet on; draw the bands evenly, hex driver, no flat blade.")
	for _, s := range kt.Sticks {
		say(fmt.Sprintf("Wait until tack-free before the putty: about %s min at %s °C, longer colder.", trimmed(s.Sealant.Tack, 1), trimmed(s.Sealant.TimedAt, 1)))
		break
	}
	return card
}

// wrapCard says how the wrap is laid.
func (b *book) wrapCard(kt *kit.Kit) block {
	card := block{blockHead(rightAt, kitWidth, "Wrap")}
	r, set := kt.Repair, &b.p.Catalog.Settings
	row := func(label, value string) { card.add(pair(rightAt, label, value)...) }
	row("Layers", fmt.Sprintf("%d in %s, %s long, %s thick", r.Layers, countOf(r.Passes, "pass", "passes"), b.lengthText(r.Length), b.lengthText(r.WrapThickness)))
	if kt.Tape == nil {
		return card
	}
	turns := trimmed(set.EndTurns, 1) + " full turns"
	if set.EndTurns == 1 {
		turns = "a full turn"
	}
	row("Tape", fmt.Sprintf("%s, overlap %s; %s at both ends of a pass", b.lengthText(kt.Tape.Width), b.lengthText(kt.Tape.Width*set.Overlap), turns))
	var rolls []string
	soak, work := 0.0, math.Inf(1)
	for _, x := range kt.Rolls {
		rolls = append(rolls, fmt.Sprintf("%d × %s m", x.Count, trimmed(x.Roll.Length/1000, 2)))
		soak = math.Max(soak, x.Roll.Soak)
		work = math.Min(work, takeoff.WorkSeconds(x.Roll, r.SurfaceTemp, set))
	}
	row("Rolls", strings.Join(rolls, " + ")+"; open a pouch only to lay it")
	if len(kt.Rolls) > 0 {
		row("Lay", fmt.Sprintf("soak %s s, then lay the roll within %s min at %s °C", trimmed(soak, 0), trimmed(math.Floor(work/6+1e-9)/10, 1), trimmed(r.SurfaceTemp, 1)))
	}
	row("Hands", countOf(kt.Tape.Hands, "pair", "pairs")+" on the longest roll")
	return card
}

// pieceList names the pieces cut for the kit by their labels.
func (b *book) pieceList(kt *kit.Kit) block {
	if len(kt.Pieces) == 0 {
		return block{blockHead(1, leftEnd, "Cut pieces"), note(1, leftEnd, "None.")}
	}
	card := block{blockHead(1, leftEnd, "Cut pieces")}
	card.add(head(1, 1, "", table.Left), head(2, 2, "Label", table.Left), head(3, 3, "Size and stock", table.Left), head(4, leftEnd, "Cut from", table.Left))
	for _, p := range kt.Pieces {
		size := b.lengthText(float64(p.A))
		if p.Kind == "sheet" {
			size = b.sizeText(p.A, p.C)
		}
		card.add(over(1, 1, table.Text("☐", table.TickStyle)),
			over(2, 2, table.Text(p.Label, table.WrapStyle)),
			over(3, 3, table.Text(size+", "+p.Stock, table.WrapStyle)),
			over(4, leftEnd, table.Text(b.cutFrom(p), table.WrapStyle)))
	}
	return card
}

// cutFrom says which coil or sheet a piece comes from.
func (b *book) cutFrom(p kit.Piece) string {
	at, ok := b.p.Place(p.Label)
	if !ok {
		return "–"
	}
	what := "coil"
	if p.Kind == "sheet" {
		what = "sheet"
	}
	return fmt.Sprintf("%s %d, no. %d", what, at.Coil, at.Number)
}

// acceptance are the checks of the work, each with room for what was measured
// and by whom.
func (b *book) acceptance(kt *kit.Kit) block {
	set := &b.p.Catalog.Settings
	card := block{blockHead(rightAt, kitWidth, "Acceptance")}
	card.add(head(rightAt, rightAt+1, "Check, and asked for", table.Left), head(rightAt+2, rightAt+2, "Measured", table.Left), head(rightAt+3, kitWidth, "By", table.Left))
	check := func(text string) {
		fill := table.Empty(table.Style{Look: table.FillIn})
		card.add(over(rightAt, rightAt+1, table.Text(text, table.WrapStyle)), over(rightAt+2, rightAt+2, fill), over(rightAt+3, kitWidth, fill))
	}
	check("Surface grade: " + set.PrepGrade + " or better")
	check("Profile: " + trimmed(set.PrepProfile, 0) + " µm")
	if kt.Repair.Surface != survey.Submerged { // no dew forms under water
		check("Dew point + " + trimmed(set.DewMargin, 1) + " °C or more")
	}
	if len(kt.Net.Seals) > 0 {
		check("Sealant tack-free, no leak")
	}
	check("Putty set, no soft spots")
	check(fmt.Sprintf("Layers laid: %d or more", kt.Repair.Layers))
	if len(kt.Rolls) > 0 {
		check("Wrap: " + trimmed(kt.Rolls[0].Roll.Hardness, 0) + " Shore D or more")
	}
	return card
}
