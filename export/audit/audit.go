package audit

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Fault is a place where what is printed does not agree.
type Fault struct {
	Where string // the id of the step, or the path of the figure
	Says  string
}

func (f Fault) String() string { return f.Where + ": " + f.Says }

// Report is what an audit found.
type Report struct {
	Evaluated int // formulas reckoned again
	PutBack   int // solved values put back into their equations
	Compared  int // comparisons made again
	Replayed  int // choices whose plan was gone through
	Followed  int // references to another step or to several
	Summed    int // totals and figures held against what they stand for
	Faults    []Fault
}

// Steps are the steps that were checked.
func (r *Report) Steps() int { return r.Evaluated + r.PutBack + r.Compared + r.Replayed }

const mostFaults = 1000

func (r *Report) fault(where, format string, args ...any) {
	if len(r.Faults) < mostFaults {
		r.Faults = append(r.Faults, Fault{where, fmt.Sprintf(format, args...)})
	}
}

// JSON audits the JSON of a run. An error says that it cannot be read; what does
// not agree is in the report.
func JSON(from io.Reader) (*Report, error) {
	a := newAuditor(&reader{map[string]*statement{}})
	err := Parts(bufio.NewReaderSize(from, 1<<16), func(key string, d *json.Decoder) (bool, error) {
		if err := a.part(key, d); err != nil {
			return false, fmt.Errorf("%s of the JSON is damaged: %w", key, err)
		}
		return true, nil
	})
	if err != nil {
		return nil, err
	}
	a.total()
	return a.report, nil
}

// Parts goes through the parts of the JSON of a run, in their order, without
// holding the others: take reads the one at hand from the decoder and says
// whether to go on.
func Parts(from io.Reader, take func(key string, d *json.Decoder) (more bool, err error)) error {
	d := json.NewDecoder(from)
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return fmt.Errorf("this is not the JSON of an estimate")
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return fmt.Errorf("the JSON is damaged: %w", err)
		}
		if more, err := take(key.(string), d); err != nil || !more { // the key of an object is a string
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("the JSON ends too soon: %w", err)
	}
	return nil
}

// Each gives the members of the list at hand one by one.
func Each[T any](d *json.Decoder, take func(*T)) error {
	if _, err := d.Token(); err != nil {
		return err
	}
	for d.More() {
		var v T
		if err := d.Decode(&v); err != nil {
			return err
		}
		take(&v)
	}
	_, err := d.Token()
	return err
}

