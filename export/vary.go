package export

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"wraptally/estimate/design"
	"wraptally/estimate/trace"
)

// PrintVary writes the table of what a change of each input does, the largest
// swing of the bid first.
func PrintVary(out io.Writer, t design.SensitivityTable, currency string) error {
	by := trace.FormatNumber(t.Fraction*100, "%")
	fmt.Fprintf(out, "Each input changed by −%s %% and +%s %%, the others as they are. Whole packs make\nthe figures move in steps.\n%s\n", by, by, folded(Notice, 80))
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	line := func(name, change string, values []float64) {
		fmt.Fprintf(tab, "%s\t%s\t", name, change)
		for i, v := range values {
			unit := ""
			if name := t.Outputs[i]; strings.Contains(name, "cost") || strings.Contains(name, "bid") {
				unit = currency
			}
			fmt.Fprintf(tab, "%s\t", trace.FormatNumber(v, unit))
		}
		fmt.Fprintln(tab)
	}
	fmt.Fprint(tab, "input\tchange\t")
	for _, name := range t.Outputs {
		fmt.Fprintf(tab, "%s\t", name)
	}
	fmt.Fprintln(tab)
	line("as surveyed", "", t.Base)
	for _, e := range t.ByOutput(len(t.Outputs) - 1) {
		for _, end := range []struct {
			sign  string
			trial design.Trial
		}{{"−", e.Low}, {"+", e.High}} {
			if end.trial.Err != nil {
				fmt.Fprintf(tab, "%s\t%s%s %%\t%v\t\n", e.Variable.Name, end.sign, by, end.trial.Err)
				continue
			}
			line(e.Variable.Name, end.sign+by+" %", end.trial.Outputs)
		}
	}
	return tab.Flush()
}
