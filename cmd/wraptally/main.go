// Wraptally plans a campaign of live leak repairs: from a survey of defects to
// kits, an order and a cost sheet. Run it without arguments for its usage.
package main

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"github.com/spf13/pflag"

	"wraptally/export/file"
)

// The exit codes.
const (
	exitOK    = 0
	exitData  = 1 // something is wrong with the input, or could not be written
	exitUsage = 2 // the command line cannot be understood
)

const usage = `wraptally - from a survey of leaks and thinned walls to kits, an order and a cost sheet

the work:
  wraptally check    SURVEY [-o QUERIES.xlsx]    what the survey leaves open; begin with it
  wraptally estimate SURVEY -o CAMPAIGN.xlsx     kits, order and cost as a workbook; --json FILE as data
  wraptally buy      SURVEY -o DIR               requests for quotation and purchase orders, a supplier each
  wraptally compare  OLD NEW                     two runs, or a run and a new survey: each difference by its causes
  wraptally learn    CAMPAIGN.json USED...       what was used against what was planned; tables to adopt

why and how sure:
  wraptally explain  SURVEY REPAIR [ITEM]        how a quantity came about
  wraptally vary     SURVEY [REPAIR]             what a change of each input does
  wraptally audit    RUN                         every figure of a run, its JSON or its --working workbook, reckoned again

to prepare:
  wraptally catalog  -o DIR                      the built-in products and rules, for editing
  wraptally form     -o FORM.xlsx                an empty survey for inspectors to fill in
  wraptally fields   [--json]                    the survey's headings, and the queries it may raise; or as a Table Schema
  wraptally schema                               the form of the JSON
  wraptally version  [--notices]                 version, commit and modules; their licences

'wraptally COMMAND --help' lists the options of a command, with examples.

` + caution

const caution = `CAUTION. Everything this program gives is an estimate, not a design. A repair
on live pipework can kill: leak, pressure, temperature and medium, an isolation
that fails, epoxy and isocyanate on skin and in lungs, sparks in a gas cloud. A
qualified person designs each repair and decides whether it may be done under
pressure; local codes, the permit to work and the safety data sheets come before
anything printed here.
`

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// command is one verb of the command line.
type command struct {
	name string
	run  func(args []string, out, errOut io.Writer) error
}

var commands = []command{
	{"estimate", runEstimate},
	{"check", runCheck},
	{"explain", runExplain},
	{"vary", runVary},
	{"buy", runBuy},
	{"audit", runAudit},
	{"compare", runCompare},
	{"learn", runLearn},
	{"catalog", runCatalog},
	{"fields", runFields},
	{"form", runForm},
	{"schema", runSchema},
	{"version", runVersion},
}

// run is the program without the process: it returns the exit code.
func run(args []string, out, errOut io.Writer) int {
	shown := &screen{w: out}
	code := obey(args, shown, &screen{w: errOut})
	if shown.err != nil {
		fmt.Fprintln(errOut, "error: cannot write to standard output:", shown.err)
		return exitData
	}
	return code
}

// obey does what the command line says.
func obey(args []string, out, errOut io.Writer) int {
	if len(args) == 0 {
		fmt.Fprint(errOut, usage)
		return exitUsage
	}
	switch args[0] {
	case "help", "-h", "--help":
		fmt.Fprint(out, usage)
		return exitOK
	case "--version":
		args = append([]string{"version"}, args[1:]...)
	}
	for _, c := range commands {
		if c.name == args[0] {
			err := c.run(args[1:], out, errOut)
			if s, ok := out.(*screen); ok && s.err != nil {
				return exitData // told by the caller, once
			}
			code := report(err, errOut)
			tellWay(errOut, args, err)
			return code
		}
	}
	fmt.Fprintf(errOut, "error: there is no command %q\nhint: 'wraptally help' lists them\n", args[0])
	return exitUsage
}

// report prints an error with its hint and gives the exit code it stands for.
func report(err error, errOut io.Writer) int {
	if err == nil || errors.Is(err, pflag.ErrHelp) {
		return exitOK
	}
	var quiet *silent
	if errors.As(err, &quiet) {
		return quiet.code
	}
	fmt.Fprintln(errOut, "error:", err)
	if hint := whatToDo(err); hint != "" {
		fmt.Fprintln(errOut, "hint:", hint)
	}
	var u *usageError
	if errors.As(err, &u) {
		return exitUsage
	}
	return exitData
}

// whatToDo is what to do about an error: its own advice, or by its cause where the
// system refuses a file.
func whatToDo(err error) string {
	var h advised
	var refused *fs.PathError
	var same *file.SameFileError
	switch {
	case errors.As(err, &h) && h.Advice() != "":
		return h.Advice()
	case errors.Is(err, fs.ErrNotExist):
		return "check the name; where its folder is missing, make it first"
	case errors.Is(err, fs.ErrPermission):
		return "you may not read or write there: give another place, or have its rights changed"
	case errors.As(err, &same):
		return "give the output another name"
	case errors.Is(err, zip.ErrFormat):
		return "give the workbook whole, or save it again as .xlsx"
	case errors.As(err, &refused):
		return "look whether the place is right and has room, or give another"
	}
	return ""
}

// usageError is a command line that cannot be understood.
type usageError struct{ msg string }

func (e *usageError) Error() string { return e.msg }

// badUsage is a usageError with a hint.
func badUsage(hint, format string, args ...any) error {
	return &hinted{err: &usageError{fmt.Sprintf(format, args...)}, hint: hint}
}

// advised is an error that knows what to do about it, of this command or of a
// stop of the road.
type advised interface {
	error
	Advice() string
}

// hinted is an error with advice.
type hinted struct {
	err  error
	hint string
}

func (e *hinted) Error() string { return e.err.Error() }
func (e *hinted) Unwrap() error { return e.err }

// Advice is what to do.
func (e *hinted) Advice() string { return e.hint }

// withHint adds advice to an error.
func withHint(err error, hint string) error { return &hinted{err, hint} }

// silent ends the program with a code where everything has been said already.
type silent struct{ code int }

func (e *silent) Error() string { return "see above" }
