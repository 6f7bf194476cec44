package order

import "github.com/shopspring/decimal"

// Roll is one length of tape or strip of one width.
type Roll struct {
	Name   string
	Length int             // mm, > 0
	Cost   decimal.Decimal // of one roll
	Max    int             // rolls there are; 0 means as many as wanted
}

// CoverRolls is the cheapest mix of whole rolls that gives need mm of tape.
// Each roll after the first loses splice mm to the joint, so n rolls give
// Σ length − (n−1)·splice. Ties and errors as in Cover; Mix.Quantity is the
// length that can be laid.
func CoverRolls(need int, rolls []Roll, splice int) (Mix, error) {
	c, err := NewRollCoverer(rolls, splice)
	if err != nil {
		return Mix{}, err
	}
	return c.Cover(need)
}

// NewRollCoverer prepares a set of rolls for many questions of the CoverRolls
// kind and for the near-best mixes.
func NewRollCoverer(rolls []Roll, splice int) (*Coverer, error) {
	packs := make([]Pack, len(rolls))
	for i, r := range rolls {
		packs[i] = Pack{Name: r.Name, Size: r.Length, Cost: r.Cost, Max: r.Max}
	}
	return newCoverer(packs, splice)
}
