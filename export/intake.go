package export

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"wraptally/estimate"
	"wraptally/estimate/survey"
)

// PrintIntake tells how the survey was read: the form that was found or given,
// and what became of each column.
func PrintIntake(out io.Writer, p *estimate.Campaign) {
	for _, d := range append([]survey.Detected{p.Survey.Detected}, p.Survey.Detected.Further...) {
		printDetected(out, d)
	}
	PrintFilters(out, p, 0)
	for _, a := range p.Survey.Assumptions {
		fmt.Fprintf(out, "assumed: %s (%s)\n", a.Text, countOf(a.Count, "time", "times"))
	}
}

// PrintFilters tells which rows the rules left out that took at least a share of
// the survey, and what those rows held.
func PrintFilters(out io.Writer, p *estimate.Campaign, share float64) {
	a := p.Survey.Account
	for _, f := range a.FilteredBy {
		if float64(f.Rows) < share*float64(a.Read) {
			continue
		}
		fmt.Fprintf(out, "left out by the rule %q: %s", f.Rule, countOf(f.Rows, "row", "rows"))
		if len(f.Values) > 0 {
			fmt.Fprintf(out, "; what stands there: %s", f.Held())
		}
		fmt.Fprintln(out)
	}
}

// mostIgnored is how many columns that no field takes are listed.
const mostIgnored = 40

func printDetected(out io.Writer, d survey.Detected) {
	form := []string{d.Form}
	if d.Sheet != "" {
		form = append(form, fmt.Sprintf("sheet %q", d.Sheet))
	}
	if d.Encoding != "" {
		form = append(form, d.Encoding)
	}
	if d.BOM {
		form = append(form, "with byte order mark")
	}
	if d.LineEnds != "" {
		form = append(form, d.LineEnds+" line ends")
	}
	if d.Delimiter != "" {
		form = append(form, fmt.Sprintf("separator %q", d.Delimiter))
	}
	if d.Decimal != "" {
		form = append(form, fmt.Sprintf("decimal sign %q", d.Decimal))
	}
	form = append(form, fmt.Sprintf("headings on line %d", d.HeaderRow))
	if d.HeaderRows > 1 {
		form[len(form)-1] += fmt.Sprintf(" to %d", d.HeaderRow+d.HeaderRows-1)
	}
	given := "found by itself"
	if len(d.Set) > 0 {
		given = "given: " + strings.Join(d.Set, ", ")
	}
	fmt.Fprintf(out, "read as %s (%s)\n", strings.Join(form, ", "), given)
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	ignored := 0
	for _, c := range d.Columns {
		switch {
		case c.Field == "" && ignored >= mostIgnored:
			ignored++
		case c.Field == "":
			ignored++
			fmt.Fprintf(tab, "  column %d\t%q\tignored: %s\n", c.Index, c.Heading, cmp.Or(c.Why, "not one of our fields"))
		case c.Heading != c.Field:
			unit := ""
			switch c.UnitFrom {
			case "":
			case "assumed":
				unit = ", unit taken as " + c.Unit
			case "values":
				unit = ", unit " + c.Unit + " by its values"
			default:
				unit = ", unit " + c.Unit
			}
			fmt.Fprintf(tab, "  column %d\t%q\tread as %s%s (%s)\n", c.Index, c.Heading, c.Field, unit, c.Via)
		}
	}
	tab.Flush()
	if ignored > mostIgnored {
		fmt.Fprintf(out, "  and %d more columns that no field takes\n", ignored-mostIgnored)
	}
	if len(d.Missing) > 0 {
		fmt.Fprintf(out, "not in the survey: %s\n", strings.Join(d.Missing, ", "))
	}
}
