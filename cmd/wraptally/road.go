package main

import (
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/file"
)

// road reads catalogue, survey and stock and runs the estimate.
func (in *intake) road(path, stock string, errOut io.Writer, quiet bool, sets []string) (*estimate.Campaign, error) {
	c, err := in.load(sets...)
	if err != nil {
		return nil, err
	}
	s, err := in.read(path, c)
	if err != nil {
		return nil, err
	}
	opt := estimate.Options{Name: path}
	if stock != "" {
		if opt.Stock, err = estimate.OpenStock(stock, c); err != nil {
			return nil, err
		}
	}
	if !quiet {
		p := export.NewProgress(errOut)
		defer p.Done()
		opt.Progress = p.Tell
	}
	return estimate.Run(s, c, opt)
}

// write writes the files and puts them in place, all or none.
func (in *intake) write(set *file.Set, files []file.Output, errOut io.Writer, quiet bool) error {
	told := func(int) {}
	if !quiet {
		p := export.NewProgress(errOut)
		defer p.Done()
		told = func(done int) { p.Tell("files written", done, len(files)) }
	}
	if err := set.AddAll(files, told); err != nil {
		return err
	}
	return set.Commit()
}

// inputs are the files that no output may replace.
func (in *intake) inputs(more ...string) []string {
	var out []string
	for _, f := range append([]string{in.answers, in.catalog}, more...) {
		if f != "" {
			out = append(out, f)
		}
	}
	return out
}

// settings turns flags that stand for settings into NAME=VALUE, in the order of
// their names.
func settings(values map[string]string) []string {
	var out []string
	for _, name := range []string{"campaign.start", "output.paper", "output.units"} {
		if values[name] != "" {
			out = append(out, name+"="+values[name])
		}
	}
	return out
}

// printedDate is the date on the sheets: the flag, else SOURCE_DATE_EPOCH, else
// none (the first day of the work is taken). The clock is never read, so that
// the same input gives the same bytes.
func printedDate(flag string) (time.Time, error) {
	if flag != "" {
		d, err := time.Parse(time.DateOnly, flag)
		if err != nil {
			return d, badUsage("write it as 2027-03-01", "--date %q is not a date", flag)
		}
		return d, nil
	}
	epoch := strings.TrimSpace(os.Getenv("SOURCE_DATE_EPOCH"))
	if epoch == "" {
		return time.Time{}, nil
	}
	sec, err := strconv.ParseInt(epoch, 10, 64)
	if err != nil {
		return time.Time{}, badUsage("it is a number of seconds since 1970", "SOURCE_DATE_EPOCH %q is not a number", epoch)
	}
	return time.Unix(sec, 0).UTC(), nil
}
