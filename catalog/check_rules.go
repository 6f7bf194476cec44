package catalog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// tableRule is a rule with the tables that it looks at as a whole.
type tableRule struct {
	tables string
	run    func(k *checker)
}

// tableRules are the rules that hold between rows and between tables.
var tableRules = []tableRule{
	// what is stocked and bought
	{"items consumables", checkIssued},
	{"items offers", checkOffered},
	{"offers prices items", checkPrices},
	{"items", checkGoods},
	{"offers suppliers", checkSuppliers},
	{"offers items", checkShelfLeft},
	{"closures", checkClosures},
	{"currencies settings", checkCurrencies},
	// what is laid on a pipe
	{"bands settings", checkBandCover},
	{"bands fasteners", checkFastenerCover},
	{"bands fasteners sheets settings", checkStrips},
	{"sheets settings", checkSheetCover},
	{"sealants settings", checkSealants},
	{"wraps pipes settings", checkWrapCover},
	{"wraps settings", checkLaying},
	{"putties putty_lives settings", checkLives},
	// what is done and charged
	{"costs settings", checkCosts},
	{"life_factors settings", checkLifeFactors},
	{"spreads", checkSpreads},
	{"wraps", checkExpansion},
	{"pipes", checkPipes},
}

// checkIssued: a rule issues only what is not counted otherwise; a consumable
// or tool that no rule issues is noted.
func checkIssued(k *checker) {
	used := map[string]bool{}
	for i := range k.c.Consumables {
		code := k.c.Consumables[i].Item
		used[code] = true
		if kind := k.kindOf(code); kind != "" && !isIssued(kind) {
			k.fault("consumables", i, "item", "kind-mismatch", fmt.Sprintf("the item is a %s, which is counted by its own rule", kind), "take the row out, or make the item a consumable or tool")
		}
	}
	for i := range k.c.Items {
		if it := &k.c.Items[i]; isIssued(it.Kind) && !used[it.Code] {
			k.note("items", i, "item", "item-unused", "no rule issues "+it.Code, "add a row to consumables or take the item out")
		}
	}
}

// isIssued reports whether items of a kind are counted by the rules of the table consumables.
func isIssued(kind string) bool { return kind == "consumable" || kind == "tool" }

// checkOffered: every item can be bought from somebody, and what is counted in
// pieces in packs of whole numbers.
func checkOffered(k *checker) {
	offered := map[string]bool{}
	for i := range k.c.Offers {
		o := &k.c.Offers[i]
		offered[o.Item] = true
		if it, ok := k.c.items[o.Item]; ok && it.Unit != "L" && it.Unit != "kg" && !o.PackQty.IsInteger() {
			k.fault("offers", i, "pack_qty", "value-not-whole", fmt.Sprintf("%s is counted in %s, so a pack holds a whole number", o.Item, it.Unit), "give a whole number")
		}
	}
	for i := range k.c.Items {
		if !offered[k.c.Items[i].Code] {
			k.fault("items", i, "item", "offer-missing", "nobody offers the item", "add a row to offers and its prices to prices")
		}
	}
}

// checkPrices: every offer has a price from its minimum order on, and every
// price belongs to an offer. A price that rises with the quantity is asked.
func checkPrices(k *checker) {
	type terms struct{ item, supplier string }
	offers := map[terms]int{}
	for i := range k.c.Offers {
		offers[terms{k.c.Offers[i].Item, k.c.Offers[i].Supplier}] = i
	}
	breaks := make([][]int, len(k.c.Offers))
	for i := range k.c.Prices {
		p := &k.c.Prices[i]
		o, ok := offers[terms{p.Item, p.Supplier}]
		if ok {
			breaks[o] = append(breaks[o], i)
		} else if k.kindOf(p.Item) != "" {
			k.fault("prices", i, "supplier", "reference-unknown", fmt.Sprintf("the supplier does not offer %s", p.Item), "add a row to offers or take the price out")
		}
	}
	for o, rows := range breaks {
		offer := &k.c.Offers[o]
		if len(rows) == 0 {
			k.fault("offers", o, "item", "price-missing", "the offer has no price", "add a row to prices")
			continue
		}
		slices.SortFunc(rows, func(a, b int) int { return k.c.Prices[a].FromPacks - k.c.Prices[b].FromPacks })
		if first := k.c.Prices[rows[0]].FromPacks; first > max(1, offer.MinPacks) {
			k.fault("prices", rows[0], "from_packs", "price-missing",
				fmt.Sprintf("%s has no price from its minimum order of %d on", offer.Item, max(1, offer.MinPacks)), "add the price from there on")
		}
		for j := 1; j < len(rows); j++ {
			if before := k.c.Prices[rows[j-1]].Price; k.c.Prices[rows[j]].Price.GreaterThan(before) {
				k.ask("prices", rows[j], "price_per_pack", "price-rises", fmt.Sprintf("the price of %s rises with the quantity, from %s", offer.Item, before), "check the two prices")
			}
		}
		if n := offer.Available; n > 0 && n < max(1, offer.MinPacks) {
			k.fault("offers", o, "available_packs", "value-out-of-range", "less is available than must be ordered", "correct available_packs or min_packs")
		}
	}
}

