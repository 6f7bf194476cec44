package estimate

import (
	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/scope"
)

// OnBasis is what a repair comes to on one basis of design.
type OnBasis struct {
	design.Candidate
	Layers    int             // with the firm's minimum and the leak's own demand; 0 where the basis does not count
	Materials decimal.Decimal // of the kit, at the prices of the packs
	Taken     bool            // it is the basis that the repair is sized on
}

// Bases are the bases of design of the i-th repair side by side. It packs its kit
// again on each that counts. A repair without a thickness of its own, by the
// designer's layers or with the basis none, has them all the same.
func (p *Campaign) Bases(i int) []OnBasis {
	r := p.Repairs[i]
	got := p.means.rules.Examine(r)
	least, _ := design.LeastOf(got.Candidates)
	out := make([]OnBasis, len(got.Candidates))
	for n, c := range got.Candidates {
		out[n] = OnBasis{Candidate: c, Taken: c.Counts() && c.Basis == least.Basis}
		if !c.Counts() {
			continue
		}
		on := p.means.rules.With(r, func(s *catalog.Settings) { s.DesignBasis = c.Basis.Setting() })
		if on.Status == scope.Estimated {
			out[n].Layers, out[n].Materials = on.Layers, p.means.materials(p.means.Pack(on, nil))
		}
	}
	return out
}
