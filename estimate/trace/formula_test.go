package trace

import (
	"math"
	"testing"
)

// A formula runs as it reads, worked by hand.
func TestRuleRunsItsFormula(t *testing.T) {
	in := []Symbol{{Symbol: "a"}, {Symbol: "b_2"}, {Symbol: "ε"}}
	x := []float64{3, 5, 0.25}
	for formula, want := range map[string]float64{
		"a + b_2·ε": 4.25, "F = (a + b_2)·ε": 2, "a − b_2 − ε": -2.25, "a/b_2/ε": 2.4, "a/(b_2·ε)": 2.4, "2·a²": 18, "18/a²": 2, "a²·b_2": 45,
		"(a − b_2)²": 4, "√(a·3)": 3, "a·√4": 6, "max(a, b_2, ε)": 5, "min(a, b_2 + 1)": 3, "ceil(a/b_2)": 1, "max(1, ceil(b_2·2))": 10,
		"exp(−a + 3)": 1, "ln(1)": 0, "−a·b_2": -15, "a·1e6/1e6": 3, "π·0 + 0.5": 0.5,
	} {
		r := NewRule(Rule{ID: "test", Formula: formula, In: in})
		if got := r.Of(x...); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s = %v, want %v", formula, got, want)
		}
	}
	if r := NewRule(Rule{Formula: "F = a·ε", In: in}); r.Result != "F" {
		t.Errorf("gives %q", r.Result)
	}
	whole := NewRule(Rule{Formula: "ceil(a)", In: in})
	for v, want := range map[float64]float64{3 + 1e-10: 3, 3.001: 4, 3: 3} {
		if got := whole.Of(v, 0, 0); got != want {
			t.Errorf("ceil(%v) = %v", v, got)
		}
	}
	left, right, least := NewRule(Rule{Formula: "a + 1 ≥ b_2·ε", In: in}).Sides(x)
	if left != 4 || right != 1.25 || !least {
		t.Errorf("sides %v, %v, at least %v", left, right, least)
	}
}

// What cannot be read never becomes a rule.
func TestRuleRefuses(t *testing.T) {
	for _, formula := range []string{"", "a +", "a b", "c", "(a", "max(a", "sin(a)", "a³", "Σ a", "exp(a, a)", "−a²", "2a", "a ≤"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%q became a rule", formula)
				}
			}()
			NewRule(Rule{Formula: formula, In: []Symbol{{Symbol: "a"}}})
		}()
	}
}
