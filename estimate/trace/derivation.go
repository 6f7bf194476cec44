package trace

import (
	"bufio"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Substitute writes the numbers of the inputs in place of their symbols, the
// way the line under a formula reads on paper. A symbol is replaced only where
// it stands as a whole name: D is left alone in D_p, t in t_ply. A name straight
// before an opening parenthesis is a function and stays. A number that would
// run into another gets a multiplication dot (3d⁴ becomes 3·10⁴ for d = 10) and
// a negative number gets parentheses where it needs them. Inputs that are
// words keep their symbol.
func Substitute(formula string, inputs []Input) string {
	numbers := make(map[string]string, len(inputs))
	for _, in := range inputs {
		if _, twice := numbers[in.Symbol]; in.Text != "" || in.Symbol == "" || twice {
			continue
		}
		numbers[in.Symbol] = FormatNumber(in.Value, in.Unit)
	}

	var b strings.Builder
	rest := formula
	for rest != "" {
		word := leadingName(rest)
		if word == "" {
			_, size := utf8.DecodeRuneInString(rest)
			b.WriteString(rest[:size])
			rest = rest[size:]
			continue
		}
		rest = rest[len(word):]
		n, ok := numbers[word]
		if !ok || strings.HasPrefix(rest, "(") {
			b.WriteString(word)
			continue
		}
		if last, _ := utf8.DecodeLastRuneInString(b.String()); unicode.IsDigit(last) || last == ')' {
			b.WriteRune('·')
		}
		next, _ := utf8.DecodeRuneInString(rest)
		if needsParentheses(n, b.String(), next) {
			n = "(" + n + ")"
		}
		b.WriteString(n)
		if unicode.IsDigit(next) {
			b.WriteRune('·')
		}
	}
	return b.String()
}

// needsParentheses reports whether a number would be misread between what is
// written so far and the character that follows: a negative one behind an
// operator, and one with a sign or an exponent under a power.
func needsParentheses(number, before string, next rune) bool {
	if strings.ContainsRune("²³⁴⁵⁶⁷⁸⁹ⁿ^", next) && next != utf8.RuneError {
		return strings.ContainsAny(number, "-e ")
	}
	before = strings.TrimRight(before, " ")
	last, _ := utf8.DecodeLastRuneInString(before)
	opens := before == "" || strings.ContainsRune("([{|,=<>≤≥", last)
	return !opens && strings.HasPrefix(number, "-")
}

// leadingName is the symbol that s begins with: a letter (of any script) or an
// underscore, and the letters, marks, digits and underscores that follow.
// Superscripts end it, subscript digits do not.
func leadingName(s string) string {
	end := 0
	for i, r := range s {
		letter := unicode.IsLetter(r) || r == '_' || r == '′'
		if !letter && (i == 0 || !(unicode.IsDigit(r) || unicode.IsMark(r) || r >= '₀' && r <= '₉')) {
			break
		}
		// Superscript letters such as ⁿ count as letters in Unicode; here they
		// are powers.
		if r == 'ⁿ' || r == 'ⁱ' {
			break
		}
		end = i + utf8.RuneLen(r)
	}
	return s[:end]
}

// Derivation is a Step laid out for reading: the lines of the calculation and
// the words around it.
type Derivation struct {
	Title    string   // "CW-101-P-03/reach: reach on each side of the defect"
	Lines    []string // formula, numbers, result, one under the other
	Inputs   []Input
	Rounding string
	Source   string
	Leans    []string
}

// Derive lays out a step.
func Derive(s Step) Derivation {
	d := Derivation{
		Title: clean(s.Name), Inputs: s.Inputs, Rounding: clean(s.Rounding),
		Source: clean(s.Source), Leans: s.Leans,
	}
	if s.ID != "" {
		d.Title = clean(s.ID) + ": " + d.Title
	}
	left, formula := splitFormula(clean(s.Formula))
	margin := "= "
	if left != "" {
		margin = strings.Repeat(" ", utf8.RuneCountInString(left)) + " = "
		d.Lines = append(d.Lines, left+" = "+formula)
	} else if formula != "" {
		d.Lines = append(d.Lines, margin+formula)
	}
	numbers := Substitute(formula, s.Inputs)
	if numbers != formula {
		d.Lines = append(d.Lines, margin+numbers)
	}
	// An equation solved for one of its symbols, or a comparison, has no side to
	// put the result on.
	if left == "" && strings.ContainsAny(formula, "=≤≥<>") {
		for i := range d.Lines {
			d.Lines[i] = strings.TrimPrefix(d.Lines[i], "= ")
		}
		margin = "gives "
		if s.Text != "" {
			margin = ""
		}
	}
	d.Lines = append(d.Lines, margin+result(s))
	return d
}

// splitFormula takes "L = a + b" apart where what stands left of the first
// equals sign is a single symbol.
func splitFormula(formula string) (left, right string) {
	l, r, found := strings.Cut(formula, " = ")
	if found && l != "" && leadingName(l) == l {
		return l, r
	}
	return "", formula
}

// result is what came out: the value before rounding and after it, or the word.
func result(s Step) string {
	if s.Text != "" {
		return clean(s.Text)
	}
	value := WithUnit(s.Value, s.Unit)
	if s.Rounding == "" {
		return value
	}
	raw := WithUnit(s.Raw, s.Unit)
	if raw == value {
		return value
	}
	return raw + " → " + value
}

// valueOf is the value of an input as shown in a list.
func valueOf(in Input) string {
	if in.Text != "" {
		return clean(in.Text)
	}
	return WithUnit(in.Value, in.Unit)
}

// WriteText writes the steps as a person would write them on paper, in plain
// text no wider than width columns (40 at the least), one character a column.
// Numbers are shown rounded for reading (see FormatNumber) but were computed
// unrounded, so that the last digit of a sum done by hand may differ.
// It gives the first error of w.
func WriteText(w io.Writer, steps []Step, width int) error {
	width = max(width, 40)
	out := bufio.NewWriter(w)
	for i, s := range steps {
		if i > 0 {
			out.WriteByte('\n')
		}
		d := Derive(s)
		put(out, "", "  ", d.Title, width)
		for _, line := range d.Lines {
			indent := len([]rune(line)) - len([]rune(strings.TrimLeft(line, " ")))
			put(out, "  "+strings.Repeat(" ", indent), "  "+strings.Repeat(" ", indent+2),
				strings.TrimLeft(line, " "), width)
		}
		writeInputs(out, d.Inputs, width)
		labelled(out, "rounded", d.Rounding, width)
		labelled(out, "source", d.Source, width)
		labelled(out, "assumes", clean(strings.Join(d.Leans, ", ")), width)
	}
	return out.Flush()
}

// writeInputs lists the inputs in three columns: symbol and value, meaning,
// where from.
func writeInputs(out *bufio.Writer, inputs []Input, width int) {
	symbols, values := 0, 0
	for _, in := range inputs {
		symbols = max(symbols, utf8.RuneCountInString(clean(in.Symbol)))
		values = max(values, utf8.RuneCountInString(valueOf(in)))
	}
	symbols, values = min(symbols, 12), min(values, 20)
	for i, in := range inputs {
		lead := "          "
		if i == 0 {
			lead = "  with    "
		}
		head := lead + pad(clean(in.Symbol), symbols) + "  " + pad(valueOf(in), values) + "  "
		text := clean(in.Name)
		if len(in.From) > 0 {
			text += ", from " + clean(in.From.String())
		}
		if hang := utf8.RuneCountInString(head); hang <= width/2 {
			put(out, head, strings.Repeat(" ", hang), text, width)
		} else {
			put(out, lead, "            ", strings.TrimPrefix(head, lead)+text, width)
		}
	}
}

func labelled(out *bufio.Writer, label, text string, width int) {
	if text != "" {
		put(out, "  "+pad(label, 8), "          ", text, width)
	}
}

func pad(s string, width int) string {
	if n := width - utf8.RuneCountInString(s); n > 0 {
		return s + strings.Repeat(" ", n)
	}
	return s
}

// put writes text wrapped to width, the first line behind first and the others
// behind hang. It breaks at spaces, else after an operator, else anywhere.
func put(out *bufio.Writer, first, hang, text string, width int) {
	lead := first
	for {
		room := max(1, width-utf8.RuneCountInString(lead))
		line, rest := breakLine(text, room)
		out.WriteString(strings.TrimRight(lead+line, " "))
		out.WriteByte('\n')
		if rest == "" {
			return
		}
		lead, text = hang, rest
	}
}

// breakLine takes at most room characters off the front of text.
func breakLine(text string, room int) (line, rest string) {
	runes := []rune(text)
	if len(runes) <= room {
		return text, ""
	}
	for i := room; i > room/3; i-- {
		if runes[i] == ' ' {
			return string(runes[:i]), strings.TrimLeft(string(runes[i:]), " ")
		}
	}
	for i := room; i > room/3; i-- {
		if strings.ContainsRune("·/+−,", runes[i-1]) {
			return string(runes[:i]), string(runes[i:])
		}
	}
	return string(runes[:room]), string(runes[room:])
}

// clean turns control characters and line breaks into spaces: names and
// origins come from files of others.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, s)
}