// checkGoods notes resins without a shelf life or transport class.
func checkGoods(k *checker) {
	for i := range k.c.Items {
		it := &k.c.Items[i]
		const full = " is used up, so that it is charged in full"
		if it.Hire.Valid && !it.Returns {
			k.fault("items", i, "hire_per_day", "kind-mismatch", it.Code+full, "leave it blank, or write yes under returnable")
		}
		if it.WriteOff.Valid && !it.Returns {
			k.fault("items", i, "write_off_pct", "kind-mismatch", it.Code+full, "leave it blank, or write yes under returnable")
		}
		if it.Returns && it.Hire.Valid && it.WriteOff.Valid {
			k.fault("items", i, "write_off_pct", "value-unused", it.Code+" is charged by hire already", "leave one of the two blank")
		}
		if it.Kind != "sealant" && it.Kind != "putty" && it.Kind != "wrap" {
			continue
		}
		if it.ShelfDays == 0 {
			k.note("items", i, "shelf_days", "shelf-life-missing", fmt.Sprintf("the shelf life of %s is not stated; its expiry is not checked", it.Code), "take it from the data sheet")
		}
		if it.Transport == "" {
			k.note("items", i, "transport", "transport-missing", fmt.Sprintf("the transport class of %s is not stated", it.Code), "take it from the safety data sheet")
		}
	}
}

// checkSuppliers asks for the terms of delivery that are not known: the worst of
// the settings is reckoned with until they are.
func checkSuppliers(k *checker) {
	listed := map[string]bool{}
	for i := range k.c.Suppliers {
		s := &k.c.Suppliers[i]
		listed[s.Supplier] = true
		for _, term := range []struct {
			column, setting string
			known           bool
		}{
			{"delivery_charge", "order.delivery_unknown", s.Delivery.Valid},
			{"min_order", "order.minimum_unknown", s.Minimum.Valid},
			{"hazardous_charge", "order.hazardous_unknown", s.Hazardous.Valid},
		} {
			if !term.known {
				k.ask("suppliers", i, term.column, "supplier-terms-unknown", fmt.Sprintf("the %s of %s is not known; the setting %s is taken", term.column, s.Supplier, term.setting), "ask the supplier; 0 where there is none")
			}
		}
	}
	for i := range k.c.Offers {
		if s := k.c.Offers[i].Supplier; !listed[s] {
			listed[s] = true
			k.ask("offers", i, "supplier", "supplier-terms-unknown", "the table suppliers does not say what "+s+" charges for a delivery and asks of an order; the settings order.…_unknown are taken", "add a row to suppliers")
		}
	}
}

// checkShelfLeft asks how long goods that expire keep when they arrive.
func checkShelfLeft(k *checker) {
	for i := range k.c.Offers {
		o := &k.c.Offers[i]
		it, ok := k.c.items[o.Item]
		switch {
		case !ok || it.ShelfDays <= 0:
		case o.ShelfLeft == 0:
			k.ask("offers", i, "shelf_left_days", "shelf-left-unknown", fmt.Sprintf("%s does not guarantee how long %s keeps on arrival; the setting order.shelf_left of its %d days is taken", o.Supplier, o.Item, it.ShelfDays), "ask the supplier")
		case o.ShelfLeft > it.ShelfDays:
			k.fault("offers", i, "shelf_left_days", "value-out-of-range", fmt.Sprintf("%s keeps %d days when fresh, so no more can be left", o.Item, it.ShelfDays), "correct one of the two")
		}
	}
	for i := range k.c.Items {
		if it := &k.c.Items[i]; it.StoreMin.Valid && it.StoreMax.Valid && it.StoreMax.Decimal.LessThan(it.StoreMin.Decimal) {
			k.fault("items", i, "store_max_c", "range-inverted", "the hottest is below the coldest, "+it.StoreMin.Decimal.String(), "correct one of the two")
		}
	}
}

