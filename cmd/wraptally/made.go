package main

import (
	"bufio"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/export"
	"wraptally/export/audit"
)

// made tells what the run was made from: the options given that bear on its
// numbers, the survey that was copied while it was read, the files of options
// and the built-in tables.
func (in *intake) made(f *pflag.FlagSet, printed time.Time) (*export.Made, error) {
	out := &export.Made{Options: []string{}}
	name := filepath.Base(f.Arg(0))
	if f.Arg(0) == onStream {
		name = "standard input"
	}
	out.Files = append(out.Files, in.copy.File(export.AsSurvey, name))
	var failed error
	f.Visit(func(flag *pflag.Flag) {
		_, read := flag.Annotations[input]
		_, told := flag.Annotations[output]
		switch {
		case told, flag.Name == "date":
		case read:
			for _, path := range flagValues(flag) {
				called := "" // of an alternative, NAME=FILE
				if flag.Name == "alternative" {
					called, path, _ = strings.Cut(path, "=")
					called += "="
				}
				list, err := in.packed(flag.Name, path)
				if err != nil && failed == nil {
					failed = err
				}
				for i := range list {
					list[i].Name = called + list[i].Name
				}
				out.Files = append(out.Files, list...)
			}
		default:
			for _, v := range flagValues(flag) {
				out.Options = append(out.Options, "--"+flag.Name+"="+v)
			}
		}
	})
	if failed != nil {
		return nil, failed
	}
	if !printed.IsZero() {
		out.Options = append(out.Options, "--date="+printed.Format(time.DateOnly))
	}
	tables, err := packTables(export.AsBuiltIn, catalog.Book())
	out.Files = append(out.Files, tables...)
	return out, err
}

// mark tells the outputs of which run they are.
func (in *intake) mark(opt *export.Options, f *pflag.FlagSet) (err error) {
	if opt.Made, err = in.made(f, opt.Printed); err == nil {
		opt.Run = opt.Made.Mark(opt.Version)
	}
	return err
}

// flagValues are the values an option was given, one or several.
func flagValues(flag *pflag.Flag) []string {
	if many, ok := flag.Value.(pflag.SliceValue); ok {
		return many.GetSlice()
	}
	return []string{flag.Value.String()}
}

// packed are the records of what an option names; of an earlier run its names
// alone, not all that it was made from.
func (in *intake) packed(as, path string) ([]export.MadeFile, error) {
	if as == "earlier" && in.namesOf != nil {
		return []export.MadeFile{pack(as, filepath.Base(path), in.namesOf.Bytes())}, nil
	}
	return packed(as, path)
}

// packed are the records of a file, or of the tables of a folder.
func packed(as, path string) ([]export.MadeFile, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		return packTables(as, os.DirFS(path))
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return []export.MadeFile{pack(as, filepath.Base(path), data)}, nil
}

// packTables are the records of the tables of a folder.
func packTables(as string, folder fs.FS) (out []export.MadeFile, err error) {
	names, err := fs.Glob(folder, "*.csv")
	for _, name := range names {
		data, err := fs.ReadFile(folder, name)
		if err != nil {
			return nil, err
		}
		out = append(out, pack(as, name, data))
	}
	return out, err
}

func pack(as, name string, data []byte) export.MadeFile {
	p := export.NewPacking()
	_, _ = p.Write(data) // into memory
	return p.File(as, name)
}

// mostKept bounds what a JSON may unpack to, a file.
const mostKept = 1 << 30

const giveRun = "give the file that 'wraptally estimate SURVEY --json FILE' wrote, or the workbook of --working with all its repairs (setting output.working_repairs)"

// jsonOf is the file with the JSON of a run: the file itself, or what the workbook
// carries, written into a folder.
func jsonOf(path, folder string) (string, error) {
	ok, err := isBook(path)
	if err != nil || !ok {
		return path, err
	}
	out, err := os.CreateTemp(folder, "*.json")
	if err != nil {
		return "", err
	}
	buf := bufio.NewWriterSize(out, 1<<16)
	carries, err := export.RunOfBook(path, buf)
	if err = cmp.Or(err, buf.Flush(), out.Close()); err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	if !carries {
		return "", withHint(fmt.Errorf("%s: %w", path, errNoRun), giveRun)
	}
	return out.Name(), nil
}

var errNoRun = errors.New("the workbook carries no run")

// isBook reports whether a file begins as a workbook does.
func isBook(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer f.Close()
	head := make([]byte, 2)
	n, _ := io.ReadFull(f, head) // a shorter file is none
	return string(head[:n]) == "PK", nil
}