// WriteMarkdown writes the steps as Markdown: a heading, the calculation as a
// code block, the inputs as a table, then rounding, source and assumptions. It
// gives the first error of w.
func WriteMarkdown(w io.Writer, steps []Step) error {
	out := bufio.NewWriter(w)
	for i, s := range steps {
		if i > 0 {
			out.WriteByte('\n')
		}
		d := Derive(s)
		out.WriteString("### " + escape(d.Title) + "\n\n```text\n")
		for _, line := range d.Lines {
			out.WriteString(strings.ReplaceAll(line, "```", "'''") + "\n")
		}
		out.WriteString("```\n")
		if len(d.Inputs) > 0 {
			out.WriteString("\n| symbol | value | meaning | from |\n|---|---:|---|---|\n")
			for _, in := range d.Inputs {
				out.WriteString("| " + escape(clean(in.Symbol)) + " | " + escape(valueOf(in)) + " | " +
					escape(clean(in.Name)) + " | " + escape(clean(in.From.String())) + " |\n")
			}
		}
		bullets := []struct{ label, text string }{
			{"Rounded", d.Rounding}, {"Source", d.Source}, {"Assumes", clean(strings.Join(d.Leans, ", "))},
		}
		first := true
		for _, b := range bullets {
			if b.text == "" {
				continue
			}
			if first {
				out.WriteByte('\n')
				first = false
			}
			out.WriteString("- " + b.label + ": " + escape(b.text) + "\n")
		}
	}
	return out.Flush()
}

// escape keeps Markdown from reading text as markup.
var escape = strings.NewReplacer(
	`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "<", "&lt;", ">", "&gt;",
	"|", `\|`, "#", `\#`, "&", "&amp;", "~", `\~`, "!", `\!`,
).Replace