// checkClosures: a closure does not end before it begins.
func checkClosures(k *checker) {
	for i := range k.c.Closures {
		if c := &k.c.Closures[i]; !c.To.IsZero() && c.To.Before(c.From) {
			k.fault("closures", i, "to_day", "range-inverted", "the last day is before the first", "correct one of the two")
		}
	}
}

const capitals = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// checkCurrencies: the currency of the bid is in the table, the base currency is worth one of itself, and codes have
// the form of ISO 4217.
func checkCurrencies(k *checker) {
	for i := range k.c.Currencies {
		cur := &k.c.Currencies[i]
		if len(cur.Code) != 3 || strings.Trim(cur.Code, capitals) != "" {
			k.fault("currencies", i, "currency", "currency-form", "a currency code is three capital letters (ISO 4217)", "write it so, such as EUR")
		}
		if cur.Code == k.c.Settings.Currency && !cur.Rate.Equal(decimal.NewFromInt(1)) {
			k.fault("currencies", i, "rate", "rate-base", "the rate of the currency of the bid is not 1", "state all rates in "+cur.Code+" for one unit, or change money.currency")
		}
	}
	if _, ok := k.c.CurrencyOf(k.c.Settings.Currency); !ok {
		i := k.c.settingRow("money.currency")
		k.faults.add(k.settings.places[i], "currency-unknown", k.c.Settings.Currency, "money.currency is not in the table currencies", "name one that is there or add it with its rate")
	}
}

// span is a range of outside diameters claimed by a row.
type span struct {
	low, high float64
	name      string
	row       int
}

// spans is the ranges that the rows of a table claim.
func spans[T any](rows []T, of func(*T) (low, high float64, name string)) []span {
	out := make([]span, len(rows))
	for i := range rows {
		low, high, name := of(&rows[i])
		out[i] = span{low, high, name, i}
	}
	return out
}

// covered faults gaps between low and high, and, where only one thing may
// serve a diameter, overlaps of spans with different names. Where the firm's range
// merely ends short of them it is asked: a repair beyond it becomes a query of its
// own. what names the thing in the message. There is one span or more.
func (k *checker) covered(table, what string, spans []span, low, high float64, once bool) {
	slices.SortStableFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.high, b.high)) })
	reached, last := low, -1
	for i, s := range append(spans, span{low: high, high: high, row: -1}) {
		if once && last >= 0 && s.row >= 0 && spans[last].name != s.name && s.low < spans[last].high {
			k.fault(table, s.row, "od_min_mm", "diameter-overlap",
				fmt.Sprintf("%s and %s both serve outside diameters from %s mm on", spans[last].name, s.name, num(s.low)), "let one range end where the next begins")
		}
		if s.low > reached && reached < high {
			row, column := s.row, "od_min_mm"
			if last >= 0 {
				row, column = spans[last].row, "od_max_mm"
			}
			message := fmt.Sprintf("no %s for outside diameters from %s to %s mm", what, num(reached), num(min(s.low, high)))
			switch {
			case table != "fasteners" && (last < 0 || s.row < 0):
				k.ask(table, row, column, "diameter-unserved", message+"; a repair there is asked about and left out", "extend a range or add a row, or leave it so where the firm does no such work")
			default:
				k.fault(table, row, column, "diameter-gap", message, "extend a range or add a row; ranges must meet")
			}
		}
		if s.row >= 0 && (last < 0 || s.high > spans[last].high) {
			last = i
		}
		reached = max(reached, s.high)
	}
}

// checkBandCover: from set.od_min to set.od_max exactly one band serves each diameter.
func checkBandCover(k *checker) {
	k.covered("bands", "band", spans(k.c.Bands, func(b *Band) (float64, float64, string) { return b.ODMin, b.ODMax, b.Band }),
		k.c.Settings.SetODMin, k.c.Settings.SetODMax, true)
}

