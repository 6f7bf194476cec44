package estimate

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/crew"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/spread"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Figure is a figure of the campaign of which the range is told.
type Figure struct {
	Name  string
	Money bool // else a number of things
	of    func(*way) float64
}

// OutlookFigures are the figures of which an Outlook tells the range; the last is
// the bid before tax.
var OutlookFigures = []Figure{
	{"kits", false, func(w *way) float64 { return float64(len(w.plan.Jobs)) }},
	{"packs ordered", false, func(w *way) float64 { return float64(w.bought.packs()) }},
	{"cost of the order", true, func(w *way) float64 { return w.bought.supply.Cost.InexactFloat64() }},
	{"crew-shifts", false, func(w *way) float64 { return float64(w.plan.CrewShifts) }},
	{"working days", false, func(w *way) float64 { return float64(w.plan.Days) }},
	{"bid before tax", true, func(w *way) float64 { return w.price.Net.InexactFloat64() }},
}

// packs are all packs that are ordered.
func (p *purchase) packs() (n int) {
	for _, item := range p.orders {
		for _, l := range item.Lines {
			n += l.Packs
		}
	}
	return n
}

// Moved is an input that was drawn and how much of the spread of the bid goes
// with it.
type Moved struct {
	Name  string
	Share float64 // square of the rank correlation with the bid, 0 to 1
	// The mean bid over the fifth of the draws in which the input is lowest, and
	// in which it is highest.
	Low, High float64
	Spread    *catalog.Spread // nil for what the survey leaves blank
}

// Outlook is how far the campaign may come out otherwise: the estimate made again
// with its inputs drawn from the table spreads and from the ranges of what the
// survey leaves blank. Growth and contingency are off in it: what they stand for
// is drawn.
type Outlook struct {
	Draws  int
	Figure []Spreading // alongside OutlookFigures
	Inputs []Moved     // what matters most first
	Short  int         // draws in which suppliers had not all that was needed
	// At is the share, %, of the draws for which Contingency, % on the point bid
	// without contingency, is enough.
	At, Contingency float64
}

// Spreading is one figure over all draws.
type Spreading struct {
	Point float64   // with the full rules of cutting and rolls, nothing drawn
	Quick float64   // the same with the rules of the draws
	Drawn []float64 // in the order of the draws
}

// Percentile is the value that p per cent of the draws do not exceed, and the two
// values between which it lies with 95 % of certainty.
func (s *Spreading) Percentile(p float64) (value, low, high float64) {
	return spread.Percentile(s.Drawn, p/100)
}

// outcome is what one draw came to.
type outcome struct {
	figures []float64 // alongside OutlookFigures
	inputs  []float64 // the means of what the inputs came to
	short   bool
}

// Outlook makes the estimate again, settings.RangeDraws times, with its inputs
// drawn. The same campaign gives the same outlook on any number of processors.
func (p *Campaign) Outlook(tell func(done, total int)) (*Outlook, error) {
	o, err := newOutlooker(p)
	if err != nil {
		return nil, err
	}
	full, err := o.point(p.Catalog.Settings.CutBudget, p.Catalog.Settings.Rechoose)
	if err != nil {
		return nil, err
	}
	quick, err := o.point(p.Catalog.Settings.RangeWork, p.Catalog.Settings.RangeRolls)
	if err != nil {
		return nil, err
	}
	n := p.Catalog.Settings.RangeDraws
	drawn, err := o.drawAll(n, tell)
	if err != nil {
		return nil, err
	}
	out := &Outlook{Draws: n, At: p.Catalog.Settings.RangeAt}
	for k := range OutlookFigures {
		s := Spreading{Point: full.figures[k], Quick: quick.figures[k]}
		for i := range drawn {
			s.Drawn = append(s.Drawn, drawn[i].figures[k])
		}
		out.Figure = append(out.Figure, s)
	}
	for i := range drawn {
		if drawn[i].short {
			out.Short++
		}
	}
	bid := &out.Figure[len(out.Figure)-1]
	if at, _, _ := bid.Percentile(out.At); bid.Quick > 0 {
		out.Contingency = 100 * (at/bid.Quick - 1)
	}
	for k, in := range o.inputs {
		each := make([]float64, n)
		for i := range each {
			each[i] = drawn[i].inputs[k]
		}
		m := Moved{Name: in.title, Spread: in.row}
		m.Share, m.Low, m.High = spread.Weight(each, bid.Drawn)
		out.Inputs = append(out.Inputs, m)
	}
	slices.SortStableFunc(out.Inputs, func(a, b Moved) int { return cmp.Compare(b.Share, a.Share) })
	return out, nil
}

