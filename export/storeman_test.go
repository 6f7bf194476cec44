package export

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/estimate/survey"
	"wraptally/estimate/takeoff"
	"wraptally/estimate/trace/outside"
	"wraptally/export/table"
	"wraptally/export/xlsx"
	"wraptally/export/xlsx/xlsxtest"
)

// campaignOf runs the estimate of a survey given as text.
func campaignOf(t testing.TB, text string, sets ...string) *estimate.Campaign {
	t.Helper()
	// How good the plans are does not matter here, unless a test asks.
	for _, quick := range []string{"cut.work_units=2000000", "order.rechoose=no"} {
		name, _, _ := strings.Cut(quick, "=")
		if !slices.ContainsFunc(sets, func(s string) bool { return strings.HasPrefix(s, name+"=") }) {
			sets = append(sets, quick)
		}
	}
	c, err := catalog.Load(catalog.Options{Sets: sets})
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey.Read(strings.NewReader(text), int64(len(text)), survey.Options{Name: "survey.csv", Sizes: c})
	if err != nil {
		t.Fatal(err)
	}
	p, err := estimate.Run(s, c, estimate.Options{Name: "survey.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const storeHeads = "id,line,area,chainage_m,od_mm,size,series,wall_mm,axial_mm,circ_mm,remaining_mm,leaking,clock,pressure_mpa,surface_temp_c,surface,access\n"

// storeSurvey is an invented survey of n defects, every third a leak.
func storeSurvey(n int, leaks bool, line string) string {
	sizes := []struct {
		od, wall float64
		name     string
	}{{60.3, 3.91, "2"}, {114.3, 6.02, "4"}, {168.3, 7.11, "6"}, {323.8, 9.53, "12"}, {610, 9.53, "24"}}
	var out strings.Builder
	out.WriteString(storeHeads)
	for i := range n {
		s := sizes[i%len(sizes)]
		left, leak := trimmed(s.wall*0.5, 2), "no"
		if leaks && i%3 == 0 {
			left, leak = "0", "yes"
		}
		fmt.Fprintf(&out, "D-%d,%s,Area %d,%d.5,%g,%s,NPS,%g,%d,%d,%s,%s,6:00,0.5,%d,dry,ground\n",
			i+1, line, i/40+1, 10*i, s.od, s.name, s.wall, 20+i%7*10, 15+i%5*8, left, leak, 15+i%20)
	}
	return out.String()
}

// storeWorkbook holds the storeman's sheets with the one they refer to.
func storeWorkbook(p *estimate.Campaign, part []int) (*book, *table.Workbook) {
	b := newBook(p, Options{}, part)
	return b, &table.Workbook{Sheets: []*table.Sheet{
		b.kitLinesSheet(), b.kitsSheet(), b.pickSheet(), b.crewsSheet(), b.mixingSheet(), b.cuttingSheet(), b.labelsSheet(),
	}}
}

func allOf(p *estimate.Campaign) []int {
	part := make([]int, len(p.Jobs))
	for i := range part {
		part[i] = i
	}
	return part
}

func written(t testing.TB, w *table.Workbook) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := xlsx.Write(&out, w); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const (
	longCJK   = "冷却水循環系統第一号機海水取水配管支持部腐食箇所冷却水循環系統第一号機海水取水配管支持部腐食箇所冷却水循環系統第一号機"
	longRTL   = "خط مياه التبريد الرئيسي من محطة الضخ الأولى إلى وحدة المعالجة الثانية عبر الجسر الشمالي والمنطقة الصناعية الجديدة"
	formulaic = "=HYPERLINK(\"#x\")"
)

func TestStoreSheetsAtAnySize(t *testing.T) {
	for name, text := range map[string]string{
		"none":     storeHeads + "D-1,L,,1,60.3,2,NPS,3.91,20,9000,2,no,6:00,0.5,20,dry,ground\n",
		"one":      storeSurvey(1, true, "L-1"),
		"no leaks": storeSurvey(12, false, "L-1"),
		"leaks":    storeSurvey(40, true, "L-1"),
		"cjk":      storeSurvey(6, true, longCJK),
		"rtl":      storeSurvey(6, true, longRTL),
		"long":     storeSurvey(6, true, strings.Repeat("a very long name of a line ", 200)),
		"formula":  storeSurvey(6, true, `"`+strings.ReplaceAll(formulaic, `"`, `""`)+`"`),
	} {
		for _, set := range []string{"output.units=metric", "output.units=inch"} {
			t.Run(name+" "+set, func(t *testing.T) {
				p := campaignOf(t, text, set, "output.paper=Letter")
				if (len(p.Jobs) == 0) != (name == "none") {
					t.Fatalf("%d repairs estimated", len(p.Jobs))
				}
				_, w := storeWorkbook(p, allOf(p))
				if first := written(t, w); !bytes.Equal(first, written(t, second(storeWorkbook(p, allOf(p))))) {
					t.Error("the same campaign gives other bytes")
				}
			})
		}
	}
}

func second(_ *book, w *table.Workbook) *table.Workbook { return w }

// A kit is one page, or two: then the second is headed as such and the work stands on
// it whole. There are no other breaks.
func TestAKitIsOnePage(t *testing.T) {
	text, err := os.ReadFile("../testdata/surveys/campaign.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, paper := range []string{"A4", "Letter"} {
		p := campaignOf(t, string(text), "output.paper="+paper)
		b := newBook(p, Options{}, allOf(p))
		starts := map[int]bool{}
		for _, row := range b.pages.rows {
			starts[row] = true
		}
		once := map[string]bool{} // kits that may go on
		for i := range p.Jobs {
			once[p.Jobs[i].Repair.ID] = true
		}
		row, worked := 0, false // on this kit's page before
		for r := range b.kitsSheet().Rows {
			row++
			switch {
			case starts[row]:
				worked = false
			case len(r.Cells) > 0 && r.Cells[0].Text == "1 Clean":
				worked = true
			}
			if r.Break && !starts[row] {
				if worked {
					t.Errorf("%s: the work of a kit is parted at row %d", paper, row)
				}
				head := r.Cells[0].Text
				kit, on := strings.CutSuffix(strings.TrimPrefix(head, "Kit "), ", continued")
				if !on || !once[kit] {
					t.Errorf("%s: a page break inside a kit, at row %d: %q", paper, row, head)
				}
				once[kit] = false
			}
			if starts[row] != (len(r.Cells) > 0 && strings.HasPrefix(r.Cells[0].Text, "Kit ") && !strings.HasSuffix(r.Cells[0].Text, "continued")) {
				t.Errorf("%s: row %d: the links say %v, the sheet %q", paper, row, starts[row], r.Cells[0].Text)
			}
		}
	}
}

// A kit too long for a page goes on under a repeated heading.
func TestALongKitGoesOn(t *testing.T) {
	var text strings.Builder
	text.WriteString(storeHeads)
	for i := range 60 {
		fmt.Fprintf(&text, "D-%d,L-1,A,%g,610,24,NPS,9.53,20,20,0,yes,%d:00,0.3,20,dry,ground\n", i+1, 10+float64(i)*0.2, 1+i%12)
	}
	p := campaignOf(t, text.String())
	b := newBook(p, Options{}, allOf(p))
	if len(b.part) != 1 {
		t.Fatalf("%d kits, want one merged repair", len(b.part))
	}
	breaks, headings := 0, 0
	for r := range b.kitsSheet().Rows {
		if r.Break {
			breaks++
			if len(r.Cells) > 0 && strings.HasSuffix(r.Cells[0].Text, "continued") {
				headings++
			}
		}
	}
	if breaks == 0 || breaks != headings {
		t.Errorf("%d page breaks, %d of them with a heading", breaks, headings)
	}
}

// The total of a kit's page is the weight that the estimate gives the kit.
func TestWeightOnTheKitPage(t *testing.T) {
	p := campaignOf(t, storeSurvey(40, true, "L-1"), "kit.carry_limit=4")
	b := newBook(p, Options{}, allOf(p))
	k, over := 0, 0
	for r := range b.kitsSheet().Rows {
		if len(r.Cells) == kitWidth && strings.HasPrefix(r.Cells[0].Text, "Weight of the kit") {
			total := r.Cells[kitWidth-1]
			if want := b.job(k).Mass; math.Abs(total.Num-want) > 1e-9 {
				t.Errorf("kit %d: total %v kg, want %v", k, total.Num, want)
			}
			heavy := strings.HasPrefix(r.Cells[rightAt-1].Text, "over the limit")
			if heavy != (b.job(k).Mass > 4) {
				t.Errorf("kit %d of %v kg: %q", k, total.Num, r.Cells[rightAt-1].Text)
			}
			if heavy {
				over++
			}
			k++
		}
	}
	if k != len(b.part) || over == 0 || over == k {
		t.Errorf("%d totals for %d kits, %d over the limit", k, len(b.part), over)
	}
}

// What the pick list takes is what the campaign issues, item by item; spread
// over two workbooks it is the same together, but for coils and sheets, which
// are taken for the whole campaign.
func TestPickListTakesWhatIsIssued(t *testing.T) {
	p := campaignOf(t, storeSurvey(60, true, "L-1"), "crew.count=3", "order.rechoose=yes")
	whole := map[string]float64{}
	for _, k := range newBook(p, Options{}, allOf(p)).picks() {
		whole[p.Catalog.Items[k.item].Code] += k.forKits + k.forCrews + k.toCutting
	}
	if len(whole) != len(p.Orders) {
		t.Errorf("%d items picked, %d needed", len(whole), len(p.Orders))
	}
	for _, o := range p.Orders {
		n := o.Need
		if got := whole[n.Item.Code]; got != n.Issued {
			t.Errorf("%s: %v picked, %v issued", n.Item.Code, got, n.Issued)
		}
	}
	all := allOf(p)
	half := len(all) / 2
	apart := map[string]float64{}
	for _, part := range [][]int{all[:half], all[half:]} {
		for _, k := range newBook(p, Options{}, part).picks() {
			apart[p.Catalog.Items[k.item].Code] += k.forKits + k.forCrews
		}
	}
	for _, o := range p.Orders {
		n := o.Need
		if n.Item.Kind == "band" || n.Item.Kind == "sheet" {
			continue
		}
		if got := apart[n.Item.Code]; got != n.Issued {
			t.Errorf("%s: %v picked from two workbooks, %v issued", n.Item.Code, got, n.Issued)
		}
	}
}

// At the kit's own temperature the table says of every batch what the card says;
// hotter, no batch gets more minutes; each can be laid in its minutes, of which
// there are at least the least; and outside what was measured none is mixed.
func TestPotTableAgreesWithTheCard(t *testing.T) {
	p := campaignOf(t, storeSurvey(40, true, "L-1"))
	for n := range p.Jobs {
		kt := p.Kit(&p.Jobs[n])
		for _, b := range kt.Putty.Batches {
			rate := b.Packs[0].Putty.ApplyRate
			steps := []float64{-10, -5, 0, 5, 10, 15, 20, 90}
			temps := make([]float64, len(steps))
			for i, s := range steps {
				temps[i] = kt.Putty.Temp + s
			}
			lines := p.PotMinutes(kt, b.Mass, temps)
			if at := lines[2]; !at.Mix || at.Minutes != b.Minutes {
				t.Errorf("%s: card %v min, table %+v", kt.Repair.ID, b.Minutes, at)
			}
			for i, l := range lines {
				if i > 0 && l.Mix && lines[i-1].Mix && l.Minutes > lines[i-1].Minutes {
					t.Errorf("%s: %v kg %+v, then %+v", kt.Repair.ID, b.Mass, lines[i-1], l)
				}
				if l.Mix && (b.Mass > l.Minutes*rate+1e-9 || l.Minutes < p.Catalog.Settings.MixLeast || l.Minutes != math.Floor(l.Minutes)) {
					t.Errorf("%s: %v kg cannot be laid in %+v", kt.Repair.ID, b.Mass, l)
				}
			}
			if far := lines[len(lines)-1]; far.Mix {
				t.Errorf("%s: %+v", kt.Repair.ID, far)
			}
		}
	}
}

// The hands of the kit follow from the seconds on its page.
func TestHandsFollowFromTheSeconds(t *testing.T) {
	p := campaignOf(t, storeSurvey(40, true, "L-1"))
	set := &p.Catalog.Settings
	for n := range p.Jobs {
		kt := p.Kit(&p.Jobs[n])
		hands := 0
		for _, roll := range kt.Tape.Rolls {
			reach := set.LayingSpeed * 1000 / 60 * takeoff.WorkSeconds(roll, kt.Repair.SurfaceTemp, set)
			hands = max(hands, int(math.Ceil(roll.Length/reach-1e-9)))
		}
		if hands != kt.Tape.Hands {
			t.Errorf("%s: %d pairs of hands by the seconds, %d in the kit", kt.Repair.ID, hands, kt.Tape.Hands)
		}
	}
}

// Every piece of every kit stands in the list of pieces once, cut from the coil
// or sheet that the kit's page names.
func TestPiecesAreListedOnce(t *testing.T) {
	p := campaignOf(t, storeSurvey(60, true, "L-1"))
	b := newBook(p, Options{}, allOf(p))
	listed := map[string]string{}
	what := ""
	for r := range b.cuttingSheet().Rows {
		if len(r.Cells) != cuttingWidth {
			continue
		}
		switch r.Cells[1].Text {
		case "Coil", "Sheet":
			what = strings.ToLower(r.Cells[1].Text)
		}
		if label := r.Cells[3].Text; strings.Contains(label, "-S") && r.Cells[3].Kind == table.KindText && r.Cells[1].Kind == table.KindNumber {
			if listed[label] != "" {
				t.Errorf("%s is listed twice", label)
			}
			listed[label] = fmt.Sprintf("%s %.0f, no. %.0f", what, r.Cells[1].Num, r.Cells[2].Num)
		}
	}
	n, pieces := 0, [][]kit.Piece{}
	for k := range b.part {
		pieces = append(pieces, b.kits[k].Pieces)
	}
	for _, spare := range b.p.Spares {
		pieces = append(pieces, spare.Pieces)
	}
	for _, list := range pieces {
		for _, piece := range list {
			n++
			if got := b.cutFromAll([]kit.Piece{piece}); got != listed[piece.Label] || got == "–" {
				t.Errorf("%s: the kit says %q, the list %q", piece.Label, got, listed[piece.Label])
			}
		}
	}
	if n != len(listed) || n == 0 {
		t.Errorf("%d pieces in kits, %d listed", n, len(listed))
	}
}

// Every formula of the storeman's sheets gives its cached value in LibreOffice.
func TestCrossStoreSheetsRecalculate(t *testing.T) {
	outside.Need(t, "soffice")
	for _, text := range []string{storeSurvey(40, true, "L-1"), storeSurvey(5, false, longCJK)} {
		p := campaignOf(t, text, "crew.count=2")
		_, w := storeWorkbook(p, allOf(p))
		file := filepath.Join(t.TempDir(), "store.xlsx")
		if err := os.WriteFile(file, written(t, w), 0o666); err != nil {
			t.Fatal(err)
		}
		t.Logf("%d formulas compared", xlsxtest.Recalculated(t, file))
	}
}

// Printed, each kit takes one page, or where it has much to say a second one that
// is headed as such, and eight labels take one. At 8 points and with 7 mm to write in,
// names as long as those of this survey push the last steps of one kit in four to a
// third page, on the shorter Letter of one in two.
func TestCrossKitsAndLabelsPrintOnTheirPages(t *testing.T) {
	outside.Need(t, "soffice", "pdfinfo")
	for _, paper := range []string{"A4", "Letter"} {
		p := campaignOf(t, storeSurvey(20, true, longRTL), "output.paper="+paper)
		b := newBook(p, Options{}, allOf(p))
		for what, sheet := range map[string]*table.Sheet{"kits": b.kitsSheet(), "labels": b.labelsSheet()} {
			w := &table.Workbook{Sheets: []*table.Sheet{sheet}}
			file := filepath.Join(t.TempDir(), what+".xlsx")
			if err := os.WriteFile(file, written(t, w), 0o666); err != nil {
				t.Fatal(err)
			}
			want := len(b.part)
			if what == "labels" {
				want = (len(b.part) + b.form().onPage() - 1) / b.form().onPage()
			}
			pdf, pages := xlsxtest.PDF(t, file)
			text, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			// A page that runs over says so at its head; a name of both directions is written in any order.
			further, thirds, last := 0, 0, false
			for _, page := range strings.Split(strings.TrimSuffix(string(text), "\f"), "\f") {
				lines := strings.FieldsFunc(page, func(r rune) bool { return r == '\n' })
				runsOver := strings.Contains(strings.Join(lines[:min(len(lines), 8)], " "), "continued")
				if runsOver {
					further++
				}
				if runsOver && last {
					thirds++
				}
				last = runsOver
			}
			if most := map[string]int{"A4": want / 4, "Letter": want / 2}[paper]; thirds > most {
				t.Errorf("%s on %s: %d kits take three pages", what, paper, thirds)
			}
			if pages-further != want {
				t.Errorf("%s of %d kits on %s: %d pages of which %d are further ones, want %d first ones", what, len(b.part), paper, pages, further, want)
			}
		}
	}
}

// A scanner reads from each label's code which kit it is on and of which run it
// is, whatever the line is called.
func TestCrossLabelsScan(t *testing.T) {
	outside.Need(t, "zbarimg")
	for _, line := range []string{"CW-101", longCJK, longRTL, "a;b"} {
		p := campaignOf(t, storeSurvey(3, true, line))
		b := newBook(p, Options{Run: "7K3F9Q"}, allOf(p))
		k := 0
		for r := range b.labelsSheet().Rows {
			for _, picture := range r.Pictures {
				file := filepath.Join(t.TempDir(), "code.png")
				if err := os.WriteFile(file, picture.PNG, 0o666); err != nil {
					t.Fatal(err)
				}
				said, err := exec.Command("zbarimg", "-q", "--raw", file).Output()
				if err != nil {
					t.Fatalf("zbarimg: %v", err)
				}
				got := strings.TrimSuffix(string(said), "\n")
				if want := b.repair(k).ScanName() + " 7K3F9Q"; got != want {
					t.Errorf("read %q, want %q", got, want)
				}
				k++
			}
		}
		if k != len(b.part) {
			t.Errorf("%d codes for %d kits", k, len(b.part))
		}
	}
}
