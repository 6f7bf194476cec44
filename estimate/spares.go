package estimate

import (
	"fmt"
	"math"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Spare is what a crew gets beside its kits to seal leaks again where an attempt
// failed: as many spare sealing sets as the setting set.spares says, each able to
// seal any one of the crew's leaks. Neither tools, consumables nor time go with it.
type Spare struct {
	Crew   int
	With   int         // place of the job with whose kit it goes out
	Sets   int         // how many alike
	Pieces []kit.Piece // of all sets; sticks and fasteners are issues

	set kit.Spare // one of them
}

// spares are the spare sealing sets of the crews that have leaks.
func spares(jobs []Job, m *means) (out []Spare) {
	n := m.Settings.Spares
	crews := map[int][]*scope.Repair{}
	last := 0
	for i := range jobs {
		if j := &jobs[i]; n > 0 && j.Repair.Leaking {
			crews[j.Crew] = append(crews[j.Crew], j.Repair)
			last = max(last, j.Crew)
		}
	}
	with := goesWith(jobs)
	for crew := 1; crew <= last; crew++ {
		if len(crews[crew]) == 0 {
			continue
		}
		s := Spare{Crew: crew, With: with(crew, 0), Sets: n}
		for i := range n {
			s.set = m.Spare(spareName(crew, i+1), crews[crew])
			for _, piece := range s.set.Pieces {
				piece.Set = 0 // of no kit
				s.Pieces = append(s.Pieces, piece.Piece)
			}
		}
		out = append(out, s)
	}
	return out
}

// spareName labels the pieces of a spare sealing set of a crew. Those of a kit
// have the number of a set, "-S1-", where it has "-SPARE1-".
func spareName(crew, set int) string { return fmt.Sprintf("CREW%d-SPARE%d", crew, set) }

// Of is how many of an item all spare sets of the crew hold; whole in each set.
func (s *Spare) Of(code string) float64 {
	for _, x := range s.set.Items {
		if x.Item.Code == code {
			return float64(s.Sets) * math.Ceil(x.Most-1e-9)
		}
	}
	return 0
}

// spareOf is how many of an item are spare in an issue to a crew or the campaign.
func (p *Plan) spareOf(is Issue, it *catalog.Item) (n float64) {
	for i := range p.Spares {
		if s := &p.Spares[i]; is.Shift == 0 && (is.Crew == s.Crew || is.Crew == 0) {
			n += s.Of(it.Code)
		}
	}
	return n
}

// SpareID is the step of a piece of the spare sealing sets of a crew, without the
// campaign's prefix.
func (s *Spare) SpareID(n int) string {
	return fmt.Sprintf("spare/crew%d/%s", s.Crew, s.set.Pieces[n%len(s.set.Pieces)].Label[len(spareName(s.Crew, s.Sets))+1:])
}

// spareSteps say how large the pieces of the spare sets are, and after which leak.
func (p *Campaign) spareSteps(log *trace.Log) {
	for i := range p.Spares {
		s := &p.Spares[i]
		for n, piece := range s.set.Pieces {
			from := trace.Words("several of its leaks together")
			if piece.Asks != "" {
				from = trace.Words(fmt.Sprintf("set %d of %s", piece.Set, piece.Asks))
			}
			add := func(id, name, symbol string, v int) {
				log.Put(trace.Step{
					ID: id, Name: fmt.Sprintf("%s, spare of crew %d, %s", piece.Stock, s.Crew, name), Rule: "campaign.spare." + piece.Kind, Formula: symbol,
					Inputs: []trace.Input{trace.In(symbol, "the most that one of the crew's leaks asks for", float64(v), "mm", from)},
					Value:  float64(v), Unit: "mm", Source: "common practice, no source",
				})
			}
			if piece.Kind == "band" {
				add(s.SpareID(n), "strip", "l", piece.A)
				continue
			}
			add(s.SpareID(n)+"/along", "sheet along the pipe", "a", piece.A)
			add(s.SpareID(n)+"/round", "sheet round the pipe", "c", piece.C)
		}
	}
}

// spareInput is what the spare sealing sets add to an issue.
func spareInput(n float64, unit string) trace.Input {
	return trace.In("s", "spare sealing sets of the crews, whole in each", n, unit, trace.Setting("set.spares"), trace.Words("times the most that one of a crew's leaks takes"))
}