// checkSheetCover: from set.od_min to set.od_max exactly one sheet serves each diameter.
func checkSheetCover(k *checker) {
	k.covered("sheets", "sheet", spans(k.c.Sheets, func(s *Sheet) (float64, float64, string) { return s.ODMin, s.ODMax, s.Sheet }),
		k.c.Settings.SetODMin, k.c.Settings.SetODMax, true)
}

// checkWrapCover: there is a wrap for every pipe size of the table and every
// diameter of a sealing set.
func checkWrapCover(k *checker) {
	low, high := k.c.Settings.SetODMin, k.c.Settings.SetODMax
	for i := range k.c.Pipes {
		low, high = min(low, k.c.Pipes[i].OD), max(high, k.c.Pipes[i].OD)
	}
	if !slices.ContainsFunc(k.c.Wraps, func(w Wrap) bool { return k.c.laid(&w) }) {
		k.faults.add(k.settings.places[k.c.settingRow("wrap.system")], "reference-unknown", k.c.Settings.WrapSystem, "wrap.system is not in the table wraps",
			"write a wrap of the table wraps, or leave it blank for the first that serves")
		return
	}
	all := spans(k.c.Wraps, func(w *Wrap) (float64, float64, string) { return w.ODMin, w.ODMax, w.Item })
	k.covered("wraps", "wrap", slices.DeleteFunc(all, func(s span) bool { return !k.c.laid(&k.c.Wraps[s.row]) }), low, high, false)
}

// checkFastenerCover: each band has exactly one fastener over its whole range.
func checkFastenerCover(k *checker) {
	done := map[string]bool{}
	for i := range k.c.Bands {
		b := &k.c.Bands[i]
		if done[b.Band] {
			continue
		}
		done[b.Band] = true
		closes := slices.DeleteFunc(spans(k.c.Fasteners, func(f *Fastener) (float64, float64, string) { return f.ODMin, f.ODMax, f.Item }),
			func(s span) bool { return k.c.Fasteners[s.row].Band != b.Band })
		if len(closes) == 0 {
			k.fault("bands", i, "band", "fastener-missing", "no fastener closes this band", "add one to the table fasteners")
			continue
		}
		k.covered("fasteners", "fastener for "+b.Band, closes, b.ODMin, b.ODMax, true)
	}
}

// checkStrips: the longest strip of a band, one fastener's reach with both
// ends, can be cut from its longest coil.
func checkStrips(k *checker) {
	thickest := 0.0
	for i := range k.c.Sheets {
		thickest = max(thickest, k.c.Sheets[i].Thickness)
	}
	s := &k.c.Settings
	for i := range k.c.Fasteners {
		f := &k.c.Fasteners[i]
		coil := 0.0
		for j := range k.c.Bands {
			if k.c.Bands[j].Band == f.Band {
				coil = max(coil, k.c.Bands[j].CoilLength)
			}
		}
		strip := min(f.Reach, math.Pi*f.ODMax) + 2*math.Pi*(s.SealPressed+thickest) + 2*f.Engagement + s.BandStep
		if coil > 0 && strip > coil-s.CutTrim {
			k.fault("fasteners", i, "reach_mm", "strip-too-long",
				fmt.Sprintf("a strip of %s mm does not come from the longest coil of %s, %s mm less trim", num(math.Ceil(strip)), f.Band, num(coil)), "add a longer coil or shorten the reach")
		}
	}
}

// checkSealants notes a state of the surface without a sealant for the usual temperature.
func checkSealants(k *checker) {
	for _, surface := range wordsOf("sealants", "surface") {
		row := slices.IndexFunc(k.c.Sealants, func(s Sealant) bool { return s.Surface == surface })
		if s, _ := k.c.SealantFor(surface, k.c.Settings.WorkTemp); s == nil && row >= 0 {
			k.note("sealants", row, "temp_min_c", "temperature-uncovered",
				fmt.Sprintf("no sealant for a %s surface at the usual temperature of %s °C", surface, num(k.c.Settings.WorkTemp)), "check work.temperature and the temperature ranges")
		}
	}
}

