package audit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// expression is a formula that has been read.
type expression func(values map[string]float64) (float64, error)

// statement is what a printed formula says.
type statement struct {
	value  expression   // of an expression, or of the right side of an equation
	solved string       // "t from P = …": the name that was solved for
	known  string       // and the name whose value the right side must give
	chain  []expression // of a comparison: its sides
	signs  []rune       // and the signs between them
}

// read reads a printed formula.
func read(text string) (*statement, error) {
	s := &statement{}
	if name, rest, ok := strings.Cut(text, " from "); ok && isName(name) {
		known, right, ok := strings.Cut(rest, " = ")
		if !ok || !isName(known) {
			return nil, fmt.Errorf("no equation stands behind %q", "from")
		}
		s.solved, s.known, text = name, known, right
	} else if name, right, ok := strings.Cut(text, " = "); ok && isName(name) {
		text = right
	}
	p := &parser{text: []rune(text)}
	first, err := p.sum()
	if err != nil {
		return nil, err
	}
	for strings.ContainsRune("≤≥<>", p.peek()) && p.peek() != 0 {
		s.signs = append(s.signs, p.next())
		side, err := p.sum()
		if err != nil {
			return nil, err
		}
		s.chain = append(s.chain, side)
	}
	if p.peek() != 0 {
		return nil, fmt.Errorf("%q cannot be read", string(p.text[p.at:]))
	}
	if len(s.chain) > 0 {
		s.chain = append([]expression{first}, s.chain...)
	} else {
		s.value = first
	}
	return s, nil
}

// reader reads each formula once; a run prints the same few hundred many times.
type reader struct{ known map[string]*statement }

func (r *reader) read(text string) (*statement, error) {
	if s, ok := r.known[text]; ok {
		return s, nil
	}
	s, err := read(text)
	if err == nil {
		r.known[text] = s
	}
	return s, err
}

func isName(s string) bool {
	for i, r := range s {
		if !unicode.IsLetter(r) && (i == 0 || !inName(r)) {
			return false
		}
	}
	return s != ""
}

