package trace

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Rule is a rule of one formula, declared once: the formula that is printed is
// the one that runs.
//
// A formula is written as on paper. It may name what it gives, "F = …"; the rest
// is
//
//	sum      product { ("+" | "−") product }
//	product  power { ("·" | "/") power }, from left to right
//	power    ["−"] atom ["²"]
//	atom     number | π | symbol | "√" atom | function "(" sum {"," sum} ")" | "(" sum ")"
//
// with the functions max, min, exp, ln and ceil, which takes what lies within a
// billionth above a whole number as that number. A square in a product is
// multiplied twice: π·D²·P is ((π·D)·D)·P. A comparison, "c ≤ share·π·D", has a
// sum on each side, see Sides.
//
// Formulas of steps that are no Rule, where a sum goes over things that are not
// listed or an equation is solved, may hold more: Σ, other brackets and powers,
// words.
type Rule struct {
	ID      string   // stable, "takeoff.prep.area"
	Name    string   // of its step, "surface to be prepared"
	Formula string   // with the symbols
	In      []Symbol // in the order of their values
	Unit    string   // of what it gives
	Source  string

	Result string // the symbol it gives, "" where the formula does not name it

	left, right []op // right is that of a comparison
	sign        rune // '≤' or '≥' of a comparison
}

// Symbol is an input of a rule.
type Symbol struct {
	Symbol, Name, Unit string
	From               Origin // where it always comes from; Step.Knowing says the others
}

// NewRule reads the formula. A formula that cannot be read, or names what is not
// among the inputs, is a mistake in the program: it panics.
func NewRule(r Rule) *Rule {
	text := r.Formula
	if left, rest := splitFormula(text); left != "" {
		r.Result, text = left, rest
	}
	p := parser{rest: text, rule: &r}
	r.left = p.whole()
	if c := p.next(); c == '≤' || c == '≥' {
		p.took(c)
		r.sign, r.right = c, p.whole()
	}
	if p.rest != "" {
		p.fail("something else is left")
	}
	return &r
}

// Of is what the rule gives for values in the order of its inputs.
func (r *Rule) Of(x ...float64) float64 { return run(r.left, x) }

// Sides are the two sides of a comparison, and whether the left one is to be at
// least, not at most, the right one.
func (r *Rule) Sides(x []float64) (left, right float64, atLeast bool) {
	return run(r.left, x), run(r.right, x), r.sign == '≥'
}

// Step is the rule at work on values, giving v.
func (r *Rule) Step(id string, v float64, x []float64) Step {
	s := Step{ID: id, Name: r.Name, Rule: r.ID, Formula: r.Formula, Value: v, Unit: r.Unit, Source: r.Source}
	for i, in := range r.In {
		s.Inputs = append(s.Inputs, In(in.Symbol, in.Name, x[i], in.Unit))
		if in.From != (Origin{}) {
			s.Inputs[i].From = Origins{in.From}
		}
	}
	return s
}

// Knowing is the step that knows where one more of its inputs comes from.
func (s Step) Knowing(symbol string, from ...Origin) Step {
	for i := range s.Inputs {
		if s.Inputs[i].Symbol == symbol {
			s.Inputs[i].From = from
		}
	}
	return s
}

// op is one operation on a stack of numbers: '#' puts a number on it, '@' an
// input; the others are in run.
type op struct {
	do     rune
	number float64
	input  int
}

// deepest is how many numbers a formula may hold open at once.
const deepest = 16

// run carries out operations on values. It is a stack and not functions of
// functions, so that nothing is allocated.
func run(ops []op, x []float64) float64 {
	var stack [deepest]float64
	top := -1
	for i := range ops {
		o := &ops[i]
		switch o.do {
		case '#':
			top++
			stack[top] = o.number
		case '@':
			top++
			stack[top] = x[o.input]
		case 'n':
			stack[top] = -stack[top]
		case '√':
			stack[top] = math.Sqrt(stack[top])
		case 'e':
			stack[top] = math.Exp(stack[top])
		case 'l':
			stack[top] = math.Log(stack[top])
		case 'c':
			stack[top] = math.Ceil(stack[top] - 1e-9)
		default:
			top--
			stack[top] = both(o.do, stack[top], stack[top+1])
		}
	}
	return stack[0]
}

