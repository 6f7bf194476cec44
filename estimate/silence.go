package estimate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Silence is a field that the survey leaves blank in some of its rows, and what
// that leaves open.
type Silence struct {
	Code    string   // of the assumption
	Name    string   // "the remaining wall"; "" where no end of a range was weighed
	Rows    int      // blank, of those that need it
	Repairs int      // that lean on it
	First   []string // ids of the first of those rows
	// What the kits of these repairs weigh with this field at the easy end of its
	// range and at the hard end, everything else as ordered; of the first Weighed
	// of the repairs, and of those that can be made at both ends.
	Low, High         float64         // kg
	LowCost, HighCost decimal.Decimal // of their materials, in the currency of the bid
	Weighed           int
	currency          *catalog.Currency
	// Layers at the two ends, the fewest and the most of any of those repairs, and
	// how many cannot be made at the hard end.
	Fewest, Most, Cannot int
	Turns                bool // some repair has other layers at one end than at the other
}

// mostWeighed bounds the repairs of a field whose kits are packed again at both
// ends of its range.
const mostWeighed = 500

// mostNamed is how many of the rows with a blank a query names.
const mostNamed = 5

// silence takes in that a repair leans on an assumption, where that is one about a
// field that the survey leaves blank.
func (f *findings) silence(r *scope.Repair, code string) {
	text := f.texts[code]
	if text.Ask == "" {
		return
	}
	s := f.silent[code]
	if s == nil {
		s = &Silence{Code: code, currency: f.means.Catalog.Currency()}
		f.silent[code] = s
	}
	s.Repairs++
	for _, d := range r.Defects {
		if survey.Blank(d, text.Field) {
			if s.Rows++; s.Rows <= mostNamed {
				s.First = append(s.First, d.ID)
			}
		}
	}
	if name, ok := scope.RangeName(code); ok && r.Status == scope.Estimated && s.Weighed < mostWeighed {
		s.Name = name
		s.weigh(r, f.means)
	}
}

// silences are the fields that the survey leaves blank and that are asked about:
// what may keep a repair from being made first, then by how far the answer moves
// the cost of the materials, so that whoever has time for three answers finds them
// at the top.
func (f *findings) silences() []Silence {
	out := make([]Silence, 0, len(f.silent))
	for _, s := range f.silent {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b Silence) int {
		return cmp.Or(cmp.Compare(b.Cannot, a.Cannot), b.open().Cmp(a.open()), cmp.Compare(a.Code, b.Code))
	})
	return out
}

// open is how far apart the ends of the range are, in money.
func (s *Silence) open() decimal.Decimal { return s.HighCost.Sub(s.LowCost).Abs() }

// End is what a repair comes to at one end of the ranges of its blanks.
type End struct {
	scope.End
	Length    float64 // mm
	Mass      float64 // kg, of the kit; 0 where it is not repairable
	Materials decimal.Decimal
}

// Ends are what the i-th repair comes to at the easy and at the hard end of what
// the survey leaves open. It packs both kits again, each once.
func (p *Campaign) Ends(i int) (easy, hard End) {
	low, high := p.means.rules.Ends(p.Repairs[i], "")
	end := func(r *scope.Repair, e scope.End) End {
		out := End{End: e, Length: r.Length}
		if r.Status != scope.Estimated {
			return out
		}
		k := p.means.Pack(r, nil)
		out.Mass, out.Materials = k.Mass, p.means.materials(k)
		return out
	}
	return end(low, p.Repairs[i].Easy), end(high, p.Repairs[i].Hard)
}

// materials is what a kit costs at the prices of the packs.
func (m *means) materials(k *kit.Kit) decimal.Decimal {
	var sum decimal.Decimal
	for _, l := range k.Lines {
		sum = sum.Add(m.Price(l.Item.Code).Mul(qty.Decimal(l.Qty)))
	}
	return sum
}

// holes are what leaks are designed as, and what each basis gives.
type holes struct {
	leaking int
	// of each of holeBases
	least, most, cannot [2]int
}

var holeBases = [2]string{"interacting", "unbonded"}

func (h *holes) add(r *scope.Repair, m *means) {
	if len(r.Patches) == 0 || r.Status == scope.Queried {
		return
	}
	h.leaking++
	for i, basis := range holeBases {
		got := scope.End{Layers: r.Layers, Status: r.Status}
		if basis != m.Settings.HoleBasis {
			got = m.rules.EndWith(r, func(s *catalog.Settings) { s.HoleBasis = basis })
		}
		if got.Status != scope.Estimated {
			h.cannot[i]++
			continue
		}
		if h.most[i] == 0 || got.Layers < h.least[i] {
			h.least[i] = got.Layers
		}
		h.most[i] = max(h.most[i], got.Layers)
	}
}