// outlooker makes the draws of one campaign.
type outlooker struct {
	p      *Campaign
	inputs []drawnInput
	at     map[string]int        // place of an input by its name
	reach  map[string][2]float64 // of each line, its first and last chainage, mm
}

// drawnInput is an input with its title and its row of the table spreads.
type drawnInput struct {
	*spread.Input
	title string
	row   *catalog.Spread
}

// lineEnds is how far beyond its outermost defects a line is taken to be surveyed.
const lineEnds = 5000 // mm

// spreadTitles are the inputs of the table spreads in words.
var spreadTitles = map[string]string{
	"found-later": "defects found later", "size": "size of the defects", "wall": "remaining wall", "hours": "minutes of the tasks",
	"productive": "productive share of the shift", "price": "prices", "exchange": "exchange rates", "access": "cost and set-up of access", "weather": "days lost to the weather",
}

func newOutlooker(p *Campaign) (*outlooker, error) {
	o := &outlooker{p: p, at: map[string]int{}, reach: map[string][2]float64{}}
	add := func(name, title string, value spread.Three, alike float64, row *catalog.Spread) error {
		in, err := spread.NewInput(name, value, alike)
		if err != nil {
			return fmt.Errorf("table spreads: %w", err)
		}
		o.at[name] = len(o.inputs)
		o.inputs = append(o.inputs, drawnInput{in, title, row})
		return nil
	}
	for i := range p.Catalog.Spreads {
		s := &p.Catalog.Spreads[i]
		if err := add(s.Input, spreadTitles[s.Input], spread.Three{Low: s.Low, Likely: s.Likely, High: s.High, Shape: spread.Shape(s.Shape)}, s.Alike, s); err != nil {
			return nil, err
		}
	}
	blank := func(key string) error {
		// No value between the ends is likelier than another.
		return add(blankInput+key, "what the survey leaves blank: "+survey.HeadingOf(key), spread.Three{Low: 0, Likely: 0.5, High: 1, Shape: spread.Even}, 1, nil)
	}
	for _, r := range p.Repairs {
		for _, key := range r.Blank.Keys() {
			if _, known := o.at[blankInput+key]; known {
				continue
			}
			if err := blank(key); err != nil {
				return nil, err
			}
		}
	}
	for _, w := range drawnWords {
		if !slices.ContainsFunc(p.Survey.Defects, func(d survey.Defect) bool { return survey.Blank(&d, w.key) }) {
			continue
		}
		if err := blank(w.key); err != nil {
			return nil, err
		}
	}
	for i := range p.Survey.Defects {
		d := &p.Survey.Defects[i]
		at, line := d.Chainage.V, lineKey(d)
		ends, known := o.reach[line]
		if !known {
			ends = [2]float64{at, at}
		}
		o.reach[line] = [2]float64{math.Min(ends[0], at), math.Max(ends[1], at)}
	}
	return o, nil
}

// blankInput begins the name of an input that the survey leaves blank.
const blankInput = "blank "

// drawnWords are the words that are drawn where the survey leaves them blank, by the
// share of the way from the easiest answer, 0, to the hardest, 1.
var drawnWords = []struct {
	key    string // of the survey's field
	answer func(d *survey.Defect, share float64, c *catalog.Catalog)
}{
	{"hazardous", func(d *survey.Defect, share float64, _ *catalog.Catalog) {
		if d.Hazardous = survey.No; share >= 0.5 {
			d.Hazardous = survey.Yes
		}
	}},
	{"surface", func(d *survey.Defect, share float64, _ *catalog.Catalog) {
		if d.Leaking == survey.No { // a leak is wet
			if d.Surface = survey.Dry; share >= 0.5 {
				d.Surface = survey.Wet
			}
		}
	}},
	{"access", func(d *survey.Defect, share float64, c *catalog.Catalog) {
		ways := slices.SortedStableFunc(slices.Values(c.Accesses), func(a, b catalog.Access) int { return a.Cost.Cmp(b.Cost) })
		if n := len(ways); n > 0 {
			d.Access = ways[min(n-1, int(share*float64(n)))].Access
		}
	}},
}

func lineKey(d *survey.Defect) string { return d.Area + "\x00" + d.Line }

