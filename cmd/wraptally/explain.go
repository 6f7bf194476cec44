package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"wraptally/estimate/mark"
	"wraptally/export"
)

// runExplain prints how a quantity came about.
func runExplain(args []string, out, errOut io.Writer) error {
	f := newFlags("explain", "explain SURVEY REPAIR [ITEM] [options]", out)
	var w work
	var markdown bool
	var width int
	f.BoolVar(&markdown, "markdown", false, "write Markdown")
	f.IntVar(&width, "width", 80, "columns of plain text: `N`")
	var design bool
	f.BoolVar(&design, "design", false, "the designer's sheet of the repair: inputs, bases, utilisation, gate")
	w.define(f)
	outputFlags(f, "markdown", "width", "design")
	if err := parse(f, args, 2, 3, "a survey, a repair (CW-101-P-03, or the id of a row) or 'campaign', and perhaps an item or a step"); err != nil {
		return err
	}
	if width < 40 || width > 1000 {
		return badUsage("give from 40 to 1000", "--width %d cannot be printed", width)
	}
	w.copy = export.NewPacking()
	job, err := w.run(f.Arg(0), progress(errOut, true))
	if err != nil {
		return err
	}
	name, err := w.scanned(f, f.Arg(1), errOut)
	if err != nil {
		return err
	}
	if design {
		if f.NArg() > 2 || markdown {
			return badUsage("leave out ITEM and --markdown", "--design gives the whole sheet of a repair as text")
		}
		return export.ExplainDesign(out, job, name, width)
	}
	err = export.Explain(out, job, name, f.Arg(2), export.ExplainOptions{Markdown: markdown, Width: width})
	if err != nil {
		return withHint(err, fmt.Sprintf("'wraptally explain %s REPAIR' without an item lists every step", f.Arg(0)))
	}
	return nil
}

// scanned is the name of a repair as it was given, or as it stands in the code of
// a label with the mark of a run behind it. A label of another run is told of: its
// box may hold something else.
func (in *intake) scanned(f *pflag.FlagSet, given string, errOut io.Writer) (name string, err error) {
	at := strings.LastIndexByte(given, ' ')
	if at < 0 || !mark.Is(given[at+1:]) {
		return given, nil
	}
	opt := export.Options{Version: version()}
	if err := in.mark(&opt, f); err != nil {
		return "", err
	}
	if of := given[at+1:]; of != opt.Run {
		fmt.Fprintf(errOut, "ANOTHER RUN: the label is of run %s; this survey with these options gives run %s: compare the contents code before the box is used\n", of, opt.Run)
	}
	return given[:at], nil
}
