package main

import (
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/used"
	"wraptally/export"
	"wraptally/export/file"
)

// work are the options of an estimate that bear on its numbers.
type work struct {
	intake
	stock, start, paper, units, date string
	others                           []string // alternatives, NAME=FILE
}

func (w *work) define(f *pflag.FlagSet) {
	f.StringVar(&w.stock, "stock", "", "what is in store, by lot, `FILE`.csv with the columns item, lot, quantity, expiry, location and more; 'wraptally catalog -o DIR' writes its headings, with their meaning in README.md")
	f.StringVar(&w.moves, "moves", "", "what was ordered, received, issued and returned in the running campaign, of which SURVEY is the whole, `FILE`.csv, its headings written like those of --stock; the order is net of it")
	f.StringVar(&w.start, "start", "", "first day of the work, when goods must be there: `YYYY-MM-DD`")
	f.StringVar(&w.paper, "paper", "", "size of printed sheets, A4 or Letter: `SIZE`")
	f.StringVar(&w.units, "units", "", "units that are shown, metric or inch: `SYSTEM`")
	f.StringVar(&w.date, "date", "", "date printed on the sheets (else SOURCE_DATE_EPOCH, else the first day of the work): `YYYY-MM-DD`")
	f.StringArrayVar(&w.others, "alternative", nil, "show beside it the same survey with the settings of a table of columns name and value; --alternative two-crews=two.csv: `NAME=FILE` (repeatable)")
	f.StringSliceVar(&w.quotes, "quotes", nil, "requests for quotation of 'wraptally buy' that came back filled, workbooks or CSV, in place of the catalogue's offers; --quotes a.xlsx,b.csv: `FILE` (repeatable)")
	inputFlags(f, "stock", "moves", "alternative", "quotes")
	w.intake.define(f)
}

// run makes the estimate.
func (w *work) run(path string, shown *export.Progress) (*estimate.Campaign, error) {
	return w.road(path, w.stock, shown, w.asSettings()...)
}

// asSettings are the options that stand for settings.
func (w *work) asSettings() []string {
	return settings("campaign.start", w.start, "output.paper", w.paper, "output.units", w.units)
}

// shown is what the outputs need beside the campaign, with its alternatives.
func (w *work) shown(job *estimate.Campaign, printed time.Time, shown *export.Progress) (export.Options, error) {
	others, err := w.alternatives(w.others, job, shown, w.asSettings()...)
	return export.Options{Printed: printed, Version: version(), Alternatives: others, Earlier: w.namesOf}, err
}

// road reads catalogue, survey and stock and runs the estimate.
func (in *intake) road(path, stock string, shown *export.Progress, sets ...string) (*estimate.Campaign, error) {
	c, err := in.load(sets...)
	if err != nil {
		return nil, err
	}
	s, err := in.read(path, c)
	if err != nil {
		return nil, err
	}
	if in.queriesOnly { // what little a smaller survey holds may be held twice
		defer collecting(min(200, max(65, 100_000_000/(1+s.Kept()))))()
	}
	opt := estimate.Options{Name: in.named(path), Placed: in.today, Today: in.today, Counted: stock != "", QueriesOnly: in.queriesOnly, Progress: shown.Tell}
	if opt.Earlier, err = in.known(s); err != nil {
		return nil, err
	}
	if stock != "" {
		if opt.Stock, err = estimate.OpenStock(stock, c); err != nil {
			return nil, err
		}
	}
	if in.moves != "" {
		if opt.Moves, err = c.ReadMovements(in.moves); err != nil {
			return nil, err
		}
		gone := slices.ContainsFunc(opt.Moves, func(m catalog.Movement) bool { return m.Move == "issued" || m.Move == "returned" })
		if gone && len(in.donePlaces()) > 0 { // it would cover the kits that are left
			return nil, badUsage("take the movements issued and returned out of --moves and count the store anew for --stock", "repairs are done and left out, so that what was issued for them would count for the others")
		}
	}
	defer shown.Done()
	return estimate.Run(s, c, opt)
}

// readEarlier reads what an earlier run has named, and which of it is done.
func (in *intake) readEarlier(c *catalog.Catalog) (err error) {
	if in.earlier == "" {
		if len(in.done) > 0 {
			return badUsage("give the JSON or workbook of the run that planned them with --earlier FILE", "--done tells which repairs of an earlier run are done, and none is given")
		}
		return nil
	}
	if in.namesOf, err = export.ReadNames(in.earlier); err != nil {
		return withHint(err, "give the JSON that 'wraptally estimate SURVEY --json FILE' wrote, or the workbook")
	}
	if len(in.done) == 0 {
		return nil
	}
	rows, err := c.ReadUsed(in.done, "")
	if err != nil {
		return err
	}
	known, n := in.namesOf.Known, 0
	for i := range rows {
		r := &rows[i]
		if r.Record != used.Work || r.Code != used.Finish || r.Used == "" {
			continue
		}
		at := slices.IndexFunc(known, func(k scope.Known) bool { return strings.EqualFold(k.Name, r.Kit) })
		if at < 0 {
			return badUsage("give the run that planned it with --earlier", "--done: the work of %s is finished, and the earlier run has no repair of that name", r.Kit)
		}
		known[at].Done = true
		n++
	}
	if n == 0 {
		return badUsage("fill in the record work, finish of the kits that are done", "--done: no kit's work is finished by what is filled in")
	}
	return nil
}

