package export

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// This file holds how the storeman's sheets speak of lengths, places, masses and
// times.

// lengthText is a length with its unit, in that of the presentation.
func (b *book) lengthText(mm float64) string { return b.bareText(mm) + " " + b.lengthUnit() }

// bareText is a length without its unit. Inches are those of a rule, in sixteenths
// to the nearest; what is shorter than half an inch, a wall or a wrap, is decimal.
func (b *book) bareText(mm float64) string {
	if !b.inch() {
		return trimmed(mm, 1)
	}
	if math.Abs(mm) < mmPerInch/2 && mm != 0 {
		return trimmed(mm/mmPerInch, 3)
	}
	return sixteenths(math.Round(mm / mmPerInch * 16))
}

// atLeast is a length that must not be less, with its unit: of a piece to be cut, of
// what is laid or cleaned. Inches are rounded up.
func (b *book) atLeast(mm float64) string { return b.bareUp(mm) + " " + b.lengthUnit() }

// bareUp is such a length without its unit.
func (b *book) bareUp(mm float64) string {
	const near = 1e-9
	switch {
	case !b.inch():
		return trimmed(mm, 1)
	case math.Abs(mm) < mmPerInch/2:
		return trimmed(math.Ceil(mm/mmPerInch*1000-near)/1000, 3)
	}
	return sixteenths(math.Ceil(mm/mmPerInch*16 - near))
}

// sixteenths is a length of so many sixteenths of an inch, "26 3/8".
func sixteenths(of16 float64) string {
	n := int(of16)
	whole, part, of := n/16, n%16, 16
	for part > 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	switch {
	case part == 0:
		return strconv.Itoa(whole)
	case whole == 0:
		return fmt.Sprintf("%d/%d", part, of)
	}
	return fmt.Sprintf("%d %d/%d", whole, part, of)
}

// tempText is a temperature with its unit, in that of the presentation.
func (b *book) tempText(c float64) string { return trimmed(b.temp(c), 1) + " " + b.tempUnit() }

func (b *book) temp(c float64) float64 {
	if b.inch() {
		return c*9/5 + 32
	}
	return c
}

// warmer is a difference of temperatures.
func (b *book) warmer(c float64) string {
	if b.inch() {
		c = c * 9 / 5
	}
	return trimmed(c, 1) + " " + b.tempUnit()
}

// pressureOf is a pressure with its unit: 1 psi is the weight of a pound on a
// square inch.
func (b *book) pressureOf(mpa float64) string {
	if b.inch() {
		const standardGravity = 9.80665 // m/s², exact
		return trimmed(mpa*mmPerInch*mmPerInch/(kilogramsPerPound*standardGravity), 0) + " psi"
	}
	return trimmed(mpa, 3) + " MPa"
}

// sizeText is two lengths with one unit, "120 × 95 mm", of what must not be smaller.
func (b *book) sizeText(a, c int) string {
	return b.bareUp(float64(a)) + " × " + b.bareUp(float64(c)) + " " + b.lengthUnit()
}

// alongText says from where to where a repair reaches along its line.
func (b *book) alongText(r *scope.Repair) string {
	from, unit := b.along(r.From)
	to, _ := b.along(r.To)
	return fmt.Sprintf("%s to %s %s", trimmed(from, 3), trimmed(to, 3), unit)
}

// pipeText is the size of the pipe.
func (b *book) pipeText(r *scope.Repair) string {
	text := "OD " + b.lengthText(r.OD)
	if r.Size != "" {
		text = "size " + clip(r.Size, 12) + ", " + text
	}
	if r.Wall > 0 {
		text += ", wall " + b.lengthText(r.Wall)
		if r.Blank.Has("wall") {
			text += " " + assumed
		}
	}
	return text
}

// trimmed writes a number with at most so many decimals. A half goes away from
// zero as the number is written, as spreadsheets round it: 3.65 gives 3.7, although
// what a computer holds of it, or of a sum that gives it, lies a hair below.
func trimmed(v float64, decimals int) string {
	s := bareDecimals(decimal.NewFromFloat(v).Round(9).StringFixed(int32(decimals)))
	if s == "-0" {
		return "0"
	}
	return s
}

