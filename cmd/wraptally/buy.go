package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/trace"
	"wraptally/export"
	"wraptally/export/file"
)

// runBuy writes what a buyer sends: requests for quotation and purchase orders.
func runBuy(args []string, out, errOut io.Writer) error {
	f := newFlags("buy", "buy SURVEY -o DIR [options]", out)
	var w work
	var dir, texts string
	var quiet bool
	f.StringVarP(&dir, "output", "o", "", "`DIR` to write the documents into, a workbook and a CSV each")
	f.StringVar(&texts, "texts", "", "`FILE`.csv of columns text and value: deliver_to, number; what is left out is marked in the documents (the firm: settings offer.firm, offer.firm_address; its terms: table terms, part purchase)")
	f.BoolVarP(&quiet, "quiet", "q", false, "print nothing but errors and what is overdue or late")
	inputFlags(f, "texts")
	outputFlags(f, "output", "quiet")
	w.define(f)
	if err := parse(f, args, 1, 1, "one survey"); err != nil {
		return err
	}
	if dir == "" {
		return badUsage("write 'wraptally buy SURVEY -o DIR'", "buy needs a folder to write into")
	}
	printed, err := printedDate(w.date)
	if err != nil {
		return err
	}
	words, err := readTexts(texts)
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
		return nothingEstimated(job, f.Arg(0), errOut)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	set := file.NewSet(w.inputs(append(w.quotes, f.Arg(0), w.stock, w.moves, texts)...)...)
	defer set.Abort()
	opt := export.Options{Printed: printed, Version: version()}
	if err := w.mark(&opt, f); err != nil {
		return err
	}
	var files []file.Output
	papers := export.Papers(job, opt, words)
	if len(w.quotes) > 0 {
		d, err := export.SideBySide(job, opt, w.quoted.List)
		if err != nil {
			return err
		}
		papers = append(papers, d)
	}
	for _, d := range papers {
		files = append(files, file.Output{Path: filepath.Join(dir, d.Name+".xlsx"), Write: d.Write}, file.Output{Path: filepath.Join(dir, d.Name+".csv"), Write: d.CSV})
	}
	if err := writeAll(set, files, progress(errOut, quiet)); err != nil {
		return err
	}
	tellQuotes(out, w.quoted, quiet)
	for _, line := range export.BeyondQuotes(job, w.quoted.List) {
		fmt.Fprintln(out, "ASK", line)
	}
	tellOverdue(out, job, printed)
	tellOnOrder(out, job, quiet)
	if !quiet {
		if len(files) == 0 {
			fmt.Fprintln(out, "nothing has to be bought; nothing written")
		}
		for _, d := range files {
			fmt.Fprintln(out, "written:", d.Path)
		}
	}
	leftOut(job, errOut)
	return nil
}

// tellOverdue names the lines that can no longer come in time.
func tellOverdue(out io.Writer, job *estimate.Campaign, printed time.Time) {
	if printed.IsZero() {
		fmt.Fprintln(out, "overdue: not judged, as no date is known; give --date")
		return
	}
	for _, l := range export.OverdueLines(job, printed) {
		fmt.Fprintf(out, "OVERDUE: %s from %s had to be ordered by %s; ordered on %s it comes on %s, and the work that needs it starts no sooner\n",
			l.Item, l.Supplier, l.By.Format(time.DateOnly), printed.Format(time.DateOnly), l.Start.Format(time.DateOnly))
	}
}

// tellQuotes says of each supplier what became of its quote; where quiet, only of
// what is not quoted or was taken for it.
func tellQuotes(out io.Writer, q catalog.Quotes, quiet bool) {
	quotes := q.List
	for first := 0; first < len(quotes); {
		count, end, taken := map[catalog.Answer]int{}, first, 0
		for ; end < len(quotes) && quotes[end].Supplier == quotes[first].Supplier; end++ {
			count[quotes[end].Answer]++
			taken += min(1, len(quotes[end].Taken))
		}
		all := end - first
		if !quiet || count[catalog.Quoted] < all || taken > 0 {
			fmt.Fprintf(out, "quote of %s: %d of %d lines quoted, %d not quoted, %d past their validity; for %d something is taken that they do not say\n", quotes[first].Supplier,
				count[catalog.Quoted], all, count[catalog.NotQuoted]+count[catalog.OneSided], count[catalog.Expired], taken)
		}
		first = end
	}
	for _, s := range q.Said {
		if s.Severity == trace.Ask || !quiet {
			fmt.Fprintln(out, s.String())
		}
	}
}

// tellOnOrder says what has come of what was ordered; where quiet, only of what
// comes late or on a day not known, since the order is less by it all the same.
func tellOnOrder(out io.Writer, job *estimate.Campaign, quiet bool) {
	for _, o := range job.Coming {
		state, settled := export.OnOrderText(job, o)
		if quiet && settled {
			continue
		}
		fmt.Fprintf(out, "on order %s: %s, ordered %s, received %s, %s\n", o.Order, o.Item, o.Ordered, o.Received, state)
	}
}

// readTexts reads the words of the firm's documents.
func readTexts(path string) (w export.Buying, err error) {
	if path == "" {
		return w, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return w, err
	}
	defer f.Close()
	into := map[string]*string{"deliver_to": &w.Deliver, "number": &w.Number}
	r := csv.NewReader(f)
	r.FieldsPerRecord = 2
	seen := map[string]bool{}
	for first := true; ; first = false {
		record, err := r.Read()
		if err == io.EOF {
			return w, nil
		}
		if err != nil {
			return w, withHint(fmt.Errorf("%s: %w", path, err), "give two columns, text and value, and put a value with a comma between quotes")
		}
		name := strings.TrimSpace(strings.TrimPrefix(record[0], "\ufeff"))
		if first && name == "text" {
			continue
		}
		line, _ := r.FieldPos(0)
		to := into[name]
		if to == nil || seen[name] {
			return w, withHint(fmt.Errorf("%s:%d:1: %q is no text of the documents, or stands there twice", path, line, cmp.Or(name, "blank")), "write deliver_to or number, each once; the firm is in the settings offer.firm and offer.firm_address, its terms are in the table terms, part purchase")
		}
		seen[name], *to = true, strings.TrimSpace(record[1])
	}
}
