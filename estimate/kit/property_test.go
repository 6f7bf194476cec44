package kit_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
)

// packed are the kits of the estimated repairs of a random survey, those that
// raise a Stop left out.
func packed(t *rapid.T, c *catalog.Catalog, most int) []*kit.Kit {
	p := kit.NewPacker(c)
	var out []*kit.Kit
	for _, r := range scope.Plan(trial.Survey(trial.Rapid(t), c, rapid.IntRange(1, most).Draw(t, "rows")), c) {
		if r.Status != scope.Estimated {
			continue
		}
		k := p.Pack(r, nil)
		stopped := false
		for _, q := range k.Queries {
			stopped = stopped || q.Severity == trace.Stop
			if q.Severity == trace.Note || q.Code == "" || q.Message == "" || q.Advice == "" || q.Row == "" {
				t.Fatalf("%+v", q)
			}
		}
		if !stopped {
			out = append(out, k)
		}
	}
	return out
}

// A kit holds at least what its repair takes of everything, whole units of what
// is issued with it, and less than one unit too much but where packs and rolls
// are chosen by cost.
func TestKitCovers(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		for _, k := range packed(t, c, 8) {
			last := -1
			for _, l := range k.Lines {
				at := indexOf(c, l.Item.Code)
				if at <= last {
					t.Fatalf("%s is out of the order of the catalogue, or twice", l.Item.Code)
				}
				last = at
				switch {
				case l.Item.Issue != "kit":
					if l.Qty != l.Net {
						t.Fatalf("%s is issued at %s level but rounded with the kit: %+v", l.Item.Code, l.Item.Issue, l)
					}
				case l.Qty != math.Trunc(l.Qty) || l.Qty < l.Net-1e-9 || l.Qty >= l.Net+1:
					t.Fatalf("%s: %v for %v", l.Item.Code, l.Qty, l.Net)
				}
			}
			checkSealing(t, k)
			checkRolls(t, c, k)
			checkPutty(t, c, k)
			checkFill(t, kit.NewPacker(c).Fill(k), k)
			minutes := 0.0
			for _, v := range k.Times {
				minutes += v.Minutes
			}
			if !trial.Near(minutes, k.Minutes+k.Waiting) || !(k.Mass > 0) || !(k.Net.Prep > 0) {
				t.Fatalf("%v minutes for %v, %v kg, %v m²", k.Minutes, minutes, k.Mass, k.Net.Prep)
			}
		}
	})
}

func indexOf(c *catalog.Catalog, code string) int {
	for i := range c.Items {
		if c.Items[i].Code == code {
			return i
		}
	}
	return -1
}

func qtyOf(k *kit.Kit, code string) float64 {
	for _, l := range k.Lines {
		if l.Item.Code == code {
			return l.Qty
		}
	}
	return 0
}

// Every strip and sheet of every set is a labelled piece, and no label is there
// twice; whole sticks cover the sealant; a fastener for each strip.
func checkSealing(t *rapid.T, k *kit.Kit) {
	labels, strips, sheets, fasteners, volume := map[string]bool{}, 0, 0, 0, 0.0
	for _, p := range k.Pieces {
		if labels[p.Label] || !strings.HasPrefix(p.Label, k.Repair.ID+"-S") || p.A <= 0 || (p.Kind == "sheet") != (p.C > 0) {
			t.Fatalf("%+v", p)
		}
		labels[p.Label] = true
		if p.Kind == "band" {
			strips++
		} else {
			sheets++
		}
	}
	for i := range k.Net.Seals {
		fasteners += k.Net.Seals[i].Fasteners()
		volume += k.Net.Seals[i].Volume
	}
	if strips != fasteners || sheets != len(k.Repair.Patches) || k.Repair.Leaking != (sheets > 0) {
		t.Fatalf("%d strips and %d sheets for %d fasteners and %d patches", strips, sheets, fasteners, len(k.Repair.Patches))
	}
	checkKneads(t, k)
	covered := 0.0
	for _, s := range k.Sticks {
		covered += float64(s.Count) * s.Sealant.Volume
		if s.Count < int(math.Ceil(s.Net-1e-9)) || s.Count >= int(math.Ceil(s.Net-1e-9))+max(1, len(k.Kneads)) || qtyOf(k, s.Sealant.Item) != float64(s.Count) {
			t.Fatalf("%d sticks for %v", s.Count, s.Net)
		}
	}
	if covered < volume-1e-3 {
		t.Fatalf("%v mm³ of sticks for %v", covered, volume)
	}
}

