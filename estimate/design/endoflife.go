package design

// Wear is what a mechanism of damage takes off the wall in each year that the
// repair is to last.
type Wear struct {
	Rate  float64 // mm a year, r
	Years float64 // service life, y
}

var wornWall = lawOf("design.wear.wall", "remaining wall at the end of the life", "t_end = max(0, t_rem − r·y)",
	"wall at the end of the life", "mm", derived+", steady rate",
	of{"t_rem", "remaining wall today", "mm", notNegative},
	of{"r", "corrosion rate", "mm/year", notNegative},
	of{"y", "service life", "years", positive})

// Wall is the remaining wall at the end of the life,
//
//	t_end = max(0, t_rem − r·y)
//
// t_rem today in mm, r in mm a year, y in years. Errors: *InputError. Source:
// derived, steady rate.
func (r Wear) Wall(tRem float64, w *Working) (float64, error) {
	return wornWall.on(tRem, r.Rate, r.Years).value(w)
}

var wornHole = lawOf("design.wear.hole", "size of the leak at the end of the life", "d_end = d + 2·r·y",
	"size of the leak at the end of the life", "mm", derived+", steady rate at both edges",
	of{"d", "size of the leak today", "mm", notNegative},
	of{"r", "corrosion rate", "mm/year", notNegative},
	of{"y", "service life", "years", positive})

// Hole is the size of a leak at the end of the life, which grows at both edges,
//
//	d_end = d + 2·r·y
//
// d today in mm. Errors: *InputError. Source: derived, steady rate.
func (r Wear) Hole(d float64, w *Working) (float64, error) {
	return wornHole.on(d, r.Rate, r.Years).value(w)
}
