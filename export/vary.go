package export

import (
	"fmt"
	"io"
	"text/tabwriter"

	"wraptally/estimate/design"
	"wraptally/estimate/trace"
)

// PrintVary writes the table of what a change of each input does, the largest
// swing of the bid first.
func PrintVary(out io.Writer, t design.SensitivityTable) error {
	by := trace.FormatNumber(t.Fraction*100, "%")
	fmt.Fprintf(out, "each input changed by −%s %% and +%s %%, the others as they are; whole packs make the figures move in steps\n%s\n\n", by, by, Notice)
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	line := func(name, change string, values []float64) {
		fmt.Fprintf(tab, "%s\t%s\t", name, change)
		for _, v := range values {
			fmt.Fprintf(tab, "%s\t", trace.FormatNumber(v, ""))
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