// Every set is in one kneading, in their order; sets share sticks only where there
// is time to press the last of them.
func checkKneads(t *rapid.T, k *kit.Kit) {
	next := 1
	for _, n := range k.Kneads {
		volume := 0.0
		for _, set := range n.Sets {
			if set != next {
				t.Fatalf("set %d in %+v", next, k.Kneads)
			}
			volume += k.Net.Seals[set-1].Volume
			next++
		}
		if len(n.Sets) > 1 && !k.InTime(n) || float64(n.Count)*k.Sticks[0].Sealant.Volume < volume-1e-3 {
			t.Fatalf("%+v within %v min", n, k.Open)
		}
	}
	if next != len(k.Net.Seals)+1 {
		t.Fatalf("%d sets in %+v", len(k.Net.Seals), k.Kneads)
	}
}

// The rolls cover the tape after splices, are of one width, can be laid in their
// working time, and none of them can be spared.
func checkRolls(t *rapid.T, c *catalog.Catalog, k *kit.Kit) {
	laid, rolls, shortest := 0, 0, math.MaxInt
	for _, r := range k.Rolls {
		laid += r.Count * int(r.Roll.Length)
		rolls += r.Count
		shortest = min(shortest, int(r.Roll.Length))
		if r.Roll.Width != k.Tape.Width || qtyOf(k, r.Roll.Item) != float64(r.Count) || r.Roll.ODMin > k.Repair.OD || r.Roll.ODMax < k.Repair.OD {
			t.Fatalf("%+v with tape of %v", r, k.Tape.Width)
		}
	}
	splice := int(c.Settings.Splice)
	laid -= (rolls - 1) * splice
	if laid != k.Laid || float64(laid) < k.Tape.Net-1e-6 {
		t.Fatalf("%d mm laid, %d said, %v asked for", laid, k.Laid, k.Tape.Net)
	}
	if rolls > 1 && float64(laid-shortest+splice) >= k.Tape.Net {
		t.Fatalf("a roll of %d mm can be spared from %d for %v", shortest, laid, k.Tape.Net)
	}
}

// The batches give what the repair takes; none is heavier than can be used in
// time; what is mixed and laid and left adds up.
func checkPutty(t *rapid.T, c *catalog.Catalog, k *kit.Kit) {
	need, mixed, waste, bought := k.Net.Putty.Mass, 0.0, 0.0, 0.0
	packs := map[string]float64{}
	for _, b := range k.Putty.Batches {
		if b.Mass > k.Putty.Largest*(1+1e-9)+1e-6 || !(b.Mass > 0) || b.Mass > b.Minutes*b.Packs[0].Putty.ApplyRate+1e-6 ||
			b.Minutes < c.Settings.MixLeast || b.Minutes != math.Floor(b.Minutes) {
			t.Fatalf("batch %+v of %+v", b, k.Putty)
		}
		mixed += b.Mass
		waste += b.Waste
		of := 0.0
		for _, p := range b.Packs {
			of += p.Mass
			packs[p.Putty.Item] += p.Count
			if !trial.Near(p.Mass, p.Count*p.Putty.Pack) || p.Weighed && !p.Putty.Splittable {
				t.Fatalf("%+v", p)
			}
			least := c.Settings.ScaleLeast / 1000
			if p.Weighed && (math.Abs(p.Resin+p.Hardener-p.Mass) > 1e-9 || p.Resin < least || p.Putty.Ratio() > 0 && p.Hardener < least-1e-9) {
				t.Fatalf("parts of %+v", p)
			}
		}
		if math.Abs(of-b.Mass) > 1e-6 {
			t.Fatalf("packs of %v kg in a batch of %v", of, b.Mass)
		}
	}
	if mixed < need-1e-6 || math.Abs(mixed-waste-need) > 2e-6 || math.Abs(k.Putty.Waste-waste) > 1e-9 {
		t.Fatalf("%v kg mixed, %v left, for %v: %+v", mixed, waste, need, k.Putty)
	}
	for code, n := range packs {
		if q := qtyOf(k, code); q < n-1e-6 {
			t.Fatalf("%v packs of %s in the kit, %v mixed", q, code, n)
		}
	}
	for _, l := range k.Lines {
		for i := range c.Putties {
			if c.Putties[i].Item == l.Item.Code {
				bought += l.Qty * c.Putties[i].Pack
			}
		}
	}
	for _, l := range k.Putty.Left {
		bought -= l.Mass
	}
	if math.Abs(bought-need-k.Putty.Waste) > 2e-6 {
		t.Fatalf("%v kg taken, %v laid, %v waste", bought, need, k.Putty.Waste)
	}
}

