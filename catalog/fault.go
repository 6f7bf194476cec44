package catalog

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// Faults is the error of a catalogue that was refused: every fault with the
// file, line and column where it stands, in that order.
type Faults struct {
	Subject string        // what was refused; empty: the catalogue
	List    []trace.Query // sorted by place; at most maxFaults
	Total   int           // all that were found

	notes []trace.Query // worth knowing, no reason to refuse
}

const (
	maxFaults   = 1000 // kept
	shownFaults = 20   // printed
)

// Error lists the first faults one a line and counts the rest.
func (f *Faults) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s is refused: %s", cmp.Or(f.Subject, "the catalogue"), count(f.Total, "fault"))
	for i, q := range f.List {
		if i == shownFaults {
			break
		}
		b.WriteString("\n  ")
		b.WriteString(q.String())
	}
	if more := f.Total - min(len(f.List), shownFaults); more > 0 {
		fmt.Fprintf(&b, "\n  and %d more", more)
	}
	return b.String()
}

// add records one fault.
func (f *Faults) add(place trace.Place, code, found, message, advice string) {
	f.Total++
	if f.Total > 50*maxFaults {
		return
	}
	f.List = append(f.List, query(trace.Stop, place, code, found, message, advice))
}

// note records what is worth knowing but no fault.
func (f *Faults) note(place trace.Place, code, found, message, advice string) {
	f.notes = append(f.notes, query(trace.Note, place, code, found, message, advice))
}

func query(severity trace.Severity, place trace.Place, code, found, message, advice string) trace.Query {
	return trace.Query{Code: code, Severity: severity, Place: place, Found: clip(found), Message: message, Advice: advice}
}

// err is nil where nothing was found, else the faults sorted and capped.
func (f *Faults) err() error {
	if f.Total == 0 {
		return nil
	}
	sortQueries(f.List)
	if len(f.List) > maxFaults {
		f.List = f.List[:maxFaults:maxFaults]
	}
	return f
}

// sortQueries puts queries in the order of their places.
func sortQueries(list []trace.Query) {
	slices.SortStableFunc(list, func(a, b trace.Query) int {
		return cmp.Or(
			cmp.Compare(a.Place.File, b.Place.File),
			cmp.Compare(a.Place.Sheet, b.Place.Sheet),
			cmp.Compare(a.Place.Line, b.Place.Line),
			cmp.Compare(a.Place.Column, b.Place.Column),
			cmp.Compare(a.Code, b.Code),
			cmp.Compare(a.Message, b.Message),
		)
	})
}

// count is "1 fault" or "3 faults".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// clip shortens a cell for a message.
func clip(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}

// nearest gives the word of the list most like the one written, or "" where
// none is close: at most a third of its letters may differ.
func nearest(written string, words []string) string {
	best, bestAt := "", len([]rune(written))/3+1
	for _, w := range words {
		if d := Distance(strings.ToLower(written), strings.ToLower(w), bestAt); d < bestAt {
			best, bestAt = w, d
		}
	}
	return best
}

// meant is the advice for a word that is not in a list: the nearest one of it,
// or what to do where none is near.
func meant(written string, words []string, otherwise string) string {
	if near := nearest(written, words); near != "" {
		return fmt.Sprintf("is %q meant?", near)
	}
	return otherwise
}

// Distance is the least number of letters put in, left out or changed that
// turns a into b; the work stops where it can no longer be under limit.
func Distance(a, b string, limit int) int {
	ra, rb := []rune(a), []rune(b)
	if d := len(ra) - len(rb); d >= limit || -d >= limit {
		return limit
	}
	prev := make([]int, len(rb)+1)
	for j := range prev {
		prev[j] = j
	}
	for i, x := range ra {
		diagonal := prev[0]
		prev[0] = i + 1
		for j, y := range rb {
			change := diagonal
			if x != y {
				change++
			}
			diagonal = prev[j+1]
			prev[j+1] = min(change, prev[j]+1, prev[j+1]+1)
		}
	}
	return prev[len(rb)]
}
