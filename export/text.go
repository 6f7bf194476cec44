package export

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Summary is the page that a person reads on the terminal in ten seconds.
func Summary(out io.Writer, p *estimate.Campaign) error {
	w := bufio.NewWriter(out)
	a, b := p.Account, p.Bid
	fmt.Fprintf(w, "%s read: %s estimated (%s joined with a neighbour), %d queried, %d not repairable, %d filtered, %d blank\n",
		countOf(a.Read, "row", "rows"), countOf(a.Estimated, "repair", "repairs"), countOf(a.Merged, "row", "rows"), a.Queried, a.NotRepairable, a.Filtered, a.Blank)
	if len(p.Jobs) > 0 {
		fmt.Fprintf(w, "work: %s over %s (no plan with these crews below %d), %s paid; kits weigh %s\n",
			countOf(p.CrewShifts, "crew-shift", "crew-shifts"), countOf(p.Days, "working day", "working days"), p.Bound, trace.WithUnit(p.Paid, "person-h"), trace.WithUnit(p.Mass, "kg"))
		if p.Late > 0 {
			fmt.Fprintf(w, "LATE: %s done after the day needed\n", countOf(p.Late, "repair is", "repairs are"))
		}
		tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, cl := range p.Cuts {
			fmt.Fprintf(tab, "%s\t%s\t%s\n", cl.Stock, cl.Used(), cl.Proof())
		}
		tab.Flush()
		if first := p.FirstOrder(); first >= 0 {
			o := p.Orders[first]
			fmt.Fprintf(w, "order first: %s, by %s\n", o.Need.Item.Name, day(o.LatestOrder))
		}
		if short := p.ShortLived(); short != "" {
			fmt.Fprintln(w, short)
		}
		if s := &p.Supply; len(s.Suppliers) > 0 {
			fmt.Fprintf(w, "order: %s from %s, with charges; %s\n", money(s.Cost, b.Minor)+" "+b.Currency, countOf(len(s.Suppliers), "supplier", "suppliers"), s.Verdict())
		}
		fmt.Fprintf(w, "direct cost %s, bid before tax %s, with tax %s %s (range %s to %s before tax)\n",
			money(b.Direct, b.Minor), money(b.Net, b.Minor), money(b.Total, b.Minor), b.Currency, money(b.Low, b.Minor), money(b.High, b.Minor))
	}
	if len(p.Jobs) > 0 {
		fmt.Fprintln(w, classText(p))
	}
	for i := range p.Silences {
		if cost := p.Silences[i].Cost(); cost != "" {
			fmt.Fprintln(w, "open:", cost)
		}
	}
	for _, q := range p.Queries { // what may not be for this campaign at all is read before the price
		if slices.Contains(survey.AsideCodes, q.Code) && q.Severity == trace.Ask {
			fmt.Fprintln(w, q)
		}
	}
	fmt.Fprintf(w, "%d assumptions and %d queries are listed in the output\n", len(p.Assumptions), p.QueryTotal())
	if n := p.NotDesigned(); n > 0 {
		fmt.Fprintf(w, "NOT DESIGNED: %d of %s; their kits say not to start; no query is no approval\n", n, countOf(len(p.Jobs), "repair", "repairs"))
	}
	if text := undesigned(p); text != "" {
		fmt.Fprintln(w, text)
	}
	fmt.Fprintln(w, Notice)
	return w.Flush()
}

// money writes an amount with its minor units and a thin grouping of digits.
func money(d decimal.Decimal, minor int32) string {
	s := d.StringFixed(minor)
	whole, rest, point := strings.Cut(s, ".")
	sign := ""
	if strings.HasPrefix(whole, "-") {
		sign, whole = "-", whole[1:]
	}
	var g []string
	for len(whole) > 3 {
		g = append([]string{whole[len(whole)-3:]}, g...)
		whole = whole[:len(whole)-3]
	}
	out := sign + strings.Join(append([]string{whole}, g...), " ")
	if point {
		out += "." + rest
	}
	return out
}

// PrintQueries lists the queries, at most so many of each severity, the gravest
// first.
func PrintQueries(out io.Writer, p *estimate.Campaign, most int) {
	a := p.Account
	fmt.Fprintf(out, "%s read = %d estimated + %d joined with a neighbour + %d queried + %d not repairable + %d filtered + %d blank\n",
		countOf(a.Read, "row", "rows"), a.Estimated, a.Merged, a.Queried, a.NotRepairable, a.Filtered, a.Blank)
	if p.NotLooked != "" {
		fmt.Fprintln(out, "not looked at:", p.NotLooked)
	}
	for _, sev := range []trace.Severity{trace.Stop, trace.Ask, trace.Note} {
		shown := 0
		for _, q := range p.Queries {
			if q.Severity != sev {
				continue
			}
			if shown == 0 {
				fmt.Fprintf(out, "%s, %d:\n", strings.ToUpper(sev.Words()), p.QueryTotalOf(sev))
			}
			if shown < most {
				fmt.Fprintln(out, q)
			}
			shown++
		}
		total := p.QueryTotalOf(sev)
		if hidden := total - min(shown, most); hidden > 0 {
			fmt.Fprintf(out, "… %d more of these (%s)\n", hidden, sev.Words())
		}
	}
}

// QueriesJSON writes the queries with their counts.
func QueriesJSON(out io.Writer, p *estimate.Campaign, most int) error {
	list := []any{}
	shown := map[trace.Severity]int{}
	for _, q := range p.Queries {
		if shown[q.Severity]++; shown[q.Severity] <= most {
			list = append(list, queryOf(q))
		}
	}
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	all := map[string]any{
		"schema": "wraptally.queries/1", "survey": surveyJSON(p), "queries": list,
		"totals": map[string]int{
			"stop": p.QueryTotalOf(trace.Stop), "ask": p.QueryTotalOf(trace.Ask), "note": p.QueryTotalOf(trace.Note),
		},
	}
	if p.NotLooked != "" {
		all["not_looked_at"] = p.NotLooked
	}
	return enc.Encode(all)
}

