package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/file"
)

// runCompare sets two runs of a campaign side by side, or a run and a new survey.
func runCompare(args []string, out, errOut io.Writer) error {
	f := newFlags("compare", "compare OLD.json NEW [-o FILE.xlsx] [--json FILE]\n\nOLD is the JSON of a run, NEW that of another or a survey, which is then\nestimated with the options and tables of OLD. In place of a JSON the run's workbook\nmay be given, that of -o or of --working.", out)
	var workbook, data, date string
	var quiet bool
	f.StringVarP(&workbook, "output", "o", "", "write the comparison to `FILE`.xlsx, with the bridge from the old bid to the new")
	f.StringVar(&data, "json", "", "write the comparison as data to `FILE` (- for standard output)")
	f.StringVar(&date, "date", "", "date printed on the sheets: `YYYY-MM-DD`; without, SOURCE_DATE_EPOCH, else the first day of the work")
	f.BoolVarP(&quiet, "quiet", "q", false, "print nothing but errors")
	if err := parse(f, args, 2, 2, "an old run and a new one"); err != nil {
		return err
	}
	if err := checkBookName(workbook); err != nil {
		return err
	}
	printed, err := printedDate(date)
	if err != nil {
		return err
	}
	defer sparing()()
	shown := progress(errOut, quiet)
	defer shown.Done()
	old, made, err := sideOf(f.Arg(0), shown)
	if err != nil {
		return err
	}
	now, err := newSide(f.Arg(1), made, shown)
	if err != nil {
		return err
	}
	c, err := estimate.Compare(old, now, func(done, total int) { shown.Tell("compare", done, total) })
	if err != nil {
		return err
	}
	shown.Done()
	set := file.NewSet(f.Arg(0), f.Arg(1))
	defer set.Abort()
	opt := export.Options{Printed: printed, Version: version()}
	if workbook != "" {
		if err := set.Add(workbook, func(w io.Writer) error { return export.Comparison(w, c, opt) }); err != nil {
			return err
		}
	}
	write := written(func(w io.Writer) error { return export.ComparisonJSON(w, c) })
	switch data {
	case "", onStream:
	default:
		if err := set.Add(data, write); err != nil {
			return err
		}
	}
	if err := set.Commit(); err != nil {
		return err
	}
	if data == onStream {
		return write(out)
	}
	if quiet {
		return nil
	}
	if err := export.PrintComparison(out, c); err != nil {
		return err
	}
	tellFiles(out, workbook, data)
	return nil
}

func tellFiles(out io.Writer, names ...string) {
	for _, name := range names {
		if name != "" {
			fmt.Fprintln(out, "written:", name)
		}
	}
}

// sideOf makes the run of a JSON again and reads what it printed.
func sideOf(path string, shown *export.Progress) (side estimate.Side, made *export.Made, err error) {
	folder, err := os.MkdirTemp("", "wraptally-*")
	if err != nil {
		return side, nil, err
	}
	defer os.RemoveAll(folder)
	run, err := jsonOf(path, folder)
	if err != nil {
		return side, nil, err
	}
	if made, err = readMade(run); err != nil {
		return side, nil, err
	}
	side.Printed, err = reading(run, func(in io.Reader) (*estimate.Measured, error) {
		printed, _, err := export.Printed(bufio.NewReaderSize(in, 1<<16))
		return printed, err
	})
	if err != nil {
		return side, nil, fmt.Errorf("%s: %w", path, err)
	}
	side.Campaign, err = estimateOf(made, shown)
	if err != nil {
		err = fmt.Errorf("%s: the run cannot be made again: %w", path, err)
	}
	return side, made, err
}

// newSide is the run of a JSON, or a survey estimated as an old run was.
func newSide(path string, old *export.Made, shown *export.Progress) (estimate.Side, error) {
	if book, _ := isBook(path); book || isJSON(path) {
		side, _, err := sideOf(path, shown)
		if !errors.Is(err, errNoRun) { // else a survey
			return side, err
		}
	}
	list, err := packed(export.AsSurvey, path)
	if err != nil {
		return estimate.Side{}, err
	}
	made := *old
	made.Files = list
	for _, f := range old.Files {
		if f.As != export.AsSurvey {
			made.Files = append(made.Files, f)
		}
	}
	p, err := estimateOf(&made, shown)
	if err != nil {
		// Not wrapped: this command has none of the options that a guide to the headings names.
		err = withHint(fmt.Errorf("%s, with the options of the old run: %v", filepath.Base(path), err),
			"where it needs other options, which 'wraptally check' tells, estimate it with them and --json, and compare the two runs")
	}
	return estimate.Side{Campaign: p}, err
}

// estimateOf makes the estimate of a run again.
func estimateOf(made *export.Made, shown *export.Progress) (*estimate.Campaign, error) {
	folder, err := os.MkdirTemp("", "wraptally-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	_, p, _, err := rerun(made, folder, shown)
	return p, err
}

// isJSON reports whether a file begins as the JSON of a run does.
func isJSON(path string) bool {
	t, err := reading(path, func(r io.Reader) (json.Token, error) { return json.NewDecoder(r).Token() })
	return err == nil && t == json.Delim('{')
}
