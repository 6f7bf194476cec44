package main

import (
	"fmt"
	"io"

	"wraptally/export"
)

// runExplain prints how a quantity came about.
func runExplain(args []string, out, errOut io.Writer) error {
	f := newFlags("explain", "explain SURVEY REPAIR [ITEM] [options]", out)
	var in intake
	var markdown bool
	var width int
	f.BoolVar(&markdown, "markdown", false, "write Markdown")
	f.IntVar(&width, "width", 80, "columns of plain text: `N`")
	var design bool
	f.BoolVar(&design, "design", false, "the designer's sheet of the repair: inputs, bases, utilisation, gate")
	in.define(f)
	if err := parse(f, args, 2, 3, "a survey, a repair (CW-101-P-03, or the id of a row) or 'campaign', and perhaps an item or a step"); err != nil {
		return err
	}
	if width < 40 || width > 1000 {
		return badUsage("give from 40 to 1000", "--width %d cannot be printed", width)
	}
	job, err := in.road(f.Arg(0), "", progress(errOut, true))
	if err != nil {
		return err
	}
	if design {
		if f.NArg() > 2 || markdown {
			return badUsage("leave out ITEM and --markdown", "--design gives the whole sheet of a repair as text")
		}
		return export.ExplainDesign(out, job, f.Arg(1), width)
	}
	err = export.Explain(out, job, f.Arg(1), f.Arg(2), export.ExplainOptions{Markdown: markdown, Width: width})
	if err != nil {
		return withHint(err, fmt.Sprintf("'wraptally explain %s REPAIR' without an item lists every step", f.Arg(0)))
	}
	return nil
}
