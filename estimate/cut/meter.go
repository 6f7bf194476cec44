package cut

// meter counts work in units of roughly one inner-loop step, so that limits
// are the same on every machine.
type meter struct {
	used, limit int64
}

func newMeter(budget int64) *meter {
	if budget == 0 {
		budget = DefaultBudget
	}
	return &meter{limit: budget}
}

// spend books n units of work.
func (m *meter) spend(n int64) { m.used += n }

// out reports whether the budget is used up.
func (m *meter) out() bool { return m.used >= m.limit }

// rng is a small fixed-seed generator (xorshift64*): the plans must not depend
// on a library's choice of generator.
type rng uint64

func newRNG(seed uint64) *rng { r := rng(seed*2685821657736338717 + 88172645463325252); return &r }

func (r *rng) next() uint64 {
	x := uint64(*r)
	x ^= x >> 12
	x ^= x << 25
	x ^= x >> 27
	*r = rng(x)
	return x * 2685821657736338717
}

// intn returns a number in [0, n).
func (r *rng) intn(n int) int { return int((r.next() >> 33) % uint64(n)) }

// float returns a number in [0, 1).
func (r *rng) float() float64 { return float64(r.next()>>11) / (1 << 53) }
