package export

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/survey"
	_ "wraptally/estimate/trace/depth"
	"wraptally/estimate/trace/outside"
	"wraptally/export/table"
	"wraptally/export/xlsx"
	"wraptally/export/xlsx/xlsxtest"
)

// demoSurvey is the invented survey that the README shows.
const demoSurvey = "../testdata/surveys/campaign.csv"

// trial is a survey with what may be changed about its estimate.
type trial struct {
	path   string // of the survey, else text
	text   string
	sets   []string
	stock  []estimate.StockLot
	moves  []catalog.Movement
	change func(*catalog.Catalog)
	tables *strings.Replacer // over the built-in tables
}

func (tr trial) run(t testing.TB) *estimate.Campaign {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: tr.sets, Dir: tr.folder(t)})
	if err != nil {
		t.Fatal(err)
	}
	if tr.change != nil {
		tr.change(c)
	}
	text := tr.text
	if tr.path != "" {
		b, err := os.ReadFile(tr.path)
		if err != nil {
			t.Fatal(err)
		}
		text = string(b)
	}
	s, err := survey.Read(strings.NewReader(text), int64(len(text)), survey.Options{Name: "survey.csv", Sizes: c})
	if err != nil {
		t.Fatal(err)
	}
	p, err := estimate.Run(s, c, estimate.Options{Name: "survey.csv", Stock: tr.stock, Moves: tr.moves})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// folder is one of changed tables, "" where none are.
