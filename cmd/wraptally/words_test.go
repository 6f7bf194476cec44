package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace/depth"
)

// single is a survey whose every count is one.
const single = `id,line,area,chainage_m,od_mm,size,series,wall_mm,axial_mm,circ_mm,remaining_mm,leaking,clock,pressure_mpa,live_pressure_mpa,surface_temp_c,air_temp_c,design_temp_c,surface,medium,hazardous,access
A,L1,Area 1,1,60.3,2,NPS,3.91,20,15,0,yes,6:00,0.3,0.1,20,20,40,dry,cooling water,no,ground
B,L1,Area 1,1.1,60.3,2,NPS,3.91,20,15,2,no,6:00,0.3,0.1,20,20,40,dry,cooling water,no,ground
C,L2,Area 1,9,60.3,2,NPS,3.91,20,15,2,no,6:00,0.3,0.1,70,20,40,dry,cooling water,no,ground
`

// words that a storeman, buyer, foreman or client would not understand, and what
// is said in their place.
var words = map[string]string{
	`\bTake (from|of)\b`: "pick", `^Up to\b`: "at most", `issued beside the kits`: "also hand out", `whole at (its own|one) level`: "",
	`stands in the shift in which`: "listed under the shift it starts in", `\bnot this putty\b`: "do not mix",
	`bands evenly`: "tighten the bands a little at a time, in turn", `pairs on the longest`: "people needed",
	`\bSettle first\b`: "do not start until answered", `\blean(s|ing)? on\b`: "rely on, repairs affected", `is the matter\b`: "problem",
	`\bWhy this many\b`: "reason for quantity", `\bKeeps to\b`: "use by", `only way to buy|nothing over`: "single source, no surplus",
	`\bTo be ordered first\b`: "order first", `(?i)\bleast (packs|order)\b`: "minimum order", `\b[Tt]aken of\b`: "percentage of",
	`(?i)(total|bid) so far\b`: "running total", `Where the money`: "cost breakdown", `\bpassed over\b`: "not usable",
	`(?i)\bmerged\b`: "joined with a neighbour", `(^|: )(stop|ask|note): `: "left out, please confirm, for information",
	`\d (stop|ask|note)\b`: "left out, please confirm, for information", `gate: ask\b|: ask(;|$)`: "answer first",
	`\[=true\|false\]|: (DIR|FILE|NAME=VALUE)$`: "",
}

// unwanted are the words, counts of one in the plural, and money without the
// decimals of its currency. A range is told in whole units of it.
func unwanted() map[string]*regexp.Regexp {
	out := map[string]*regexp.Regexp{
		"a plural of one":    regexp.MustCompile(`(?:^|[^\d.,×–-] ?)\b1 (rows|repairs|kits|days|packs|pieces|batches|lines|crews|sets|sticks|bands|rolls|pairs|passes|layers|boxes|queries|coils|sheets|shifts|leaks|defects|suppliers|lots|hours|people|working days|crew-shifts|faults|items|files)\b`),
		"a plural left open": regexp.MustCompile(`[a-z]\(s\)`),
		"money":              regexp.MustCompile(`(costs?|cost of|materials|with charges|wages grow by) [\d ]+(\.\d|\.\d{3,})? (EUR|USD|GBP)`),
	}
	for word, instead := range words {
		out["say "+instead+" for "+word] = regexp.MustCompile(word)
	}
	return out
}

// Every output of the shipped survey and of one whose counts are all one is read
// once more for words that were put away. How a quantity came about is told in the
// words of its rules, and a setting in those of its table.
func TestWordsOfTheOutputs(t *testing.T) {
	shipped, err := filepath.Abs("../../testdata/surveys/campaign.csv")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.WriteFile("single.csv", []byte(single), 0o644); err != nil {
		t.Fatal(err)
	}
	bad := unwanted()
	read, seen := 0, map[string]bool{}
	look := func(where, text string) {
		read++
		for what, is := range bad {
			if at := is.FindString(text); at != "" && !seen[what+text] {
				seen[what+text] = true
				t.Errorf("%s: %s: %q in %.200q", where, what, at, text)
			}
		}
	}
	do := func(args ...string) {
		var out, errOut bytes.Buffer
		if code := run(args, &out, &errOut); code != exitOK && code != exitData {
			t.Errorf("%v: exit %d: %s", args, code, errOut.String())
		}
		for line := range strings.Lines(out.String() + errOut.String()) {
			look(strings.Join(args[:min(2, len(args))], " "), strings.TrimRight(line, "\n"))
		}
	}
	for name, path := range map[string]string{"demo": shipped, "single": "single.csv"} {
		do("check", path, "-o", name+"-q.xlsx")
		do("estimate", path, "-o", name+".xlsx", "--json", name+".json", "--offer", name+"-offer.xlsx", "--start", "2027-03-15", "--set", "cut.work_units=2000000")
		if name == "single" || depth.Full() {
			do("vary", path, "--set", "cut.work_units=2000000")
		}
		do("buy", path, "-o", name, "--set", "cut.work_units=2000000")
		do("compare", name+".json", path, "-o", name+"-cmp.xlsx")
	}
	do("fields")
	do("help")
	for _, c := range commands {
		do(c.name, "--help")
	}
	err = filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".xlsx" {
			return err
		}
		f, err := excelize.OpenFile(path)
		if err != nil {
			return err
		}
		defer f.Close()
		for _, sheet := range f.GetSheetList() {
			if sheet == "Settings" || sheet == "Working" {
				continue
			}
			rows, err := f.GetRows(sheet)
			if err != nil {
				return err
			}
			for _, row := range rows {
				for _, text := range row {
					look(path+"!"+sheet, text)
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if read < 10_000 {
		t.Errorf("%d texts read: the test no longer looks at much", read)
	}
}
