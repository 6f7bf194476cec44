package export

import (
	"io"
	"path/filepath"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// desk is the workbook of the campaign as a whole: what the estimator and the
// procurement office work from, and in all but large campaigns the storeman's
// sheets as well.
type desk struct {
	*book
	apart []kitBook // where the kits are when they have workbooks of their own
	index index     // of these

	inputs     *inputs
	order      *ordered
	needs      *needs
	cost       *costs
	repairs    *repairs
	places     places
	items      []need
	rows       []orderRow
	names      []table.Name
	materials  amount // the cost of the order
	net, total amount // the bid before and with tax
}

// Books are the workbooks of a campaign: one, or where it has more kits than the
// setting output.kits_per_book, one for the campaign and several for the kits,
// by area or by crew, with an index on the sheet Kits of the first.
func Books(p *estimate.Campaign, opt Options, path string) []Book {
	if len(p.Jobs) == 0 {
		return []Book{{path, func() *table.Workbook { return leftOutBook(p, opt) }}}
	}
	all := upTo(len(p.Jobs))
	limit := max(1, p.Catalog.Settings.KitsPerBook)
	if len(all) <= limit {
		return []Book{{path, func() *table.Workbook { return newDesk(p, opt, all, nil).workbook() }}}
	}
	apart := splitKits(p, path, limit)
	books := []Book{{path, func() *table.Workbook { return newDesk(p, opt, nil, apart).workbook() }}}
	for i, k := range apart {
		books = append(books, Book{filepath.Join(filepath.Dir(path), k.name), func() *table.Workbook {
			return newBook(p, opt, k.part).kitWorkbook(i+1, len(apart), filepath.Base(path))
		}})
	}
	return books
}

// QueriesOnly is a workbook to be answered and sent back.
func QueriesOnly(p *estimate.Campaign, opt Options, path string) Book {
	return Book{path, func() *table.Workbook {
		b := newBook(p, opt, nil)
		return b.bind("Queries", b.queriesSheet(), b.assumptionsSheet(), b.settingsSheet())
	}}
}

// Write writes the workbook; nothing reaches w when it cannot be made.
func (b Book) Write(w io.Writer) error { return xlsx.Write(w, b.make()) }

func newDesk(p *estimate.Campaign, opt Options, part []int, apart []kitBook) *desk {
	d := &desk{book: newBook(p, opt, part), apart: apart}
	d.index = d.newIndex()
	d.items = d.needList()
	d.inputs = d.newInputs(d.items)
	d.rows = d.orderRows()
	d.order, d.needs = d.newOrder(), d.newNeeds()
	d.openRepairs()
	return d
}

// define names a cell of a sheet and gives the amount for other formulas.
func (d *desk) define(name string, at string, value decimal.Decimal) amount {
	d.names = append(d.names, table.Name{Name: name, Refers: at})
	return amount{name, value}
}

// creator begins the name of the program in the properties of its workbooks.
const creator = "wraptally"

// bind makes a workbook of sheets.
func (b *book) bind(title string, sheets ...*table.Sheet) *table.Workbook {
	return &table.Workbook{
		Properties: table.Properties{
			Title: title, Subject: legible(table.Shorten(filepath.Base(b.p.Name), 100)), Description: Notice, Creator: strings.TrimSpace(creator + " " + b.opt.Version), Created: b.printed,
			Keywords: runWord(b.opt.Run),
		},
		Sheets: sheets,
	}
}

// leftOutBook is the workbook of a survey of which nothing could be estimated.
func leftOutBook(p *estimate.Campaign, opt Options) *table.Workbook {
	d := &desk{book: newBook(p, opt, nil)}
	d.openRepairs()
	return d.workbook()
}