// Skip passes over the part at hand, and holds no more of it than one member at a
// time: the repairs of a large run fill a gigabyte.
func Skip(d *json.Decoder) error {
	begin, err := d.Token()
	if _, nested := begin.(json.Delim); err != nil || !nested {
		return err
	}
	for d.More() {
		if begin == json.Delim('{') {
			if _, err := d.Token(); err != nil {
				return err
			}
		}
		var skipped json.RawMessage
		if err := d.Decode(&skipped); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}

// auditor goes through a JSON from top to bottom; the repairs, which come before
// the steps of the campaign that refer to them, are kept as numbers only.
type auditor struct {
	report   *Report
	formulas *reader
	values   map[string]float64 // of every step that is a number, by id
	raws     map[string]float64 // before rounding, where that differs
	units    map[string]string
	settings map[string]figure
	repairs  []string // their ids
	shares   shares
	steps    []step // of the campaign, and of the repair at hand
	campaign *campaign
}

func newAuditor(formulas *reader) *auditor {
	return &auditor{
		report: &Report{}, formulas: formulas, values: map[string]float64{}, raws: map[string]float64{}, units: map[string]string{},
		campaign: &campaign{}, shares: shares{},
	}
}

func (a *auditor) part(key string, d *json.Decoder) error {
	c := a.campaign
	switch key {
	case "settings":
		var list []setting
		if err := d.Decode(&list); err != nil {
			return err
		}
		a.set(list)
		return nil
	case "repairs":
		return Each(d, a.repair)
	case "issues":
		return d.Decode(&c.Issues)
	case "spares":
		return d.Decode(&c.Spares)
	case "order":
		return d.Decode(&c.Order)
	case "offcuts":
		return d.Decode(&c.Offcuts)
	case "bid":
		return d.Decode(&c.Bid)
	case "cutting":
		return d.Decode(&c.Cutting)
	case "rolls":
		return d.Decode(&c.Rolls)
	case "derivation":
		return d.Decode(&c.Derivation)
	}
	return Skip(d)
}

// take checks steps each for itself and keeps their values.
func (a *auditor) take(steps []step) {
	for i := range steps {
		s := &steps[i]
		if _, twice := a.units[s.ID]; twice {
			a.report.fault(s.ID, "two steps have this id")
		}
		a.units[s.ID] = s.Unit
		if v, ok := number(s.Value); ok {
			a.values[s.ID] = v
		}
		if raw, ok := number(s.Raw); ok {
			a.raws[s.ID] = raw
		}
		did, says := s.evaluate(a.formulas)
		if did == unread {
			if replay := replays[s.Rule]; replay != nil {
				did, says = byPlan, replay(s)
			} else if total, ok := s.isTotal(); ok {
				did, says = evaluated, total
			}
		}
		switch did {
		case evaluated:
			a.report.Evaluated++
		case putBack:
			a.report.PutBack++
		case compared:
			a.report.Compared++
		case byPlan:
			a.report.Replayed++
		}
		if says != "" {
			a.report.fault(s.ID, "%s", says)
		}
	}
}

// isTotal is about a step whose formula says in words what is summed, and whose
// one input is the sum; what it is a sum of is followed like any reference.
func (s *step) isTotal() (says string, ok bool) {
	if !strings.HasPrefix(s.Formula, "Σ ") || len(s.Inputs) != 1 {
		return "", false
	}
	sum, isNumber := number(s.Inputs[0].Value)
	value, _ := number(s.Value)
	if !isNumber || s.Inputs[0].Symbol == "repairs" { // how many, none of which costs anything
		sum = 0
	}
	if !same(sum, value) {
		return fmt.Sprintf("the sum is %v, not %v", sum, value), true
	}
	return "", true
}

// follow holds each input that comes from another step against that step. Of a
// repair that is left out, which is not whole, a step may be missing.
func (a *auditor) follow(steps []step, prefix string, whole bool) {
	for i := range steps {
		s := &steps[i]
		for _, in := range s.Inputs {
			value, ok := number(in.Value)
			if name, is := strings.CutPrefix(in.From, "setting "); ok && is {
				a.obeys(s.ID, &in, value, name)
			}
			if !ok || !strings.HasPrefix(in.From, "step") {
				continue
			}
			want, unit, known, says := a.origin(in.From, prefix)
			if says != "" && whole {
				a.report.fault(s.ID, "%s of it: %s", in.Symbol, says)
			}
			if !known {
				continue
			}
			a.report.Followed++
			raw, hasRaw := a.raws[a.id(strings.TrimPrefix(in.From, "step "), prefix)]
			if by, ok := factor(unit, in.Unit); ok && !agrees(want*by, value) && !(hasRaw && agrees(raw*by, value)) {
				a.report.fault(s.ID, "%s is %v %s here; %s gives %v %s", in.Symbol, value, in.Unit, in.From, want, unit)
			}
		}
	}
}

// setting is a rule in force as it is printed.
type setting struct {
	Name, Value, Unit string
}

// set keeps the settings that are numbers.
func (a *auditor) set(list []setting) {
	a.settings = map[string]figure{}
	for _, s := range list {
		if v, err := strconv.ParseFloat(s.Value, 64); err == nil {
			a.settings[s.Name] = figure{Value: v, Unit: s.Unit}
		}
	}
}

// obeys holds an input against the setting that it comes from, where that is one
// and in a unit alike.
func (a *auditor) obeys(id string, in *input, value float64, name string) {
	s, ok := a.settings[name]
	by, alike := factor(s.Unit, in.Unit)
	if _, measured := measures[s.Unit]; in.Unit == "" && !measured && s.Unit != "%" {
		by, alike = 1, true // a count of bands, of layers
	}
	if !ok || !alike {
		return
	}
	a.report.Followed++
	if !agrees(s.Value*by, value) {
		a.report.fault(id, "%s is %v %s here; the setting %s is %v %s", in.Symbol, value, in.Unit, name, s.Value, s.Unit)
	}
}

// origin is the value of the step or steps that a reference names; known is
// false where it names other things too, on which the value depends.
func (a *auditor) origin(from, prefix string) (value float64, unit string, known bool, says string) {
	first := true
	for part := range strings.SplitSeq(from, ", ") {
		one, isOne := strings.CutPrefix(part, "step ")
		many, isMany := strings.CutPrefix(part, "steps ")
		var v float64
		var u string
		switch {
		case isOne:
			id := a.id(one, prefix)
			if u, known = a.units[id]; !known {
				return 0, "", false, fmt.Sprintf("there is no step %q", one)
			}
			var isNumber bool
			if v, isNumber = a.values[id]; !isNumber {
				return 0, "", false, ""
			}
		case isMany && strings.Contains(many, " times "):
			x, y, _ := strings.Cut(many, " times ")
			x, y = a.id(x, prefix), a.id(y, prefix)
			for _, id := range []string{x, y} {
				if _, known := a.units[id]; !known {
					return 0, "", false, fmt.Sprintf("there is no step %q", id)
				}
			}
			v, u = a.values[x]*a.values[y], a.units[x]
		case isMany:
			var ok bool
			if v, u, ok = a.sum(many, prefix); !ok {
				return 0, "", false, ""
			}
		default:
			return 0, "", false, ""
		}
		if first {
			unit = u
		}
		by, ok := factor(u, unit)
		if !ok {
			return 0, "", false, ""
		}
		value, first = value+v*by, false
	}
	return value, unit, true, ""
}

// id is the whole id of a step that is named from another step of the same
// repair, or of the campaign.
func (a *auditor) id(name, prefix string) string {
	if strings.HasPrefix(name, "campaign/") {
		return name
	}
	return prefix + name
}

// sum adds up the steps of a pattern, "seal…/sealant", "R…/mass" for that step
// of every repair; ok is false where their units differ, so that they are not to
// be added.
func (a *auditor) sum(pattern, prefix string) (value float64, unit string, ok bool) {
	var ids []string
	if rest, all := strings.CutPrefix(pattern, everyRepair); all {
		if strings.Contains(rest, "…") {
			return 0, "", false
		}
		for _, id := range a.repairs {
			ids = append(ids, id+"/"+rest)
		}
	} else {
		start, end, _ := strings.Cut(a.id(pattern, prefix), "…")
		for i := range a.steps {
			if id := a.steps[i].ID; strings.HasPrefix(id, start) && strings.HasSuffix(id, end) && len(id) >= len(start)+len(end) {
				ids = append(ids, id)
			}
		}
	}
	found := false
	for _, id := range ids {
		v, isNumber := a.values[id]
		if !isNumber {
			continue
		}
		if !found {
			unit, found = a.units[id], true
		}
		by, same := factor(a.units[id], unit)
		if !same {
			return 0, "", false
		}
		value += v * by
	}
	return value, unit, found
}

// everyRepair begins a reference to a step of every repair.
const everyRepair = "R…/"

// factor turns a quantity from one unit into another; ok is false where they
// measure different things.
func factor(from, to string) (by float64, ok bool) {
	if from == to {
		return 1, true
	}
	a, b := measures[from], measures[to]
	if a.of == "" || a.of != b.of {
		return 0, false
	}
	return a.size / b.size, true
}

// measures are the units that a step may turn into one another.
var measures = map[string]struct {
	of   string
	size float64
}{
	"mm": {"length", 1e-3}, "m": {"length", 1},
	"mm²": {"area", 1e-6}, "m²": {"area", 1},
	"mm³": {"volume", 1e-6}, "L": {"volume", 1},
	"g": {"mass", 1e-3}, "kg": {"mass", 1},
	"min": {"time", 1.0 / 60}, "h": {"time", 1},
}

// replays go through a choice that no formula gives: that it does what it had to.
// That no better one exists is the word of its certificate, which is checked
// where the plan is made.
var replays = map[string]func(*step) string{
	"kit.rolls": func(s *step) string {
		v := s.values()
		rolls, laid := 0.0, 0.0
		for i := 1; ; i++ {
			n, ok := v[fmt.Sprintf("n_%d", i)]
			if !ok {
				break
			}
			rolls, laid = rolls+n, laid+n*v[fmt.Sprintf("l_%d", i)]
		}
		laid -= (rolls - 1) * v["splice"]
		value, _ := number(s.Value)
		return firstWrong(
			claim{same(rolls, value), "the rolls of each length are %v in all, not %v", []any{rolls, value}},
			claim{math.Abs(laid-v["laid"]) <= 1e-6, "the rolls give %v m, not %v", []any{laid, v["laid"]}},
			claim{v["laid"] >= v["tape"]-1e-6, "%v m of rolls do not cover %v m of tape", []any{v["laid"], v["tape"]}})
	},
	"mix.most": func(s *step) string {
		v := s.values()
		m, _ := number(s.Value)
		minutes := math.Floor(v["t"] - v["t_mix"] - v["t_reserve"] + near)
		return firstWrong(
			claim{m/v["r"] <= minutes+near, "%v kg take %v min, and only %v are left", []any{m, m / v["r"], minutes}},
			claim{s.Raw == nil || m <= s.raw() && s.raw() <= m+1.000001e-6, "%v is not %v in whole milligrams", []any{m, s.Raw}},
			claim{minutes >= v["t_least"], "%v min are left, less than %v", []any{minutes, v["t_least"]}})
	},
	"mix.batches": func(s *step) string {
		v := s.values()
		mass := 0.0
		for i := 1; ; i++ {
			n, ok := v[fmt.Sprintf("n_%d", i)]
			if !ok {
				break
			}
			mass += n * v[fmt.Sprintf("p_%d", i)]
		}
		batches, _ := number(s.Value)
		return firstWrong(
			claim{mass >= v["m"]-1e-6, "the packs hold %v kg, less than the %v needed", []any{mass, v["m"]}},
			claim{batches*v["b"] >= v["m"]-1e-6 || v["m"] == 0, "%v batches of at most %v kg do not give %v kg", []any{batches, v["b"], v["m"]}},
			claim{batches == math.Trunc(batches), "%v is no number of batches", []any{batches}})
	},
	"order.packs": func(s *step) string {
		packs, _ := number(s.Value)
		return firstWrong(claim{packs == math.Trunc(packs) && packs > 0, "%v is no number of packs", []any{packs}})
	},
	"campaign.schedule": func(s *step) string {
		v := s.values()
		return firstWrong(
			claim{v["days"] >= v["bound"], "%v days are fewer than the %v that no plan can go below", []any{v["days"], v["bound"]}})
	},
	"campaign.rolls": func(s *step) string {
		v := s.values()
		after, _ := number(s.Value)
		return firstWrong(
			claim{after <= v["before"], "%v is more than the %v before the choice", []any{after, v["before"]}},
			claim{after >= v["bound"]-near*math.Abs(after), "%v is less than the bound %v", []any{after, v["bound"]}})
	},
	"order.suppliers": func(s *step) string {
		v := s.values()
		cost, _ := number(s.Value)
		proven := strings.Contains(s.Formula, "proven") && !strings.Contains(s.Formula, "not proven")
		return firstWrong(
			claim{cost >= v["bound"]-near*math.Abs(cost), "%v is less than the bound %v", []any{cost, v["bound"]}},
			claim{!proven || same(cost, v["bound"]), "it is called proven, with a cost of %v and a bound of %v", []any{cost, v["bound"]}},
			claim{cost <= v["apart"]*(1+near), "%v is more than the %v of each item bought alone", []any{cost, v["apart"]}})
	},
	"campaign.cut.band":  replayCut,
	"campaign.cut.sheet": replayCut,
}

func replayCut(s *step) string {
	v := s.values()
	proven := strings.HasSuffix(s.Formula, ", proven least")
	return firstWrong(
		claim{v["plan"] >= v["bound"]-near*math.Abs(v["plan"]), "the plan's %v is less than its bound %v", []any{v["plan"], v["bound"]}},
		claim{!proven || same(v["plan"], v["bound"]), "it is called proven least, with a plan of %v and a bound of %v", []any{v["plan"], v["bound"]}})
}

// claim is something that must hold, and the words for where it does not.
type claim struct {
	holds bool
	says  string
	with  []any
}

func firstWrong(claims ...claim) string {
	for _, c := range claims {
		if !c.holds {
			return fmt.Sprintf(c.says, c.with...)
		}
	}
	return ""
}
