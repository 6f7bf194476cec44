package catalog

import "reflect"

// tableDef says what a table is called, where its rows go and what tells two
// rows apart. A table lives in NAME.csv, or on the sheet NAME of a workbook.
type tableDef struct {
	name string
	key  []string             // columns that together must not repeat
	rows func(c *Catalog) any // pointer to the slice of rows
	may  bool                 // may hold no row
	lax  bool                 // columns that may be blank may be left out
}

// tables is every table, in the order in which they are read and written.
var tables = []tableDef{
	{name: "settings", key: []string{"name"}, rows: func(c *Catalog) any { return &c.SettingRows }, may: true},
	{name: "pipes", key: []string{"series", "size"}, rows: func(c *Catalog) any { return &c.Pipes }},
	{name: "items", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Items }},
	{name: "offers", key: []string{"item", "supplier"}, rows: func(c *Catalog) any { return &c.Offers }},
	{name: "prices", key: []string{"item", "supplier", "from_packs"}, rows: func(c *Catalog) any { return &c.Prices }},
	{name: "bands", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Bands }},
	{name: "fasteners", key: []string{"item", "band"}, rows: func(c *Catalog) any { return &c.Fasteners }},
	{name: "sheets", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Sheets }},
	{name: "sealants", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Sealants }},
	{name: "putties", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Putties }},
	{name: "putty_lives", key: []string{"putty", "mass_kg", "temp_c"}, rows: func(c *Catalog) any { return &c.PuttyLives }},
	{name: "wraps", key: []string{"item"}, rows: func(c *Catalog) any { return &c.Wraps }},
	{name: "consumables", key: []string{"item", "per", "when"}, rows: func(c *Catalog) any { return &c.Consumables }},
	{name: "labour", key: []string{"role"}, rows: func(c *Catalog) any { return &c.Labour }},
	{name: "tasks", key: []string{"task"}, rows: func(c *Catalog) any { return &c.Tasks }},
	{name: "min_layers", key: []string{"leaking", "pressure_to_mpa"}, rows: func(c *Catalog) any { return &c.MinLayers }},
	{name: "costs", key: []string{"cost"}, rows: func(c *Catalog) any { return &c.Costs }, may: true},
	{name: "currencies", key: []string{"currency"}, rows: func(c *Catalog) any { return &c.Currencies }},
	{name: "components", key: []string{"component"}, rows: func(c *Catalog) any { return &c.Components }},
	{name: "life_factors", key: []string{"years"}, rows: func(c *Catalog) any { return &c.LifeFactors }},
	{name: "transports", key: []string{"transport"}, rows: func(c *Catalog) any { return &c.Transports }, may: true},
	{name: "accesses", key: []string{"access"}, rows: func(c *Catalog) any { return &c.Accesses }},
	{name: "headings", key: []string{"heading"}, rows: func(c *Catalog) any { return &c.Headings }, may: true},
}

// column is one field of a row type as its tag describes it.
type column struct {
	name     string
	field    int // index in the struct
	optional bool
}

// TableNames lists the tables in their order.
func TableNames() []string {
	names := make([]string, len(tables))
	for i, t := range tables {
		names[i] = t.name
	}
	return names
}

// columns reads the tags of a row type.
func columns(row reflect.Type) []column {
	var cols []column
	for i := range row.NumField() {
		name, optional := splitTag(row.Field(i).Tag.Get("csv"))
		if name == "" || name == "-" {
			continue
		}
		cols = append(cols, column{name: name, field: i, optional: optional})
	}
	return cols
}

// splitTag parts "od_mm,optional" into its name and mark.
func splitTag(tag string) (name string, optional bool) {
	const mark = ",optional"
	if n := len(tag) - len(mark); n > 0 && tag[n:] == mark {
		return tag[:n], true
	}
	return tag, false
}
