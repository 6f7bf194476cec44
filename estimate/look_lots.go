package estimate

// LotInStore finds a lot of an item among what is in store.
func (p *Campaign) LotInStore(item, id string) (StockLot, bool) {
	for _, l := range p.stock {
		if l.Item == item && l.ID == id {
			return l, true
		}
	}
	return StockLot{}, false
}
