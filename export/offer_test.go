package export

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/export/table"
	"wraptally/export/xlsx/xlsxtest"
)

// secrets is a campaign whose suppliers, part codes, costs and rates are all
// unlike anything else, and where they are read from.
func secretCampaign(t *testing.T) *estimate.Campaign {
	p := trial{path: demoSurvey, sets: []string{"cut.work_units=2000000", "order.rechoose=no", "bid.contingency=11.1379", "offer.number=N-1"}, tables: strings.NewReplacer(
		"Supplier ", "Quarzhandel ", "A-1", "PARTCODE-1", "B-1", "PARTCODE-2", "C-1", "PARTCODE-3",
		"vehicle, compressor and small plant", "zirkonplant", "crew,185.00", "crew,187.7391", "campaign,150.00", "campaign,151.9137",
		"percent,12,", "percent,13.3713,", "percent-profit,8,", "percent-profit,7.9173,", "percent-materials,3,", "percent-materials,3.7719,",
		"62.00,", "61.3791,", "48.50,", "47.9317,")}.run(t)
	p.Name = "/home/quarzuser/geheim/survey.csv"
	return p
}

// forbidden are the words and numbers that a client must not read, from the
// campaign itself: every supplier and part code, what each item costs at every
// stage, every rate and percentage but that of the tax, every share of a repair.
// Numbers of fewer than four digits are left out: they are counts as well.
func forbidden(p *estimate.Campaign) (words, numbers map[string]bool) {
	words, numbers = map[string]bool{"quarzuser": true, "geheim": true, "/home": true, "zirkonplant": true}, map[string]bool{}
	number := func(list ...decimal.Decimal) {
		for _, d := range list {
			for _, s := range []string{d.String(), d.StringFixed(p.Bid.Minor), money(d, p.Bid.Minor)} {
				if len(strings.Trim(strings.NewReplacer(".", "", " ", "", "-", "").Replace(s), "0")) >= 4 {
					numbers[s] = true
				}
			}
		}
	}
	for i := range p.Catalog.Offers {
		words[p.Catalog.Offers[i].Supplier], words[p.Catalog.Offers[i].PartCode] = true, true
	}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			number(l.Break.Price, l.BaseCost, estimate.LineCost(l, p.Bid.Minor))
		}
	}
	for i := range p.Bid.Lines {
		if l := &p.Bid.Lines[i]; l.Stage != "tax" {
			number(l.Amount, l.Rate, l.Base)
		}
	}
	for i := range p.Catalog.Labour {
		number(p.Catalog.Labour[i].Rate)
	}
	number(p.Bid.Direct, p.Bid.Low, p.Bid.High, p.Bid.Stage("materials"), p.Bid.Stage("labour"), p.Bid.Stage("site"))
	for n := range p.Jobs {
		s := &p.Jobs[n].Share
		number(s.Materials, s.Labour, s.Access, s.Other, s.Total)
	}
	return words, numbers
}

// found lists what of the words and numbers stands in any part of a workbook, in
// the names of its parts or in its comments.
func found(t *testing.T, book []byte, words, numbers map[string]bool) (hits []string) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	all := z.Comment
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		part, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		all += "\n" + f.Name + f.Comment + string(f.Extra) + "\n" + string(part)
	}
	lower := strings.ToLower(all)
	for w := range words {
		if strings.Contains(lower, strings.ToLower(w)) {
			hits = append(hits, w)
		}
	}
	for n := range numbers {
		for rest := all; ; {
			i := strings.Index(rest, n)
			if i < 0 {
				break
			}
			before, after := byte(' '), byte(' ')
			if i > 0 {
				before = rest[i-1]
			}
			if i+len(n) < len(rest) {
				after = rest[i+len(n)]
			}
			if !isDigit(before) && !isDigit(after) && before != '.' {
				hits = append(hits, n)
				break
			}
			rest = rest[i+len(n):]
		}
	}
	return hits
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// An offer goes to a client: no cost, supplier, margin, path or user stands in any
// part of the file, seen or hidden. The same search finds them in the estimator's
// workbook.
func TestOfferKeepsSecrets(t *testing.T) {
	p := secretCampaign(t)
	words, numbers := forbidden(p)
	if len(words) < 20 || len(numbers) < 100 {
		t.Fatalf("%d words and %d numbers to look for", len(words), len(numbers))
	}
	var out bytes.Buffer
	opt := Options{Version: "test", Printed: time.Date(2027, 2, 1, 0, 0, 0, 0, time.UTC)}
	if err := Offer(&out, p, opt); err != nil {
		t.Fatal(err)
	}
	if hits := found(t, out.Bytes(), words, numbers); len(hits) > 0 {
		t.Errorf("the offer tells %q", hits)
	}
	for _, b := range Books(p, opt, "x.xlsx")[:1] {
		var full bytes.Buffer
		if err := b.Write(&full); err != nil {
			t.Fatal(err)
		}
		if hits := found(t, full.Bytes(), words, numbers); len(hits) < 100 {
			t.Errorf("the search finds only %d of what stands in the estimator's workbook", len(hits))
		}
	}
	w := newOffer(p, opt).workbook()
	if len(w.Names) > 0 || len(w.Sheets) != 2 || w.Sheets[0].Hidden || w.Sheets[1].Hidden {
		t.Errorf("%d names, %d sheets", len(w.Names), len(w.Sheets))
	}
}