// ExplainOptions say how a derivation is written.
type ExplainOptions struct {
	Markdown bool
	Width    int // columns of plain text
}

// basesText has a line for each basis of design of a repair, side by side: what
// it asks for, or why it does not count.
func basesText(p *estimate.Campaign, i int) []string {
	var out []string
	for _, b := range p.Bases(i) {
		text := "basis " + string(b.Basis) + ": "
		switch {
		case b.Missing != "":
			text += "not complete, " + b.Missing
		case b.Invalid != "":
			text += "not valid, " + b.Invalid
		case b.Layers == 0:
			text += trace.WithUnit(b.T(), "mm") + ", and the repair cannot be made on it"
		default:
			text += fmt.Sprintf("%s, %d layers in all, materials %s %s", trace.WithUnit(b.T(), "mm"), b.Layers, money(b.Materials, p.Bid.Minor), p.Bid.Currency)
		}
		if b.Taken {
			text += "; the least that counts"
		}
		out = append(out, text)
	}
	return out
}

// Explain writes how the quantities of a repair came about, or with an item
// only the steps that name it. The repair "campaign" stands for the campaign's
// own figures.
func Explain(out io.Writer, p *estimate.Campaign, repair, item string, opt ExplainOptions) error {
	var steps []trace.Step
	title, leftOut, until := "campaign", "", ""
	var bases []string
	if repair == strings.TrimSuffix(estimate.CampaignPrefix, "/") {
		steps = p.Steps()
	} else {
		i, err := p.Find(repair)
		if err != nil {
			return err
		}
		r := p.Repairs[i]
		title = fmt.Sprintf("%s: line %s, %s", r.ID, r.Line, r.Kind())
		if r.Reason != "" {
			leftOut = "LEFT OUT of order and cost, " + string(r.Status) + ": " + strings.TrimPrefix(r.Reason, "not repairable by this method: ")
		}
		steps = p.Explain(i)
		if item == "" {
			bases, until = basesText(p, i), r.Until()
		}
	}
	if item != "" {
		steps = stepsFor(steps, item, p)
		if len(steps) == 0 {
			return fmt.Errorf("no step of %s concerns %q", repair, item)
		}
	}
	leans := map[string]bool{}
	for _, s := range steps {
		for _, code := range s.Leans {
			leans[code] = true
		}
	}
	taken := bases
	if until != "" {
		taken = append(taken, "open: "+until)
	}
	for _, a := range p.Assumptions {
		if leans[a.Code] {
			taken = append(taken, fmt.Sprintf("assumption %s: %s (%s)", a.Code, a.Text, a.Basis))
		}
	}
	if opt.Markdown {
		for _, paragraph := range []string{"# " + title, leftOut, Notice} {
			if paragraph != "" {
				fmt.Fprintf(out, "%s\n\n", paragraph)
			}
		}
		err := trace.WriteMarkdown(out, steps)
		for _, line := range taken {
			fmt.Fprintf(out, "\n%s\n", line)
		}
		return err
	}
	for _, line := range []string{title, leftOut, Notice} {
		fmt.Fprint(out, folded(line, opt.Width))
	}
	fmt.Fprintln(out)
	err := trace.WriteText(out, steps, opt.Width)
	if len(taken) > 0 {
		fmt.Fprintln(out)
	}
	for _, line := range taken {
		fmt.Fprint(out, folded(line, opt.Width))
	}
	return err
}

// folded breaks a line at spaces so that it is no wider than so many columns,
// one character a column; what follows the first line is set in by two.
func folded(text string, width int) string {
	var b strings.Builder
	column := 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case column == 0:
		case column+1+n > width:
			b.WriteString("\n  ")
			column = 2
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += n
	}
	if column > 0 {
		b.WriteByte('\n')
	}
	return b.String()
}

// stepsFor keeps the steps of an item code, an item's name, a kind of material
// ("wrap", "putty", "sealant", "band", "sheet") or a step's own name, with the
// steps that these name as their inputs.
func stepsFor(steps []trace.Step, item string, p *estimate.Campaign) []trace.Step {
	kind := ""
	if it, ok := p.Catalog.Item(item); ok && it.Kind != "consumable" && it.Kind != "tool" {
		kind = it.Kind
	}
	kept := make([]bool, len(steps))
	var open []int // kept, with what they name not looked at yet
	keep := func(i int) {
		if !kept[i] {
			kept[i] = true
			open = append(open, i)
		}
	}
	for i := range steps {
		if isOf(&steps[i], strings.ToLower(item), kind) {
			keep(i)
		}
	}
	// What a kept step names as an input is kept as well, back to the survey.
	for len(open) > 0 {
		s := &steps[open[0]]
		open = open[1:]
		for i := range steps {
			if s.Names(steps[i].ID) {
				keep(i)
			}
		}
	}
	var out []trace.Step
	for i, s := range steps {
		if kept[i] {
			out = append(out, s)
		}
	}
	return out
}

// isOf reports whether a step is of what is wanted, in small letters, or of a
// kind of material, "" for none.
func isOf(s *trace.Step, want, kind string) bool {
	id := strings.ToLower(s.ID)
	local := id[strings.IndexByte(id, '/')+1:]
	return strings.Contains(local, want) || strings.Contains(strings.ToLower(s.Name), want) || strings.Contains(strings.ToLower(s.Rule), "."+want) ||
		kind != "" && (strings.Contains(s.Rule, "."+kind) || strings.HasPrefix(local, kind+"/"))
}