// The batches follow each other from one end of the repair to the other.
func checkFill(t *rapid.T, fill []kit.Stretch, k *kit.Kit) {
	at := 0.0
	for _, s := range fill {
		if s.From != at || s.To < s.From {
			t.Fatalf("%+v over %v mm", fill, k.Repair.Length)
		}
		at = s.To
	}
	if len(fill) != len(k.Putty.Batches) || at != k.Repair.Length {
		t.Fatalf("%+v over %v mm", fill, k.Repair.Length)
	}
}

// A log changes nothing, every step has an id of its own, and the formulas give
// the values.
func TestWorkingAgrees(t *testing.T) {
	c := builtin(t)
	plain := 0
	rapid.Check(t, func(t *rapid.T) {
		p := kit.NewPacker(c)
		for _, quiet := range packed(t, c, 4) {
			log := &trace.Log{Prefix: quiet.Repair.ID + "/"}
			k := p.Pack(quiet.Repair, log)
			if k.Mass != quiet.Mass || k.Minutes != quiet.Minutes || len(k.Lines) != len(quiet.Lines) || k.Laid != quiet.Laid {
				t.Fatalf("with a log %+v, without %+v", k, quiet)
			}
			steps := map[string]trace.Step{}
			for _, s := range log.Steps {
				if _, twice := steps[s.ID]; twice || s.Name == "" || s.Rule == "" || s.Source == "" || s.Formula == "" {
					t.Fatalf("%+v is there twice or lacks something", s)
				}
				steps[s.ID] = s
				why, ok := trial.Disagrees(s)
				if why != "" {
					t.Fatal(why)
				}
				if ok {
					plain++
				}
			}
			for _, l := range k.Lines {
				s, ok := steps[k.Repair.ID+"/item/"+l.Item.Code]
				if !ok || s.Value != l.Qty || s.Raw != l.Net {
					t.Fatalf("%s: %v of %v in the kit, %+v in the working", l.Item.Code, l.Qty, l.Net, s)
				}
				asked := 0.0 // by rules; sticks, rolls, packs and fasteners have steps of their own
				for id, s := range steps {
					if strings.HasPrefix(id, k.Repair.ID+"/rule/"+l.Item.Code+"/") {
						asked += s.Value
					}
				}
				if l.Item.Kind == "consumable" && !trial.Near(asked, l.Net) {
					t.Fatalf("%s: rules ask for %v, the kit for %v", l.Item.Code, asked, l.Net)
				}
			}
		}
	})
	if plain < depth.Of(100, 1000) {
		t.Errorf("only %d formulas were plain", plain)
	}
}

// Two rules for one item that differ in their condition only have steps of
// their own, and both count.
func TestRulesOfOneItem(t *testing.T) {
	c := builtin(t)
	c.Consumables = append(c.Consumables, catalog.Consumable{Item: "WIPE", Qty: 3, Per: "m2", When: "wet"}, catalog.Consumable{Item: "WIPE", Qty: 2, Per: "m2", When: "leak"})
	d := survey.Defect{
		ID: "a", Line: "L", Chainage: survey.Known(0), OD: survey.Known(168.3), Wall: survey.Known(7.11), Axial: survey.Known(8), Circ: survey.Known(8),
		Leaking: survey.Yes, Pressure: survey.Known(0.6), SurfaceTemp: survey.Known(20), AirTemp: survey.Known(20), Surface: survey.Wet,
	}
	log := &trace.Log{}
	k := kit.NewPacker(c).Pack(scope.Plan([]survey.Defect{d}, c)[0], log)
	ids := map[string]bool{}
	for _, s := range log.Steps {
		if ids[s.ID] {
			t.Errorf("%s is there twice", s.ID)
		}
		ids[s.ID] = true
	}
	wantLine(t, k, "WIPE", (12+3+2)*k.Net.Prep+4, math.Ceil((12+3+2)*k.Net.Prep+4))
}

// The first of the choices among rolls is the cheapest, each covers the tape, and
// the first is what the kit takes.
func TestChoices(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		p := kit.NewPacker(c)
		for _, k := range packed(t, c, 3) {
			choices, err := p.Choices(k.Repair, k.Net, 4)
			if err != nil || len(choices) == 0 {
				t.Fatalf("%d choices, %v", len(choices), err)
			}
			for i, ch := range choices {
				if float64(ch.Mix.Quantity) < ch.Tape.Net-1e-6 {
					t.Fatalf("%+v does not cover %v", ch.Mix, ch.Tape.Net)
				}
				if ch.Mix.Cost.LessThan(choices[0].Mix.Cost) {
					t.Fatalf("choice %d is cheaper than the first", i)
				}
			}
			if with := p.PackWith(k.Repair, choices[0], nil); with.Laid != k.Laid || with.Tape.Width != k.Tape.Width {
				t.Fatalf("the first choice lays %d of %v mm, the kit %d of %v", with.Laid, with.Tape.Width, k.Laid, k.Tape.Width)
			}
		}
	})
}

