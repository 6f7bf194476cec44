package trial

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"regexp"
	"strconv"
	"strings"

	"wraptally/estimate/trace"
)

// ErrWords is what Evaluate gives for a formula that is not arithmetic: a sum
// over things the step does not list, a sentence, a search.
var ErrWords = errors.New("not plain arithmetic")

var (
	square  = regexp.MustCompile(`([\pL_][\pL\pN_]*)²`)
	implied = regexp.MustCompile(`(^|[^\pL\pN_.])(\d+(?:\.\d+)?)([\pL_(√]|π)`)
	root    = regexp.MustCompile(`√([\pL_][\pL\pN_]*)`)
	power   = regexp.MustCompile(`(\([^()]*\))\^(\((?:[^()]|\([^()]*\))*\))`)
	named   = regexp.MustCompile(`^[\pL_][\pL\pN_]* = `)
	signs   = strings.NewReplacer("·", "*", "−", "-", "{", "(", "}", ")", "[", "(", "]", ")", "√", "sqrt")
)

// Evaluate is the value of a step's formula with the inputs printed beside it.
func Evaluate(s trace.Step) (float64, error) {
	formula := named.ReplaceAllString(s.Formula, "")
	if strings.ContainsAny(formula, "Σ≤≥=|³⁴,;") && !strings.HasPrefix(formula, "max(") && !strings.HasPrefix(formula, "min(") ||
		strings.ContainsAny(formula, "Σ≤≥=|³⁴;") {
		return 0, ErrWords
	}
	formula = power.ReplaceAllString(formula, "pow($1, $2)")
	formula = root.ReplaceAllString(formula, "√($1)")
	formula = square.ReplaceAllString(formula, "($1*$1)")
	formula = implied.ReplaceAllStringFunc(formula, func(m string) string {
		if parts := implied.FindStringSubmatch(m); parts[3] != "e" { // 1e6 is a number
			return parts[1] + parts[2] + "*" + parts[3]
		}
		return m
	})
	tree, err := parser.ParseExpr(signs.Replace(formula))
	if err != nil {
		return 0, fmt.Errorf("%w: %q", ErrWords, formula)
	}
	values := map[string]float64{"π": math.Pi}
	for _, in := range s.Inputs {
		if in.Text == "" {
			values[in.Symbol] = in.Value
		}
	}
	return value(tree, values)
}

func value(e ast.Expr, values map[string]float64) (float64, error) {
	switch e := e.(type) {
	case *ast.ParenExpr:
		return value(e.X, values)
	case *ast.BasicLit:
		return strconv.ParseFloat(e.Value, 64)
	case *ast.Ident:
		v, ok := values[e.Name]
		if !ok {
			return 0, fmt.Errorf("%q has no value among the inputs", e.Name)
		}
		return v, nil
	case *ast.UnaryExpr:
		v, err := value(e.X, values)
		return -v, err
	case *ast.BinaryExpr:
		a, err := value(e.X, values)
		if err != nil {
			return 0, err
		}
		b, err := value(e.Y, values)
		switch e.Op {
		case token.ADD:
			return a + b, err
		case token.SUB:
			return a - b, err
		case token.MUL:
			return a * b, err
		case token.QUO:
			return a / b, err
		}
		return 0, ErrWords
	case *ast.CallExpr:
		return call(e, values)
	}
	return 0, ErrWords
}

func call(e *ast.CallExpr, values map[string]float64) (float64, error) {
	name, ok := e.Fun.(*ast.Ident)
	if !ok {
		return 0, ErrWords
	}
	args := make([]float64, len(e.Args))
	for i, a := range e.Args {
		var err error
		if args[i], err = value(a, values); err != nil {
			return 0, err
		}
	}
	switch name.Name {
	case "sqrt":
		return math.Sqrt(args[0]), nil
	case "ceil":
		return math.Ceil(args[0] - 1e-9), nil // a whole number a rounding error above itself is that number
	case "exp":
		return math.Exp(args[0]), nil
	case "ln":
		return math.Log(args[0]), nil
	case "pow":
		return math.Pow(args[0], args[1]), nil
	case "max", "min":
		out := args[0]
		for _, v := range args[1:] {
			if name.Name == "max" {
				out = math.Max(out, v)
			} else {
				out = math.Min(out, v)
			}
		}
		return out, nil
	}
	return 0, fmt.Errorf("%w: function %s", ErrWords, name.Name)
}

// Near reports whether two numbers agree to a billionth of their size.
func Near(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1e-6, math.Max(math.Abs(a), math.Abs(b)))
}

// Disagrees says how a step's formula, put through Evaluate, differs from the
// value the step gives; plain is false for formulas in words. A formula that
// rounds (ceil) gives the value, any other the raw one.
func Disagrees(s trace.Step) (why string, plain bool) {
	if s.Text != "" || strings.Contains(s.Formula, " from ") { // checks, and equations solved, are the design rules' own tests
		return "", false
	}
	got, err := Evaluate(s)
	switch {
	case errors.Is(err, ErrWords):
		return "", false
	case err != nil:
		return fmt.Sprintf("%s: %v in %s", s.ID, err, s.Formula), true
	}
	want := s.Raw
	if strings.Contains(s.Formula, "ceil") {
		want = s.Value
	}
	if !Near(got, want) {
		return fmt.Sprintf("%s: %s gives %v, the step says %v (rounded %v): %v", s.ID, s.Formula, got, want, s.Value, s.Inputs), true
	}
	return "", true
}

// AtLeast reports whether a is b or more, but for a rounding error.
func AtLeast(a, b float64) bool { return a >= b-1e-6 || Near(a, b) }
