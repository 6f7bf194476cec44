package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/file"
)

// targets are the files that an estimate is written to; the empty name writes none.
type targets struct{ workbook, json, orderCSV, calendar, offer, working, ranged string }

// define declares the options that name them.
func (to *targets) define(f *pflag.FlagSet) {
	f.StringVarP(&to.workbook, "output", "o", "", "write the workbook to `FILE`.xlsx")
	f.StringVar(&to.json, "json", "", "write every quantity with its derivation to `FILE` (- for standard output)")
	f.StringVar(&to.orderCSV, "order-csv", "", "write the order lines as plain CSV to `FILE` (- for standard output): gross is what is needed with growth, net what of it is bought, use_by its last day")
	f.StringVar(&to.calendar, "calendar", "", "write the plan as a calendar, a day's entry a crew and shift, to `FILE`.ics")
	f.StringVar(&to.offer, "offer", "", "write the offer to the client, without costs, suppliers or percentages, to `FILE`.xlsx; see the settings offer.… and the table terms")
	f.StringVar(&to.working, "working", "", "write how every quantity came about to `FILE`.xlsx; see the setting output.working_repairs")
	f.StringVar(&to.ranged, "range", "", "write to `FILE`.xlsx how far kits, order, crew-shifts and bid may come out otherwise: the estimate made again many times with its inputs drawn; see the table spreads and the settings range.…")
	outputFlags(f, "output", "json", "order-csv", "calendar", "offer", "working", "range")
}

// check refuses names that cannot be written to together.
func (to *targets) check() error {
	for _, name := range []string{to.workbook, to.offer, to.working, to.ranged} {
		if err := checkBookName(name); err != nil {
			return err
		}
	}
	if to.json == onStream && to.orderCSV == onStream {
		return badUsage("name a file for one of them", "--json and --order-csv cannot both go to standard output")
	}
	if to.ranged != "" { // the draws take minutes
		return file.Check(to.ranged)
	}
	return nil
}

// beside are the files beside the workbooks of the campaign.
func (to *targets) beside() []string {
	return []string{to.json, to.orderCSV, to.calendar, to.offer, to.working, to.ranged}
}

// runEstimate is the main job: survey in, workbook and JSON out.
func runEstimate(args []string, out, errOut io.Writer) error {
	f := newFlags("estimate", "estimate SURVEY [-o CAMPAIGN.xlsx] [--json FILE] [options]", out)
	var w work
	var to targets
	var strict, quiet, varied, removeOld bool
	to.define(f)
	f.BoolVar(&varied, "vary", false, "add the sheet Vary: the whole estimate again with each input changed (output.vary)")
	f.BoolVar(&removeOld, "remove-old", false, "remove workbooks of kits that another run left beside those of -o; what has no mark of a run is named and stays")
	f.BoolVar(&strict, "strict", false, "exit with 1 when anything was left out of the estimate")
	f.BoolVarP(&quiet, "quiet", "q", false, "print nothing but errors")
	outputFlags(f, "vary", "remove-old", "strict", "quiet")
	w.define(f)
	if err := parse(f, args, 1, 1, "one survey"); err != nil {
		return err
	}
	if err := to.check(); err != nil {
		return err
	}
	lock, err := begin(to.workbook, errOut)
	if err != nil {
		return err
	}
	defer lock.Release()
	defer sparing()()
	printed, err := printedDate(w.date)
	if err != nil {
		return err
	}
	w.today = dayOf(printed)
	w.copy = export.NewPacking()
	job, err := w.run(f.Arg(0), progress(errOut, quiet))
	if err != nil {
		return err
	}
	if len(job.Jobs) == 0 {
		// Before anything is written: an older workbook that somebody works from is worth
		// more than an empty one.
		return nothingEstimated(job, f.Arg(0), errOut, append([]string{to.workbook}, to.beside()...)...)
	}
	opt, err := w.shown(job, printed, progress(errOut, quiet))
	if err != nil {
		return err
	}
	outlook, err := otherwise(job, &opt, varied, to.ranged != "", progress(errOut, quiet))
	if err != nil {
		return err
	}
	if err := w.mark(&opt, f); err != nil {
		return err
	}
	set := file.NewSet(w.inputs(slices.Concat(alternativeFiles(w.others), w.quotes, []string{f.Arg(0), w.stock, w.moves})...)...)
	defer set.Abort()
	files, books := outputs(job, outlook, opt, &to)
	if err := writeAll(set, slices.DeleteFunc(slices.Clone(files), streamed), progress(errOut, quiet)); err != nil {
		return err
	}
	if i := slices.IndexFunc(files, streamed); i >= 0 {
		if err := files[i].Write(out); err != nil {
			return err
		}
		out = errOut // what is told about it is no part of it
	}
	if !quiet {
		if err := tellRun(out, job, outlook, opt); err != nil {
			return err
		}
		tellWritten(out, books, to.beside()...)
		if to.offer != "" {
			tellOffer(out, job, opt)
		}
	}
	if err := tidy(books, removeOld, errOut); err != nil {
		return err
	}
	return complete(job, strict, quiet, errOut)
}

