package export

import (
	"fmt"
	"strconv"
	"strings"

	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/export/table"
)

// blockHead opens a block.
func blockHead(first, last int, text string) []laid {
	return []laid{over(first, last, table.Text(text, table.Style{Look: table.Subheading}))}
}

func head(first, last int, text string, a table.Align) laid {
	return over(first, last, table.Text(text, table.HeadStyle.To(a)))
}

// mixingCard says batch by batch what goes into the pot and how long it lives.
func (b *book) mixingCard(kt *kit.Kit) block {
	card := block{blockHead(1, leftEnd, "Mixing card at "+b.potText(kt.Repair))}
	card.add(head(1, 3, "Batch, and what goes into it", table.Left), head(4, 4, "Grams", table.Right), head(5, 5, "Use, min", table.Right))
	for _, g := range b.groupBatches(kt.Putty.Batches) {
		batch := g.batch
		card.add(
			over(1, 1, table.Text(g.name(), table.TextStyle)),
			over(2, 3, table.Text(b.packsText(batch), table.WrapStyle)),
			over(4, 4, table.Num(grams(batch.Mass), table.IntStyle)),
			over(5, 5, table.Int(minutesDown(batch.Minutes), table.IntStyle)))
	}
	return card
}

// potText is the temperature for which the minutes hold.
func (b *book) potText(r *scope.Repair) string {
	text := b.tempText(r.PotTemp)
	if r.Blank.Has("air_temp") || r.Blank.Has("surface_temp") {
		text += " ASSUMED, measure"
	}
	return text
}

// mixingNote stands under the mixing card and the table beside it.
func (b *book) mixingNote(kt *kit.Kit) table.Row {
	text := fmt.Sprintf("The hotter of air and pipe counts: measure both. Mix about %s min to one colour; minutes count from the end of mixing. Waste, mixed and not laid: %s g planned.%s Never mix more than a batch of the card in one pot.",
		trimmed(b.p.Catalog.Settings.MixTime, 1), trimmed(grams(kt.Putty.Waste), 0), leftText(kt))
	return rowOf(kitWidth, over(1, kitWidth, table.Text(text, table.Style{Wrap: true})))
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
func (b *book) groupBatches(list []kit.Batch) []batches {
	var out []batches
	for i := range list {
		if n := len(out); n > 0 && b.alike(out[n-1].batch, &list[i]) {
			out[n-1].last = i + 1
			continue
		}
		out = append(out, batches{&list[i], i + 1, i + 1})
	}
	return out
}

func (b *book) alike(x, y *kit.Batch) bool {
	return grams(x.Mass) == grams(y.Mass) && minutesDown(x.Minutes) == minutesDown(y.Minutes) && b.packsText(x) == b.packsText(y)
}

// packsText says which packs make a batch.
func (b *book) packsText(batch *kit.Batch) string {
	return joined(batch.Packs, " + ", func(p kit.Packs) string {
		if p.Weighed {
			return fmt.Sprintf("weigh %s out of %s, opened pack %d", partsText(&p), p.Putty.Item, p.Open)
		}
		return fmt.Sprintf("%s × %s (%s), whole", trimmed(p.Count, 0), p.Putty.Item, b.massText(p.Putty.Pack))
	})
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
		heads = append(heads, head(rightAt+i, rightAt+i, b.tempText(temps[i]), table.Right))
	}
	card.add(heads...)
	for _, g := range b.groupBatches(kt.Putty.Batches) {
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
