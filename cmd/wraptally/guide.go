package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
	"text/tabwriter"

	"wraptally/estimate/survey"
	"wraptally/export/file"
)

// tellWay prints, below the error of a survey whose headings do not say all that
// is needed, what they hold and the command lines that read it.
func tellWay(out io.Writer, args []string, err error) {
	var e *survey.Error
	if !errors.As(err, &e) || e.Guide == nil {
		return
	}
	sheet := ""
	if e.Place.Sheet != "" {
		sheet = fmt.Sprintf(" of the sheet %q", e.Place.Sheet)
	}
	fmt.Fprintf(out, "\nThe headings of line %d%s and what stands below them:\n", e.Place.Line, sheet)
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, c := range e.Guide.Columns {
		means := "not used"
		switch {
		case c.Field != "":
			means = "read as " + c.Field + " (" + c.Via + ")"
		case c.Maybe != "":
			means = "could be " + c.Maybe + " (" + c.Why + ")"
		case c.Why != "":
			means += ": " + c.Why
		}
		fmt.Fprintf(tab, "  %d\t%s\t%s\t%s\n", c.Index, strings.Join(strings.Fields(c.Heading), " "), strings.Join(c.Values, " | "), means)
	}
	tab.Flush()
	if len(e.Guide.Lacks) > 0 {
		fmt.Fprintf(out, "Still missing: %s\n", strings.Join(e.Guide.Lacks, "; "))
	}
	fmt.Fprintf(out, "\nThis command reads it; what is missing is asked about, and the worst of a stated range is taken:\n\n  %s\n",
		commandLine(args, e.Guide.Options, nil))
	if len(e.Guide.Fill) > 0 {
		fmt.Fprintf(out, "\nFill in what you know in place of the words in capitals:\n\n  %s\n", commandLine(args, e.Guide.Options, e.Guide.Fill))
	}
	fmt.Fprintf(out, "\nAdd --save-mapping FILE to keep these options for the next survey of this client, read with --mapping FILE.\n")
}

// commandLine is the command the user gave with further options, quoted for the
// shell. What is to be filled in stands in place of the option for the same
// field, or behind them.
func commandLine(args []string, options, fill [][2]string) string {
	words := []string{"wraptally"}
	for _, a := range args {
		words = append(words, shellWord(a))
	}
	options = slices.Clone(options)
	for _, f := range fill {
		i := slices.IndexFunc(options, func(o [2]string) bool { return f[0] == o[0] && before(f[1]) == before(o[1]) })
		if i < 0 {
			options = append(options, f)
		} else {
			options[i] = f
		}
	}
	for _, o := range options {
		words = append(words, "--"+o[0], shellWord(o[1]))
	}
	return strings.Join(words, " ")
}

func before(s string) string {
	name, _, _ := strings.Cut(s, "=")
	return name
}

// shellWord quotes a word for the shell of the system where it needs it.
func shellWord(s string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_./=:,+@", r)
	}
	if s != "" && strings.TrimLeftFunc(s, plain) == "" {
		return s
	}
	if runtime.GOOS == "windows" {
		return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// saved are the options that a mapping file keeps, by name.
func (in *intake) saved() []struct {
	name string
	one  *string
	many *[]string
} {
	return []struct {
		name string
		one  *string
		many *[]string
	}{
		{"sheet", nil, &in.sheets}, {"map", nil, &in.maps}, {"set", nil, &in.sets}, {"only", nil, &in.only}, {"carry-down", nil, &in.carry}, {"accept", nil, &in.accept},
		{"length-unit", &in.length, nil}, {"chainage-unit", &in.chainage, nil}, {"pressure-unit", &in.pressure, nil}, {"temperature-unit", &in.temp, nil},
		{"delimiter", &in.delimiter, nil}, {"encoding", &in.encoding, nil}, {"decimal", &in.decimal, nil},
	}
}

// oneLine writes a heading of several lines in one, as which it is read too.
var oneLine = strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ")

const mappingHead = "# How the surveys of this client are read: a line an option, as on the command line without the dashes."

// saveMapping keeps the options by which a survey was read.
func (in *intake) saveMapping(path string, inputs []string) error {
	return file.Replace(path, inputs, func(w io.Writer) error {
		b := bufio.NewWriter(w)
		fmt.Fprintln(b, mappingHead)
		for _, s := range in.saved() {
			values := []string{}
			if s.one != nil && *s.one != "" {
				values = []string{*s.one}
			} else if s.many != nil {
				values = *s.many
			}
			for _, v := range values {
				if s.name != "set" || strings.HasPrefix(v, surveyPrefix) {
					fmt.Fprintln(b, s.name, oneLine.Replace(v))
				}
			}
		}
		return b.Flush()
	})
}

// loadMapping reads the options kept for a client; those of the command line come
// after them and so win.
func (in *intake) loadMapping(path string) (err error) {
	f, err := os.Open(path)
	if err != nil {
		return withHint(err, "--save-mapping FILE writes one when a survey was read")
	}
	defer f.Close()
	kept := map[string][]string{}
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, value, _ := strings.Cut(line, " ")
		kept[name] = append(kept[name], strings.TrimSpace(value))
		known := false
		for _, s := range in.saved() {
			known = known || s.name == name
		}
		if !known || value == "" || name == "set" && !strings.HasPrefix(value, surveyPrefix) {
			return withHint(fmt.Errorf("%s:%d: %q is no option of a mapping", path, n, line), `a line is an option without its dashes: map od=Pipe diameter [in]`)
		}
	}
	if err := lines.Err(); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, s := range in.saved() {
		values := kept[s.name]
		switch {
		case len(values) == 0:
		case s.name == "map":
			in.savedMaps = values
		case s.many != nil:
			*s.many = append(values, *s.many...)
		case *s.one == "":
			*s.one = values[len(values)-1]
		}
	}
	return nil
}
