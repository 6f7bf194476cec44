package design

import (
	"cmp"
	"math"
	"slices"
)

// Leak is a leak as it lies on the pipe: the box round it.
type Leak struct {
	X     float64 // mm, chainage of its centre
	Clock Num     // degrees of its centre
	Apart float64 // mm round the pipe to every other where Clock is unknown; 0 is the hardest case
	A, C  float64 // mm, along the pipe and round it
}

// size is the diameter of the circle that stands for the leak alone.
func (l Leak) size() float64 { return max(l.A, l.C) }

// Interaction is the rule by which leaks near each other count as a larger one.
type Interaction struct {
	Near float64 // mm, clear distance up to which two count as one, s_0
	Far  float64 // mm, clear distance from which on they do not touch each other, s_1
}

// Combined is what a leak counts as among its neighbours.
type Combined struct {
	D float64 // mm, design diameter
	W float64 // mm, design width along the pipe, for a slot round it
	N int     // neighbours that enlarge it
}

// Clear is the clear distance between the boxes of two leaks on the surface of
// a pipe of diameter D, mm: along the pipe and the shorter way round it, put
// together as the sides of a right angle. Where a clock position is unknown the
// distance round the pipe is what Apart says.
func (l Leak) Clear(other Leak, D float64) float64 {
	along := max(0, math.Abs(l.X-other.X)-(l.A+other.A)/2)
	between := math.Abs(math.Remainder(l.Clock.V-other.Clock.V, 360)) / 360 * math.Pi * D
	if !l.Clock.OK || !other.Clock.OK {
		between = max(l.Apart, other.Apart)
	}
	round := max(0, between-(l.C+other.C)/2)
	return math.Hypot(along, round)
}

// share is how much of a neighbour at clear distance s counts, from 1 at Near to
// 0 at Far.
func (r Interaction) share(s float64) float64 {
	return min(1, max(0, (r.Far-s)/(r.Far-r.Near)))
}

// Combine gives what each leak on a pipe of diameter D counts as. For two at the
// clear distance s, the larger counts as
//
//	d = d_1 + (d_2 + s_0)·min(1, max(0, (s_1 − s)/(s_1 − s_0)))
//
// which up to s_0 covers both with all that lies between them, from s_1 on is the
// larger alone, and falls steadily in between: leaks that come nearer never ask
// for less. Among many, each leak i counts as d_i + Σ (d_j + s_0)·g_ij, where g_ij
// is the largest product of the shares along any chain of neighbours from i to
// j, so that a row of leaks each within s_0 of the next counts as long as it
// is. W adds up the lengths along the pipe in the same way.
//
// Errors: *InputError. Source: common practice that leaks near each other count
// as one; the form of the rule and its distances are this program's own, no
// source.
func (r Interaction) Combine(leaks []Leak, D float64) ([]Combined, error) {
	c := rule{name: "design.leaks.combine"}
	c.positive("D", "outside diameter", D, "mm")
	c.notNegative("s_0", "distance up to which leaks count as one", r.Near, "mm")
	c.want(r.Far > r.Near && finite(r.Far), "s_1", "distance from which on leaks stand alone", r.Far, "mm", "above s_0")
	for _, l := range leaks {
		c.finite("x", "chainage of the leak", l.X, "mm")
		c.finite("θ", "clock position of the leak", l.Clock.V, "°")
		c.notNegative("a", "length of the leak", l.A, "mm")
		c.notNegative("c", "width of the leak", l.C, "mm")
	}
	if c.err != nil {
		return nil, c.err
	}
	links := r.links(leaks, D)
	out := make([]Combined, len(leaks))
	for i, l := range leaks {
		got := Combined{D: l.size(), W: l.A}
		for j, g := range chained(links, i) {
			if j != i && g > 0 {
				got.D += (leaks[j].size() + r.Near) * g
				got.W += (leaks[j].A + r.Near) * g
				got.N++
			}
		}
		if err := c.result("d", "design diameter", got.D, "mm"); err != nil {
			return nil, err
		}
		out[i] = got
	}
	return out, nil
}

// link is a neighbour and the share of it that counts.
type link struct {
	to    int
	share float64
}

// links are the neighbours of each leak that stand nearer than Far.
func (r Interaction) links(leaks []Leak, D float64) [][]link {
	order := make([]int, len(leaks))
	longest := 0.0
	for i, l := range leaks {
		order[i], longest = i, max(longest, l.A)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(leaks[i].X, leaks[j].X) })
	out := make([][]link, len(leaks))
	for at, i := range order {
		for _, j := range order[at+1:] {
			if leaks[j].X-leaks[i].X > r.Far+longest {
				break // nor can any after it
			}
			if g := r.share(leaks[i].Clear(leaks[j], D)); g > 0 {
				out[i], out[j] = append(out[i], link{j, g}), append(out[j], link{i, g})
			}
		}
	}
	return out
}

// faint is the product of shares below which a chain is not followed further.
const faint = 1e-6

// chained is, for each leak, the largest product of shares along a chain to it
// from one of them: the nearest path where distances multiply.
func chained(links [][]link, from int) []float64 {
	best := make([]float64, len(links))
	best[from] = 1
	for open := []int{from}; len(open) > 0; {
		next := 0 // the largest of those not followed yet is final
		for k, i := range open {
			if best[i] > best[open[next]] {
				next = k
			}
		}
		i := open[next]
		open = slices.Delete(open, next, next+1)
		for _, l := range links[i] {
			if g := best[i] * l.share; g > best[l.to] && g > faint {
				if best[l.to] == 0 {
					open = append(open, l.to)
				}
				best[l.to] = g
			}
		}
	}
	return best
}
