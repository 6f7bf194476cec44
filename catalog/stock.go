package catalog

import (
	"fmt"
	"os"
	"reflect"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// StockRow is one lot in store.
type StockRow struct {
	Item     string              `csv:"item" means:"the item"`
	Lot      string              `csv:"lot,optional" means:"name of the lot; may be blank where the item has no shelf life and the row is no offcut"`
	Quantity decimal.Decimal     `csv:"quantity" in:"[0 1e9]" means:"in the item's unit of issue"`
	Expires  time.Time           `csv:"expiry,optional" means:"last day of use; where an item has a shelf life and it is blank, the lot is not used"`
	Location string              `csv:"location,optional" means:"where it lies"`
	OpenedOn time.Time           `csv:"opened_on,optional" means:"day on which the pack was opened"`
	OpenDays int                 `csv:"open_days,optional" unit:"days" in:"[0 36500]" means:"days that an opened pack keeps"`
	Price    decimal.NullDecimal `csv:"price,optional" unit:"money" in:"[0 1e9]" means:"what one unit cost, of an offcut a whole coil or sheet, in the currency of the bid; blank: not known, asked where the setting stock.price says cost"`
	Length   float64             `csv:"length_mm,optional" unit:"mm" in:"[0 1e6]" whole:"mm" means:"length of an offcut of a coil or sheet; blank: the lot is whole"`
	Width    float64             `csv:"width_mm,optional" unit:"mm" in:"[0 1e6]" whole:"mm" means:"width of an offcut of a sheet"`
}

// store holds the table of what is in store.
type store struct {
	Rows []StockRow `table:"stock" key:"lot item" empty:"yes" lax:"yes" means:"a lot in store"`
}

var stockTable = declared(reflect.TypeFor[store]())[0]

// ReadStock reads what is in store from a CSV file with the columns of StockRow;
// those that may be blank may be left out. Dates are written 2027-03-01. A
// *Faults error lists everything that is wrong; *OpenError says that the file
// cannot be read.
func (c *Catalog) ReadStock(path string) ([]StockRow, error) {
	have := &store{}
	err := c.readBeside(path, "stock list", &stockTable, have, func(k *checker) {
		for i := range have.Rows {
			k.checkItem("stock", i, have.Rows[i].Item)
			k.checkLot(i, &have.Rows[i])
			k.checkOffcut(i, &have.Rows[i])
		}
	})
	if err != nil {
		return nil, err
	}
	return have.Rows, nil
}

// readBeside reads a table that stands beside the catalogue and names its items.
// Its rows are checked once all of them could be read.
func (c *Catalog) readBeside(path, what string, def *tableDef, into any, check func(*checker)) error {
	f, err := os.Open(path)
	if err != nil {
		return &OpenError{What: what, Path: path, Err: err}
	}
	defer f.Close()
	faults := &Faults{Subject: "the " + what}
	l := decode(def, readCSV(path, f, faults), into, faults)
	k := &checker{c: c, all: map[string]*loaded{def.name: l}, faults: faults}
	k.checkTable(l)
	if !l.broken {
		check(k)
	}
	return faults.err()
}

// checkItem refuses an item that the catalogue has not.
func (k *checker) checkItem(table string, row int, item string) {
	if _, ok := k.c.items[item]; !ok && item != "" {
		k.fault(table, row, "item", "item-unknown", "no item of that code in the items table", "correct the code, or add the item to the catalogue")
	}
}

// checkLot asks for the name of a lot that somebody has to tell from another: of
// what keeps only so long, and of an offcut, which is cut by its name.
func (k *checker) checkLot(i int, row *StockRow) {
	if strings.TrimSpace(row.Lot) != "" {
		return
	}
	switch it, ok := k.c.Item(row.Item); {
	case ok && it.ShelfDays > 0:
		k.fault("stock", i, "lot", "lot-blank", row.Item+" has a shelf life, and its lot is not named", "copy the lot from the pack; which lot keeps how long cannot be told without")
	case row.Length > 0:
		k.fault("stock", i, "lot", "lot-blank", "an offcut has no name", "name each offcut and write the name on it")
	}
}

// longest is the longer side of a coil or sheet as bought, in mm.
func (k *checker) longest(item string) float64 {
	if b, ok := first(k.c.Bands, func(b *Band) bool { return b.Item == item }); ok {
		return b.CoilLength
	}
	if s, ok := first(k.c.Sheets, func(s *Sheet) bool { return s.Item == item }); ok {
		return max(s.Width, s.Length)
	}
	return 0
}

// checkOffcut refuses an offcut that could not be cut from: it must be of a coil
// or sheet, in whole pieces, a sheet's with both its sides.
func (k *checker) checkOffcut(i int, row *StockRow) {
	if row.Length == 0 && row.Width == 0 {
		return
	}
	switch kind := k.kindOf(row.Item); {
	case kind == "": // a fault of its own
	case kind != "band" && kind != "sheet":
		k.fault("stock", i, "length_mm", "offcut-unknown", "only coils and sheets have offcuts", "leave length and width blank")
	case kind == "sheet" && (row.Length == 0 || row.Width == 0):
		k.fault("stock", i, "width_mm", "cell-blank", "an offcut of a sheet needs its length and its width", "fill both in")
	case kind == "band" && (row.Length == 0 || row.Width != 0):
		k.fault("stock", i, "length_mm", "number-range", "an offcut of a coil needs its length and no width", "fill in the length alone")
	case k.longest(row.Item) < max(row.Length, row.Width):
		k.fault("stock", i, "length_mm", "value-out-of-range", fmt.Sprintf("the offcut is longer than the %s it comes from, %s mm", kind, num(k.longest(row.Item))), "give the length of the piece in mm; a whole one has its length blank")
	case !row.Quantity.IsInteger():
		k.fault("stock", i, "quantity", "number-range", "offcuts are counted in whole pieces", "give each its own row")
	}
}
