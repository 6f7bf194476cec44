package main

import (
	"fmt"
	"io"

	"wraptally/estimate"
	"wraptally/estimate/design"
	"wraptally/export"
)

// runVary prints what a change of each input does to masses, rolls and cost.
func runVary(args []string, out, errOut io.Writer) error {
	f := newFlags("vary", "vary SURVEY [REPAIR] [--by PERCENT] [options]", out)
	var in intake
	var by float64
	f.Float64Var(&by, "by", 0, "change each input by `PERCENT` either way; the setting output.vary without")
	in.define(f)
	if err := parse(f, args, 1, 2, "a survey and perhaps a repair"); err != nil {
		return err
	}
	job, err := in.road(f.Arg(0), "", progress(errOut, true))
	if err != nil {
		return err
	}
	if by == 0 {
		by = job.Catalog.Settings.VaryBy
	}
	if !(by > 0 && by < 100) {
		return badUsage("give more than 0 and less than 100", "--by %g cannot be used", by)
	}
	repair := -1
	if f.NArg() == 2 {
		if repair, err = job.Find(f.Arg(1)); err != nil {
			return withHint(err, "'wraptally vary "+f.Arg(0)+"' without a repair varies them all")
		}
	}
	t, err := vary(job, repair, by, progress(errOut, false))
	if err != nil {
		return err
	}
	return export.PrintVary(out, t, job.Bid.Minor)
}

// vary runs the estimate with each input of a repair, or of all where repair is
// −1, changed by so many per cent either way.
func vary(job *estimate.Campaign, repair int, percent float64, shown *export.Progress) (*design.Variations, error) {
	if !(percent > 0 && percent < 100) {
		return nil, withHint(fmt.Errorf("inputs cannot be changed by %g %%", percent), "set output.vary to more than 0 and less than 100")
	}
	defer shown.Done()
	t, err := job.Vary(repair, percent/100, func(done, total int) { shown.Tell("vary", done, total) })
	return &t, err
}
