package catalog

import (
	"math"
	"os"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// StockRow is one lot in store.
type StockRow struct {
	Item     string          `csv:"item"`
	Lot      string          `csv:"lot"`
	Quantity decimal.Decimal `csv:"quantity"` // in the item's unit of issue
	Expiry   string          `csv:"expiry,optional"`
	Location string          `csv:"location,optional"`
	Opened   string          `csv:"opened_on,optional"` // day on which the pack was opened
	OpenDays int             `csv:"open_days,optional"` // days an opened pack keeps
	Length   float64         `csv:"length_mm,optional"` // of an offcut of a coil or sheet; blank: the lot is whole
	Width    float64         `csv:"width_mm,optional"`  // of an offcut of a sheet

	Expires, OpenedOn time.Time `csv:"-"` // the dates, zero where blank
}

var stockTable = tableDef{name: "stock", key: []string{"item", "lot"}, may: true, lax: true, rows: func(c *Catalog) any { return &c.stock }}

// ReadStock reads what is in store from a CSV file with the columns item, lot,
// quantity, expiry, location, opened_on, open_days; the last four may be left
// blank. Dates are written 2027-03-01. A *Faults error lists everything that is
// wrong; *OpenError says that the file cannot be read.
func (c *Catalog) ReadStock(path string) ([]StockRow, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &OpenError{What: "stock list", Path: path, Err: err}
	}
	defer f.Close()
	faults := &Faults{Subject: "the stock list"}
	scratch := &Catalog{}
	g := readCSV(path, f, faults)
	l := decode(&stockTable, g, scratch, faults)
	seen := map[[2]string]bool{}
	for i := range scratch.stock {
		row := &scratch.stock[i]
		at := func(column string) trace.Place { return l.place(i, l.column(column)) }
		if l.broken {
			break
		}
		if _, ok := c.items[row.Item]; !ok && row.Item != "" {
			faults.add(at("item"), "item-unknown", row.Item, "no item of that code in the items table", "correct the code, or add the item to the catalogue")
		}
		if row.Quantity.IsNegative() {
			faults.add(at("quantity"), "number-range", row.Quantity.String(), "a quantity in store cannot be negative", "correct it")
		}
		c.checkOffcut(row, at, faults)
		if key := [2]string{row.Item, row.Lot}; seen[key] {
			faults.add(at("lot"), "key-duplicate", row.Lot, "the lot of this item is listed twice", "join the rows or name the lots apart")
		} else {
			seen[key] = true
		}
		row.Expires = stockDate(row.Expiry, at("expiry"), faults)
		row.OpenedOn = stockDate(row.Opened, at("opened_on"), faults)
	}
	if err := faults.err(); err != nil {
		return nil, err
	}
	return scratch.stock, nil
}

// checkOffcut refuses an offcut that could not be cut from: it must be of a coil
// or sheet, in whole pieces and whole mm, a sheet's with both its sides.
func (c *Catalog) checkOffcut(row *StockRow, at func(string) trace.Place, faults *Faults) {
	if row.Length == 0 && row.Width == 0 {
		return
	}
	it, ok := c.items[row.Item]
	switch {
	case !ok: // a fault of its own
	case it.Kind != "band" && it.Kind != "sheet":
		faults.add(at("length_mm"), "offcut-unknown", row.Item, "only coils and sheets have offcuts", "leave length and width blank")
	case row.Length < 0 || row.Width < 0 || row.Length != math.Trunc(row.Length) || row.Width != math.Trunc(row.Width):
		faults.add(at("length_mm"), "number-range", "", "an offcut is measured in whole mm", "round it down")
	case it.Kind == "sheet" && (row.Length == 0 || row.Width == 0):
		faults.add(at("width_mm"), "cell-blank", "", "an offcut of a sheet needs its length and its width", "fill both in")
	case it.Kind == "band" && (row.Length == 0 || row.Width != 0):
		faults.add(at("length_mm"), "number-range", "", "an offcut of a coil needs its length and no width", "fill in the length alone")
	case !row.Quantity.IsInteger():
		faults.add(at("quantity"), "number-range", row.Quantity.String(), "offcuts are counted in whole pieces", "give each its own row")
	}
}

// stockDate reads a date, zero where blank.
func stockDate(text string, at trace.Place, faults *Faults) time.Time {
	if text == "" {
		return time.Time{}
	}
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		faults.add(at, "date-bad", text, "is not a date", "write it as 2027-03-01")
	}
	return d
}