// point is the campaign with nothing drawn, growth and contingency off.
func (o *outlooker) point(work int, rolls string) (*outcome, error) {
	return o.outcome(o.p.Catalog.With(func(c *catalog.Catalog) { withoutAllowances(c, work, rolls) }), o.p.Survey.Defects, nil, 0)
}

// withoutAllowances leaves growth and contingency out.
func withoutAllowances(c *catalog.Catalog, work int, rolls string) {
	c.Settings.Growth, c.Settings.CutBudget, c.Settings.Rechoose = 0, min(work, c.Settings.CutBudget), rolls
	for i := range c.Costs {
		if c.Costs[i].Stage == "contingency" {
			c.Costs[i].Value = decimal.Zero
		}
	}
}

// drawAll makes n draws, as many at once as there are processors.
func (o *outlooker) drawAll(n int, tell func(done, total int)) ([]*outcome, error) {
	out, errs := make([]*outcome, n), make([]error, n)
	var next atomic.Int64
	var workers sync.WaitGroup
	var telling sync.Mutex
	done := 0
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				out[i], errs[i] = o.draw(i)
				telling.Lock()
				done++
				tell(done, n)
				telling.Unlock()
			}
		})
	}
	workers.Wait()
	for i, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("draw %d: %w", i+1, err)
		}
	}
	return out, nil
}

// What is drawn of prices and rates is rounded, since the order is reckoned
// exactly: to more decimals than money has, and to no fewer than were given.
const (
	priceDigits = 3
	rateDigits  = 5
)

// drawnPrice is a price times a factor.
func drawnPrice(price, factor decimal.Decimal) decimal.Decimal {
	return price.Mul(factor).Round(max(priceDigits, -price.Exponent()))
}

// draw makes the n-th draw.
func (o *outlooker) draw(n int) (*outcome, error) {
	seed := uint64(o.p.Catalog.Settings.RangeSeed)
	draws := make([]*spread.Draw, len(o.inputs))
	for i := range o.inputs {
		draws[i] = o.inputs[i].Draw(seed, n)
	}
	of := func(name string) *spread.Draw { return draws[o.at[name]] }
	factor := func(name string) float64 { return 1 + of(name).Next()/100 }

	defects := o.found(of("found-later"))
	for i := range defects {
		d := &defects[i]
		size, wall := factor("size"), factor("wall")
		d.Axial.V, d.Circ.V = d.Axial.V*size, d.Circ.V*size
		if d.Remaining.V *= wall; d.Wall.OK {
			d.Remaining.V = math.Min(d.Remaining.V, d.Wall.V)
		}
	}
	c := o.p.Catalog.With(func(c *catalog.Catalog) {
		withoutAllowances(c, c.Settings.RangeWork, c.Settings.RangeRolls)
		c.Settings.Productive = math.Min(1, c.Settings.Productive*factor("productive"))
		for i := range c.Tasks {
			if t := &c.Tasks[i]; t.Who == "crew" && !strings.HasPrefix(t.Per, "shift-") && !strings.HasPrefix(t.Per, "crew-") {
				t.Minutes *= factor("hours")
			}
		}
		prices := map[[2]string]decimal.Decimal{}
		for i := range c.Offers {
			prices[[2]string{c.Offers[i].Item, c.Offers[i].Supplier}] = qty.Decimal(factor("price"))
		}
		for i := range c.Prices {
			p := &c.Prices[i]
			p.Price = drawnPrice(p.Price, prices[[2]string{p.Item, p.Supplier}])
		}
		for i := range c.Currencies {
			if cur := &c.Currencies[i]; cur.Code != c.Settings.Currency {
				cur.Rate = cur.Rate.Mul(qty.Decimal(factor("exchange"))).Round(max(rateDigits, -cur.Rate.Exponent()))
			}
		}
		for i := range c.Accesses {
			a, f := &c.Accesses[i], factor("access")
			a.Cost, a.SetUp = drawnPrice(a.Cost, qty.Decimal(f)), a.SetUp*f
		}
	})
	blank := func(key string) float64 {
		if i, known := o.at[blankInput+key]; known {
			return draws[i].Next()
		}
		return 1 // blank nowhere in the survey
	}
	o.answerWords(defects, blank)
	got, err := o.outcome(c, defects, blank, of("weather").Next()/100)
	if err != nil {
		return nil, err
	}
	for i := range draws {
		got.inputs = append(got.inputs, draws[i].Mean())
	}
	return got, nil
}

