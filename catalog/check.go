package catalog

func check(c *Catalog, all map[string]*loaded, faults *Faults) {}
