package catalog

import (
	"fmt"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// productsName is the table of products: NAME.csv or the sheet NAME. It is no
// table of the catalogue itself but a short way to fill several at once: a row is
// read as a row of items, offers, prices and the table of the kind. A firm that
// fills nothing else has its own products beside the built-in rules.
const productsName = "products"

// exampleColumn marks a row of the table of products that only shows how.
const exampleColumn = "example"

// exampleCode begins the codes of the built-in examples.
const exampleCode = "EXAMPLE-"

// productColumn is a column of the table of products: the columns of that name
// of the tables that it fills.
type productColumn struct {
	column // of the first of them; its meaning names each
	fills  []*tableDef
}

// productTables are the tables that a product fills, in their order: those of
// every product, of one kind, and the rules by which consumables and tools are issued.
var productTables = func() (list []*tableDef) {
	for _, name := range []string{"items", "offers", "prices"} {
		list = append(list, tableNamed(name))
	}
	for i := range tables {
		if tables[i].kind != "" {
			list = append(list, &tables[i])
		}
	}
	return append(list, tableNamed("consumables"))
}()

// productColumns are the columns of the table of products.
var productColumns = func() []productColumn {
	cols := []productColumn{{column: column{name: exampleColumn, optional: true, words: []string{"no", "yes"}, kind: boolType,
		means: "yes: the row is an example and is not read"}}}
	for _, def := range productTables {
		for _, c := range def.cols {
			at := slices.IndexFunc(cols, func(p productColumn) bool { return p.name == c.name })
			if at < 0 {
				c.optional, c.same, c.trends, c.every = c.name != "item", nil, nil, ""
				if c.name == "item" {
					c.table, c.means = "", "code of the item; a further row of it is for a further supplier or price break, and may leave blank what does not change"
				}
				at = len(cols)
				cols = append(cols, productColumn{column: c})
			}
			p := &cols[at]
			p.fills = append(p.fills, def)
			if len(p.fills) > 1 && c.name != "item" {
				// a cell is judged as its kind's; here only what all of them allow
				p.limit = widest(p.limit, c.limit)
				p.table, p.above = "", ""
			}
		}
	}
	for i := range cols {
		if of := cols[i].fills; len(of) > 0 && of[0].name != "items" && of[0].name != "offers" && of[0].name != "prices" {
			var told []string
			for _, def := range of {
				told = append(told, def.name+": "+def.cols[def.column(cols[i].name)].means)
			}
			cols[i].means = strings.Join(told, "\n")
		}
	}
	return cols
}()

// widest is a limit that holds whatever one of two holds.
func widest(a, b *limit) *limit {
	if a == nil || b == nil {
		return nil
	}
	return &limit{min: min(a.min, b.min), max: max(a.max, b.max), open: a.open && b.open}
}

// productsDef is the table of products as a table, for reading and writing it.
func productsDef() *tableDef {
	def := &tableDef{name: productsName, means: "a product, or a further supplier or price break of it; fills items, offers, prices and the table of its kind", empty: true, lax: true}
	for _, c := range productColumns {
		def.cols = append(def.cols, c.column)
	}
	return def
}

// product is a row of the table of products as cells by column.
type product struct {
	cells  map[string]cell // those that are not blank
	blanks map[string]cell // where those that are blank stand
	kind   string
}

// blank is the place of a cell that is blank; that of the item's where the table
// has no such column.
func (p *product) blank(column string) cell {
	if c, ok := p.blanks[column]; ok {
		return c
	}
	c := p.cells["item"]
	return cell{line: c.line, column: c.column, from: c.from}
}

// text is a cell's text, "" where it is blank.
func (p *product) text(column string) string { return p.cells[column].text }

// filler fills the tables of the catalogue from products.
type filler struct {
	merged  map[string]*grid // the tables that are given or change
	builtin map[string]*grid // the built-in tables, or those of an earlier run
	faults  *Faults
	rows    []*product
	changed map[string]bool
}

// fillFromProducts gives the tables with the rows that the table of products
// fills in. For each kind of product in it the built-in ones of that kind go,
// their offers and prices too, in whatever table they still stand unchanged; of
// consumables and tools, which the built-in rules issue by code, only those of
// the same code. What contradicts a row that the firm wrote elsewhere is a fault.
func fillFromProducts(own, under map[string]*grid, faults *Faults) map[string]*grid {
	g, given := own[productsName]
	f := &filler{merged: map[string]*grid{}, builtin: map[string]*grid{}, faults: faults, changed: map[string]bool{}}
	for name, t := range under {
		f.merged[name] = t
	}
	for name, t := range own {
		f.merged[name] = t
	}
	delete(f.merged, productsName)
	if !given || g == nil {
		return f.merged
	}
	for i := range tables {
		name := tables[i].name
		f.builtin[name] = under[name]
		if f.builtin[name] == nil {
			f.builtin[name] = readBuiltin(name, faults)
		}
	}
	if !f.read(g) {
		return f.merged
	}
	f.dropBuiltin()
	for _, def := range productTables {
		f.fill(def)
	}
	f.dropOrphans()
	return f.merged
}

// read reads the products; ok is false where its columns are at fault.
func (f *filler) read(g *grid) (ok bool) {
	def := productsDef()
	l := &loaded{def: def, grid: g}
	l.findColumns(f.faults)
	if l.broken || g.torn {
		return false
	}
	examples, first := 0, trace.Place{}
	for row, cells := range g.rows {
		place := g.at(cells[0], "")
		p := &product{cells: map[string]cell{}, blanks: map[string]cell{}}
		for col := range def.cols {
			if l.at[col] < 0 {
				continue
			}
			spec, c := &def.cols[col], l.cell(row, col)
			text := strings.TrimSpace(c.text)
			at := cell{line: c.line, column: c.column, from: &g.place}
			if g.fromSheet {
				at.column = l.at[col] + 1
			}
			if text == "" {
				p.blanks[spec.name] = at
				continue
			}
			if g.fromSheet && !spec.isText() {
				text = plainNumber(text)
			}
			at.text = text
			p.cells[spec.name] = at
		}
		switch example := p.text(exampleColumn); {
		case example == "yes":
			if strings.HasPrefix(p.text("item"), exampleCode) {
				continue // as the built-in ones
			}
			if examples++; examples == 1 {
				first = place
			}
			continue
		case example != "" && example != "no":
			f.fail(p, exampleColumn, "word-unknown", exampleColumn+" is neither yes nor no", "write yes or no")
		case p.text("item") == "":
			f.fail(p, "item", "cell-blank", "item is blank", "give the product a code, in each of its rows")
			continue
		}
		f.rows = append(f.rows, p)
	}
	if examples > 0 {
		f.faults.note(first, "product-example", "", count(examples, "row")+" of the firm's products marked as an example, not read", "clear the cell example where it is a product of the firm, else take the row out")
	}
	f.settleKinds()
	return true
}

// fail records a fault of a cell of a product.
func (f *filler) fail(p *product, column, code, message, advice string) {
	c, ok := p.cells[column]
	if !ok {
		c = p.blank(column)
	}
	place := *c.from
	place.Line, place.Column, place.Field = c.line, c.column, column
	f.faults.add(place, code, c.text, message, advice)
}

// settleKinds gives every row the kind of its item, and refuses cells in columns
// that its kind has not.
func (f *filler) settleKinds() {
	kinds := map[string]string{}
	items := f.table("items")
	for _, cells := range items.rowsOf() {
		kinds[items.text(cells, "item")] = items.text(cells, "kind")
	}
	written := map[string]*product{}
	for _, p := range f.rows {
		code := p.text("item")
		if kind := p.text("kind"); kind != "" && written[code] == nil {
			kinds[code], written[code] = kind, p
		}
	}
	for _, p := range f.rows {
		p.kind = kinds[p.text("item")]
		if !slices.Contains(wordsOf("items", "kind"), p.kind) {
			continue // blank or unheard of, a fault of the table items
		}
		for i := range productColumns {
			c := &productColumns[i]
			if p.text(c.name) != "" && c.name != exampleColumn && !slices.ContainsFunc(c.fills, func(def *tableDef) bool { return serves(def, p.kind) }) {
				f.fail(p, c.name, "column-foreign", fmt.Sprintf("a %s has no %s", p.kind, c.name), "clear the cell, or correct the kind")
			}
		}
	}
}

// serves reports whether a table holds rows of products of a kind.
func serves(def *tableDef, kind string) bool {
	switch {
	case def.kind != "":
		return def.kind == kind
	case def.name == "consumables":
		return isIssued(kind)
	}
	return true
}

// table is a table as it stands so far.
func (f *filler) table(name string) *grid {
	if g, ok := f.merged[name]; ok {
		return g
	}
	return f.builtin[name]
}

// rowsOf are the rows of a table that may have failed to be read.
func (g *grid) rowsOf() [][]cell {
	if g == nil {
		return nil
	}
	return g.rows
}

// text is the cell of a row in a named column, without blanks at its ends.
func (g *grid) text(cells []cell, column string) string {
	at := slices.IndexFunc(g.head, func(h cell) bool { return strings.TrimSpace(h.text) == column })
	if at < 0 || at >= len(cells) {
		return ""
	}
	return strings.TrimSpace(cells[at].text)
}

// sameText reports whether two cells say the same: equal words or equal numbers.
func sameText(a, b string) bool {
	if a == b {
		return true
	}
	x, err := parseFloat(a, true)
	y, err2 := parseFloat(b, true)
	return err == nil && err2 == nil && x == y
}

// keep leaves in a table the built-in rows that keep says, and every row that the
// firm wrote or changed.
func (f *filler) keep(name string, keep func(row func(column string) string) bool) {
	g, def := f.table(name), tableNamed(name)
	if g == nil || f.builtin[name] == nil {
		return
	}
	base := f.builtin[name]
	known := map[string]bool{}
	as := func(g *grid, cells []cell) string {
		var b strings.Builder
		for _, c := range def.cols {
			text := g.text(cells, c.name)
			if v, err := parseFloat(text, g.fromSheet); err == nil && !c.isText() {
				text = num(v)
			}
			b.WriteString(text + "\x00")
		}
		return b.String()
	}
	for _, cells := range base.rows {
		known[as(base, cells)] = true
	}
	left := make([][]cell, 0, len(g.rows))
	for _, cells := range g.rows {
		if keep(func(column string) string { return g.text(cells, column) }) || !known[as(g, cells)] {
			left = append(left, cells)
		}
	}
	if len(left) < len(g.rows) {
		f.change(name).rows = left
	}
}

// change is a copy of a table that may be changed.
func (f *filler) change(name string) *grid {
	if f.changed[name] {
		return f.merged[name]
	}
	g := *f.table(name)
	g.head, g.rows = slices.Clone(g.head), slices.Clone(g.rows)
	f.merged[name], f.changed[name] = &g, true
	return &g
}

// dropBuiltin takes out the built-in products in whose place those of the firm come.
func (f *filler) dropBuiltin() {
	kinds, codes, offered, ruled := map[string]bool{}, map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, p := range f.rows {
		if f.speaksOf(p, tableNamed("offers")) || f.speaksOf(p, tableNamed("prices")) {
			offered[p.text("item")] = true
		}
		switch {
		case !isIssued(p.kind):
			kinds[p.kind] = true
		case f.speaksOf(p, tableNamed("items")):
			f.complete(p)
			codes[p.text("item")] = true
		}
		if f.speaksOf(p, tableNamed("consumables")) {
			ruled[p.text("item")] = true
		}
	}
	for i := range tables {
		if kinds[tables[i].kind] && tables[i].kind != "" {
			f.keep(tables[i].name, func(func(string) string) bool { return false })
		}
	}
	f.keep("items", func(row func(string) string) bool { return !kinds[row("kind")] && !codes[row("item")] })
	kindOf := map[string]string{}
	for _, cells := range f.builtin["items"].rowsOf() {
		kindOf[f.builtin["items"].text(cells, "item")] = f.builtin["items"].text(cells, "kind")
	}
	for _, name := range []string{"offers", "prices"} {
		f.keep(name, func(row func(string) string) bool { return !kinds[kindOf[row("item")]] && !offered[row("item")] })
	}
	f.keep("consumables", func(row func(string) string) bool { return !ruled[row("item")] })
}

// complete fills the blank cells of a consumable or tool that the built-in rules
// issue from the built-in row of the same code.
func (f *filler) complete(p *product) {
	base := f.builtin["items"]
	for _, cells := range base.rowsOf() {
		if base.text(cells, "item") != p.text("item") {
			continue
		}
		for _, c := range tableNamed("items").cols {
			if text := base.text(cells, c.name); text != "" && p.text(c.name) == "" {
				at := p.blank(c.name)
				at.text = text
				p.cells[c.name] = at
			}
		}
	}
}

// speaksOf reports whether a product fills a cell of a table beside its item.
func (f *filler) speaksOf(p *product, def *tableDef) bool {
	for _, c := range def.cols {
		if c.name == "item" || c.name == "supplier" && def.name == "prices" {
			continue // the key that prices share with offers
		}
		if p.text(c.name) != "" && serves(def, p.kind) {
			return true
		}
	}
	return false
}

// fill adds to a table the rows that the products make, each a group of products
// that agree in its key.
func (f *filler) fill(def *tableDef) {
	groups, order := map[string][]*product{}, []string(nil)
	last := map[string]map[string]cell{} // key cells by item, of the row before
	for _, p := range f.rows {
		if !serves(def, p.kind) {
			continue
		}
		own := def.name == "items" || def.kind != ""
		if !own && !f.speaksOf(p, def) {
			continue
		}
		item, key := p.text("item"), ""
		if last[item] == nil {
			last[item] = map[string]cell{}
		}
		for _, name := range def.keys[0] {
			c, filled := p.cells[name]
			if !filled && name != "from_packs" {
				if c, filled = last[item][name]; filled && name != "item" {
					p.cells[name] = c
				}
			}
			if filled {
				last[item][name] = c
			}
			key += c.text + "\x00"
		}
		if groups[key] == nil {
			order = append(order, key)
		}
		groups[key] = append(groups[key], p)
	}
	for _, key := range order {
		f.add(def, groups[key])
	}
}

// add makes one row of a table of the products that agree in its key.
func (f *filler) add(def *tableDef, group []*product) {
	row := map[string]cell{}
	for i := range def.cols {
		name := def.cols[i].name
		var from *product
		for _, p := range group {
			c, filled := p.cells[name]
			switch {
			case !filled:
			case from == nil:
				from, row[name] = p, c
			case !sameText(c.text, row[name].text):
				f.fail(p, name, "product-disagrees", fmt.Sprintf("%s differs from line %d, where it is %s", name, row[name].line, clip(row[name].text)),
					"rows of one item agree where they are filled; give different products different codes")
			}
		}
		if from == nil {
			row[name] = f.unsaid(def, name, group[0])
		}
	}
	if !f.standsAlready(def, group, row) {
		g := f.change(def.name)
		cells := make([]cell, len(g.head))
		for i, h := range g.head {
			var ok bool
			if cells[i], ok = row[strings.TrimSpace(h.text)]; !ok {
				cells[i] = group[0].blank("item")
			}
		}
		g.rows = append(g.rows, cells)
	}
}

// unsaid is the cell of a column that a product leaves blank: what follows from
// its kind or from the rest of the row, else a blank one.
func (f *filler) unsaid(def *tableDef, name string, p *product) cell {
	c := p.blank(name)
	if like := f.alike(def, name, p); like != nil {
		c.text = like.text(name)
		return c
	}
	switch {
	case def.name == "items" && name == "kind":
		c.text = p.kind
	case def.name == "items" && (name == "unit" || name == "issue"):
		base := f.builtin["items"]
		for _, cells := range base.rowsOf() {
			if base.text(cells, "kind") == p.kind && !isIssued(p.kind) {
				c.text = base.text(cells, name)
			}
		}
	case def.name == "offers" && name == "scheme" && !f.breaks(p):
		c.text = wordsOf("offers", "scheme")[0] // of a single price both schemes say the same
	case def.name == "prices" && name == "from_packs":
		c.text = "1"
		for _, other := range f.rows {
			if least := other.text("min_packs"); least != "" && other.text("item") == p.text("item") && other.text("supplier") == p.text("supplier") && !sameText(least, "0") {
				c.text = least
			}
		}
	}
	return c
}

// alike is a product that says what this one leaves blank and with which it must
// agree in it: a roll of the same wrap, a coil of the same band.
func (f *filler) alike(def *tableDef, name string, p *product) *product {
	same := def.cols[def.column(name)].same
	if len(same) == 0 || slices.ContainsFunc(same, func(by string) bool { return p.text(by) == "" }) {
		return nil
	}
	i := slices.IndexFunc(f.rows, func(other *product) bool {
		return other.kind == p.kind && other.text(name) != "" && !slices.ContainsFunc(same, func(by string) bool { return !sameText(other.text(by), p.text(by)) })
	})
	if i < 0 {
		return nil
	}
	return f.rows[i]
}

// breaks reports whether the offer of a product has more than one price.
func (f *filler) breaks(p *product) bool {
	n := 0
	for _, other := range f.rows {
		if other.text("item") == p.text("item") && other.text("price_per_pack") != "" && (other.text("supplier") == p.text("supplier") || other.text("supplier") == "") {
			n++
		}
	}
	return n > 1
}

// standsAlready reports whether the firm's own table has the row; what the
// products say of it otherwise is a fault.
func (f *filler) standsAlready(def *tableDef, group []*product, row map[string]cell) bool {
	g := f.table(def.name)
	if g == nil {
		return true
	}
	for _, cells := range g.rowsOf() {
		if len(cells) == 0 || cells[0].from != nil || !f.sameKey(def, g, cells, row) {
			continue
		}
		for _, c := range def.cols {
			for _, p := range group {
				if said, filled := p.cells[c.name]; filled && !sameText(said.text, g.text(cells, c.name)) {
					where := g.place
					where.Line = cells[0].line
					f.fail(p, c.name, "product-contradicts", fmt.Sprintf("%s is %q in %s", c.name, clip(g.text(cells, c.name)), where), "let the two agree, or clear one of them")
				}
			}
		}
		return true
	}
	return false
}

// sameKey reports whether a row of a table has the key of a row of the products.
func (f *filler) sameKey(def *tableDef, g *grid, cells []cell, row map[string]cell) bool {
	for _, name := range def.keys[0] {
		if !sameText(row[name].text, g.text(cells, name)) {
			return false
		}
	}
	return true
}

// dropOrphans takes out the built-in rows that name a built-in product in whose
// place one of the firm came: fasteners of bands, working lives of putties.
func (f *filler) dropOrphans() {
	for i := range tables {
		def := &tables[i]
		for _, c := range def.cols {
			if c.table == "" || !f.changed[c.table] || c.table == "items" || f.table(def.name) == nil {
				continue
			}
			there, target := map[string]bool{}, f.table(c.table)
			for _, cells := range target.rows {
				there[target.text(cells, c.target)] = true
			}
			gone := map[string]bool{}
			f.keep(def.name, func(row func(string) string) bool {
				if !there[row(c.name)] {
					gone[row("item")] = true
				}
				return there[row(c.name)]
			})
			if def.kind != "" {
				for _, name := range []string{"items", "offers", "prices"} {
					f.keep(name, func(row func(string) string) bool { return !gone[row("item")] })
				}
			}
			if g := f.table(def.name); len(g.rows) == 0 && !def.empty {
				f.orphaned(c.table, def.name)
				g.torn = true // told here, and nothing to check
			}
		}
	}
}

// orphaned tells that a table has no row left that goes with the products.
func (f *filler) orphaned(of, table string) {
	kind := tableNamed(of).kind
	for _, p := range f.rows {
		if p.kind == kind {
			f.fail(p, "item", "product-lacks", fmt.Sprintf("the table %s has no row for the %s of the firm; its built-in rows went with the built-in %s", table, of, of), "write rows for them, there or among the products")
			return
		}
	}
}