// answerWords answers the blank words that are drawn, one answer for all rows as for
// the numbers.
func (o *outlooker) answerWords(defects []survey.Defect, blank func(key string) float64) {
	for _, w := range drawnWords {
		if _, known := o.at[blankInput+w.key]; !known {
			continue
		}
		share := blank(w.key)
		for i := range defects {
			if survey.Blank(&defects[i], w.key) {
				w.answer(&defects[i], share, o.p.Catalog)
			}
		}
	}
}

// found are the defects of the survey and those found later, each like one of the
// surveyed at another place of its line.
func (o *outlooker) found(d *spread.Draw) []survey.Defect {
	base := o.p.Survey.Defects
	more := int(math.Round(float64(len(base)) * d.Next() / 100))
	out := slices.Grow(slices.Clone(base), more)
	for i := range more {
		like := base[d.Pick(len(base))]
		ends := o.reach[lineKey(&like)]
		like.ID, like.Tag = fmt.Sprintf("found %d", i+1), fmt.Sprintf("found %d", i+1)
		like.Chainage = survey.Known(ends[0] - lineEnds + d.Even()*(ends[1]-ends[0]+2*lineEnds))
		out = append(out, like)
	}
	return out
}

// outcome goes down the road with drawn defects and a drawn catalogue; lost is
// the share of the days on which nobody can work. It leaves out what asks and
// explains.
func (o *outlooker) outcome(c *catalog.Catalog, defects []survey.Defect, blank func(field string) float64, lost float64) (*outcome, error) {
	m := meansOf(c, o.p.means.given)
	m.sums = true
	var planned []*scope.Repair
	if blank == nil {
		planned = m.rules.Plan(defects, m.given.Earlier)
	} else {
		planned = m.rules.PlanAt(defects, m.given.Earlier, blank)
	}
	w, err := m.down(planned, lost, func(string, int, int) {})
	if err != nil {
		return nil, err
	}
	out := &outcome{short: slices.ContainsFunc(w.bought.asked, func(q trace.Query) bool { return q.Code == shortCode })}
	for _, f := range OutlookFigures {
		out.figures = append(out.figures, f.of(&w))
	}
	return out, nil
}

// withDaysLost is the plan with days on which the crews that are sent stand by,
// so many that they are a share of all days. They come after the last day: when
// they fall is not known, what they cost is the same.
func (p Plan) withDaysLost(share float64, m *means) Plan {
	more := func(n int) int { return int(math.Round(float64(n) * share / (1 - share))) }
	last := 0
	for _, s := range p.Shifts {
		last = max(last, s.Minutes.Day)
	}
	own := make([]int, len(p.Crews))
	for _, s := range p.Shifts {
		own[s.Crew-1]++
	}
	p.Shifts, p.Hours = slices.Clone(p.Shifts), slices.Clone(p.Hours)
	for c := range p.Crews {
		lost := more(own[c])
		for i := range lost {
			p.Shifts = append(p.Shifts, Shift{Crew: c + 1, Minutes: crew.Shift{Day: last + 1 + i, Stand: m.Settings.ShiftHours * 60}})
		}
		if p.CrewShifts += lost; lost > 0 && m.Settings.LabourPaid != "worked" {
			p.Hours = append(p.Hours, Hours{Crew: c + 1, Kind: Standing, Hours: m.Settings.ShiftHours * float64(lost)})
		}
	}
	p.Days += more(p.Days)
	return p
}

// Told says how an outlook was made.
func (o *Outlook) Told(p *Campaign) string {
	return fmt.Sprintf("the estimate made %d times with its inputs drawn from the table spreads and from what the survey leaves blank (seed %d, so that it can be repeated); "+
		"each time repairs are joined, kits packed in whole packs, the plan made and the order placed again. Members of one input go together as its column alike says, different inputs not at all. "+
		"Hazardous or not, dry or wet, and the way of access are drawn as well where the survey leaves them blank, one answer for all rows; other words that it leaves blank stay at the harder one.", o.Draws, p.Catalog.Settings.RangeSeed)
}

// InventedInputs is how many rows of the table spreads say that they are invented.
func (o *Outlook) InventedInputs() (n int) {
	for _, in := range o.Inputs {
		if in.Spread != nil && strings.HasPrefix(in.Spread.Basis, "invented") {
			n++
		}
	}
	return n
}
