package main

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace/outside"
)

const quoteSurvey = "../../testdata/surveys/campaign.csv"

// buyTold makes the documents of the shipped survey and gives what is told.
func buyTold(t *testing.T, dir string, more ...string) string {
	t.Helper()
	var out, wrong bytes.Buffer
	args := append([]string{"buy", quoteSurvey, "--start", "2027-03-01", "--date", "2027-01-10", "-o", dir}, more...)
	if run(args, &out, &wrong) != exitOK {
		t.Fatal(wrong.String())
	}
	return out.String()
}

// orders are the rows of all purchase orders.
func orders(t *testing.T, dir string) (text string, rows []map[string]string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "order-*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatal("no purchase order", err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		text += filepath.Base(f) + "\n" + string(b)
		rows = append(rows, table(t, f)...)
	}
	return text, rows
}

// fillBook fills the empty cells of a request as a supplier does in a spreadsheet
// program: what answer gives for an item, by heading.
func fillBook(t *testing.T, path string, answer func(item string) map[string]any) {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	sheet := f.GetSheetList()[0]
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	head := map[string]int{}
	for line, row := range rows {
		if len(head) == 0 {
			for col, text := range row {
				if slices.Contains(row, "Our item") {
					name, _, _ := strings.Cut(text, "\n")
					head[name] = col + 1
				}
			}
			continue
		}
		if len(row) < head["Our item"] || row[head["Our item"]-1] == "" {
			continue
		}
		for name, v := range answer(row[head["Our item"]-1]) {
			ref, err := excelize.CoordinatesToCellName(head[name], line+1)
			if err != nil {
				t.Fatal(name, err)
			}
			if err := f.SetCellValue(sheet, ref, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
}

// priced answers for one item alone.
func priced(item, price string, v map[string]any) func(string) map[string]any {
	return func(asked string) map[string]any {
		if asked != item {
			return map[string]any{}
		}
		v["Price"], v["Currency"] = price, "EUR"
		return v
	}
}

// A request that comes back filled changes the order as it says: dearer goes
// elsewhere, cheaper is bought there, and what has no price is not bought there.
func TestQuotesComeBack(t *testing.T) {
	dir := t.TempDir()
	buyTold(t, filepath.Join(dir, "asked"))
	_, before := orders(t, filepath.Join(dir, "asked"))
	from := func(rows []map[string]string, item string) (articles []string) {
		for _, r := range rows {
			if r["Our item"] == item {
				articles = append(articles, r["Article"])
			}
		}
		return articles
	}
	// PUTTY-1 is offered by B (cartons of six, EUR) and C (single packs, GBP).
	const item = "PUTTY-1"
	was := from(before, item)
	if len(was) == 0 {
		t.Fatal("nothing of " + item + " is ordered: choose another")
	}
	for _, supplier := range []string{"b", "c"} {
		name := filepath.Join(dir, "asked", "request-supplier-"+supplier+".xlsx")
		price := "900,50" // decimal comma, as text
		if supplier == "c" {
			price = "1,25"
		}
		fillBook(t, name, priced(item, price, map[string]any{"Lead time": 3, "Shelf life left": 400, "Valid until": "31.12.2027", "Your article": "NEW-" + supplier}))
	}
	b, c := filepath.Join(dir, "asked", "request-supplier-b.xlsx"), filepath.Join(dir, "asked", "request-supplier-c.xlsx")
	told := buyTold(t, filepath.Join(dir, "then"), "--quotes", b+","+c)
	if !strings.Contains(told, "quote of Supplier C: 1 of ") {
		t.Errorf("told: %s", told)
	}
	_, after := orders(t, filepath.Join(dir, "then"))
	if got := from(after, item); len(got) != 1 || got[0] != "NEW-c" {
		t.Errorf("%s was bought as %v; dear at B and cheap at C it is bought as %v", item, was, got)
	}
	for _, r := range after {
		if r["Our item"] == item && r["Price, (of a pack)"] != "1.25" {
			t.Errorf("the price quoted is 1.25, ordered at %q", r["Price, (of a pack)"])
		}
	}
	// No document to one supplier shows another's numbers.
	for _, f := range []string{"request-supplier-b.csv", "order-supplier-b-eur.csv", "order-supplier-b-usd.csv"} {
		text, err := os.ReadFile(filepath.Join(dir, "then", f))
		if os.IsNotExist(err) {
			continue
		}
		if err != nil || bytes.Contains(text, []byte("NEW-c")) || bytes.Contains(text, []byte(",1.25,")) || bytes.Contains(text, []byte("Supplier C")) {
			t.Errorf("%s shows what is C's: %v", f, err)
		}
	}
}

// Quotes that say what the catalogue says give the same order. Only offers of one
// price step can be said in a request.
func TestEqualQuotesGiveTheSameOrder(t *testing.T) {
	dir := t.TempDir()
	tables := filepath.Join(dir, "own")
	if err := os.Mkdir(tables, 0o777); err != nil {
		t.Fatal(err)
	}
	steps, err := os.ReadFile("../../catalog/book/prices.csv")
	if err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(bytes.NewReader(steps)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	offers := map[string]map[string]string{}
	for _, o := range table(t, "../../catalog/book/offers.csv") {
		offers[o["item"]+o["supplier"]] = o
	}
	var one [][]string
	prices := map[string]string{}
	for _, r := range all {
		if key := r[0] + r[1]; prices[key] == "" {
			prices[key] = r[3]
			if key != "itemsupplier" {
				r[2] = "1"
			}
			one = append(one, r)
		}
	}
	var text bytes.Buffer
	if err := csv.NewWriter(&text).WriteAll(one); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(tables, "prices.csv"), text.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	buyTold(t, filepath.Join(dir, "asked"), "--catalog", tables)
	books, err := filepath.Glob(filepath.Join(dir, "asked", "request-*.xlsx"))
	if err != nil || len(books) < 3 {
		t.Fatal(books, err)
	}
	for _, book := range books {
		supplier := "Supplier " + strings.ToUpper(book[len(book)-6:len(book)-5])
		fillBook(t, book, func(item string) map[string]any {
			o := offers[item+supplier]
			v := map[string]any{"Price": prices[item+supplier], "Currency": o["currency"], "Lead time": o["lead_days"], "Valid until": "2027-12-31"}
			if o["shelf_left_days"] != "" {
				v["Shelf life left"] = o["shelf_left_days"]
			}
			return v
		})
	}
	told := buyTold(t, filepath.Join(dir, "then"), "--catalog", tables, "--quotes", strings.Join(books, ","))
	before, _ := orders(t, filepath.Join(dir, "asked"))
	after, _ := orders(t, filepath.Join(dir, "then"))
	if before != after {
		t.Errorf("quotes equal to the catalogue change the order:\n%s\n%s\n%s", told, before, after)
	}
}

// A spreadsheet program (outside this project) saves the filled request again; it
// is read as it was.
func TestCrossQuotesFromASpreadsheetProgram(t *testing.T) {
	outside.Need(t, "soffice")
	dir := t.TempDir()
	buyTold(t, filepath.Join(dir, "asked"))
	name := filepath.Join(dir, "asked", "request-supplier-c.xlsx")
	fillBook(t, name, func(string) map[string]any {
		return map[string]any{"Price": 12.5, "Currency": "GBP", "Lead time": 3, "Shelf life left": 400, "Valid until": "2027-12-31"}
	})
	saved := filepath.Join(dir, "saved")
	for _, form := range []string{"xlsx", `csv:Text - txt - csv (StarCalc):59,34,76,1`} {
		cmd := exec.Command("soffice", "--headless", "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--convert-to", form, "--outdir", saved, name)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	buyTold(t, filepath.Join(dir, "a"), "--quotes", name)
	first, _ := orders(t, filepath.Join(dir, "a"))
	for _, form := range []string{"xlsx", "csv"} {
		buyTold(t, filepath.Join(dir, form), "--quotes", filepath.Join(saved, "request-supplier-c."+form))
		if again, _ := orders(t, filepath.Join(dir, form)); again != first {
			t.Errorf("saved as %s it gives another order:\n%s\n%s", form, first, again)
		}
	}
	if !regexp.MustCompile(`,12\.5,`).MatchString(first) {
		t.Error("the price quoted is not in the order")
	}
}

// The comparison adds up: the columns of goods give the totals, and charges are those
// of the table suppliers, reckoned by hand for the shipped survey (Supplier A below the
// value from which a delivery is free; B and C beyond theirs, with one delivery of
// hazardous goods each, 60 USD at 0.91 and 25 GBP at 1.16).
func TestComparisonOfQuotes(t *testing.T) {
	dir := t.TempDir()
	buyTold(t, filepath.Join(dir, "asked"))
	name := filepath.Join(dir, "asked", "request-supplier-c.xlsx")
	fillBook(t, name, func(item string) map[string]any {
		if item == "GLOVE" {
			return map[string]any{"Remarks": "not in our range"}
		}
		return map[string]any{"Price": 100, "Currency": "GBP", "Lead time": 3, "Valid until": "2027-12-31"}
	})
	buyTold(t, filepath.Join(dir, "then"), "--quotes", name)
	sums := map[string]float64{}
	for _, r := range table(t, filepath.Join(dir, "then", "comparison.csv")) {
		for _, from := range []string{"Supplier A", "Supplier B", "Supplier C", "Mix chosen"} {
			if v, err := strconv.ParseFloat(r[from+", (EUR)"], 64); err == nil {
				sums[from] += v
			}
		}
		if c := r["Supplier C, (packs at price)"]; r["Our item"] == "PUTTY-05" && c != "not offered" || r["Our item"] == "WIPE" && !strings.HasSuffix(c, "at 100 GBP") {
			t.Errorf("%s from Supplier C: %q", r["Our item"], c)
		}
		if left := r["What quotes leave out, and what is taken"]; r["Our item"] == "GLOVE" && left != "Supplier C: not quoted, nor by others: as in the catalogue, remark: not in our range" ||
			r["Our item"] == "SEAL-WET" && !strings.Contains(left, "shelf life left of ") {
			t.Errorf("%s: %q", r["Our item"], left)
		}
	}
	f, err := excelize.OpenFile(filepath.Join(dir, "then", "comparison.xlsx"), excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Comparison")
	if err != nil {
		t.Fatal(err)
	}
	charges := map[string]float64{"Supplier A": 18, "Supplier B": 60 * 0.91, "Supplier C": 25 * 1.16, "Mix chosen": 18 + 60*0.91 + 25*1.16}
	found := 0
	for _, row := range rows {
		want, ok := charges[row0(row)]
		if !ok {
			continue
		}
		found++
		var amounts []float64
		for _, text := range row[1:] {
			if v, err := strconv.ParseFloat(text, 64); err == nil {
				amounts = append(amounts, v)
			}
		}
		near := func(a, b float64) bool { return math.Abs(a-b) < 0.005 }
		if len(amounts) != 5 || !near(amounts[0], sums[row[0]]) || !near(amounts[1]+amounts[2]+amounts[3], want) || !near(amounts[4], amounts[0]+want) {
			t.Errorf("%s: goods, charges and landed are %v; the goods above add up to %.2f and the charges should be %.2f", row[0], amounts, sums[row[0]], want)
		}
	}
	if found != 4 {
		t.Errorf("%d suppliers and mix, not 4", found)
	}
}

func row0(row []string) string {
	if len(row) == 0 {
		return ""
	}
	return row[0]
}

// The firm stands in the settings of the offer, its terms in the table terms: each
// document has them from there.
func TestFirmStandsInOnePlace(t *testing.T) {
	dir := t.TempDir()
	texts := filepath.Join(dir, "texts.csv")
	if err := os.WriteFile(texts, []byte("text,value\ndeliver_to,\"Gate 2, Yard 1\"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	buyTold(t, filepath.Join(dir, "out"), "--texts", texts, "--set", "offer.firm=Example Works", "--set", "offer.firm_address=1 Quay")
	for name, want := range map[string][]string{
		"request-supplier-a.xlsx":   {"From: Example Works, 1 Quay.", "Deliver to: Gate 2, Yard 1."},
		"order-supplier-a-eur.xlsx": {"From: Example Works, 1 Quay.", "Deliver to: Gate 2, Yard 1.", "Payment: 30 days net after delivery and invoice."},
	} {
		f, err := excelize.OpenFile(filepath.Join(dir, "out", name))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows(f.GetSheetList()[0])
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range want {
			if !slices.ContainsFunc(rows, func(r []string) bool { return row0(r) == text }) {
				t.Errorf("%s does not say %q", name, text)
			}
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}

// Goods on order are judged by shelf life against the day of use: those that come as
// they were called off cover the need, and the same goods all coming on the first day,
// of which some would expire before they are used, do not.
func TestGoodsOnOrderExpire(t *testing.T) {
	dir := t.TempDir()
	buyTold(t, filepath.Join(dir, "asked"))
	var quotes []string
	for _, s := range []string{"b", "c"} {
		name := filepath.Join(dir, "asked", "request-supplier-"+s+".xlsx")
		quotes = append(quotes, name)
		fillBook(t, name, func(item string) map[string]any {
			v := map[string]any{"Price": 50, "Currency": "EUR", "Lead time": 3, "Valid until": "2027-12-31", "Shelf life left": 900}
			if strings.HasPrefix(item, "WRAP-") {
				v["Shelf life left"] = 20
			}
			return v
		})
	}
	same := []string{"--quotes", strings.Join(quotes, ","), "--set", "crew.productive=0.12", "--set", "order.rechoose=no"}
	buyTold(t, filepath.Join(dir, "first"), same...)
	_, rows := orders(t, filepath.Join(dir, "first"))
	days := map[string]bool{}
	moves := func(name, day string) string {
		text := "move,order,item,quantity,arrives\n"
		for i, r := range rows {
			packs, err := strconv.ParseFloat(r["Packs"], 64)
			units, err2 := strconv.ParseFloat(unitsOfPack.FindStringSubmatch(r["Pack"])[1], 64)
			if err != nil || err2 != nil {
				t.Fatal(r, err, err2)
			}
			comes := r["Deliver by"]
			if days[comes] = true; day != "" {
				comes = day
			}
			text += "ordered,PO-" + strconv.Itoa(i) + "," + r["Our item"] + "," + strconv.FormatFloat(packs*units, 'f', -1, 64) + "," + comes + "\n"
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	again := func(name, path string) (wraps int) {
		buyTold(t, filepath.Join(dir, name), append([]string{"--moves", path}, same...)...)
		files, err := filepath.Glob(filepath.Join(dir, name, "order-*.csv"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			for _, r := range table(t, f) {
				if !strings.HasPrefix(r["Our item"], "WRAP-") {
					t.Errorf("%s: %s is ordered again", name, r["Our item"])
				}
				wraps++
			}
		}
		return wraps
	}
	called := moves("called.csv", "")
	if len(days) < 2 {
		t.Fatal("nothing is called off: the case shows nothing")
	}
	if n := again("called", called); n > 0 {
		t.Errorf("what comes as it was called off is ordered again in %d lines", n)
	}
	if n := again("once", moves("once.csv", "2027-03-01")); n == 0 {
		t.Error("wrap that keeps 20 days and comes on the first day covers work of seven weeks")
	}
}