// checkLaying notes rolls that all hands together cannot lay in their time at 30 °C.
func checkLaying(k *checker) {
	s := &k.c.Settings
	for i := range k.c.Wraps {
		w := &k.c.Wraps[i]
		laid := s.LayingSpeed * 1000 / 60 * w.Work * float64(s.MaxHands)
		if w.Length > laid {
			k.note("wraps", i, "length_mm", "roll-too-long",
				fmt.Sprintf("%d pairs of hands lay %s mm of %s in its %s s", s.MaxHands, num(math.Floor(laid)), w.Item, num(w.Work)), "take shorter rolls, or check wrap.laying_speed and wrap.max_hands")
		}
	}
}

// checkLives: each putty has measured lives, at two temperatures or more for
// each mass, and up to the mass of every pack that must be mixed whole.
func checkLives(k *checker) {
	set := &k.c.Settings
	for i := range k.c.PuttyLives {
		pt := &k.c.PuttyLives[i]
		if _, ok := first(k.c.PuttyLives, func(q *PuttyLife) bool { return q.Putty == pt.Putty && q.Mass == pt.Mass && q.Temp != pt.Temp }); !ok {
			k.fault("putty_lives", i, "temp_c", "life-single", fmt.Sprintf("the mass of %s kg has a working life at one temperature only", num(pt.Mass)), "add a second temperature")
		}
	}
	for i := range k.c.Putties {
		p := &k.c.Putties[i]
		heaviest, low, high := 0.0, math.Inf(1), math.Inf(-1)
		for _, l := range k.c.PuttyLives {
			if l.Putty == p.Putty {
				heaviest, low, high = max(heaviest, l.Mass), min(low, l.Temp-set.MixPastEnds), max(high, l.Temp+set.MixPastEnds)
			}
		}
		if p.Splittable && !p.Hardener.Valid {
			k.fault("putties", i, "hardener_g", "ratio-missing", "the pack may be weighed out, but its ratio by mass is not known",
				"write the grams of hardener to 100 g of resin from its data sheet, 0 for a product of one part; or mark the pack as mixed whole: splittable no")
		}
		again, _ := first(k.c.Putties, func(q *Putty) bool { return q.Putty == p.Putty })
		switch {
		case heaviest == 0:
			k.fault("putties", i, "putty", "life-missing", "no working life is stated for this putty", "add its points to the table putty_lives")
		case !p.Splittable && p.Pack > heaviest:
			k.fault("putties", i, "pack_kg", "life-missing",
				fmt.Sprintf("the pack is mixed whole, but the heaviest mass with a working life is %s kg", num(heaviest)), "add points for its mass to putty_lives, or mark it splittable")
		case again == p && (p.TempMin < low || p.TempMax > high):
			k.note("putties", i, "temp_max_c", "life-short-of-range",
				fmt.Sprintf("the working life of %s is known from %s to %s °C only", p.Putty, num(low), num(high)), "add points, or narrow its temperatures")
		}
	}
	if _, ok := first(k.c.Putties, func(p *Putty) bool { return p.TempMin <= set.WorkTemp && set.WorkTemp <= p.TempMax }); !ok {
		k.note("putties", 0, "temp_min_c", "temperature-uncovered", fmt.Sprintf("no putty for the usual temperature of %s °C", num(set.WorkTemp)), "check work.temperature and the temperature ranges")
	}
}

