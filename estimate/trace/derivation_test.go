package trace

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

func TestSubstitute(t *testing.T) {
	in := []Input{
		In("D", "", 168.3, "mm"), In("D_p", "", 170, "mm"), In("t", "", 7.11, "mm"),
		In("t_ply", "", 0.35, "mm"), In("d", "", 10, "mm"), In("P", "", 2, "MPa"),
		In("P_s", "", -1.5, "MPa"), In("ν", "", 0.3, ""), In("ε_a", "", 0.0025, ""), In("k", "", 1e-9, ""),
		InText("grade", "", "wet"), In("a1", "", 3, ""), In("x₁", "", 4, ""), In("D", "", 999, "mm"),
	}
	for formula, want := range map[string]string{
		"D·t":                         "168.3·7.11",
		"π·D_p/D":                     "π·170/168.3",
		"t_ply·t":                     "0.35·7.11",
		"3d⁴/(512t³)":                 "3·10⁴/(512·7.11³)",
		"(1−ν²)":                      "(1−0.3²)",
		"P − P_s":                     "2 − (-1.5)",
		"P_s²":                        "(-1.5)²",
		"max(P_s, P_s)":               "max(-1.5, -1.5)",
		"|P_s·k|":                     "|-1.5·1e-09|",
		"P_s/2 ≤ P_s":                 "-1.5/2 ≤ -1.5",
		"k²":                          "(1e-09)²",
		"max(D, t)":                   "max(168.3, 7.11)",
		"t(P)":                        "t(2)",
		"ε_a·a1":                      "0.0025·3",
		"a1·x₁":                       "3·4",
		"k·d":                         "1e-09·10",
		"grade is d":                  "grade is 10",
		"unknown·D2":                  "unknown·D2",
		"(D)d":                        "(168.3)·10",
		"√{D}":                        "√{168.3}",
		"2.5·√(D·t/2)":                "2.5·√(168.3·7.11/2)",
		"|d|":                         "|10|",
		"dⁿ":                          "10ⁿ",
		"":                            "",
		"\xff·D":                      "\xff·168.3",
		"d·2":                         "10·2",
		"d2":                          "d2",
		"ceil(t/t_ply)":               "ceil(7.11/0.35)",
		"L_over = D":                  "L_over = 168.3",
		"P·D/2 − s·t_rem":             "2·168.3/2 − s·t_rem",
		"D d":                         "168.3 10",
		"t_wrap from P = t/d, solved": "t_wrap from 2 = 7.11/10, solved",
	} {
		if got := Substitute(formula, in); got != want {
			t.Errorf("Substitute(%q) = %q, want %q", formula, got, want)
		}
	}
}

// A symbol in no input is left alone whatever is around it, and every symbol of
// a formula that is an input goes.
func TestSubstituteProperty(t *testing.T) {
	names := []string{"D", "D_p", "d", "t", "t_ply", "t_wrap", "P", "P_s", "ν", "ε", "ε_a", "E_ac"}
	rapid.Check(t, func(t *rapid.T) {
		picked := rapid.SliceOfN(rapid.SampledFrom(names), 1, 8).Draw(t, "symbols")
		known := map[string]bool{}
		var inputs []Input
		for _, n := range names {
			if rapid.Bool().Draw(t, n) {
				known[n] = true
				inputs = append(inputs, In(n, "", 7, ""))
			}
		}
		want := make([]string, len(picked))
		for i, n := range picked {
			want[i] = n
			if known[n] {
				want[i] = "7"
			}
		}
		if got := Substitute(strings.Join(picked, "·"), inputs); got != strings.Join(want, "·") {
			t.Fatalf("%v with %v known: %q", picked, known, got)
		}
	})
}

var paperSteps = []Step{
	{
		ID: "R0001/reach", Name: "reach on each side of the defect", Rule: "r",
		Formula: "L_over = max(L_min, run_out, k·√(D·t/n))",
		Inputs: []Input{
			In("L_min", "minimum reach", 50, "mm", Setting("reach_min")), In("run_out", "run-out", 0, "mm", Setting("run_out")),
			In("k", "factor of the edition", 2.5, ""), In("D", "outside diameter", 168.3, "mm", Survey),
			In("t", "wall", 7.11, "mm", Table("pipes", "NPS 6")), In("n", "divisor of the edition", 2, ""),
		},
		Raw: 61.1498, Value: 61.1498, Unit: "mm", Source: "a standard; verified: no", Leans: []string{"wall-standard"},
	},
	{
		ID: "R0001/length", Name: "repair length", Formula: "L_def + 2·(L_over + L_taper)",
		Inputs: []Input{
			In("L_def", "length of the defect", 60, "mm"), In("L_over", "reach", 61.1498, "mm"),
			In("L_taper", "taper", 30, "mm"),
		},
		Raw: 242.2996, Value: 245, Unit: "mm", Rounding: "up to a multiple of 5 mm", Source: "derived",
	},
	{
		ID: "R0001/hole", Name: "wrap thickness over the hole", Formula: "t_wrap from P = f·√(γ/d)",
		Inputs: []Input{In("P", "pressure", 2, "MPa"), In("f", "factor", 0.333, ""), In("γ", "energy", 150, "J/m²"), In("d", "hole", 25, "mm")},
		Raw:    4.512, Value: 4.512, Unit: "mm",
	},
	{
		ID: "R0001/limit", Name: "check", Formula: "t_wrap ≤ D/6", Text: "passed",
		Inputs: []Input{In("t_wrap", "wrap", 5, "mm"), In("D", "diameter", 60, "mm")},
	},
	{ID: "R0001/grade", Name: "grade of sealant", Inputs: []Input{InText("surface", "surface", "wet", Survey)}, Text: "wet grade"},
}

