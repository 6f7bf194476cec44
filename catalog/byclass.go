package catalog

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/shopspring/decimal"
)

// The bases of costs that settings decide on.
const (
	percentClass  = "percent-class"
	percentProfit = "percent-profit"
)

// byClass gives each setting that its row leaves open the figure of the class of
// the estimate, with what it rests on.
func (r *rules) byClass() {
	values := reflect.ValueOf(&r.c.Settings).Elem()
	for _, f := range settingFields {
		i := r.c.settingRow(f.name)
		if f.class == "" || i < 0 || strings.TrimSpace(r.c.SettingRows[i].Value) != "" {
			continue
		}
		k := slices.IndexFunc(r.c.Classes, func(c Class) bool { return c.Class == r.c.Settings.Class })
		if k < 0 {
			continue // a fault of the table classes
		}
		class := &r.c.Classes[k]
		v := map[string]float64{"range_low_pct": class.RangeLow, "range_high_pct": class.RangeHigh, "contingency_pct": class.Contingency}[f.class]
		values.Field(f.index).SetFloat(v)
		row := &r.c.SettingRows[i]
		row.Value, row.ByClass, row.Verified = num(v), true, class.Verified
		row.Basis = fmt.Sprintf("class %s of the table classes: %s", class.Class, class.Basis)
	}
}

// settleCosts puts settings into the costs that leave something to them.
func (c *Catalog) settleCosts() {
	for i := range c.Costs {
		cost := &c.Costs[i]
		switch cost.Basis {
		case percentClass:
			cost.Basis, cost.Value, cost.Class = "percent", decimal.NewFromFloat(c.Settings.Contingency), true
			cost.Note = strings.TrimSuffix(c.Whence("bid.contingency")+"; "+cost.Note, "; ")
		case percentProfit:
			cost.Basis = "percent"
			if c.Settings.ProfitAs == "margin" {
				cost.Basis = "percent-margin"
				cost.Name += ", as margin on the price"
			} else {
				cost.Name += ", as markup on the cost"
			}
			cost.Note = strings.TrimSuffix("setting bid.profit_as; "+cost.Note, "; ")
		}
	}
}

// Whence says where the value of a setting comes from: the class of the
// estimate, whoever changed it, or the built-in table.
func (c *Catalog) Whence(name string) string {
	i := c.settingRow(name)
	switch {
	case i >= 0 && c.SettingRows[i].ByClass:
		return "of class " + c.Settings.Class + ", table classes"
	case i >= 0 && c.SettingRows[i].Changed != "":
		return "setting " + name + ", given by " + c.SettingRows[i].Changed
	}
	return "setting " + name
}
