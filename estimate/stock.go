package estimate

import (
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
)

// OpenStock reads the lots in store.
func OpenStock(path string, c *catalog.Catalog) ([]StockLot, error) {
	rows, err := c.ReadStock(path)
	if err != nil {
		return nil, err
	}
	out := make([]StockLot, len(rows))
	for i, r := range rows {
		it, _ := c.Item(r.Item)
		out[i] = StockLot{Item: r.Item, Price: r.Price, Length: int(r.Length), Width: int(r.Width), Lot: order.Lot{
			ID: r.Lot, Location: r.Location, Quantity: r.Quantity, Expiry: r.Expires, Undated: it != nil && it.ShelfDays > 0,
			Opened: !r.OpenedOn.IsZero(), OpenedOn: r.OpenedOn, OpenDays: r.OpenDays,
		}}
	}
	return out, nil
}

// StockLot is a lot in store of an item. With a length it is an offcut of a coil
// or sheet, from which pieces are cut first; it is not counted as a whole coil.
type StockLot struct {
	Item          string
	Length, Width int                 // mm, of an offcut; 0 for a whole lot
	Price         decimal.NullDecimal // what one unit cost
	order.Lot

	Source Source
	From   string    // number of the order, or supplier, of what comes
	Comes  time.Time // of what comes: the day; zero where it is not known
}

// Source says where a lot is.
type Source int

// The sources. What is issued already is in use, and given before the rest.
const (
	InStore     Source = iota
	IssuedOut          // to the work already
	StillToCome        // of an earlier order
	ToBeOrdered        // by this one
)

// Here reports whether what is of the source is at hand.
func (s Source) Here() bool { return s == InStore || s == IssuedOut }
