package main

import (
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/file"
)

// runLearn holds what was used against what a run planned, and writes the tables
// that a firm may adopt.
func runLearn(args []string, out, errOut io.Writer) error {
	f := newFlags("learn", `learn CAMPAIGN USED... -o DIR [--overwrite]

CAMPAIGN is the run by which the kits were packed, its JSON or a workbook of it, USED the workbooks with the
sheet Used as it was filled in after the repairs, or its rows as CSV. DIR gets the tables whose
numbers the repairs speak against, whole, each changed row with its reason. Nothing changes by
itself: read them, and copy into your catalogue what you believe.`, out)
	var dir string
	var overwrite, quiet bool
	f.StringVarP(&dir, "output", "o", "", "`DIR` to write the tables into; without, they are only told")
	f.BoolVar(&overwrite, "overwrite", false, "replace tables that are there already")
	f.BoolVarP(&quiet, "quiet", "q", false, "print nothing but errors")
	if err := parse(f, args, 2, 1000, "the JSON of a run and what came back filled"); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "wraptally-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	defer sparing()()
	shown := progress(errOut, quiet)
	defer shown.Done()
	path, err := jsonOf(f.Arg(0), folder)
	if err != nil {
		return err
	}
	made, err := readMade(path)
	if err != nil {
		return err
	}
	w, job, _, err := rerun(made, folder, shown)
	if err != nil {
		return fmt.Errorf("%s: the run cannot be made again: %w", f.Arg(0), err)
	}
	shown.Done()
	rows, err := job.Catalog.ReadUsed(f.Args()[1:], made.Run)
	if err != nil {
		return err
	}
	told, err := job.Learn(rows)
	if err != nil {
		return err
	}
	files, err := learnedTables(w, made, told, folder)
	if err != nil {
		return err
	}
	if dir != "" {
		if err := writeFiles(dir, files, overwrite); err != nil {
			return err
		}
	}
	if quiet {
		return nil
	}
	if err := export.PrintLessons(out, job, told, made.Run, f.NArg()-1); err != nil {
		return err
	}
	switch names := slices.Sorted(maps.Keys(files)); {
	case len(files) == 0:
		fmt.Fprintln(out, "no table is to be changed by it")
	case dir == "":
		fmt.Fprintf(out, "would change %s; -o DIR writes them\n", strings.Join(names, ", "))
	default:
		fmt.Fprintf(out, "written: %s, in %s. Nothing changes by itself: read them, and copy into your\ncatalogue what you believe; without a catalogue of your own, --catalog %s uses them.\n", strings.Join(names, ", "), dir, dir)
	}
	return nil
}

// learnedTables are the tables of the run that change by what was learned, as files
// by name. They are read back before they are given.
func learnedTables(w *work, made *export.Made, told *estimate.Lessons, folder string) (map[string][]byte, error) {
	set := map[string][]catalog.Edit{}
	for _, l := range told.List {
		if !export.Teaches(&l) {
			continue
		}
		e := catalog.Edit{Key: l.Key, Column: l.Column, By: l.Mean, Why: func(was string) string { return export.WhyLearned(&l, was, made.Run) }}
		if l.Table == "settings" {
			e.To = l.Now
		}
		set[l.Table] = append(set[l.Table], e)
	}
	keys := map[string]string{"tasks": "task", "consumables": "item", "settings": "name"}
	out := map[string][]byte{}
	for table, edits := range set {
		text, err := tableOf(w, made, table+".csv")
		if err != nil {
			return nil, err
		}
		if out[table+".csv"], err = catalog.Edited(text, keys[table], edits); err != nil {
			return nil, fmt.Errorf("the table %s of the run: %w", table, err)
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	return out, readBack(w, out, filepath.Join(folder, "learned"))
}

// tableOf is the text of a table by which a run was made: the firm's own, else the
// built-in one of then.
func tableOf(w *work, made *export.Made, name string) ([]byte, error) {
	var builtIn []byte
	for i := range made.Files {
		f := &made.Files[i]
		if filepath.Base(f.Name) != name || f.As != "catalog" && f.As != export.AsBuiltIn {
			continue
		}
		text, err := f.Bytes(mostKept)
		if err != nil || f.As == "catalog" {
			return text, err
		}
		builtIn = text
	}
	now, err := fs.ReadFile(catalog.Book(), name)
	if err != nil {
		return nil, err
	}
	if strings.EqualFold(filepath.Ext(w.catalog), ".xlsx") {
		files, err := catalog.Files(w.catalog)
		if err != nil || string(files[name]) != string(now) {
			return files[name], err
		}
	}
	if builtIn != nil {
		return builtIn, nil
	}
	return now, nil
}

// readBack reads the tables as the catalogue of the run with them in their places: a
// number that is refused is told before anything is written.
func readBack(w *work, tables map[string][]byte, dir string) error {
	files := map[string][]byte{}
	if w.catalog != "" {
		var err error
		if files, err = catalog.Files(w.catalog); err != nil {
			return err
		}
	}
	maps.Copy(files, tables)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := os.WriteFile(filepath.Join(dir, name), files[name], 0o600); err != nil {
			return err
		}
	}
	_, err := catalog.Load(catalog.Options{Dir: dir, Under: w.under, Sets: w.settings(nil)})
	if err != nil {
		return withHint(fmt.Errorf("what was learned is no catalogue: %w", err), "look at the sheets of what was used: a number there is beyond what the table takes")
	}
	return nil
}

// writeFiles writes files into a folder; where one of them is there already and may
// not be replaced, none is written.
func writeFiles(dir string, files map[string][]byte, overwrite bool) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	set := file.NewSet()
	defer set.Abort()
	var there []string
	for _, name := range slices.Sorted(maps.Keys(files)) {
		path := filepath.Join(dir, name)
		if _, err := os.Lstat(path); err == nil {
			there = append(there, name)
		}
		if err := set.Add(path, func(w io.Writer) error { _, err := w.Write(files[name]); return err }); err != nil {
			return err
		}
	}
	if len(there) > 0 && !overwrite {
		return withHint(fmt.Errorf("the folder %s holds %s already", dir, strings.Join(there, ", ")), "give --overwrite to replace them")
	}
	return set.Commit()
}
