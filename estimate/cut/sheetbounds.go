package cut

// sheetWorths is a set of integer worths by plate, with the most that one board
// of each kind can hold: a lower bound in the making.
type sheetWorths struct {
	method SheetMethod
	grid   int
	y      []int64
	k      []int64 // by board
}

// areaWorths makes each piece worth its area, a kerf along two sides included.
func (p *sheetProblem) areaWorths() sheetWorths {
	v := sheetWorths{method: ByAreaOf}
	for _, pl := range p.plates {
		v.y = append(v.y, pl.area)
	}
	v.k = make([]int64, len(p.boards))
	for b := range p.boards {
		v.k[b] = int64(p.boards[b].w) * int64(p.boards[b].h)
	}
	return v
}

// programmes holds the guillotine programmes of all boards for a bound.
type programmes struct {
	grid   int
	exact  bool
	boards []*guillotine
	steps  int64
}

// programmes prepares the finest guillotine programmes that solve within a
// number of steps; ok is false where even a coarse grid does not.
func (p *sheetProblem) programmes(limit int64) (pr programmes, ok bool) {
	fine := p.fineGrid()
	for grid, try := fine, 0; try < 40; try++ {
		pr = programmes{grid: grid, exact: grid == fine}
		sound := true
		for b := range p.boards {
			g := p.newGuillotine(b, grid, 0)
			sound = sound && g.valid()
			pr.boards = append(pr.boards, g)
			pr.steps += g.steps()
		}
		if !sound {
			return pr, false
		}
		if pr.steps <= limit {
			return pr, true
		}
		if grid == fine && fine > 1 {
			grid = fine + 1
		} else {
			grid++
		}
	}
	return pr, false
}

// fineGrid is the largest step that loses nothing: it divides all sides.
func (p *sheetProblem) fineGrid() int {
	fine := 0
	for _, w := range p.ways {
		fine = gcd(gcd(fine, w.w), w.h)
	}
	return fine
}

// worths are the integer worths that duals give, with K by the guillotine
// programmes.
func (pr programmes) worths(p *sheetProblem, y []float64) sheetWorths {
	scale := float64(1 << 32)
	value := 0.0
	for i := range y {
		value += y[i] * float64(p.plates[i].d)
	}
	for scale*(value+1) > 1<<60 {
		scale /= 2
	}
	v := sheetWorths{method: ByPatterns, grid: pr.grid, y: make([]int64, len(y))}
	for i := range y {
		v.y[i] = int64(y[i] * scale)
	}
	for _, g := range pr.boards {
		v.k = append(v.k, g.solve(v.y))
	}
	return v
}
