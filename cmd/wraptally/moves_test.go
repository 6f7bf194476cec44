package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// table reads a CSV file as rows by heading.
func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, cell := range r {
			row[all[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

// a pack on a purchase order ends with its units, "box of 10 (10 pc)"
var unitsOfPack = regexp.MustCompile(`\((\S+) [^()]*\)$`)

// bought makes the documents of a survey and gives the units that its purchase
// orders ask for, by item.
func bought(t *testing.T, survey, dir string, more ...string) map[string]float64 {
	t.Helper()
	var wrong bytes.Buffer
	args := append([]string{"buy", survey, "--start", "2027-03-01", "--date", "2027-01-10", "--set", "order.rechoose=no", "-o", dir, "-q"}, more...)
	if run(args, io.Discard, &wrong) != exitOK {
		t.Fatal(wrong.String())
	}
	files, err := filepath.Glob(filepath.Join(dir, "order-*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, f := range files {
		for _, r := range table(t, f) {
			packs, err := strconv.ParseFloat(r["Packs"], 64)
			units, err2 := strconv.ParseFloat(unitsOfPack.FindStringSubmatch(r["Pack"])[1], 64)
			if err != nil || err2 != nil || packs <= 0 {
				t.Fatalf("%s: %v %v", f, r, err)
			}
			out[r["Our item"]] += packs * units
		}
	}
	return out
}

// A campaign is ordered; a month later the survey has leaks more and one less. The
// second order is what the second survey needs beyond the first order, no more than
// packs and least orders make of it, whether the goods are on their way, there or
// already issued; the same survey again orders nothing.
func TestASecondSurveyOrdersTheDifference(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "surveys", "campaign.csv"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	later := []string{lines[0]}
	for _, l := range lines[1:] {
		if !strings.HasPrefix(l, "P-03,") {
			later = append(later, l)
		}
	}
	for i, l := range lines[1:5] {
		cells := strings.Split(l, ",")
		cells[0], cells[1], cells[3] = fmt.Sprint("N-", i), "CW-900", fmt.Sprint(5+9*i)
		later = append(later, strings.Join(cells, ","))
	}
	for name, rows := range map[string][]string{"first.csv": lines, "second.csv": later} {
		if err := os.WriteFile(name, []byte(strings.Join(rows, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	one, whole := bought(t, "first.csv", "one"), bought(t, "second.csv", "whole")
	if run([]string{"estimate", "second.csv", "--start", "2027-03-01", "--set", "order.rechoose=no", "--order-csv", "need.csv", "-q"}, io.Discard, io.Discard) != exitOK {
		t.Fatal("no order of the second survey")
	}
	for stage, moves := range map[string][]string{"on order": {"ordered"}, "received": {"ordered", "received"}, "issued": {"ordered", "received", "issued"}} {
		t.Run(stage, func(t *testing.T) {
			table1 := "move,order,item,quantity,arrives\n"
			for _, move := range moves {
				for item, n := range one {
					table1 += fmt.Sprintf("%s,1,%s,%g,2027-02-20\n", move, item, n)
				}
			}
			if err := os.WriteFile("moves.csv", []byte(table1), 0o644); err != nil {
				t.Fatal(err)
			}
			if again := bought(t, "first.csv", filepath.Join("again", stage), "--moves", "moves.csv"); len(again) > 0 {
				t.Errorf("the same survey orders again: %v", again)
			}
			difference := bought(t, "second.csv", filepath.Join("difference", stage), "--moves", "moves.csv")
			more := 0
			for _, r := range table(t, "need.csv") {
				item := r["item"]
				gross, err := strconv.ParseFloat(r["gross"], 64)
				if err != nil {
					t.Fatal(err)
				}
				missing, got := max(0, gross-one[item]), difference[item]
				delete(difference, item)
				switch {
				case missing == 0 && got > 0, got < missing, got > whole[item]:
					t.Errorf("%s: %g needed, %g on order; %g ordered, the whole would be %g", item, gross, one[item], got, whole[item])
				case missing > 0:
					more++
				}
			}
			if more < 3 || len(difference) > 0 {
				t.Errorf("%d items are more; not needed: %v", more, difference)
			}
		})
	}
}
