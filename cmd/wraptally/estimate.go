package main

import (
	"fmt"
	"io"
	"os"
	"runtime/debug"

	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/file"
)

// runEstimate is the main job: survey in, workbook and JSON out.
func runEstimate(args []string, out, errOut io.Writer) error {
	f := newFlags("estimate", "estimate SURVEY [-o CAMPAIGN.xlsx] [--json FILE] [options]", out)
	var in intake
	var workbook, json, orderCSV, stock, start, paper, units, date string
	var strict, quiet, whatIf bool
	f.StringVarP(&workbook, "output", "o", "", "write the workbook to `FILE`.xlsx")
	f.StringVar(&json, "json", "", "write every quantity with its derivation to `FILE`")
	f.StringVar(&orderCSV, "order-csv", "", "write the order lines as plain CSV to `FILE`")
	f.StringVar(&stock, "stock", "", "what is in store, by lot: `FILE`.csv")
	f.StringVar(&start, "start", "", "first day of the work, when goods must be there: `YYYY-MM-DD`")
	f.StringVar(&paper, "paper", "", "`SIZE` of printed sheets, A4 or Letter")
	f.StringVar(&units, "units", "", "lengths shown in `SYSTEM`, metric or inch")
	f.StringVar(&date, "date", "", "date printed on the sheets: `YYYY-MM-DD`; without, SOURCE_DATE_EPOCH, else the first day of the work")
	f.BoolVar(&whatIf, "what-if", false, "add the sheet What if: the whole estimate again with each input changed (output.sensitivity)")
	f.BoolVar(&strict, "strict", false, "exit with 1 when anything was left out of the estimate")
	f.BoolVarP(&quiet, "quiet", "q", false, "print nothing but errors")
	in.define(f)
	if err := parse(f, args, 1, 1, "one survey"); err != nil {
		return err
	}
	if err := checkBookName(workbook); err != nil {
		return err
	}
	if os.Getenv("GOGC") == "" {
		// Less garbage than usual: somewhat more time for a good deal less memory, which
		// decides whether a large campaign fits a small machine.
		defer debug.SetGCPercent(debug.SetGCPercent(65))
	}
	sets := settings("campaign.start", start, "output.paper", paper, "output.units", units)
	printed, err := printedDate(date)
	if err != nil {
		return err
	}
	job, err := in.road(f.Arg(0), stock, progress(errOut, quiet), sets...)
	if err != nil {
		return err
	}
	opt := export.Options{Printed: printed, Version: version()}
	if whatIf && len(job.Jobs) > 0 {
		if opt.Vary, err = vary(job, -1, job.Catalog.Settings.Sensitive, progress(errOut, quiet)); err != nil {
			return err
		}
	}
	set := file.NewSet(in.inputs(f.Arg(0), stock)...)
	defer set.Abort()
	files, books := outputs(job, opt, workbook, json, orderCSV)
	if err := writeAll(set, files, progress(errOut, quiet)); err != nil {
		return err
	}
	if !quiet {
		if err := export.Summary(out, job); err != nil {
			return err
		}
		for i, name := range append(books, json, orderCSV) {
			switch {
			case name == "" || i > 0 && i < len(books)-1 && len(books) > 4:
			case i == len(books)-1 && len(books) > 4:
				fmt.Fprintf(out, "written: %d workbooks of kits, the last %s\n", len(books)-1, name)
			default:
				fmt.Fprintln(out, "written:", name)
			}
		}
		if len(books) == 0 && json == "" && orderCSV == "" {
			fmt.Fprintln(out, "nothing written: give -o CAMPAIGN.xlsx or --json FILE")
		}
	}
	return verdict(job, strict, errOut)
}

// outputs are the files to be written and the names of the workbooks among them.
func outputs(job *estimate.Campaign, opt export.Options, workbook, json, orderCSV string) (list []file.Output, books []string) {
	if workbook != "" {
		made := []export.Book{export.QueriesOnly(job, opt, workbook)}
		if len(job.Repairs) > 0 {
			made = export.Books(job, opt, workbook)
		}
		for _, b := range made {
			list = append(list, file.Output{Path: b.Path, Write: b.Write})
			books = append(books, b.Path)
		}
	}
	if json != "" {
		list = append(list, file.Output{Path: json, Write: func(w io.Writer) error { return export.JSON(w, job, opt) }})
	}
	if orderCSV != "" {
		list = append(list, file.Output{Path: orderCSV, Write: func(w io.Writer) error { return export.OrderCSV(w, job) }})
	}
	return list, books
}

// verdict tells on errOut what was left out and decides the exit code: 1 when
// nothing could be estimated, or with strict when anything was left out.
func verdict(job *estimate.Campaign, strict bool, errOut io.Writer) error {
	a := job.Account
	out := a.Queried + a.NotRepairable
	if out > 0 {
		fmt.Fprintf(errOut, "left out of the totals: %d of %d rows (%d queried, %d not repairable by this method); 'wraptally check' lists the queries\n",
			out, a.Read, a.Queried, a.NotRepairable)
	}
	if len(job.Jobs) == 0 {
		return withHint(fmt.Errorf("nothing could be estimated: %d rows read", a.Read), "'wraptally check SURVEY' says why")
	}
	if strict && out > 0 {
		return &silent{exitData}
	}
	return nil
}