// complete tells what was left out of the estimate, which is an error where the
// user is strict.
func complete(job *estimate.Campaign, strict, quiet bool, errOut io.Writer) error {
	if quiet {
		tellOnOrder(errOut, job, quiet)
	}
	if quiet && !strict {
		errOut = io.Discard // it is no error
	}
	if leftOut(job, errOut) > 0 && strict {
		return &silent{exitData}
	}
	return nil
}

// otherwise makes the estimate again with its inputs changed one by one, and with all
// of them drawn, where that is wanted.
func otherwise(job *estimate.Campaign, opt *export.Options, varied, ranged bool, shown *export.Progress) (outlook *estimate.Outlook, err error) {
	defer shown.Done()
	if varied {
		if opt.Vary, err = vary(job, -1, job.Catalog.Settings.VaryBy, shown); err != nil {
			return nil, err
		}
	}
	if ranged {
		return job.Outlook(func(done, total int) { shown.Tell("range", done, total) })
	}
	return nil, nil
}

// begin takes the place of the campaign's workbook for this run. It tells of
// workbooks of several runs that lie there.
func begin(workbook string, errOut io.Writer) (*file.Lock, error) {
	if workbook == "" {
		return nil, nil
	}
	lock, err := file.Hold(workbook)
	if err != nil {
		return nil, err
	}
	beside, err := export.BooksBeside(workbook)
	if text := export.MixedRuns(beside); text != "" {
		fmt.Fprintln(errOut, "before this run,", text)
	}
	return lock, err
}

// tidy tells, after a run, of workbooks of kits beside its own that are not of it,
// or removes those of another run. What has no mark of a run is somebody's and
// stays.
func tidy(books []string, remove bool, errOut io.Writer) error {
	if len(books) == 0 {
		return nil
	}
	beside, err := export.BooksBeside(books[0])
	left := export.LeftOver(beside, books)
	if remove {
		var removed []export.BookBeside
		left = slices.DeleteFunc(left, func(b export.BookBeside) bool {
			if b.Run == "" || err != nil {
				return false
			}
			if err = os.Remove(b.Path); err == nil {
				removed = append(removed, b)
			}
			return err == nil
		})
		if len(removed) > 0 {
			fmt.Fprintln(errOut, "removed, workbooks of kits:", export.ListRuns(removed))
		}
	}
	if len(left) > 0 {
		advice := "--remove-old removes those of a run"
		if remove {
			advice = "they are not removed"
		}
		fmt.Fprintf(errOut, "NOT OF THIS RUN, do not pack from them, workbooks of kits beside %s: %s; %s\n", books[0], export.ListRuns(left), advice)
	}
	return err
}

// tellWritten names the files written, of many workbooks of kits the last alone.
func tellWritten(out io.Writer, books []string, others ...string) {
	const all = 4 // so many workbooks are named each
	if len(books) > all {
		fmt.Fprintln(out, "written:", books[0])
		fmt.Fprintf(out, "written: %d workbooks of kits, the last %s\n", len(books)-1, books[len(books)-1])
	} else {
		others = append(slices.Clone(books), others...)
	}
	others = slices.DeleteFunc(others, func(name string) bool { return name == "" })
	if len(books)+len(others) == 0 {
		fmt.Fprintln(out, "nothing written: give -o CAMPAIGN.xlsx or --json FILE")
	}
	for _, name := range others {
		if name != onStream {
			fmt.Fprintln(out, "written:", name)
		}
	}
}