// The schedule adds up to the bid exactly, every repair is in one item, and what
// is open or stopped is marked so.
func TestOfferIsTheBid(t *testing.T) {
	for name, tr := range map[string]trial{
		"demo": {path: demoSurvey, sets: []string{"cut.work_units=2000000", "order.rechoose=no"}}, "many": {text: storeSurvey(60, true, "L-1"), sets: []string{"cut.work_units=2000000", "order.rechoose=no", "bid.class=5"}},
		"no minor unit": {path: demoSurvey, sets: []string{"cut.work_units=2000000", "order.rechoose=no"}, change: noMinorUnit},
	} {
		p := tr.run(t)
		o := p.Offer()
		sum, jobs := o.Once, map[int]bool{}
		for _, it := range o.Items {
			sum = sum.Add(it.Amount)
			for _, n := range it.Jobs {
				jobs[n] = true
				r := p.Jobs[n].Repair
				if r.Blank != 0 && !it.Provisional {
					t.Errorf("%s: %s is open and not provisional", name, r.ID)
				}
				if r.OD != it.OD || r.Layers != it.Layers || r.Kind() != it.Kind {
					t.Errorf("%s: %s is in the item %+v", name, r.ID, it)
				}
			}
		}
		for _, tax := range o.Taxes {
			sum = sum.Add(tax.Amount)
		}
		if !sum.Equal(p.Bid.Total) || len(jobs) != len(p.Jobs) {
			t.Errorf("%s: %s of %s, %d of %d repairs", name, sum, p.Bid.Total, len(jobs), len(p.Jobs))
		}
		stopped := 0
		for _, s := range o.Stopped {
			stopped += s.Rows
			if s.Like < 0 || !s.Sum.IsPositive() {
				t.Errorf("%s: %+v has no sum", name, s)
			}
		}
		if stopped != p.Account.Queried { // in these surveys each has one row
			t.Errorf("%s: provisional sums for %d, queried %d", name, stopped, p.Account.Queried)
		}
	}
}

// What an offer says of who and when; what is not given is left to be filled in.
func TestOfferHead(t *testing.T) {
	p := trial{path: demoSurvey, sets: []string{"cut.work_units=2000000", "order.rechoose=no", "offer.client=Client X", "offer.date=2027-02-20", "offer.valid_days=10", "dates.survey=2026-11-03"}}.run(t)
	got := map[string]string{}
	for _, f := range newOffer(p, Options{}).facts() {
		got[f.name] = f.text
	}
	for name, want := range map[string]string{"Client": "Client X", "Date of the offer": "2027-02-20", "Valid until (10 days)": "2027-03-02", "Date of the survey": "2026-11-03", "Prices of": "", "Firm": ""} {
		if got[name] != want {
			t.Errorf("%s: %q, want %q", name, got[name], want)
		}
	}
	open, draft := OfferOpen(p, Options{})
	if strings.Join(open, ",") != "Firm,Address,Project,Offer number,Prices of" || !draft {
		t.Errorf("open %q, draft %v", open, draft)
	}
	if d := newBook(p, Options{}, nil).dates(); !strings.HasPrefix(d, "survey of 2026-11-03; prices of not stated; work from 2027-03-15 to ") {
		t.Error(d)
	}
}

// The offer prints on its pages at both sizes, and every formula gives what is
// written beside it in LibreOffice.
func TestCrossOfferRecalculates(t *testing.T) {
	for _, paper := range []string{"A4", "Letter"} {
		p := trial{path: demoSurvey, sets: []string{"cut.work_units=2000000", "order.rechoose=no", "output.paper=" + paper}}.run(t)
		path := filepath.Join(t.TempDir(), "offer.xlsx")
		if err := os.WriteFile(path, written(t, newOffer(p, Options{}).workbook()), 0o666); err != nil {
			t.Fatal(err)
		}
		if n := xlsxtest.Recalculated(t, path); n < 10 {
			t.Errorf("%d formulas", n)
		}
		if _, pages := xlsxtest.PDF(t, path); pages != 4 {
			t.Errorf("%s: %d pages", paper, pages)
		}
	}
}

// Alternatives stand side by side with their differences.
func TestAlternativesSideBySide(t *testing.T) {
	quick := []string{"cut.work_units=2000000", "order.rechoose=no"}
	p := trial{path: demoSurvey, sets: quick}.run(t)
	two := trial{path: demoSurvey, sets: append(quick, "crew.count=2")}.run(t)
	same := trial{path: demoSurvey, sets: quick}.run(t)
	opt := Options{Alternatives: []Alternative{{"two crews", two}, {"the same", same}}}
	for _, b := range Books(p, opt, "x.xlsx") {
		w := b.make()
		i := -1
		for k, s := range w.Sheets {
			if s.Name == sheetAlternatives {
				i = k
			}
		}
		if i < 0 {
			t.Fatal("no sheet")
		}
		rows := 0
		for row := range w.Sheets[i].Rows {
			if len(row.Cells) < 7 || row.Cells[4].Kind != table.KindFormulaNum {
				continue
			}
			rows++
			base, at, difference, none := row.Cells[2].Num, row.Cells[3].Num, row.Cells[4].Num, row.Cells[6].Num
			if d := at - base - difference; d > 1e-6 || d < -1e-6 || none != 0 {
				t.Errorf("%s: %g, %g, differs by %g; the same by %g", row.Cells[0].Text, base, at, difference, none)
			}
			if row.Cells[0].Text == "BID WITH TAX" && (base != p.Bid.Total.InexactFloat64() || at != two.Bid.Total.InexactFloat64()) {
				t.Errorf("bids %g and %g", base, at)
			}
		}
		if rows < 20 {
			t.Errorf("%d figures", rows)
		}
	}
	if text := changesText(p, opt.Alternatives[0]); text != `two crews: crew.count "2" in place of "1"` {
		t.Error(text)
	}
}