const paperText = `R0001/reach: reach on each side of the defect
  L_over = max(L_min, run_out, k·√(D·t/n))
         = max(50, 0, 2.5·√(168.3·7.11/2))
         = 61.15 mm
  with    L_min    50 mm     minimum reach, from setting reach_min
          run_out  0 mm      run-out, from setting run_out
          k        2.5       factor of the edition
          D        168.3 mm  outside diameter, from survey
          t        7.11 mm   wall, from pipes NPS 6
          n        2         divisor of the edition
  source  a standard; verified: no
  assumes wall-standard

R0001/length: repair length
  = L_def + 2·(L_over + L_taper)
  = 60 + 2·(61.15 + 30)
  = 242.3 mm → 245 mm
  with    L_def    60 mm     length of the defect
          L_over   61.15 mm  reach
          L_taper  30 mm     taper
  rounded up to a multiple of 5 mm
  source  derived

R0001/hole: wrap thickness over the hole
  t_wrap from P = f·√(γ/d)
  t_wrap from 2 = 0.333·√(150/25)
  gives 4.512 mm
  with    P  2 MPa     pressure
          f  0.333     factor
          γ  150 J/m²  energy
          d  25 mm     hole

R0001/limit: check
  t_wrap ≤ D/6
  5 ≤ 60/6
  passed
  with    t_wrap  5 mm   wrap
          D       60 mm  diameter

R0001/grade: grade of sealant
  = wet grade
  with    surface  wet  surface, from survey
`

func TestWriteText(t *testing.T) {
	var b bytes.Buffer
	if err := WriteText(&b, paperSteps, 80); err != nil {
		t.Fatal(err)
	}
	if b.String() != paperText {
		t.Errorf("got\n%s\nwant\n%s", b.String(), paperText)
	}
}

// No line is wider than asked for, whatever the steps hold, and no word is lost.
func TestWriteTextWidth(t *testing.T) {
	text := rapid.StringN(0, 200, -1)
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(40, 120).Draw(t, "width")
		s := Step{
			ID: text.Draw(t, "id"), Name: text.Draw(t, "name"), Formula: text.Draw(t, "formula"),
			Source: text.Draw(t, "source"), Rounding: text.Draw(t, "rounding"), Unit: text.Draw(t, "unit"),
			Value:  rapid.Float64().Draw(t, "value"),
			Inputs: []Input{In(text.Draw(t, "symbol"), text.Draw(t, "meaning"), 1, text.Draw(t, "u"), Words(text.Draw(t, "from")))},
			Leans:  []string{text.Draw(t, "leans")},
		}
		var b bytes.Buffer
		if err := WriteText(&b, []Step{s}, width); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if n := utf8.RuneCountInString(line); n > width {
				t.Fatalf("%d columns of %d: %q", n, width, line)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if !strings.Contains(squeeze(b.String()), squeeze(clean(s.Source))) {
			t.Fatalf("the source is cut: %q", b.String())
		}
	})
}

func TestWriteMarkdown(t *testing.T) {
	steps := []Step{paperSteps[1]}
	steps[0].Inputs = []Input{In("L_def", "a|b", 60, "mm", Words("file <x>\n# no heading"))}
	var b bytes.Buffer
	if err := WriteMarkdown(&b, steps); err != nil {
		t.Fatal(err)
	}
	want := "### R0001/length: repair length\n\n" +
		"```text\n= L_def + 2·(L_over + L_taper)\n= 60 + 2·(L_over + L_taper)\n= 242.3 mm → 245 mm\n```\n\n" +
		"| symbol | value | meaning | from |\n|---|---:|---|---|\n" +
		"| L\\_def | 60 mm | a\\|b | file &lt;x&gt; \\# no heading |\n\n" +
		"- Rounded: up to a multiple of 5 mm\n- Source: derived\n"
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteErrors(t *testing.T) {
	if err := WriteText(brokenWriter{}, paperSteps, 80); err == nil {
		t.Error("WriteText hides a write error")
	}
	if err := WriteMarkdown(brokenWriter{}, paperSteps); err == nil {
		t.Error("WriteMarkdown hides a write error")
	}
}