func (tr trial) folder(t testing.TB) string {
	t.Helper()
	if tr.tables == nil {
		return ""
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, catalog.Book()); err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err == nil {
			err = os.WriteFile(name, []byte(tr.tables.Replace(string(b))), 0o666)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// writeBooks writes a campaign's workbooks into a folder.
func writeBooks(t testing.TB, p *estimate.Campaign, opt Options) []string {
	t.Helper()
	dir := t.TempDir()
	opt.Version = "test"
	var paths []string
	for _, b := range Books(p, opt, filepath.Join(dir, "demo.xlsx")) {
		var out bytes.Buffer
		if err := b.Write(&out); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(b.Path, out.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, b.Path)
	}
	return paths
}

func march(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }

// demoStock are invented lots of which some expire too soon.
func demoStock() []estimate.StockLot {
	lot := func(item, id string, n int64, expiry time.Time) estimate.StockLot {
		return estimate.StockLot{Item: item, Lot: order.Lot{ID: id, Location: "R1", Quantity: decimal.NewFromInt(n), Expiry: expiry}}
	}
	return []estimate.StockLot{
		lot("GLOVE", "G1", 40, time.Time{}), lot("WRAP-100-6", "W1", 6, march(20)), lot("WRAP-100-6", "W2", 5, march(90)),
		lot("BOARD", "B1", 500, time.Time{}), lot("PUTTY-1", "P1", 3, march(1)),
	}
}

// trials are the forms a workbook takes.
var trials = map[string]trial{
	"demo":             {path: demoSurvey},
	"inch, Letter":     {path: demoSurvey, sets: []string{"output.units=inch", "output.paper=Letter"}},
	"with stock":       {path: demoSurvey, stock: demoStock(), sets: []string{"order.working_days=yes"}},
	"split orders":     {path: demoSurvey, sets: []string{"order.split_suppliers=yes", "crew.count=3"}},
	"one repair":       {text: storeSurvey(1, true, "L-1")},
	"many books":       {text: storeSurvey(100, true, "L-1"), sets: []string{"output.kits_per_book=30"}},
	"prices in steps":  {text: storeSurvey(25, true, "L-1"), change: stepPrices},
	"codes as pattern": {path: demoSurvey, tables: strings.NewReplacer("GLOVE", "GLOVE*", "WIPE", "wipe~?", "BOARD", "0012", "Supplier C", "Supplier C*")},
	"names as pattern": {text: namesAsPattern()},
	"no minor unit":    {path: demoSurvey, change: noMinorUnit},
	"nothing at all":   {text: storeHeads + "D-1,L,A,1,60,2,NPS,3.9,20,999,1,no,6:00,0.5,20,dry,ground\n"},
}

// stepPrices makes every price rise step by step, so that a line of the order
// has several prices.
func stepPrices(c *catalog.Catalog) {
	for i := range c.Offers {
		if c.Offers[i].Prices[0].FromPacks == 1 {
			c.Offers[i].Scheme = "incremental"
		}
	}
}

// namesAsPattern is a survey whose areas and lines a criterion of SUMIFS would take
// for patterns, numbers, comparisons, or each other, and one too long for it.
func namesAsPattern() string {
	names := []string{"a*", "A*", "abc", "12", "12.0", "<>", "=12", "~?", "?b", "", strings.Repeat("x", 300)}
	var out strings.Builder
	out.WriteString(storeHeads)
	for i, n := range names {
		fmt.Fprintf(&out, "D-%d,%q,%q,%d.5,168.3,6,NPS,7.11,30,20,3.5,no,6:00,0.5,15,dry,ground\n", i+1, n+"L", names[len(names)-1-i], 10*i)
	}
	return out.String()
}

// noMinorUnit has the bid in a currency without smaller units.
func noMinorUnit(c *catalog.Catalog) {
	for i := range c.Currencies {
		c.Currencies[i].Minor = 0
	}
}

// Every formula of every sheet, computed anew by LibreOffice, gives the value
// kept with it: to the cent for money, exactly for text.
func TestCrossEveryFormulaRecalculated(t *testing.T) {
	outside.Need(t, "soffice")
	for name, tr := range trials {
		t.Run(name, func(t *testing.T) {
			p := tr.run(t)
			for i, path := range writeBooks(t, p, Options{}) {
				if i > 1 {
					break // the other kit workbooks are made alike
				}
				t.Logf("%s: %d formulas", filepath.Base(path), xlsxtest.Recalculated(t, path))
			}
		})
	}
}

// Nothing of a workbook says that it does not add up as it is written.
func TestChecksAddUp(t *testing.T) {
	for name, tr := range trials {
		t.Run(name, func(t *testing.T) {
			checks := 0
			for _, path := range writeBooks(t, tr.run(t), Options{}) {
				for _, v := range xlsxtest.Values(t, path) {
					if v.Text == addsUp || v.Text == coveredText {
						checks++
					}
					if v.Formula != "" && (strings.HasPrefix(v.Text, doesNotAdd) || v.Text == shortText) {
						t.Errorf("%s!%s: %s", v.Sheet, v.Cell, v.Text)
					}
				}
			}
			if checks == 0 {
				t.Error("no check was found")
			}
		})
	}
}

// The workbook opens without a repair: an independent validator of ECMA-376
// finds nothing, and openpyxl reads every cell and every name.
func TestCrossReadByOthers(t *testing.T) {
	outside.NeedPython(t, "openpyxl")
	outside.Need(t, "ooxml-validator")
	p := trials["with stock"].run(t)
	vary, err := p.Vary(-1, 0.1, func(int, int) {})
	if err != nil {
		t.Fatal(err)
	}
	path := writeBooks(t, p, Options{Vary: &vary})[0]
	t.Run("valid", func(t *testing.T) { xlsxtest.Valid(t, path) })
	t.Run("recalculated", func(t *testing.T) { xlsxtest.Recalculated(t, path) })
	cells, names := xlsxtest.Openpyxl(t, path)
	got := map[string]string{}
	for _, c := range cells {
		got[c.Sheet+"!"+c.Cell] = c.Text
	}
	compared := 0
	for _, v := range xlsxtest.Values(t, path) {
		if v.Text == "" {
			continue
		}
		if _, ok := got[v.Sheet+"!"+v.Cell]; !ok {
			t.Errorf("%s!%s is not read by openpyxl", v.Sheet, v.Cell)
		}
		compared++
	}
	t.Logf("%d cells read back", compared)
	have := strings.Join(names, " ")
	for _, name := range []string{"bid_total", "bid_net", "direct_cost", "range_low", "range_high", "materials_total", "growth", "crew_rate", "count_crew_shift", "mass_delivered"} {
		if !strings.Contains(" "+have+" ", " "+name+" ") {
			t.Errorf("the name %s is not defined; there are %s", name, have)
		}
	}
}

// Text that looks like a formula stays text on every sheet.
func TestFormulaLikeTextStaysText(t *testing.T) {
	text := strings.ReplaceAll(storeSurvey(3, true, "=1+1"), "Area 1", "@SUM(A1)")
	text = strings.ReplaceAll(text, "D-2,", "+cmd|x,")
	found := 0
	for _, path := range writeBooks(t, trial{text: text}.run(t), Options{}) {
		for _, v := range xlsxtest.Values(t, path) {
			if strings.Contains(v.Text, "=1+1") || strings.Contains(v.Text, "@SUM(A1)") || strings.Contains(v.Text, "+cmd|x") {
				found++
				if v.Formula != "" && !strings.HasPrefix(v.Formula, "HYPERLINK(") {
					t.Errorf("%s!%s became the formula %s", v.Sheet, v.Cell, v.Formula)
				}
			}
		}
	}
	if found < 10 {
		t.Errorf("only %d cells hold the text", found)
	}
}

// A campaign of many kits has them in several workbooks, each kit once, none
// with more than the setting allows, and the areas in the files' names.
func TestKitsAreSplitByArea(t *testing.T) {
	p := trial{text: storeSurvey(130, true, "L-1"), sets: []string{"output.kits_per_book=25"}}.run(t)
	parts := splitKits(p, "/x/job.xlsx", 25)
	seen := map[int]bool{}
	for _, k := range parts {
		if len(k.part) == 0 || len(k.part) > 25 {
			t.Errorf("%s holds %d kits", k.name, len(k.part))
		}
		for _, n := range k.part {
			if seen[n] {
				t.Errorf("kit %d is in two workbooks", n)
			}
			seen[n] = true
		}
		if !strings.HasPrefix(k.name, "job-kits-") || !strings.Contains(k.name, fileWord(p.Jobs[k.part[0]].Repair.Area)) {
			t.Errorf("the name %s does not tell the area of its first kit", k.name)
		}
	}
	if len(seen) != len(p.Jobs) {
		t.Errorf("%d kits of %d are in workbooks", len(seen), len(p.Jobs))
	}
	books := Books(p, Options{}, "/x/job.xlsx")
	if len(books) != len(parts)+1 || books[0].Path != "/x/job.xlsx" || books[1].Path != "/x/"+parts[0].name {
		t.Errorf("%d workbooks, the first two %s and %s", len(books), books[0].Path, books[1].Path)
	}
	if n := len(Books(p, Options{}, "x.xlsx")); n != len(parts)+1 {
		t.Errorf("%d workbooks the second time", n)
	}
}

// By crew each workbook is of one crew, its kits in the order of the work, and the
// days in the files' names; each kit is in one of them, and so is each issue.
func TestKitsAreSplitByCrewAndDay(t *testing.T) {
	p := trial{text: storeSurvey(130, true, "L-1"), sets: []string{"output.kits_per_book=25", "output.books_by=crew", "crew.count=3", "campaign.start=2027-03-15"}}.run(t)
	seen, issued := map[int]bool{}, 0
	var before *estimate.Job
	for _, k := range splitKits(p, "/x/job.xlsx", 25) {
		first, last := &p.Jobs[k.part[0]], &p.Jobs[k.part[len(k.part)-1]]
		if len(k.part) > 25 || first.Crew != last.Crew {
			t.Errorf("%s: %d kits, of crew %d and %d", k.name, len(k.part), first.Crew, last.Crew)
		}
		if before != nil && before.Crew == first.Crew && before.Shift >= first.Shift {
			t.Errorf("%s begins with shift %d, the one before ends with %d", k.name, first.Shift, before.Shift)
		}
		before = last
		for i, n := range k.part {
			if seen[n] || i > 0 && p.Jobs[k.part[i-1]].Start > p.Jobs[n].Start {
				t.Errorf("%s: kit %s is there twice, or before its turn", k.name, p.Jobs[n].Repair.ID)
			}
			seen[n] = true
		}
		if !strings.Contains(k.name, fmt.Sprintf("-crew-%d-%s", first.Crew, day(first.Begun))) || !strings.Contains(k.holds, "to shift") {
			t.Errorf("the name %s, holding %q, does not tell crew and days", k.name, k.holds)
		}
		issued += len(newBook(p, Options{}, k.part).issues())
	}
	if len(seen) != len(p.Jobs) || issued != len(p.Issues) {
		t.Errorf("%d kits of %d, %d issues of %d", len(seen), len(p.Jobs), issued, len(p.Issues))
	}
}

// Links between the workbooks of a campaign lead to files that are there, by their
// names alone, so that the folder may be moved: from the campaign's to each of
// kits and from each of these back.
func TestLinksBetweenWorkbooks(t *testing.T) {
	p := trial{text: storeSurvey(60, true, "L-1"), sets: []string{"output.kits_per_book=25"}}.run(t)
	books := Books(p, Options{Run: "7K3F9Q"}, "/x/job 1.xlsx")
	there := map[string]bool{}
	for _, b := range books {
		there[filepath.Base(b.Path)] = true
	}
	for i, b := range books {
		leads := map[string]bool{}
		for _, s := range b.make().Sheets {
			for row := range s.Rows {
				for _, c := range row.Cells {
					if to := c.LinkTo(); c.Kind == table.KindLink && !strings.HasPrefix(to, "#") {
						leads[to] = true
					}
				}
			}
		}
		want := 1
		if i == 0 {
			want = len(books) - 1
		}
		if len(leads) != want {
			t.Errorf("%s leads to %d files, want %d", b.Path, len(leads), want)
		}
		for to := range leads {
			if !there[to] || to == filepath.Base(b.Path) {
				t.Errorf("%s leads to %s", b.Path, to)
			}
		}
	}
}

func TestFileWord(t *testing.T) {
	for in, want := range map[string]string{"Area 1": "Area-1", "": "no-area", "../../etc": "etc", "a/b\\c:d": "a-b-c-d", "  ": "no-area", "北区 2": "北区-2"} {
		if got := fileWord(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

const bytesOnly = "WRAPTALLY_TEST_WRITE"

// The same survey gives the same bytes in four processes, and in twenty where
// cross-checks are asked for.
func TestSameBytesInEveryProcess(t *testing.T)   { sameBytes(t, 4) }
func TestCrossSameBytesInProcesses(t *testing.T) { outside.Need(t); sameBytes(t, 20) }

func sameBytes(t *testing.T, processes int) {
	sum := func() string {
		h := sha256.New()
		for _, b := range Books(trial{path: demoSurvey, stock: demoStock()}.run(t), Options{Version: "test"}, "demo.xlsx") {
			if err := b.Write(h); err != nil {
				t.Fatal(err)
			}
		}
		return fmt.Sprintf("%x", h.Sum(nil))
	}
	if os.Getenv(bytesOnly) != "" {
		fmt.Println("sum", sum())
		return
	}
	want := "sum " + sum()
	for range processes {
		cmd := exec.Command(os.Args[0], "-test.run=^TestSameBytesInEveryProcess$", "-test.v")
		cmd.Env = append(os.Environ(), bytesOnly+"=1")
		said, err := cmd.CombinedOutput()
		if err != nil || !strings.Contains(string(said), want) {
			t.Fatalf("another process: %v\n%s\nwant %s", err, said, want)
		}
	}
}

// The kept parts guard the look of the sheets that are read first.
func TestBookLooksAsKept(t *testing.T) {
	p := trial{text: storeSurvey(2, true, "L-1"), sets: []string{"campaign.start=2027-03-15"}}.run(t)
	d := newDesk(p, Options{Version: "test"}, allOf(p), nil)
	order, _, cost := d.orderSheet(), d.needsSheet(), d.costSheet()
	repairs := d.repairsSheet()
	w := d.bind("Repair campaign", d.summarySheet(), repairs, order, cost)
	var out bytes.Buffer
	if err := xlsx.Write(&out, w); err != nil {
		t.Fatal(err)
	}
	xlsxtest.Golden(t, out.Bytes(), filepath.Join("testdata", "book"))
}

// Text that no cell can hold is shown as far as it can be, and never stops a
// workbook.
func TestLegible(t *testing.T) {
	long := strings.Repeat("längere Zeile ", 10_000)
	for _, in := range []string{"", "plain", "tab\there", "bell\a", "\xff\xfe", "a\uFFFEb", long, "\x00", "two\nlines", "carriage\rreturn"} {
		c := table.Text(legible(in), table.TextStyle)
		if problem := table.CheckCell(&c); problem != "" {
			t.Errorf("%.20q: %s", in, problem)
		}
	}
	if legible("plain text, 北") != "plain text, 北" {
		t.Error("plain text is changed")
	}
}

// The shipped survey's workbook, printed whole, is at most 45 pages for its eleven
// repairs on A4, and 47 on the shorter Letter, where Crews and Cutting run over: what is
// worked in on the screen is not printed.
func TestCrossTheWholePrintIsShort(t *testing.T) {
	outside.Need(t, "soffice", "pdfinfo")
	for _, paper := range []string{"A4", "Letter"} {
		p := shipped(t, "output.paper="+paper)
		file := writeBooks(t, p, Options{Version: "test"})[0]
		if pdf, pages := xlsxtest.PDF(t, file); pages > map[string]int{"A4": 45, "Letter": 47}[paper] || pages < 25 {
			t.Errorf("%s: %d repairs print on %d pages: %s", paper, len(p.Jobs), pages, pdf)
		}
	}
}

// shipped is the run of the shipped survey.
func shipped(t testing.TB, sets ...string) *estimate.Campaign {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: sets})
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey.Open("../testdata/surveys/campaign.csv", survey.Options{Sizes: c})
	if err != nil {
		t.Fatal(err)
	}
	p, err := estimate.Run(s, c, estimate.Options{Name: "campaign.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// What is printed is not shrunk until nobody can read it: the kits' pages have text
// of 8 points and rows of 7 mm to write on, the other sheets 7 points. Common
// practice, no source.
func TestThePrintIsLegible(t *testing.T) {
	const pointMM = mmPerInch / 72
	for _, paper := range []string{"A4", "Letter"} {
		p := shipped(t, "output.paper="+paper)
		d := newDesk(p, Options{Version: "test"}, allOf(p), nil)
		for _, s := range d.workbook().Sheets {
			for range s.Rows { // what is printed is known after the last row
			}
			columns, least := s.Columns, 7.0/table.BodySize
			if !s.PrintArea.Empty() {
				if s.PrintArea.First.Column > len(columns) {
					continue
				}
				columns = columns[:s.PrintArea.Last.Column]
			}
			scale := s.Page.Scale(columns)
			if s.Name == sheetKits {
				least = leastScale
				if mm := handRow * pointMM * scale; mm < 7 {
					t.Errorf("%s: %.1f mm to write on", paper, mm)
				}
			}
			if scale < least {
				t.Errorf("%s: %s is shrunk to %.2f", paper, s.Name, scale)
			}
		}
	}
}
