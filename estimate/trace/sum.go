package trace

import (
	"strconv"
	"strings"
)

// Sum writes a formula of like terms, "q_1 + q_2", with its inputs.
type Sum struct {
	Inputs []Input
	terms  []string
}

// Add puts a term to the sum: a symbol, which is numbered, with its value.
func (s *Sum) Add(symbol, name string, value float64, unit string, from ...Origin) {
	s.Product(In(symbol, name, value, unit, from...))
}

// Product puts a product to the sum; the symbols of its factors are numbered
// alike.
func (s *Sum) Product(factors ...Input) {
	number := "_" + strconv.Itoa(len(s.terms)+1)
	symbols := make([]string, len(factors))
	for i := range factors {
		factors[i].Symbol += number
		symbols[i] = factors[i].Symbol
	}
	s.terms = append(s.terms, strings.Join(symbols, "·"))
	s.Inputs = append(s.Inputs, factors...)
}

// Formula is the sum in symbols; "0" of nothing.
func (s *Sum) Formula() string {
	if len(s.terms) == 0 {
		return "0"
	}
	return strings.Join(s.terms, " + ")
}