// Of two widths at one cost the wider is taken.
func TestWiderOnTie(t *testing.T) {
	c := builtin(t)
	for _, o := range c.OffersOf("WRAP-075-3") {
		for i, b := range o.Prices {
			b.Price = c.OffersOf("WRAP-050-3")[0].Prices[i].Price
		}
	}
	d := survey.Defect{
		ID: "a", Line: "L", Chainage: survey.Known(0), OD: survey.Known(60.3), Wall: survey.Known(3.91), Axial: survey.Known(20), Circ: survey.Known(15),
		Remaining: survey.Known(2), Leaking: survey.No, Pressure: survey.Known(0.5), SurfaceTemp: survey.Known(20), AirTemp: survey.Known(20), Surface: survey.Dry,
	}
	k := kit.NewPacker(c).Pack(scope.Plan([]survey.Defect{d}, c)[0], nil)
	if k.Tape.Width != 75 || len(k.Rolls) != 1 || k.Rolls[0].Count != 1 {
		t.Errorf("%v mm: %+v", k.Tape.Width, k.Rolls)
	}
}

// Conditions of rules, each against repairs that meet it and do not.
// Equipment goes by the class of what flows, and an unknown medium takes what each
// class says.
func TestEquipmentByClass(t *testing.T) {
	rule := func(class string) *catalog.Consumable {
		return &catalog.Consumable{When: "leak", Class: class}
	}
	for media, want := range map[string][3]bool{ // of toxic, corrosive, any
		"toxic": {true, false, true}, "plain": {false, false, true}, scope.UnknownMedium: {true, true, true},
	} {
		r := &scope.Repair{Leaking: true, Media: []string{media}}
		if got := [3]bool{kit.Asked(rule("toxic"), r, false), kit.Asked(rule("corrosive"), r, false), kit.Asked(rule(""), r, false)}; got != want {
			t.Errorf("%s: %v, want %v", media, got, want)
		}
		if r.Leaking = false; kit.Asked(rule("toxic"), r, false) {
			t.Errorf("%s: asked for where nothing leaks", media)
		}
	}
	// Every class that names equipment has rules that issue it, but for an unknown one, which takes all.
	c := builtin(t)
	for _, class := range c.MediaClass {
		issued := slices.ContainsFunc(c.Consumables, func(r catalog.Consumable) bool { return r.Class == class.Class })
		if class.Class != scope.UnknownMedium && issued != (class.Equipment != "") {
			t.Errorf("%s: equipment %q, issued %v", class.Class, class.Equipment, issued)
		}
	}
}

func TestApplies(t *testing.T) {
	leak, dry := &scope.Repair{Leaking: true, Surface: survey.Wet, Hazardous: true}, &scope.Repair{Surface: survey.Dry}
	for when, want := range map[string][2]bool{
		"always": {true, true}, "leak": {true, false}, "no-leak": {false, true}, "hazardous": {true, false}, "not-hazardous": {false, true},
		"wet": {true, false}, "removal": {false, false}, "no such word": {false, false},
	} {
		if got := [2]bool{kit.Applies(when, leak, false), kit.Applies(when, dry, false)}; got != want {
			t.Errorf("%s: %v, want %v", when, got, want)
		}
	}
	if !kit.Applies("removal", dry, true) || !kit.Applies("wet", &scope.Repair{Surface: survey.Submerged}, false) {
		t.Error("removal or submerged does not count")
	}
}

// Packing by several goroutines at once gives the kits that one gives.
func TestPackTogether(t *testing.T) {
	c := builtin(t)
	repairs := scope.Plan(trial.Plant(200, c), c)
	alone, shared := kit.NewPacker(c), kit.NewPacker(c)
	masses := make([]float64, len(repairs))
	done := make(chan bool)
	for w := range 4 {
		go func() {
			for i := w; i < len(repairs); i += 4 {
				masses[i] = shared.Pack(repairs[i], nil).Mass
			}
			done <- true
		}()
	}
	for range 4 {
		<-done
	}
	for i, r := range repairs {
		if got := alone.Pack(r, nil).Mass; got != masses[i] {
			t.Errorf("%s: %v kg alone, %v kg together", r.ID, got, masses[i])
		}
	}
}