// tellRun tells what the run came to, and how far it may be off where that was
// looked at.
func tellRun(out io.Writer, job *estimate.Campaign, outlook *estimate.Outlook, opt export.Options) error {
	if err := export.Summary(out, job); err != nil {
		return err
	}
	tellOnOrder(out, job, false)
	tellPacking(out, job)
	export.PrintNames(out, job, opt)
	export.PrintFilters(out, job, 0.5) // a rule that takes much may be a slip
	if err := export.PrintAlternatives(out, job, opt.Alternatives); err != nil || outlook == nil {
		return err
	}
	return export.PrintRange(out, job, outlook)
}

// dayOf is the day of a time, as dates of tables are.
func dayOf(t time.Time) time.Time { return t.UTC().Truncate(24 * time.Hour) }

// tellPacking says how many kits can be packed, and which waits longest.
func tellPacking(out io.Writer, job *estimate.Campaign) {
	if text := export.PackingText(job); text != "" {
		fmt.Fprintln(out, text)
	}
}

// onStream, in place of a file's name, is standard input or output.
const onStream = "-"

func streamed(o file.Output) bool { return o.Path == onStream }

// outputs are the files to be written and the names of the workbooks among them.
// The campaign's workbook comes last: when it is there, all that belongs to it is.
func outputs(job *estimate.Campaign, outlook *estimate.Outlook, opt export.Options, to *targets) (list []file.Output, books []string) {
	add := func(path string, write func(io.Writer) error) {
		if path != "" {
			list = append(list, file.Output{Path: path, Write: write})
		}
	}
	var first export.Book
	if to.workbook != "" {
		all := export.Books(job, opt, to.workbook)
		for _, b := range all {
			books = append(books, b.Path)
		}
		for _, b := range all[1:] {
			add(b.Path, b.Write)
		}
		first = all[0]
	}
	add(to.json, written(func(w io.Writer) error { return export.JSON(w, job, opt) }))
	add(to.orderCSV, func(w io.Writer) error { return export.OrderCSV(w, job) })
	add(to.calendar, func(w io.Writer) error {
		err := export.Calendar(w, job, opt)
		if errors.Is(err, export.ErrNoFirstDay) {
			err = withHint(err, "give --start YYYY-MM-DD, or need dates in the survey")
		}
		return err
	})
	add(to.offer, func(w io.Writer) error { return export.Offer(w, job, opt) })
	add(to.working, func(w io.Writer) error { return export.Working(w, job, opt) })
	add(to.ranged, func(w io.Writer) error { return export.Range(w, job, outlook, opt) })
	add(first.Path, first.Write)
	return list, books
}

// tellOffer says what an offer leaves open and whether it may be sent.
func tellOffer(out io.Writer, job *estimate.Campaign, opt export.Options) {
	open, draft := export.OfferOpen(job, opt)
	if len(open) > 0 {
		fmt.Fprintln(out, "offer: to be filled in by hand, or by the settings offer.… and dates.…:", strings.Join(open, ", "))
	}
	if draft {
		fmt.Fprintln(out, "offer: marked DRAFT, since invented tables are in it:", strings.Join(job.Catalog.Invented, ", "))
	}
}

// nothingEstimated is the end of a run without a single repair: it writes
// nothing, says of the outputs asked for that are there already that they are
// older, and how to get at the queries.
func nothingEstimated(job *estimate.Campaign, survey string, errOut io.Writer, outputs ...string) error {
	leftOut(job, errOut)
	kept := ""
	for _, name := range outputs {
		if _, err := os.Lstat(name); name != "" && err == nil {
			kept += "; " + name + " is left as it was, from an earlier run"
		}
	}
	return withHint(fmt.Errorf("nothing could be estimated: %d rows read; nothing is written%s", job.Account.Read, kept),
		fmt.Sprintf("'wraptally check %s' says why, with the options of this run; add -o QUERIES.xlsx for a query sheet to answer and to read back with --answers", survey))
}

// leftOut tells on errOut how many rows are in none of the totals.
func leftOut(job *estimate.Campaign, errOut io.Writer) (rows int) {
	a := job.Account
	rows = a.Queried + a.NotRepairable
	if rows > 0 {
		fmt.Fprintf(errOut, "left out of the totals: %d of %d rows (%d queried, %d not repairable by this method); 'wraptally check' lists the queries\n",
			rows, a.Read, a.Queried, a.NotRepairable)
	}
	return rows
}
