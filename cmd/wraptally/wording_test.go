package main

import (
	"bytes"
	"encoding/csv"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// twice finds what is said two times in one line of the program: a word, a value
// that "is" itself, a value with two units, or a clause of three words or more.
// Quoted text is the user's own.
func twice(line string) string {
	line = regexp.MustCompile(`"[^"]*"|--(set|map) \S+|no time to use a batch at .*? to be left`).ReplaceAllString(line, "…") // several putties may have no time
	words := strings.Fields(line)
	for i, w := range words {
		words[i] = strings.TrimRight(w, ",;:.")
	}
	for i := range words[:max(0, len(words)-1)] {
		if w := words[i]; w == words[i+1] && w != "…" && w != "|" {
			return w + " " + w
		}
		for n := 1; n <= 3 && i+2*n < len(words); n++ {
			if words[i+n] == "is" && slices.Equal(words[i:i+n], words[i+n+1:i+2*n+1]) {
				return strings.Join(words[i:i+2*n+1], " ")
			}
		}
	}
	if s := regexp.MustCompile(`[\d.]+ (in|ft|psi|bar|kPa|°F|%) (mm|m|MPa|°C)\b`).FindString(line); s != "" {
		return s
	}
	seen := map[string]bool{}
	for _, clause := range regexp.MustCompile(`[;:,()]`).Split(line, -1) {
		clause = strings.Join(strings.Fields(strings.Trim(clause, " .…")), " ")
		if strings.Count(clause, " ") >= 2 && seen[clause] {
			return clause
		}
		seen[clause] = true
	}
	return ""
}

// TestNothingIsSaidTwice takes cells that cannot be right through the program,
// field by field, and values for all rows in other units: every line of what it
// says is looked through for what is said twice, and every query that stops or
// asks says what to do.
func TestNothingIsSaidTwice(t *testing.T) {
	for line, want := range map[string]string{
		"where the survey gives no od, 24 in mm is taken": "24 in mm", "0.25 mm is 0.25 mm, outside": "0.25 mm is 0.25 mm", "give the the value": "the the",
		"a.csv:2: stop: correct the wall of it; correct the wall of it": "correct the wall of it", "the row names 2 in; 50.8 mm": "",
	} {
		if got := twice(line); got != want {
			t.Errorf("%q: %q, want %q", line, got, want)
		}
	}
	t.Chdir(t.TempDir())
	sound := map[string]string{"line": "L1", "chainage_m": "1", "od_mm": "168.3", "wall_mm": "7.11", "axial_mm": "40", "circ_mm": "30", "leaking": "no"}
	bad := []string{"x", "-3", "0", "0.25", "1e9", "1,234", "1/3", "12 psi", "3 in", "120 %", "?", "#REF!", "=1+1", "31/31/2027", "1700-01-01", "25:70", "yes", "99"}
	look := func(args ...string) {
		var out, errOut bytes.Buffer
		run(append([]string{"check", "s.csv", "--most", "1000"}, args...), &out, &errOut)
		for line := range strings.Lines(out.String() + errOut.String()) {
			if strings.HasPrefix(line, "not in the survey") || strings.HasPrefix(line, "  ") {
				continue
			}
			if said := twice(line); said != "" {
				t.Errorf("%v says %q twice: %s", args, said, line)
			}
			query := strings.Contains(line, ": ask: ") || strings.Contains(line, ": stop: ")
			if query && !strings.Contains(line, "; ") {
				t.Errorf("%v: nothing says what to do: %s", args, line)
			}
		}
	}
	for n, f := range survey.Fields() {
		heads := []string{f.Heading}
		for h := range sound {
			if h != f.Heading {
				heads = append(heads, h)
			}
		}
		slices.Sort(heads[1:])
		rows := [][]string{heads}
		for _, b := range bad {
			row := []string{b}
			for _, h := range heads[1:] {
				row = append(row, sound[h])
			}
			rows = append(rows, row)
		}
		var text bytes.Buffer
		if err := csv.NewWriter(&text).WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("s.csv", text.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		look("--set", "check.whole_rows=0")
		if f.Kind == survey.KindNumber {
			look("--map", f.Key+"="+f.Heading+" [in]", "--set", "check.whole_rows=0")
		}
		rows[0][0] = "nothing"
		text.Reset()
		if err := csv.NewWriter(&text).WriteAll(rows[:2]); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("s.csv", text.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		for i, b := range []string{"x", "-3", "0.25", "yes", "24 in", "145 psi", "100 °F", "ask"} {
			if (n+i)%depth.Of(4, 1) == 0 { // each field and each value at any depth
				look("--set", "survey."+f.Key+"="+b)
			}
		}
	}
}