// checkCosts: the lines stand in the order in which one builds on the other,
// and a margin leaves something of the price for the cost.
func checkCosts(k *checker) {
	last, stages := 0, wordsOf("costs", "stage")
	for i := range k.c.Costs {
		cost := &k.c.Costs[i]
		stage := slices.Index(stages, cost.Stage)
		if stage >= 0 && stage < last {
			k.fault("costs", i, "stage", "cost-order", fmt.Sprintf("%s stands after %s", cost.Stage, stages[last]), "put the lines in the order "+strings.Join(stages, ", "))
		}
		last = max(last, stage)
		l := k.table("costs")
		blank := strings.TrimSpace(l.cell(i, l.def.column("value")).text) == ""
		margin := cost.Basis == "percent-margin" || cost.Basis == percentProfit && k.c.Settings.ProfitAs == "margin"
		switch {
		case blank && cost.Basis != percentClass:
			k.fault("costs", i, "value", "cell-blank", "value is blank", "fill it in")
		case !blank && cost.Basis == percentClass:
			k.fault("costs", i, "value", "value-unused", "the percentage is that of the class of the estimate, or the setting bid.contingency", "leave it blank, or write percent for one of this table's own")
		case cost.Basis == percentClass && cost.Stage != "contingency":
			k.fault("costs", i, "per", "kind-mismatch", "only contingency goes by the class of the estimate", "write percent with a value")
		case cost.Basis == percentProfit && cost.Stage != "profit":
			k.fault("costs", i, "per", "kind-mismatch", "only profit goes by the setting bid.profit_as", "write percent or percent-margin")
		case margin && cost.Value.GreaterThanOrEqual(decimal.NewFromInt(100)):
			k.fault("costs", i, "value", "value-out-of-range", "a margin is a share of the price and stays below 100 %", "give the margin, not the markup")
		case isShare(cost.Basis) && cost.Value.GreaterThan(decimal.NewFromInt(1000)):
			k.fault("costs", i, "value", "value-out-of-range", "more than 1000 %", "give a percentage")
		}
	}
	for name, basis := range map[string]string{"bid.contingency": percentClass, "bid.profit_as": percentProfit} {
		row := k.c.settingRow(name)
		if row >= 0 && k.c.SettingRows[row].Changed != "" && !slices.ContainsFunc(k.c.Costs, func(c Cost) bool { return c.Basis == basis }) {
			k.c.warn(trace.Ask, k.settings.places[row], "setting-unused", k.c.SettingRows[row].Value, name+" does nothing: no row of the table costs is per "+basis, "write "+basis+" in the row that it is for")
		}
	}
}

// checkLifeFactors: the usual life has its factor.
func checkLifeFactors(k *checker) {
	longest := 0
	for i := range k.c.LifeFactors {
		if k.c.LifeFactors[i].Years > k.c.LifeFactors[longest].Years {
			longest = i
		}
	}
	if k.c.LifeFactors[longest].Years < k.c.Settings.Life {
		k.fault("life_factors", longest, "years", "life-uncovered", fmt.Sprintf("no factor for the usual service life of %s years", num(k.c.Settings.Life)), "add a row, or lower design.life")
	}
}

// checkExpansion: a wrap whose expansion is not given has none counted, which may
// ask for less wrap than it should.
func checkExpansion(k *checker) {
	seen := map[string]bool{}
	for i := range k.c.Wraps {
		w := &k.c.Wraps[i]
		if (w.Expand == 0 || w.ExpandA == 0) && !seen[w.Wrap] {
			seen[w.Wrap] = true
			k.note("wraps", i, "axial_expansion_1e6", "expansion-missing", "the thermal expansion of "+w.Wrap+" is not given: what the change from laying to service takes of its strain is not counted", "ask the maker")
		}
	}
}

// checkPipes: a wall leaves a bore, and the series that stands in for walls
// not known is there.
func checkPipes(k *checker) {
	nps := false
	for i := range k.c.Pipes {
		p := &k.c.Pipes[i]
		nps = nps || p.Series == seriesNPS
		if 2*p.Wall >= p.OD {
			k.fault("pipes", i, "std_wall_mm", "value-out-of-range", "the wall leaves no bore", "give the wall in mm, below half the outside diameter")
		}
	}
	if !nps {
		k.faultTable("pipes", "series-missing", "the series NPS is missing; its standard walls stand in for walls not known", "add its sizes")
	}
}

// checkSpreads: what an input may be rises from low to high.
func checkSpreads(k *checker) {
	for i := range k.c.Spreads {
		s := &k.c.Spreads[i]
		switch {
		case s.Likely < s.Low:
			k.fault("spreads", i, "likely_pct", "value-order", fmt.Sprintf("%s %% is less than low_pct, %s %%", num(s.Likely), num(s.Low)), "write the three in rising order")
		case s.High < s.Likely:
			k.fault("spreads", i, "high_pct", "value-order", fmt.Sprintf("%s %% is less than likely_pct, %s %%", num(s.High), num(s.Likely)), "write the three in rising order")
		}
		if s.Input == "weather" && s.High > 90 {
			k.fault("spreads", i, "high_pct", "value-range", "more than 90 % of the days lost leaves no days to work on", "give at most 90")
		}
		if (s.Input == "weather" || s.Input == "found-later") && s.Low < 0 {
			k.fault("spreads", i, "low_pct", "value-range", "neither days lost nor defects found are fewer than none", "give 0 or more")
		}
	}
}