// donePlaces are the places of the repairs of the earlier run, where some are done.
func (in *intake) donePlaces() (out []survey.Done) {
	if in.namesOf == nil || !slices.ContainsFunc(in.namesOf.Known, func(k scope.Known) bool { return k.Done }) {
		return nil
	}
	for _, k := range in.namesOf.Known {
		for _, s := range k.Spots {
			if k.Done || !k.Retired {
				out = append(out, survey.Done{Repair: k.Name, Line: k.Line, Open: !k.Done, ID: s.ID, At: s.At})
			}
		}
	}
	return out
}

// known is what earlier runs have named, with the answers on it.
func (in *intake) known(s *survey.Result) (*scope.Earlier, error) {
	if in.earlier == "" {
		if len(in.same) > 0 {
			return nil, badUsage("give the JSON or workbook of the earlier run with --earlier FILE", "--same says what a row was in an earlier run, and none is given")
		}
		return nil, nil
	}
	e := &scope.Earlier{Known: in.namesOf.Known, Same: map[string]string{}}
	for _, a := range in.same {
		at := strings.LastIndexByte(a, '=')
		if at <= 0 {
			return nil, badUsage("write --same P-03=CW-101-P-03, or --same P-03=new", "--same %q is not ROW=NAME", a)
		}
		row, name := a[:at], a[at+1:]
		if !slices.ContainsFunc(s.Defects, func(d survey.Defect) bool { return d.ID == row }) {
			return nil, badUsage("the query that asks it names the row", "--same %q: the survey has no row %q that could be read", a, row)
		}
		if name != scope.Anew && !slices.ContainsFunc(e.Known, func(k scope.Known) bool { return strings.EqualFold(k.Name, name) }) {
			return nil, badUsage("give a name of the earlier run's sheet Names, or "+scope.Anew, "--same %q: the earlier run has no name %q", a, name)
		}
		e.Same[row] = name
	}
	return e, nil
}

// sparing makes less garbage than usual until the function it gives is called:
// somewhat more time for a good deal less memory, which decides whether a large
// campaign fits a small machine.
func sparing() func() { return collecting(65) }

// collecting sets how much garbage there may be, in % of what is held, until the
// function it gives is called, unless the user has said it.
func collecting(percent int) func() {
	if os.Getenv("GOGC") != "" {
		return func() {}
	}
	usual := debug.SetGCPercent(percent)
	return func() { debug.SetGCPercent(usual) }
}

// progress shows how far work is, unless the user wants quiet or errOut is no
// terminal.
func progress(errOut io.Writer, quiet bool) *export.Progress {
	if quiet {
		errOut = io.Discard
	}
	if s, ok := errOut.(*screen); ok {
		errOut = s.w // it redraws its line
	}
	return export.NewProgress(errOut)
}

// writeAll writes the files and puts them in place, all or none.
func writeAll(set *file.Set, files []file.Output, shown *export.Progress) error {
	defer shown.Done()
	if err := set.AddAll(files, func(done int) { shown.Tell("files written", done, len(files)) }); err != nil {
		return err
	}
	return set.Commit()
}

// checkBookName refuses a workbook that spreadsheet programs would not take for
// one; an empty name writes none.
func checkBookName(path string) error {
	if path != "" && !strings.EqualFold(filepath.Ext(path), ".xlsx") {
		return badUsage("spreadsheet programs go by the ending", "the workbook %q must end in .xlsx", path)
	}
	return nil
}

// inputs are the files that no output may replace.
func (in *intake) inputs(more ...string) []string {
	var out []string
	for _, f := range append([]string{in.answers, in.catalog, in.earlier}, more...) {
		if f != "" && f != onStream {
			out = append(out, f)
		}
	}
	return out
}

// settings turns flags that stand for settings, given as name and value in
// turn, into NAME=VALUE; a flag that was not given is left out.
func settings(pairs ...string) []string {
	var out []string
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out = append(out, pairs[i]+"="+pairs[i+1])
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
		if err != nil || !catalog.PlausibleDate(d) {
			return d, badUsage("write it as 2027-03-01", "--date %q is not a date from 1900 to 2200", flag)
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
