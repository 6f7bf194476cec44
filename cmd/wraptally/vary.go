package main

import (
	"fmt"
	"io"

	"wraptally/export"
)

// runVary prints what a change of each input does to masses, rolls and cost.
func runVary(args []string, out, errOut io.Writer) error {
	f := newFlags("vary", "vary SURVEY [REPAIR] [--by PERCENT] [options]", out)
	var in intake
	var by float64
	f.Float64Var(&by, "by", 0, "change each input by `PERCENT` either way; the setting output.sensitivity without")
	in.define(f)
	if err := parse(f, args, 1, 2, "a survey and perhaps a repair"); err != nil {
		return err
	}
	job, err := in.road(f.Arg(0), "", errOut, true, nil)
	if err != nil {
		return err
	}
	if by == 0 {
		by = job.Catalog.Settings.Sensitive
	}
	if !(by > 0 && by < 100) {
		return badUsage("give more than 0 and less than 100", "--by %g cannot be used", by)
	}
	repair := -1
	if f.NArg() == 2 {
		i, ok := job.Find(f.Arg(1))
		if !ok {
			return withHint(fmt.Errorf("there is no repair or row %q", f.Arg(1)), "the repairs are "+job.RepairNames(8))
		}
		repair = i
	}
	p := export.NewProgress(errOut)
	defer p.Done()
	t, err := job.Vary(repair, by/100, nil, func(done, total int) { p.Tell("run", done, total) })
	if err != nil {
		return err
	}
	return export.PrintVary(out, t)
}
