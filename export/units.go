package export

import (
	"wraptally/export/draw"
	"wraptally/export/table"
)

// units are the units of a presentation: each is so many millimetres or kilograms.
type units struct {
	length, along, mass draw.Scale
	area                draw.Scale // mm²
	temp                string
	lengths, fine       table.Format // of lengths along the pipe, and of diameters and thicknesses, which are measured finer
	massPlaces          int          // in a sentence
}

// Exact by definition (1959).
const (
	mmPerInch         = 25.4
	mmPerFoot         = 304.8
	kilogramsPerPound = 0.45359237
)

var (
	metric = units{
		length: draw.Scale{Per: 1, Unit: "mm"}, along: draw.Scale{Per: 1000, Unit: "m"}, mass: draw.Scale{Per: 1, Unit: "kg"}, area: draw.Scale{Per: 1e6, Unit: "m²"},
		temp: "°C", lengths: table.Number(0), fine: table.Number(1), massPlaces: 3,
	}
	imperial = units{
		length: draw.Scale{Per: mmPerInch, Unit: "in"}, along: draw.Scale{Per: mmPerFoot, Unit: "ft"}, mass: draw.Scale{Per: kilogramsPerPound, Unit: "lb"},
		area: draw.Scale{Per: mmPerFoot * mmPerFoot, Unit: "ft²"},
		temp: "°F", lengths: table.Number(2), fine: table.Number(3), massPlaces: 2,
	}
)

// inch reports whether lengths are shown in inches.
func (b *book) inch() bool { return b.p.Catalog.Settings.Units == "inch" }

func (b *book) units() *units {
	if b.inch() {
		return &imperial
	}
	return &metric
}

// length and mass are in the unit of the presentation.
func (b *book) length(mm float64) float64 { return mm / b.units().length.Per }
func (b *book) mass(kg float64) float64   { return kg / b.units().mass.Per }

func (b *book) lengthUnit() string { return b.units().length.Unit }
func (b *book) massUnit() string   { return b.units().mass.Unit }
func (b *book) tempUnit() string   { return b.units().temp }

// along is a place along a line in the unit of the presentation, and the unit.
func (b *book) along(mm float64) (float64, string) {
	u := b.units().along
	return mm / u.Per, u.Unit
}

// massText is a mass with its unit.
func (b *book) massText(kg float64) string {
	return trimmed(b.mass(kg), b.units().massPlaces) + " " + b.massUnit()
}
