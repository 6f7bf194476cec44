package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"wraptally/export"
	"wraptally/export/audit"
)

// runAudit reckons the JSON of a run again, or the run of a workbook: from what is
// printed in it, then by making the run again from the files it holds, and holds
// these files against those given beside it, and the cells of the workbook against
// its run.
func runAudit(args []string, out, errOut io.Writer) error {
	f := newFlags("audit", "audit CAMPAIGN.json [--survey FILE] [--catalog DIR] [--stock FILE] [--moves FILE]\n\nIn place of the JSON a workbook of --working may be given.", out)
	beside := map[string]*string{}
	for _, given := range [][2]string{
		{export.AsSurvey, "the survey that the run should have been made from: `FILE`"},
		{"catalog", "the catalogue's own tables that it should have been made from: `DIR`"},
		{"stock", "what was in store, by lot: `FILE`.csv"},
		{"moves", "the movements of the running campaign: `FILE`.csv"},
	} {
		beside[given[0]] = f.String(given[0], "", given[1])
	}
	printed := f.Bool("printed", false, "only what is printed in the file; the run is not made again")
	if err := parse(f, args, 1, 1, "the JSON of a run"); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "wraptally-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	path, err := jsonOf(f.Arg(0), folder)
	if err != nil {
		return err
	}
	var faults []audit.Fault
	if path != f.Arg(0) {
		faults, err = reading(path, func(run io.Reader) ([]audit.Fault, error) { return auditCells(f.Arg(0), run, out) })
		if err != nil {
			return withHint(fmt.Errorf("%s: %w", f.Arg(0), err), giveRun)
		}
	}
	report, err := reading(path, audit.JSON)
	if err != nil {
		return withHint(fmt.Errorf("%s: %w", f.Arg(0), err), giveRun)
	}
	made, err := readMade(path)
	if err != nil {
		return err
	}
	faults = append(faults, report.Faults...)
	fmt.Fprintf(out, "%d steps evaluated: %d formulas, %d solved values put back into their equations, %d comparisons, %d choices replayed\n",
		report.Steps(), report.Evaluated, report.PutBack, report.Compared, report.Replayed)
	fmt.Fprintf(out, "%d references followed, %d totals and figures held against what they stand for\n", report.Followed, report.Summed)
	more, err := besideIt(made, beside)
	if err != nil {
		return err
	}
	faults = append(faults, more...)
	if !*printed {
		again, err := madeAgain(path, made, out, progress(errOut, false))
		if err != nil {
			return err
		}
		faults = append(faults, again...)
	}
	if len(faults) == 0 {
		fmt.Fprintln(out, "none differs")
		return nil
	}
	const most = 50
	for i, fault := range faults {
		if i == most {
			fmt.Fprintf(out, "… and %d more\n", len(faults)-most)
			break
		}
		fmt.Fprintln(out, "differs:", fault)
	}
	fmt.Fprintf(errOut, "%s: %d figures differ; the first is %s\n", f.Arg(0), len(faults), faults[0].Where)
	return &silent{exitData}
}

// auditCells holds the cells of a workbook against the JSON of its run.
func auditCells(book string, run io.Reader, out io.Writer) ([]audit.Fault, error) {
	faults, cells, err := export.CheckWorking(book, run)
	if err == nil {
		fmt.Fprintf(out, "%d cells of the workbook held against its run\n", cells)
	}
	return faults, err
}

// reading reads a file.
func reading[T any](path string, read func(io.Reader) (T, error)) (got T, err error) {
	f, err := os.Open(path)
	if err != nil {
		return got, err
	}
	defer f.Close()
	return read(f)
}

