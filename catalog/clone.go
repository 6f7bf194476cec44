package catalog

import "slices"

// Clone is a copy whose items may be changed without changing c; the other
// tables are shared.
func (c *Catalog) Clone() *Catalog {
	out := *c
	out.Items = slices.Clone(c.Items)
	out.items = make(map[string]*Item, len(out.Items))
	for i := range out.Items {
		out.items[out.Items[i].Code] = &out.Items[i]
	}
	return &out
}

// With is a copy in which items, offers, prices, tasks, costs, currencies, ways of
// access and settings may be changed, and is changed, without changing c; the
// other tables are shared.
func (c *Catalog) With(change func(*Catalog)) *Catalog {
	out := c.Clone()
	out.Offers, out.Prices = slices.Clone(c.Offers), slices.Clone(c.Prices)
	out.Tasks, out.Costs = slices.Clone(c.Tasks), slices.Clone(c.Costs)
	out.Currencies, out.Accesses = slices.Clone(c.Currencies), slices.Clone(c.Accesses)
	change(out)
	out.indexOffers()
	return out
}
