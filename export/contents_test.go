package export

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
	"wraptally/export/table"
)

// cardOf is what the page of a kit says of what is packed and how it is worked:
// all of it but the name and the place, who does the repair and when, how long it
// takes and weighs, what is handed out beside it, what is still to be asked, and
// from which coil or sheet a piece is cut.
func cardOf(b *book, k int) string {
	kt := b.kits[k]
	r := kt.Repair
	var out []string
	rows := func(list []table.Row) {
		for i := range list {
			for _, c := range list[i].Cells {
				out = append(out, c.Text)
				if c.Kind == table.KindNumber {
					out = append(out, trimmed(c.Num, 3))
				}
			}
			out = append(out, "\n")
		}
	}
	for _, l := range kt.Lines {
		if l.Item.Issue == catalog.LevelKit && l.Qty > 0 {
			out = append(out, l.Item.Code, l.Item.Name, l.Item.Unit, trimmed(l.Qty, 3))
		}
	}
	out = append(out, b.pipeText(r), mediumText(r), b.pressureText(r), surfaceWord(r), b.surfaceTemp(r), b.onBend(r), r.Kind())
	by, _ := r.DesignedBy()
	out = append(out, strconv.FormatBool(by != ""))
	rows(b.gateRows(kt))
	for i, s := range b.workSteps(kt) {
		rows(stepRows(i+1, s))
	}
	rows(b.permitRows(kt))
	for _, p := range kt.Pieces {
		out = append(out, p.Kind, p.Stock, b.sizeText(p.A, p.C))
	}
	rows(b.transportLines(kt))
	rows([]table.Row{kitCautions(r)})
	return strings.Join(out, "|")
}

// cards are the cards and codes of the kits of a survey, by name.
func cards(t testing.TB, text string, sets ...string) (pages, codes map[string]string, failed error) {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: append([]string{"cut.work_units=2000000", "order.rechoose=no"}, sets...)})
	if err != nil {
		return nil, nil, err
	}
	s, err := survey.Read(strings.NewReader(text), int64(len(text)), survey.Options{Name: "survey.csv", Sizes: c})
	if err != nil {
		return nil, nil, err
	}
	p, err := estimate.Run(s, c, estimate.Options{Name: "survey.csv"})
	if err != nil {
		return nil, nil, err
	}
	pages, codes = map[string]string{}, map[string]string{}
	b := newBook(p, Options{}, allOf(p))
	for k := range b.part {
		id := b.repair(k).ID
		pages[id], codes[id] = cardOf(b, k), b.job(k).Code
	}
	return pages, codes, nil
}

// others are other values of a setting, as far as its row says what it takes.
func others(row catalog.SettingRow) (out []string) {
	v, err := strconv.ParseFloat(row.Value, 64)
	if err != nil {
		for choice := range strings.SplitSeq(row.Choices, "|") {
			if choice != row.Value && !slices.Contains([]string{"text", "date", "class"}, choice) {
				out = append(out, choice)
			}
		}
		return out
	}
	for _, w := range []float64{v * 1.25, v + 1, v - 1} {
		out = append(out, strconv.FormatFloat(w, 'f', -1, 64))
	}
	return out
}

// Whatever setting is changed: where the card of a kit then says something else
// its code is another one, and where the code is another one the card says
// something else. So no box is taken for good that is not, and none is opened for
// nothing.
func TestCodeOfContentsFollowsTheCard(t *testing.T) {
	text := storeHeads +
		"D-1,L,A,10,168.3,6,NPS,7.11,40,30,0,yes,6:00,0.5,20,dry,ground\n" +
		"D-2,L,A,30,168.3,6,NPS,7.11,60,45,3.5,no,6:00,0.5,25,wet,ground\n" +
		"D-3,L,A,50,60.3,2,NPS,3.91,20,15,0,yes,3:00,0.3,18,wet,scaffold\n"
	base, code, err := cards(t, text)
	if err != nil || len(base) != 3 {
		t.Fatal(len(base), err)
	}
	all, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	tried, moved := 0, 0
	for i, row := range all.SettingRows {
		if i%depth.Of(4, 1) != 0 || strings.HasPrefix(row.Name, "output.") {
			continue // how it is shown is no content
		}
		for _, value := range others(row) {
			set := row.Name + "=" + value
			pages, codes, err := cards(t, text, set)
			if err != nil {
				continue // not a value that it takes
			}
			tried++
			for id, page := range pages {
				said, coded := page != base[id], codes[id] != code[id]
				if said {
					moved++
				}
				if said && !coded {
					t.Errorf("with %s the card of %s says something else under the same code: take it into kit.Contents\n%s", set, id, firstDifference(base[id], page))
				}
				if coded && !said {
					t.Errorf("with %s the card of %s says the same under another code", set, id)
				}
			}
		}
	}
	if tried < depth.Of(35, 150) || moved < depth.Of(20, 100) {
		t.Errorf("%d changes tried, of which %d moved a card: the test no longer looks at much", tried, moved)
	}
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "|"), strings.Split(b, "|")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return x[i] + " → " + y[i]
		}
	}
	return "one is longer"
}

// A row elsewhere, and other prices, leave every box as it is.
func TestCodeOfContentsStays(t *testing.T) {
	text := storeSurvey(20, true, "L-1")
	_, code, err := cards(t, text)
	if err != nil {
		t.Fatal(err)
	}
	_, more, err := cards(t, text+"X-1,L-2,Area 9,5,60.3,2,NPS,3.91,20,15,0,yes,6:00,0.5,20,dry,ground\n", "crew.count=3", "campaign.start=2028-01-10")
	if err != nil {
		t.Fatal(err)
	}
	for id, is := range code {
		if more[id] != is {
			t.Errorf("%s was %s and is %s", id, is, more[id])
		}
	}
	if len(more) != len(code)+1 {
		t.Errorf("%d kits, and with one more row %d", len(code), len(more))
	}
}