func inName(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' }

// holds tells whether the comparison is true.
func (s *statement) holds(values map[string]float64) (bool, error) {
	left, err := s.chain[0](values)
	if err != nil {
		return false, err
	}
	for i, sign := range s.signs {
		right, err := s.chain[i+1](values)
		if err != nil {
			return false, err
		}
		ok := map[rune]bool{'≤': left <= right, '≥': left >= right, '<': left < right, '>': left > right}[sign]
		if !ok {
			return false, nil
		}
		left = right
	}
	return true, nil
}

// parser reads from left to right; each of its methods reads what binds tighter
// than the one before.
type parser struct {
	text []rune
	at   int
}

// peek is the next rune that is no space; 0 at the end.
func (p *parser) peek() rune {
	for p.at < len(p.text) && unicode.IsSpace(p.text[p.at]) {
		p.at++
	}
	if p.at == len(p.text) {
		return 0
	}
	return p.text[p.at]
}

func (p *parser) next() rune {
	r := p.peek()
	if r != 0 {
		p.at++
	}
	return r
}

func (p *parser) sum() (expression, error) {
	return p.series(p.product, map[rune]func(a, b float64) float64{
		'+': func(a, b float64) float64 { return a + b },
		'−': func(a, b float64) float64 { return a - b },
	})
}

func (p *parser) product() (expression, error) {
	return p.series(p.power, map[rune]func(a, b float64) float64{
		'·': func(a, b float64) float64 { return a * b },
		'/': func(a, b float64) float64 { return a / b },
	})
}

// series reads parts joined by signs of one rank, from the left.
func (p *parser) series(part func() (expression, error), signs map[rune]func(a, b float64) float64) (expression, error) {
	left, err := part()
	for err == nil && signs[p.peek()] != nil {
		join, before := signs[p.next()], left
		var right expression
		if right, err = part(); err != nil {
			break
		}
		left = func(v map[string]float64) (float64, error) {
			a, err := before(v)
			if err != nil {
				return 0, err
			}
			b, err := right(v)
			return join(a, b), err
		}
	}
	return left, err
}

func (p *parser) power() (expression, error) {
	base, err := p.primary()
	if err != nil {
		return nil, err
	}
	exponent := map[rune]float64{'²': 2, '³': 3, '⁴': 4}[p.peek()]
	if exponent == 0 {
		return base, nil
	}
	p.next()
	return of(base, func(x float64) float64 { return math.Pow(x, exponent) }), nil
}

// of applies a function to an expression.
func of(inner expression, f func(float64) float64) expression {
	return func(v map[string]float64) (float64, error) {
		x, err := inner(v)
		return f(x), err
	}
}

var brackets = map[rune]rune{'(': ')', '[': ']', '{': '}', '|': '|'}

func (p *parser) primary() (expression, error) {
	r := p.peek()
	switch {
	case r == '√':
		p.next()
		inner, err := p.primary()
		return of(inner, math.Sqrt), err
	case r == 'Σ':
		p.next()
		return p.product() // the printed input is the sum
	case r == '−':
		p.next()
		inner, err := p.power()
		return of(inner, func(x float64) float64 { return -x }), err
	case brackets[r] != 0:
		inner, err := p.bracket()
		if err == nil && r == '|' {
			inner = of(inner, math.Abs)
		}
		return inner, err
	case unicode.IsDigit(r):
		return p.number()
	case unicode.IsLetter(r):
		return p.name()
	}
	return nil, fmt.Errorf("a quantity is missing before %q", string(p.text[p.at:]))
}

// bracket reads an expression between brackets.
func (p *parser) bracket() (expression, error) {
	end := brackets[p.next()]
	inner, err := p.sum()
	if err == nil && p.next() != end {
		err = fmt.Errorf("a bracket is not closed")
	}
	return inner, err
}

func (p *parser) number() (expression, error) {
	start := p.at
	for p.at < len(p.text) && (unicode.IsDigit(p.text[p.at]) || p.text[p.at] == '.' || p.text[p.at] == 'e') {
		p.at++
	}
	n, err := strconv.ParseFloat(string(p.text[start:p.at]), 64)
	return func(map[string]float64) (float64, error) { return n, nil }, err
}

// name reads a name, or a function and its arguments.
func (p *parser) name() (expression, error) {
	start := p.at
	for p.at < len(p.text) && inName(p.text[p.at]) {
		p.at++
	}
	name := string(p.text[start:p.at])
	if f := functions[name]; f != nil && p.peek() == '(' {
		return p.call(f)
	}
	if name == "π" {
		return func(map[string]float64) (float64, error) { return math.Pi, nil }, nil
	}
	return func(v map[string]float64) (float64, error) {
		x, ok := v[name]
		if !ok {
			return 0, fmt.Errorf("%s is not among the inputs", name)
		}
		return x, nil
	}, nil
}

// functions by name; those of several arguments take them two by two.
var functions = map[string]func(a, b float64) float64{
	"max":   math.Max,
	"min":   math.Min,
	"ceil":  func(a, _ float64) float64 { return math.Ceil(a) },
	"floor": func(a, _ float64) float64 { return math.Floor(a) },
	"exp":   func(a, _ float64) float64 { return math.Exp(a) },
	"ln":    func(a, _ float64) float64 { return math.Log(a) },
}

func (p *parser) call(f func(a, b float64) float64) (expression, error) {
	p.next() // the bracket
	var args []expression
	for {
		arg, err := p.sum()
		if err != nil {
			return nil, err
		}
		args = append(args, arg)
		switch p.next() {
		case ',':
			continue
		case ')':
		default:
			return nil, fmt.Errorf("a bracket is not closed")
		}
		break
	}
	return func(v map[string]float64) (float64, error) {
		x, err := args[0](v)
		if len(args) == 1 {
			return f(x, x), err
		}
		for _, arg := range args[1:] {
			if err != nil {
				return 0, err
			}
			var y float64
			y, err = arg(v)
			x = f(x, y)
		}
		return x, err
	}, nil
}