// readMade reads what the run of a JSON was made from.
func readMade(path string) (*export.Made, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	made, err := findMade(bufio.NewReaderSize(f, 1<<16))
	if err != nil {
		return nil, withHint(fmt.Errorf("%s: %w", path, err), giveRun)
	}
	return made, nil
}

// findMade goes through the head of the JSON up to the part looked for.
func findMade(from io.Reader) (made *export.Made, err error) {
	var run struct{ Mark string }
	err = audit.Parts(from, func(key string, d *json.Decoder) (bool, error) {
		switch key {
		case "schema":
			var is string
			if err := d.Decode(&is); err != nil || is != export.Schema {
				return false, fmt.Errorf("the form %q is not %s", is, export.Schema)
			}
		case "run": // stands before it
			if err := d.Decode(&run); err != nil {
				return false, fmt.Errorf("the mark of the run is damaged: %w", err)
			}
		case "made_from":
			made = &export.Made{Run: run.Mark}
			if err := d.Decode(made); err != nil {
				return false, fmt.Errorf("what the run was made from is damaged: %w", err)
			}
			return false, nil
		default:
			if err := audit.Skip(d); err != nil {
				return false, fmt.Errorf("the JSON is damaged: %w", err)
			}
		}
		return true, nil
	})
	if err == nil && made == nil {
		err = fmt.Errorf("it does not hold what the run was made from")
	}
	return made, err
}

// remake makes a run again: by this program, with the survey, the options and the
// tables that it was made from, by way of a folder, which is empty.
func remake(made *export.Made, folder string, shown *export.Progress) (job *estimate.Campaign, opt export.Options, err error) {
	w, job, printed, err := rerun(made, folder, shown)
	if err != nil {
		return nil, opt, err
	}
	opt, err = w.shown(job, printed, shown)
	opt.Made, opt.Run = made, made.Mark(opt.Version)
	return job, opt, err
}

// rerun makes the estimate of a run again, without its alternatives, and gives its
// options and the day that was printed.
func rerun(made *export.Made, folder string, shown *export.Progress) (w *work, job *estimate.Campaign, printed time.Time, err error) {
	w, path, err := unpack(made, folder)
	if err != nil {
		return nil, nil, printed, err
	}
	if w.date != "" { // what was not printed is not taken from this run's surroundings
		if printed, err = printedDate(w.date); err != nil {
			return nil, nil, printed, err
		}
	}
	w.today = dayOf(printed)
	job, err = w.run(path, shown)
	return w, job, printed, err
}

// unpack lays the files of a run into a folder and gives its options and the
// survey's place.
func unpack(made *export.Made, folder string) (w *work, survey string, err error) {
	args, tables, name := slices.Clone(made.Options), "", ""
	for i := range made.Files {
		file := &made.Files[i]
		data, err := file.Bytes(mostKept)
		if err != nil {
			return nil, "", err
		}
		if file.As == export.AsBuiltIn {
			if now, err := fs.ReadFile(catalog.Book(), filepath.Base(file.Name)); err == nil && string(now) == string(data) {
				continue // it comes with this program too
			}
		}
		table := file.As == export.AsBuiltIn || file.As == "catalog" && strings.HasSuffix(file.Name, ".csv")
		dir := filepath.Join(folder, strconv.Itoa(i)) // two files may have one name
		if table {
			dir = filepath.Join(folder, filepath.Base(file.As))
		}
		path := filepath.Join(dir, filepath.Base(file.Name))
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return nil, "", err
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			return nil, "", err
		}
		switch {
		case file.As == export.AsSurvey:
			survey, name = path, file.Name
		case file.As == export.AsBuiltIn:
			tables = dir
		case table:
			if option := "--catalog=" + dir; !slices.Contains(args, option) {
				args = append(args, option)
			}
		case file.As == "alternative":
			called, _, _ := strings.Cut(file.Name, "=")
			args = append(args, "--alternative="+called+"="+path)
		default:
			args = append(args, "--"+file.As+"="+path)
		}
	}
	w = &work{}
	f := pflag.NewFlagSet("again", pflag.ContinueOnError)
	f.SetOutput(io.Discard)
	w.define(f)
	if err := f.Parse(args); err != nil {
		return nil, "", fmt.Errorf("an option of the run is not known to this program: %w", err)
	}
	if survey == "" || f.NArg() > 0 {
		return nil, "", fmt.Errorf("the survey is missing")
	}
	w.under, w.name = tables, name
	return w, survey, nil
}
