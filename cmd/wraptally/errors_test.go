package main

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"wraptally/estimate/trace/depth"
)

// TestEveryErrorSaysWhatToDo gives each command, in place of each file that it
// takes, one that is missing, a folder, rubbish, a workbook of nothing and a survey,
// and in place of each output a folder, one in no folder and one of the inputs:
// whatever ends the run says what to do, itself or below.
func TestEveryErrorSaysWhatToDo(t *testing.T) {
	t.Chdir(t.TempDir())
	files := map[string][]byte{"s.csv": []byte("id,line,chainage_m,od_mm,wall_mm,axial_mm,circ_mm,leaking\nA,L1,1,168.3,7.11,30,30,yes\n"),
		"rubbish": []byte("\x00\x01rubbish\xff"), "rubbish.xlsx": []byte("PK\x03\x04rubbish"), "rubbish.json": []byte(`{"schema":1`), "empty.xlsx": workbookOf(t, [][]any{{"a"}}), "empty": nil}
	lay := func() {
		for name, data := range files {
			if err := os.WriteFile(name, data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	lay()
	if code := run([]string{"estimate", "s.csv", "--json", "run.json"}, io.Discard, io.Discard); code != exitOK {
		t.Fatal(code)
	}
	var err error
	if files["run.json"], err = os.ReadFile("run.json"); err != nil {
		t.Fatal(err)
	}
	tried, failed := 0, map[string]bool{}
	try := func(args ...string) {
		for _, old := range []string{"folder", "missing", "missing.xlsx"} {
			if err := os.RemoveAll(old); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.Mkdir("folder", 0o700); err != nil {
			t.Fatal(err)
		}
		lay()
		var errOut bytes.Buffer
		code := run(args, io.Discard, &errOut)
		tried++
		said := errOut.String()
		if code == exitOK || !strings.Contains(said, "error: ") {
			return
		}
		_, said, _ = strings.Cut(said, "error: ")
		failed[args[0]] = true
		if !strings.Contains(said, "\nhint: ") && !(strings.Contains(said, "fault") && strings.Contains(said, "; ")) {
			t.Errorf("%v: nothing says what to do: %s", args, said)
		}
	}
	inputs := []string{"missing", "missing.xlsx", "folder", "empty", "rubbish", "rubbish.xlsx", "rubbish.json", "empty.xlsx", "s.csv", "run.json"}
	values := []string{"missing.xlsx", "folder", "rubbish", "rubbish.xlsx", "s.csv", "nowhere/out.xlsx"} // of an option, which reads or writes it
	done := map[string]bool{}                                                                            // options that several commands have
	takes := map[string][]string{
		"check": {"s.csv"}, "estimate": {"s.csv"}, "buy": {"s.csv"}, "compare": {"run.json", "s.csv"}, "learn": {"run.json", "s.csv"}, "explain": {"s.csv", "L1-A"}, "vary": {"s.csv", "L1-A"},
		"audit": {"run.json"}, "catalog": nil, "form": nil, "fields": nil, "schema": nil, "version": nil,
	}
	option := regexp.MustCompile(`(?m)^ +(?:-\w, )?--([a-z-]+) (FILE|DIR|NAME=FILE)\b`)
	for _, c := range commands {
		base, known := takes[c.name]
		if !known {
			t.Errorf("%s is not tried", c.name)
		}
		line := append([]string{c.name}, base...)
		for i := range base {
			for _, f := range inputs {
				args := slices.Clone(line)
				args[i+1] = f
				try(args...)
			}
		}
		try(c.name, "--no-such-option")
		try(append(slices.Clone(line), "too", "many", "of", "them")...)
		var help bytes.Buffer
		run([]string{c.name, "--help"}, &help, io.Discard)
		for _, m := range option.FindAllStringSubmatch(help.String(), -1) {
			if done[m[1]] && m[1] != "output" {
				continue
			}
			done[m[1]] = true
			for _, f := range values[:depth.Of(2, len(values))] {
				if m[2] == "NAME=FILE" {
					f = "A=" + f
				}
				args := append(slices.Clone(line), "--"+m[1], f)
				if m[1] == "range" {
					args = append(args, "--set=range.draws=100")
				}
				try(args...)
			}
		}
	}
	if tried < depth.Of(100, 150) || len(failed) < 11 {
		t.Errorf("only %d runs, errors of %v", tried, failed)
	}
}
