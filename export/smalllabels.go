package export

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/estimate/kit"
	"wraptally/export/table"
)

const sheetSmallLabels = "Small labels"

// smallLabel is a label of a cut piece, of what is kept of a coil or sheet, or of an
// opened pack: a name in bold and lines under it.
type smallLabel struct {
	name  string
	lines [5]string
}

// smallRows are the heights of its rows in points; the last line takes what is left.
var smallRows = []float64{4, 15, 12.5, 12.5, 12.5, 12.5, 0}

// smallLabelsSheet is a sheet of small labels to be cut apart: pieces kit by kit in
// the order of the work, opened packs, then what is kept.
func (b *book) smallLabelsSheet() *table.Sheet {
	f, list := b.smallForm(), b.smallLabels()
	return f.sheet(b, sheetSmallLabels, len(list), func(at, n int) ([]table.Row, error) {
		rows := f.rows(smallRows, len(smallRows)-1, n)
		for i, l := range list[at : at+n] {
			column := 1 + i*f.span()
			rows[1].Cells[column] = table.Text(fitLines(l.name, f.text()*0.9, 1), look(table.Label))
			for k, line := range l.lines[:4] {
				rows[2+k].Cells[column] = table.Text(fitLines(line, f.text(), 1), table.Style{})
			}
			last := len(smallRows) - 1
			rows[last].Cells[column] = table.Text(fitLines(l.lines[4], f.text()*1.1, 1), look(table.Muted))
		}
		return rows, nil
	})
}

func (b *book) smallLabels() (out []smallLabel) {
	run := strings.Join(slices.DeleteFunc([]string{runWord(b.opt.Run), day(b.date())}, func(s string) bool { return s == "" }), ", ")
	for _, kt := range b.kits {
		out = append(out, b.pieceLabels(kt.Pieces, "kit "+kt.Repair.ID, run)...)
		if b.p.Catalog.Settings.MixPooling != estimate.PoolByShift {
			out = append(out, b.openedLabels(kt, run)...)
		}
	}
	if b.p.Catalog.Settings.MixPooling == estimate.PoolByShift {
		out = append(out, b.sharedLabels(run)...)
	}
	for _, s := range b.spares() {
		out = append(out, b.pieceLabels(s.Pieces, "spare of "+b.p.Crews[s.Crew-1].Name, run)...)
	}
	if b.complete() {
		out = append(out, b.keptLabels(run)...)
	}
	return out
}

// pieceLabels are those of pieces cut for a kit, or for the spares of a crew.
func (b *book) pieceLabels(list []kit.Piece, whose, run string) (out []smallLabel) {
	for _, p := range list {
		out = append(out, smallLabel{p.Label, [5]string{b.pieceSize(p), p.Stock, whose, "from " + b.cutFromAll([]kit.Piece{p}), run}})
	}
	return out
}

// keepsOpened says how long an opened pack of a putty keeps.
func keepsOpened(p *catalog.Putty) string { return "keeps " + trimmed(p.OpenLife, 0) + " h" }

func openedLabel(p *catalog.Putty, where, run string) smallLabel {
	return smallLabel{"OPENED " + p.Item, [5]string{where, "lot ______________", "opened ____ at ____", "left _____ g; " + keepsOpened(p), run}}
}

// openedLabels are those of the packs of a kit out of which a part is weighed.
func (b *book) openedLabels(kt *kit.Kit, run string) (out []smallLabel) {
	parts := map[string]float64{}
	var order []*catalog.Putty
	for i := range kt.Putty.Batches {
		for _, p := range kt.Putty.Batches[i].Packs {
			if p.Weighed {
				if parts[p.Putty.Item] == 0 {
					order = append(order, p.Putty)
				}
				parts[p.Putty.Item] += p.Count
			}
		}
	}
	for _, p := range order {
		for range int(math.Ceil(parts[p.Item] - 1e-9)) {
			out = append(out, openedLabel(p, "kit "+kt.Repair.ID, run))
		}
	}
	return out
}

// sharedLabels are those of packs that a crew shares in a shift.
func (b *book) sharedLabels(run string) (out []smallLabel) {
	for _, is := range b.issues() {
		for i := range b.p.Catalog.Putties {
			p := &b.p.Catalog.Putties[i]
			if p.Item != b.p.Catalog.Items[is.Item].Code || !p.Splittable {
				continue
			}
			for range int(math.Round(is.Qty)) {
				out = append(out, openedLabel(p, fmt.Sprintf("%s, shift %d", b.p.Crews[is.Crew-1].Name, is.Shift), run))
			}
			break
		}
	}
	return out
}

// keptLabels are those of what is kept of coils and sheets: its size, what it comes
// from, and room for the name under which it goes into the table of the store.
func (b *book) keptLabels(run string) (out []smallLabel) {
	for l := range b.p.Cuts {
		cl := &b.p.Cuts[l]
		number := 0
		add := func(stock int, size string) {
			out = append(out, smallLabel{"OFFCUT, KEEP", [5]string{
				size, cl.Stock, cl.Items[stock] + ", no. " + fmt.Sprint(number), "lot _______ place _____", run,
			}})
		}
		if cl.Linear != nil {
			for _, p := range cl.Linear.Patterns {
				for range p.Count {
					if number++; p.Keep && p.Left > 0 {
						add(p.Stock, b.lengthText(float64(p.Left)))
					}
				}
			}
			continue
		}
		for i := range cl.Sheets.Layouts {
			lay := &cl.Sheets.Layouts[i]
			for range lay.Count {
				number++
				kept(lay.Cuts, func(n *cut.Node) { add(lay.Sheet, b.bare(n.W)+" × "+b.bare(n.H)+" "+b.lengthUnit()) })
			}
		}
	}
	return out
}