// both is an operation on two numbers.
func both(do rune, a, b float64) float64 {
	switch do {
	case '+':
		return a + b
	case '−':
		return a - b
	case '·':
		return a * b
	case '/':
		return a / b
	case '<':
		return math.Min(a, b)
	}
	return math.Max(a, b)
}

// functions are the operations by the names of the functions; those of two
// numbers take more, one after the other.
var functions = map[string]rune{"exp": 'e', "ln": 'l', "ceil": 'c', "min": '<', "max": '>'}

// parser reads a formula from left to right.
type parser struct {
	rest string
	rule *Rule
}

func (p *parser) fail(what string) {
	panic(fmt.Sprintf("rule %s: %s: %s at %q", p.rule.ID, p.rule.Formula, what, p.rest))
}

// next is the next character that is no blank, 0 at the end.
func (p *parser) next() rune {
	p.rest = strings.TrimLeft(p.rest, " ")
	if p.rest == "" {
		return 0
	}
	r, _ := utf8.DecodeRuneInString(p.rest)
	return r
}

// took takes the next character if it is that.
func (p *parser) took(r rune) bool {
	if p.next() != r {
		return false
	}
	p.rest = p.rest[utf8.RuneLen(r):]
	return true
}

// whole is a side of a formula.
func (p *parser) whole() []op {
	ops := p.sum()
	open, most := 0, 0
	for _, o := range ops {
		switch {
		case o.do == '#' || o.do == '@':
			open++
		case strings.ContainsRune("+−·/<>", o.do):
			open--
		}
		most = max(most, open)
	}
	if most > deepest {
		p.fail("too much open at once")
	}
	return ops
}

func (p *parser) sum() []op {
	ops := p.product()
	for {
		switch {
		case p.took('+'):
			ops = append(append(ops, p.product()...), op{do: '+'})
		case p.took('−'):
			ops = append(append(ops, p.product()...), op{do: '−'})
		default:
			return ops
		}
	}
}

func (p *parser) product() []op {
	ops, squared := p.power()
	if squared {
		ops = slices.Concat(ops, ops, []op{{do: '·'}})
	}
	for {
		do := p.next()
		if do != '·' && do != '/' {
			return ops
		}
		p.took(do)
		right, squared := p.power()
		switch {
		case squared && do == '·':
			ops = slices.Concat(ops, right, []op{{do: '·'}}, right)
		case squared:
			ops = slices.Concat(ops, right, right, []op{{do: '·'}})
		default:
			ops = append(ops, right...)
		}
		ops = append(ops, op{do: do})
	}
}

func (p *parser) power() (ops []op, squared bool) {
	minus := p.took('−')
	ops = p.atom()
	if squared = p.took('²'); squared && minus {
		p.fail("the sign of a square is unclear")
	}
	if minus {
		ops = append(ops, op{do: 'n'})
	}
	return ops, squared
}

func (p *parser) atom() []op {
	switch c := p.next(); {
	case p.took('('):
		ops := p.sum()
		if !p.took(')') {
			p.fail("no end of a parenthesis")
		}
		return ops
	case p.took('√'):
		return append(p.atom(), op{do: '√'})
	case c >= '0' && c <= '9':
		after := strings.TrimLeft(p.rest, "0123456789.e")
		v, err := strconv.ParseFloat(strings.TrimSuffix(p.rest, after), 64)
		if err != nil {
			p.fail("no number")
		}
		p.rest = after
		return []op{{do: '#', number: v}}
	}
	name := leadingName(p.rest)
	p.rest = p.rest[len(name):]
	switch at := slices.IndexFunc(p.rule.In, func(s Symbol) bool { return s.Symbol == name }); {
	case name == "":
		p.fail("nothing to work out")
	case p.next() == '(':
		return p.call(name)
	case at >= 0:
		return []op{{do: '@', input: at}}
	case name == "π":
		return []op{{do: '#', number: math.Pi}}
	}
	p.fail(name + " is no input")
	return nil
}

// call reads what stands in the parentheses of a function.
func (p *parser) call(name string) []op {
	do, known := functions[name]
	if !known {
		p.fail("no function " + name)
	}
	p.took('(')
	ops := p.sum()
	if do != '<' && do != '>' {
		ops = append(ops, op{do: do})
	} else {
		for p.took(',') {
			ops = append(append(ops, p.sum()...), op{do: do})
		}
	}
	if !p.took(')') {
		p.fail("no end of " + name)
	}
	return ops
}