// bareDecimals takes off the noughts that end a number's decimals.
func bareDecimals(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// grams is a mass in whole grams.
func grams(kg float64) float64 { return math.Round(kg * 1000) }

// minutesDown is a time rounded down to whole minutes, so that nobody uses a pot
// longer than it lives.
func minutesDown(min float64) int { return int(math.Floor(min + 1e-9)) }

// marginText is how far a number is from its limit.
func (b *book) marginText(v float64, unit string) string {
	switch {
	case !b.inch():
	case unit == "MPa":
		return b.pressureOf(v)
	case unit == "°C":
		return b.warmer(v)
	case unit == "mm":
		return b.lengthText(v)
	}
	return trace.WithUnit(v, unit)
}

// measure is a number with a unit that inch mode shows otherwise, in a sentence; what
// is per something, an area or a volume, stays.
const measure = `(?:(-?\d+(?:\.\d+)?) (to|and|×) )?(-?\d+(?:\.\d+)?) (mm|MPa|°C|kg)([²³/]?)`

// measures finds them, and first the names of the catalogue, which stay as they are.
func measures(c *catalog.Catalog) *regexp.Regexp {
	var names []string
	for i := range c.Items {
		names = append(names, regexp.QuoteMeta(c.Items[i].Name))
	}
	for i := range c.Bands {
		names = append(names, regexp.QuoteMeta(c.Bands[i].Band))
	}
	for i := range c.Sheets {
		names = append(names, regexp.QuoteMeta(c.Sheets[i].Sheet))
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) })
	return regexp.MustCompile(strings.Join(append(names, measure), "|"))
}

// said is a sentence of a query or of the gate in the units of the presentation.
func (b *book) said(text string) string {
	if !b.inch() {
		return text
	}
	show := map[string]func(float64) string{"mm": b.lengthText, "MPa": b.pressureOf, "°C": b.tempText, "kg": b.massText}
	if strings.Contains(text, "differ") { // of two temperatures
		show["°C"] = b.warmer
	}
	return b.measures.ReplaceAllStringFunc(text, func(found string) string {
		part := b.measures.FindStringSubmatch(found)
		v, err := strconv.ParseFloat(part[3], 64)
		if err != nil || part[5] != "" { // a name, or per something
			return found
		}
		out := show[part[4]](v)
		if from, err := strconv.ParseFloat(part[1], 64); err == nil {
			out = show[part[4]](from) + " " + part[2] + " " + out
		}
		return out
	})
}

// minutesUp is a time rounded up to whole minutes, of what has to be waited for or
// takes so long.
func minutesUp(min float64) int { return int(math.Ceil(min - 1e-9)) }

// hoursUp is a time rounded up to whole minutes, "6 h 20 min".
func hoursUp(min float64) string {
	n := minutesUp(min)
	switch {
	case n < 60:
		return fmt.Sprintf("%d min", n)
	case n%60 == 0:
		return fmt.Sprintf("%d h", n/60)
	}
	return fmt.Sprintf("%d h %d min", n/60, n%60)
}

// clip keeps text from the survey to one line of at most n characters.
func clip(text string, n int) string {
	return table.Shorten(strings.Join(strings.Fields(legible(text)), " "), n)
}

// fitLines keeps text from a survey to so many lines of a cell so many
// characters wide.
func fitLines(text string, characters float64, lines int) string {
	text = clip(text, 1000)
	parts := table.SplitText(text, characters, lines)
	if len(parts) <= 1 {
		return text
	}
	first := []rune(strings.TrimRight(parts[0], " "))
	return string(first[:max(1, len(first)-1)]) + "…"
}

// joined are the texts of values with what stands between them.
func joined[T any](values []T, between string, text func(v T) string) string {
	parts := make([]string, len(values))
	for i, v := range values {
		parts[i] = text(v)
	}
	return strings.Join(parts, between)
}

// eachOnce are the texts of values that have one, each once, in their order.
func eachOnce[T any](values []T, text func(v T) string) (out []string) {
	for _, v := range values {
		if s := text(v); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// sum adds up amounts of values.
func sum[T any](values []T, of func(v T) decimal.Decimal) (all decimal.Decimal) {
	for _, v := range values {
		all = all.Add(of(v))
	}
	return all
}

// upTo are the places of n things.
func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// lineName is the line of a repair, "line not named" where it has no name.
func lineName(r *scope.Repair) string { return cmp.Or(r.Line, "line not named") }

// countOf is "1 batch" or "3 batches".
func countOf(n int, one, many string) string { return trace.Count(n, one, many) }
