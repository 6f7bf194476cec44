package outside

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Programme is an integer Programme in the CPLEX LP format.
type Programme struct {
	cost   []string
	rows   []string
	bounds []string
	ints   []string
	n      int
}

// Variable adds an integer variable at a cost and gives its name.
func (p *Programme) Variable(cost int64, most int64) string {
	p.n++
	x := fmt.Sprint("x", p.n)
	p.cost = append(p.cost, fmt.Sprintf("%+d %s", cost, x))
	if most >= 0 {
		p.bounds = append(p.bounds, fmt.Sprintf("0 <= %s <= %d", x, most))
	}
	p.ints = append(p.ints, x)
	return x
}

// Row adds a condition on a sum of terms: relation is <=, >= or =.
func (p *Programme) Row(terms []string, relation string, right int64) {
	p.rows = append(p.rows, fmt.Sprintf("r%d: %s %s %d", len(p.rows)+1, strings.Join(terms, " "), relation, right))
}

// Term is a multiple of a variable.
func Term(n int64, x string) string { return fmt.Sprintf("%+d %s", n, x) }

// String is the programme in that format.
func (p *Programme) String() string {
	var b strings.Builder
	b.WriteString("Minimize\n obj: " + strings.Join(p.cost, "\n ") + "\nSubject To\n")
	for _, r := range p.rows {
		b.WriteString(" " + r + "\n")
	}
	b.WriteString("Bounds\n")
	for _, r := range p.bounds {
		b.WriteString(" " + r + "\n")
	}
	b.WriteString("Generals\n " + strings.Join(p.ints, "\n ") + "\nEnd\n")
	return b.String()
}

var (
	glpkStatus = regexp.MustCompile(`(?m)^Status:\s+(.*)$`)
	glpkValue  = regexp.MustCompile(`(?m)^Objective:\s+obj = (\S+)`)
	cbcStatus  = regexp.MustCompile(`^(\S+).*objective value (\S+)`)
)

// Solve gives the proven optimum; feasible is false where the solver proves
// that there is none.
func (p *Programme) Solve(t testing.TB, solver string) (optimum int64, feasible bool) {
	t.Helper()
	dir := t.TempDir()
	file, out := filepath.Join(dir, "p.lp"), filepath.Join(dir, "p.out")
	if err := os.WriteFile(file, []byte(p.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("glpsol", "--lp", file, "--tmlim", "20", "-o", out)
	if solver == "cbc" {
		cmd = exec.Command("cbc", file, "ratioGap", "0", "allowableGap", "0", "seconds", "20", "solve", "solution", out)
	}
	said, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", solver, err, said)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	status, value := "", ""
	if solver == "cbc" {
		if m := cbcStatus.FindStringSubmatch(string(text)); m != nil {
			status, value = m[1], m[2]
		}
	} else {
		if m := glpkStatus.FindStringSubmatch(string(text)); m != nil {
			status = m[1]
		}
		if m := glpkValue.FindStringSubmatch(string(text)); m != nil {
			value = m[1]
		}
	}
	switch status {
	case "INTEGER OPTIMAL", "Optimal":
	case "INTEGER EMPTY", "INTEGER UNDEFINED", "Infeasible", "Integer":
		return 0, false
	default:
		t.Fatalf("%s did not prove an optimum: %s\n%s", solver, status, said)
	}
	f, err := strconv.ParseFloat(value, 64)
	if err != nil || math.Abs(f-math.Round(f)) > 1e-3 {
		t.Fatalf("%s: optimum %q", solver, value)
	}
	return int64(math.Round(f)), true
}
