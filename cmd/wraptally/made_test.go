package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wraptally/estimate"
	"wraptally/export"
)

// again makes the run of a JSON again.
func again(t *testing.T, path string) (*estimate.Campaign, export.Options, error) {
	made, err := readMade(path)
	if err != nil {
		return nil, export.Options{}, err
	}
	return remake(made, t.TempDir(), export.NewProgress(io.Discard))
}

// A run is made again, to the byte, from the JSON alone: whatever files it read
// and options it was given, also when none of the files is there any more.
func TestARunIsMadeAgainFromItsJSON(t *testing.T) {
	shipped, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	survey, err := os.ReadFile(filepath.Join(shipped, "surveys", "campaign.csv"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	write := func(name, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	head := strings.SplitN(string(survey), "\n", 2)
	write("s.csv", string(survey))
	write("foreign.csv", strings.Replace(head[0], "od_mm", "outside [mm]", 1)+"\n"+head[1])
	write("client.txt", "map od_mm=outside [mm]\n")
	write("two.csv", "name,value\ncrew.count,2\n")
	write("store.csv", "item,lot,quantity,expiry\nBAND-20-15,L1,1,\n")
	if got := run([]string{"catalog", "-o", "all"}, io.Discard, io.Discard); got != exitOK {
		t.Fatal("no tables")
	}
	prices, err := os.ReadFile("all/prices.csv")
	if err != nil {
		t.Fatal(err)
	}
	write("own/prices.csv", strings.Replace(string(prices), "BAND-20-15,Supplier A,1,41.00", "BAND-20-15,Supplier A,1,44.00", 1))
	for name, args := range map[string][]string{
		"plain":   {"s.csv"},
		"options": {"s.csv", "--set", "order.growth=7", "--set", "survey.medium=water", "--start", "2027-02-01", "--units", "inch", "--date", "2027-01-05", "--only", "line!=CW-101"},
		"beside":  {"s.csv", "--alternative", "two crews=two.csv"},
		"files":   {"foreign.csv", "--mapping", "client.txt", "--stock", "store.csv", "--catalog", "own"},
	} {
		t.Run(name, func(t *testing.T) {
			var said, wrong bytes.Buffer
			if got := run(append([]string{"estimate", "--json", name + ".json"}, args...), &said, &wrong); got != exitOK {
				t.Fatal(wrong.String())
			}
			before, err := os.ReadFile(name + ".json")
			if err != nil {
				t.Fatal(err)
			}
			keep := t.TempDir()
			if err := os.Rename(name+".json", filepath.Join(keep, "run.json")); err != nil {
				t.Fatal(err)
			}
			t.Chdir(keep) // away from the files
			job, opt, err := again(t, "run.json")
			if err != nil {
				t.Fatal(err)
			}
			var after bytes.Buffer
			if err := export.JSON(&after, job, opt); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(before, after.Bytes()) {
				a, b := bytes.Split(before, []byte(",")), bytes.Split(after.Bytes(), []byte(","))
				for i := range min(len(a), len(b)) {
					if !bytes.Equal(a[i], b[i]) {
						t.Fatalf("before %s\nafter  %s", a[i], b[i])
					}
				}
				t.Fatal("one is longer")
			}
		})
	}
}

// A JSON that is damaged, of another form or without its files is refused in words.
func TestARunThatCannotBeMadeAgain(t *testing.T) {
	t.Chdir(t.TempDir())
	packed := export.NewPacking()
	packed.Write([]byte("line,chainage_m\n")) // into memory
	f := packed.File("survey", "s.csv")
	f.SHA256 = strings.Repeat("0", 64)
	if _, err := f.Bytes(1000); err == nil || !strings.Contains(err.Error(), "s.csv") {
		t.Errorf("a file that was changed: %v", err)
	}
	for text, want := range map[string]string{
		"hello":                              "not the JSON of an estimate",
		`{"schema": "other"}`:                `"other" is not wraptally.campaign/1`,
		`{"schema": "wraptally.campaign/1"}`: "does not hold",
		`{"schema": "wraptally.campaign/1", "made_from": {"options": ["--nonsense=1"], "files": []}}`: "not known to this program",
		`{"schema": "wraptally.campaign/1", "made_from": {"options": [], "files": []}}`:               "the survey is missing",
	} {
		if err := os.WriteFile("x.json", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, _, err := again(t, "x.json"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// What a scanner reads off a label of this very run is taken without a word, with
// the options of the run and whatever day is printed.
func TestALabelOfThisRunIsKnown(t *testing.T) {
	survey := "../../testdata/surveys/campaign.csv"
	path := filepath.Join(t.TempDir(), "c.json")
	options := []string{"--set", "crew.count=2", "--start", "2027-03-15"}
	if code := run(append([]string{"estimate", survey, "--json", path, "--date", "2027-03-01", "-q"}, options...), io.Discard, io.Discard); code != exitOK {
		t.Fatal(code)
	}
	made, err := readMade(path)
	if err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	code := run(append([]string{"explain", survey, "CW-101-P-01 " + made.Mark(version())}, options...), io.Discard, &said)
	if code != exitOK || said.Len() > 0 {
		t.Errorf("exit %d: %s", code, &said)
	}
	if code := run([]string{"explain", survey, "CW-101-P-01 " + made.Mark(version())}, io.Discard, &said); code != exitOK || !strings.Contains(said.String(), "ANOTHER RUN") {
		t.Errorf("with other options, exit %d: %s", code, &said)
	}
}
