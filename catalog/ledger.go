package catalog

import (
	"reflect"
	"time"

	"github.com/shopspring/decimal"
)

// Movement is what happened to a quantity of an item in a running campaign.
type Movement struct {
	Move     string          `csv:"move" of:"ordered received issued returned" means:"ordered from a supplier, received of an order, issued to the work, returned from it unused"`
	Order    string          `csv:"order" means:"number of the purchase order, or of the slip by which it was issued or returned"`
	Item     string          `csv:"item" means:"the item"`
	Quantity decimal.Decimal `csv:"quantity" in:"(0 1e9]" means:"in the item's unit of issue"`
	Arrives  time.Time       `csv:"arrives,optional" means:"day on which what is ordered is promised; blank: not known"`
	Day      time.Time       `csv:"day,optional" means:"day of the movement"`
}

// ledger holds the table of movements.
type ledger struct {
	Rows []Movement `table:"movements" key:"move order item day arrives" empty:"yes" lax:"yes" means:"a movement of goods of the running campaign"`
}

var ledgerTable = declared(reflect.TypeFor[ledger]())[0]

// ReadMovements reads what was ordered, received, issued and returned in a
// running campaign from a CSV file with the columns of Movement. What is received
// must have been ordered under the same number; no more can come back of an item
// than was issued. Errors are those of ReadStock.
func (c *Catalog) ReadMovements(path string) ([]Movement, error) {
	have := &ledger{}
	err := c.readBeside(path, "table of movements", &ledgerTable, have, func(k *checker) {
		ordered, out := map[[2]string]bool{}, map[string]decimal.Decimal{}
		for _, m := range have.Rows {
			switch m.Move {
			case "ordered":
				ordered[[2]string{m.Order, m.Item}] = true
			case "issued":
				out[m.Item] = out[m.Item].Add(m.Quantity)
			}
		}
		for i, m := range have.Rows {
			k.checkItem("movements", i, m.Item)
			switch m.Move {
			case "received":
				if !ordered[[2]string{m.Order, m.Item}] {
					k.fault("movements", i, "order", "receipt-unordered", "nothing of "+m.Item+" is ordered under "+m.Order, "add the row of the order, or correct its number")
				}
			case "returned":
				if out[m.Item] = out[m.Item].Sub(m.Quantity); out[m.Item].IsNegative() {
					k.fault("movements", i, "quantity", "return-excess", "more of "+m.Item+" comes back than was issued", "add the row by which it was issued, or correct the quantity")
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return have.Rows, nil
}
