package main

import (
	"fmt"
	"io"

	"wraptally/estimate/trace"
	"wraptally/export"
	"wraptally/export/file"
)

// runCheck prints what a survey leaves open and exits with 1 when any of it
// keeps a row out of the totals.
func runCheck(args []string, out, errOut io.Writer) error {
	f := newFlags("check", "check SURVEY [--json FILE] [-o QUERIES.xlsx] [options]", out)
	var in intake
	var json, workbook string
	var most int
	f.StringVar(&json, "json", "", "write the queries as JSON to `FILE` (- for the terminal)")
	f.StringVarP(&workbook, "output", "o", "", "write a query sheet to answer and send back to `FILE`.xlsx")
	f.IntVar(&most, "most", 50, "print at most `N` queries of each severity")
	outputFlags(f, "json", "output", "most")
	in.define(f)
	if err := parse(f, args, 1, 1, "one survey"); err != nil {
		return err
	}
	if err := checkBookName(workbook); err != nil {
		return err
	}
	defer sparing()()
	in.queriesOnly = true
	if workbook != "" {
		in.copy = export.NewPacking() // which it holds
	}
	job, err := in.road(f.Arg(0), "", progress(errOut, true))
	if err != nil {
		return err
	}
	set := file.NewSet(in.inputs(f.Arg(0))...)
	defer set.Abort()
	printed, err := printedDate("")
	if err != nil {
		return err
	}
	if workbook != "" {
		opt := export.Options{Printed: printed, Version: version()}
		if err := in.mark(&opt, f); err != nil {
			return err
		}
		b := export.QueriesOnly(job, opt, workbook)
		if err := set.Add(b.Path, b.Write); err != nil {
			return err
		}
	}
	write := func(w io.Writer) error { return export.QueriesJSON(w, job, most) }
	switch json {
	case "":
		export.PrintIntake(out, job)
		export.PrintQueries(out, job, most)
	case onStream:
		if err := write(out); err != nil {
			return err
		}
	default:
		if err := set.Add(json, written(write)); err != nil {
			return err
		}
	}
	if err := set.Commit(); err != nil {
		return err
	}
	if n := job.QueryTotalOf(trace.Stop); n > 0 {
		fmt.Fprintf(errOut, "%s something out of the totals\n", trace.Count(n, "query keeps", "queries keep"))
		return &silent{exitData}
	}
	return nil
}
