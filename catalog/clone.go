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