// besideIt holds the files given beside a run against those it says it was made
// from: whoever changes survey and results alike is found by the survey.
func besideIt(made *export.Made, beside map[string]*string) (faults []audit.Fault, err error) {
	for _, as := range []string{export.AsSurvey, "catalog", "stock", "moves"} {
		path := *beside[as]
		if path == "" {
			continue
		}
		given, err := packed(as, path)
		if err != nil {
			return nil, err
		}
		held := map[string]string{}
		for _, f := range made.Files {
			if f.As == as {
				held[f.Name] = f.SHA256
			}
		}
		if as == export.AsSurvey && len(given) == 1 && len(held) == 1 {
			for _, sum := range held { // it may go by another name by now
				held = map[string]string{given[0].Name: sum}
			}
		}
		for _, f := range given {
			switch sum, ok := held[f.Name]; {
			case !ok:
				faults = append(faults, audit.Fault{Where: "made_from/" + as, Says: "the run was not made from " + f.Name})
			case sum != f.SHA256:
				faults = append(faults, audit.Fault{Where: "made_from/" + as + "/" + f.Name, Says: "the run was made from other bytes than those of " + filepath.Base(path)})
			}
			delete(held, f.Name)
		}
		for name := range held {
			faults = append(faults, audit.Fault{Where: "made_from/" + as + "/" + name, Says: "it is not among what is given"})
			break // one says it; the order of the others would be chance
		}
	}
	return faults, nil
}

// madeAgain makes the run again and finds the first figure that comes out another.
func madeAgain(path string, made *export.Made, out io.Writer, shown *export.Progress) ([]audit.Fault, error) {
	folder, err := os.MkdirTemp("", "wraptally-*")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	job, opt, err := remake(made, folder, shown)
	if err != nil {
		return nil, fmt.Errorf("%s: the run cannot be made again: %w", path, err)
	}
	anew, into := io.Pipe()
	go func() { into.CloseWithError(export.JSON(into, job, opt)) }()
	defer anew.Close()
	d, err := reading(path, func(run io.Reader) (*audit.Fault, error) { return differs(run, anew, folder) })
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	switch {
	case d == nil:
		fmt.Fprintln(out, "made again from the files it holds: every figure the same")
		return nil, nil
	case d.Where == "program":
		fmt.Fprintf(out, "not compared with the run made again: %s\n", d.Says)
		return nil, nil
	}
	return []audit.Fault{*d}, nil
}

// sameBut reports whether two texts are the same but for the folder of a file that
// they name: the second was laid into a folder within the one given.
func sameBut(x, y json.Token, folder string) bool {
	was, ok := x.(string)
	now, ok2 := y.(string)
	before, after, found := strings.Cut(now, folder+string(filepath.Separator))
	if !ok || !ok2 || !found {
		return false
	}
	_, name, _ := strings.Cut(after, string(filepath.Separator))
	return strings.HasPrefix(was, before) && strings.HasSuffix(was, name)
}

// differs goes through two JSON texts side by side and gives the first place
// where they are not the same; nil where there is none. The second was made of
// files in a folder.
func differs(before, after io.Reader, folder string) (*audit.Fault, error) {
	a, b := json.NewDecoder(before), json.NewDecoder(after)
	a.UseNumber()
	b.UseNumber()
	type level struct {
		object, value bool // in an object, whether a value comes next
		key           string
		n             int
	}
	var path []level
	where := func() string {
		var parts []string
		for _, l := range path {
			if l.object {
				parts = append(parts, l.key)
			} else {
				parts = append(parts, fmt.Sprint(l.n+1))
			}
		}
		return strings.Join(parts, "/")
	}
	for {
		x, errA := a.Token()
		y, errB := b.Token()
		switch {
		case errors.Is(errA, io.EOF) && errors.Is(errB, io.EOF):
			return nil, nil
		case errA != nil && !errors.Is(errA, io.EOF):
			return nil, errA
		case errB != nil && !errors.Is(errB, io.EOF):
			return nil, errB
		case x != y && !sameBut(x, y, folder):
			return &audit.Fault{Where: where(), Says: fmt.Sprintf("it is %v; made again it is %v", x, y)}, nil
		}
		last := len(path) - 1
		switch x {
		case json.Delim('{'), json.Delim('['):
			path = append(path, level{object: x == json.Delim('{')})
			continue
		case json.Delim('}'), json.Delim(']'):
			path = path[:last]
			last--
		default:
			if last >= 0 && path[last].object && !path[last].value {
				path[last].key, path[last].value = x.(string), true // a key is a string
				continue
			}
		}
		if last >= 0 { // a value has ended
			path[last].value = false
			path[last].n++
		}
	}
}
