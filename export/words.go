package export

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// This file holds how the storeman's sheets speak of lengths, places, masses and
// times.

// lengthText is a length with its unit, in that of the presentation.
func (b *book) lengthText(mm float64) string {
	if b.inch() {
		return trimmed(b.length(mm), 2) + " in"
	}
	return trimmed(mm, 1) + " mm"
}

// sizeText is two lengths with one unit, "120 × 95 mm".
func (b *book) sizeText(a, c int) string {
	if b.inch() {
		return trimmed(b.length(float64(a)), 2) + " × " + trimmed(b.length(float64(c)), 2) + " in"
	}
	return fmt.Sprintf("%d × %d mm", a, c)
}

// mmPerFoot is exact by definition (1959).
const mmPerFoot = 304.8

// along is a place along a line in the unit of the presentation, and the unit.
func (b *book) along(mm float64) (float64, string) {
	if b.inch() {
		return mm / mmPerFoot, "ft"
	}
	return mm / 1000, "m"
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

// trimmed writes a number with at most so many decimals.
func trimmed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// grams is a mass in whole grams.
func grams(kg float64) float64 { return math.Round(kg * 1000) }

// minutesDown is a time rounded down to whole minutes, so that nobody uses a pot
// longer than it lives.
func minutesDown(min float64) int { return int(math.Floor(min + 1e-9)) }

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

// lineName is the line of a repair, "line not named" where it has no name.
func lineName(r *scope.Repair) string {
	if r.Line == "" {
		return "line not named"
	}
	return r.Line
}

// countOf is "1 batch" or "3 batches".
func countOf(n int, one, many string) string {
	return trace.Count(n, one, many)
}