// ask is one query about it. There is none without a leak.
func (h *holes) ask(m *means) []trace.Query {
	if h.leaking == 0 {
		return nil
	}
	say := func(i int) string {
		if h.most[i] == 0 {
			return "none can be made"
		}
		text := trace.Span(float64(h.least[i]), float64(h.most[i]), "layers")
		if h.cannot[i] > 0 {
			text += fmt.Sprintf(", %d cannot be made", h.cannot[i])
		}
		return text
	}
	return []trace.Query{{
		Code: "hole-basis", Severity: trace.Ask, Found: m.Settings.HoleBasis, Row: survey.AllRows, Place: trace.Place{File: m.given.Name},
		Message: fmt.Sprintf("what the wrap spans over a leak is for the designer to say (%s): each leak with its neighbours, %s; the whole sheet of the sealing set where the wrap does not bond over it, %s",
			trace.Count(h.leaking, "repair", "repairs"), say(0), say(1)),
		Advice: "have the designer choose: --set hole.basis=interacting or unbonded",
	}}
}

// askByHand is one query about the profile wanted where no powered tool may be used,
// which hand tools hardly give. There is none where they do.
func (f *findings) askByHand() []trace.Query {
	n, set := f.byHand, &f.means.Settings
	if n == 0 || set.PrepProfile < set.HandProfile {
		return nil
	}
	return []trace.Query{{
		Code: "profile-by-hand", Severity: trace.Ask, Found: trace.WithUnit(set.PrepProfile, "µm"), Row: survey.AllRows, Place: trace.Place{File: f.means.given.Name},
		Message: fmt.Sprintf("this profile is wanted in %s where no powered tool may be used; hand tools hardly give %s or more (setting prep.hand_profile)", trace.Count(n, "repair", "repairs"), trace.WithUnit(set.HandProfile, "µm")),
		Advice:  "have the least profile confirmed by the maker of the wrap (prep.profile), a tool that the permit allows named, or the area made safe",
	}}
}

// weigh packs the kit of a repair with the field at either end.
func (s *Silence) weigh(r *scope.Repair, m *means) {
	easy, hard := m.rules.Ends(r, s.Code)
	if easy.Status != scope.Estimated {
		return
	}
	if s.Fewest == 0 || easy.Layers < s.Fewest {
		s.Fewest = easy.Layers
	}
	if hard.Status != scope.Estimated {
		s.Cannot++
		return
	}
	s.Most = max(s.Most, hard.Layers)
	s.Turns = s.Turns || easy.Layers != hard.Layers
	s.Weighed++
	low, high := m.Pack(easy, nil), m.Pack(hard, nil)
	s.Low, s.LowCost = s.Low+low.Mass, s.LowCost.Add(m.materials(low))
	s.High, s.HighCost = s.High+high.Mass, s.HighCost.Add(m.materials(high))
}

// Cost says what the blanks leave open, "the remaining wall unknown in 240 rows:
// 1,900 to 9,400 kg of kits, materials 90,000 to 410,000 EUR"; "" where that is
// nothing.
func (s *Silence) Cost() string {
	kits := trace.Span(s.Low, s.High, "kg")
	if s.Name == "" || s.Weighed == 0 || kits == trace.WithUnit(s.High, "kg") && s.LowCost.Equal(s.HighCost) {
		return ""
	}
	text := fmt.Sprintf("%s unknown in %s: %s of kits, materials %s to %s %s", s.Name, trace.Count(s.Rows, "row", "rows"), kits,
		s.LowCost.StringFixed(int32(s.currency.Minor)), s.HighCost.StringFixed(int32(s.currency.Minor)), s.currency.Code)
	if s.Weighed < s.Repairs {
		text += fmt.Sprintf(", of %d of the %s", s.Weighed, trace.Count(s.Repairs, "repair", "repairs"))
	}
	return text
}

// ask is one query for all the rows in which the field is blank.
func (s *Silence) ask(m *means, read *survey.Result, name string) trace.Query {
	a := scope.Assumptions(&m.Settings)[s.Code]
	message := strings.TrimSuffix(a.Text, ".")
	if s.Rows > 0 {
		message += fmt.Sprintf(" (blank in %d of %s, in %s: %s", s.Rows, trace.Count(read.Account.Kept, "row", "rows"), trace.Count(s.Repairs, "repair", "repairs"), strings.Join(s.First, ", "))
		if s.Rows > mostNamed {
			message += ", …"
		}
		message += ")"
	} else {
		message += " (" + trace.Count(s.Repairs, "repair", "repairs") + ")"
	}
	if s.Turns {
		message += "; " + trace.Span(float64(s.Fewest), float64(s.Most), "layers")
	}
	if s.Cannot > 0 {
		message += fmt.Sprintf("; %d cannot be made at the hard end", s.Cannot)
	}
	if cost := s.Cost(); cost != "" {
		message += "; " + cost
	}
	advice := a.Ask
	if s.Rows > 0 && survey.Settable(a.Field) {
		advice += "; one value for all of them: --set survey." + a.Field + "=VALUE, or as the answer here"
	}
	return trace.Query{
		Code: s.Code, Severity: trace.Ask, Message: message, Advice: advice, Row: survey.AllRows,
		Place: trace.Place{File: name, Sheet: read.Detected.Sheet, Field: survey.HeadingOf(a.Field)},
	}
}
