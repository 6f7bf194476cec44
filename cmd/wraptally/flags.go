package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/spf13/pflag"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/export"
)

// newFlags is a flag set that prints its own usage and never exits.
func newFlags(name, synopsis string, out io.Writer) *pflag.FlagSet {
	f := pflag.NewFlagSet(name, pflag.ContinueOnError)
	f.SortFlags = false
	f.SetOutput(io.Discard)
	f.Usage = func() {
		fmt.Fprintf(out, "usage: wraptally %s\n\n%s\n\n%s", synopsis, told(f), caution)
	}
	return f
}

// parse reads the flags and checks the number of other arguments.
func parse(f *pflag.FlagSet, args []string, least, most int, what string) error {
	if err := f.Parse(args); err != nil {
		if errors.Is(err, pflag.ErrHelp) {
			return err
		}
		return badUsage("'wraptally "+f.Name()+" --help' lists the options", "%v", err)
	}
	if n := f.NArg(); n < least || n > most {
		return badUsage("'wraptally "+f.Name()+" --help' shows the form", "%s takes %s, found %d: %s", f.Name(), what, n, strings.Join(f.Args(), " "))
	}
	return nil
}

// inputFlags marks options that name a file, or the catalogue, which is read.
func inputFlags(f *pflag.FlagSet, names ...string) {
	for _, name := range names {
		if err := f.SetAnnotation(name, input, nil); err != nil {
			panic(err) // an option of ours that is not declared
		}
	}
}

// outputFlags marks options that say what is written or told, and bear on no number.
func outputFlags(f *pflag.FlagSet, names ...string) {
	for _, name := range names {
		if err := f.SetAnnotation(name, output, nil); err != nil {
			panic(err)
		}
	}
}

// The marks of options.
const (
	input  = "input"
	output = "output"
)

// intake are the options by which a survey is read and the catalogue loaded.
type intake struct {
	name  string          // of the survey, where its path is not how the user knows it
	under string          // folder of tables of an earlier run, between those of the user and the built-in ones
	copy  *export.Packing // takes the survey's bytes; nil keeps none

	quotes []string       // requests for quotation that came back filled
	quoted catalog.Quotes // as read

	queriesOnly bool // nothing but queries is wanted

	moves string    // table of movements of the running campaign
	today time.Time // earliest day to order on, and what expired before it is expired; zero: any, and the first day of the work

	earlier string          // what an earlier run left: its JSON or workbook
	done    []string        // sheets Used of repairs that are done
	same    []string        // answers on what a row was in it
	namesOf *export.NamesOf // as read

	catalog      string
	sets         []string
	answers      string
	answersSheet string
	mapping      string
	saveTo       string
	savedMaps    []string

	sheets                           []string
	delimiter, encoding, decimal     string
	headerRow                        int
	maps, only, carry, accept        []string
	length, pressure, temp, chainage string
}

// define declares the options.
func (in *intake) define(f *pflag.FlagSet) {
	f.StringVar(&in.catalog, "catalog", "", "folder of tables, or a workbook, that replace built-in tables: `DIR`")
	f.StringArrayVar(&in.sets, "set", nil, "change a setting, or with survey.FIELD answer for the blank cells of a field: `NAME=VALUE` (repeatable)")
	f.StringVar(&in.earlier, "earlier", "", "JSON or workbook `FILE` of an earlier run: repairs keep the names it gave, and what became of them and of the boxes packed is listed")
	f.StringSliceVar(&in.done, "done", nil, "sheets Used come back filled, workbooks or CSV: kits of --earlier whose work they say is finished are done; what they repaired is left out, counted as filtered, and a leak or another defect there is asked about: `FILE` (repeatable)")
	f.StringArrayVar(&in.same, "same", nil, "what a row of the survey was in the earlier run, where that is asked; `ROW=NAME`, or ROW=new where it was none (repeatable)")
	f.StringVar(&in.answers, "answers", "", "query sheet that came back answered, workbook or CSV: `FILE`")
	f.StringVar(&in.answersSheet, "answers-sheet", "", "sheet of that workbook, by `NAME` (else found by its headings)")
	f.StringArrayVar(&in.sheets, "sheet", nil, "sheet of a survey workbook, by `NAME` or number; all reads every one that looks like a survey (repeatable)")
	f.StringVar(&in.delimiter, "delimiter", "", "field separator of a text survey: comma, semicolon, tab or pipe (else found by itself): `WORD`")
	f.StringVar(&in.encoding, "encoding", "", "character encoding of a text survey, utf-8, windows-1251 … (else found by itself): `NAME`")
	f.StringVar(&in.decimal, "decimal", "", "decimal sign, point or comma (else found by itself): `SIGN`")
	f.IntVar(&in.headerRow, "header-row", 0, "number of the line that holds the headings (else found by itself): `LINE`")
	f.StringArrayVar(&in.maps, "map", nil, "client's heading of one of our fields ('wraptally fields'), with its unit; --map od=\"Pipe diameter [in]\", or where headings are equal od=\"column 9 [in]\", or surface=none where no column is the field: `FIELD=HEADING` (repeatable)")
	f.StringVar(&in.mapping, "mapping", "", "read the survey by the options that --save-mapping kept: `FILE`")
	f.StringVar(&in.saveTo, "save-mapping", "", "keep the options by which this survey is read, for the next one of the client: `FILE`")
	f.StringArrayVar(&in.only, "only", nil, "keep only rows with this value; several as A|B, any but blank as *, all but it as COLUMN!=VALUE: `COLUMN=VALUE` (repeatable)")
	f.StringSliceVar(&in.carry, "carry-down", nil, "fields whose blank cells take the value above, each use listed: `FIELDS`")
	f.StringSliceVar(&in.accept, "accept", nil, "codes of checks (last on each query, in [ ]) that were confirmed and leave no row out any more: `CODES`")
	f.StringVar(&in.length, "length-unit", "", "unit of lengths whose heading names none (else mm): `UNIT`")
	f.StringVar(&in.chainage, "chainage-unit", "", "unit of chainages whose heading names none (else m): `UNIT`")
	f.StringVar(&in.pressure, "pressure-unit", "", "unit of pressures whose heading names none (else MPa): `UNIT`")
	f.StringVar(&in.temp, "temperature-unit", "", "unit of temperatures whose heading names none (else °C): `UNIT`")
	inputFlags(f, "catalog", "answers", "mapping", "earlier", "done")
	outputFlags(f, "save-mapping")
}

// surveyPrefix marks a --set that fills blank cells of the survey.
const surveyPrefix = "survey."

// load gives the catalogue with the settings in force.
func (in *intake) load(more ...string) (*catalog.Catalog, error) {
	return in.offered(catalog.Load(catalog.Options{Dir: in.catalog, Under: in.under, Sets: in.settings(more)}))
}

// offered puts the quotes into a catalogue.
func (in *intake) offered(c *catalog.Catalog, err error) (*catalog.Catalog, error) {
	if err != nil || len(in.quotes) == 0 {
		return c, err
	}
	c, quoted, err := c.WithQuotes(in.quotes, in.today)
	if err == nil {
		in.quoted = *quoted
	}
	return c, err
}

// settings are those given by --set, with more: what is no answer of the survey.
func (in *intake) settings(more []string) (sets []string) {
	for _, s := range append(in.sets[:len(in.sets):len(in.sets)], more...) {
		if !strings.HasPrefix(s, surveyPrefix) {
			sets = append(sets, s)
		}
	}
	return sets
}

// read reads the survey.
func (in *intake) read(path string, c *catalog.Catalog) (*survey.Result, error) {
	if in.mapping != "" {
		if err := in.loadMapping(in.mapping); err != nil {
			return nil, err
		}
	}
	opt, err := in.options(path, c)
	if err != nil {
		return nil, err
	}
	if in.answers != "" {
		if opt.Answers, err = survey.OpenAnswers(in.answers, in.answersSheet); err != nil {
			return nil, err
		}
	}
	if err := in.readEarlier(c); err != nil {
		return nil, err
	}
	opt.Done, opt.DoneNear = in.donePlaces(), c.Settings.NameWithin
	if in.copy != nil {
		opt.Copy = in.copy
	}
	if in.queriesOnly && in.earlier == "" { // which recognises rows among all of them
		opt.Pack = c.Settings.CheckWhole
	}
	s, err := survey.Open(path, opt)
	if err == nil && in.saveTo != "" {
		in.maps = append(in.savedMaps, in.maps...)
		err = in.saveMapping(in.saveTo, in.inputs(path))
	}
	return s, err
}

// named is how the survey is called in what is told of it: without its folder,
// so that the same survey gives the same bytes from anywhere and a client reads
// no folder's name.
func (in *intake) named(path string) string {
	switch {
	case in.name != "":
		return in.name
	case path == onStream:
		return "standard input"
	}
	return filepath.Base(path)
}

func (in *intake) options(path string, c *catalog.Catalog) (survey.Options, error) {
	opt := survey.Options{
		Name: in.named(path), Sheets: in.sheets, Encoding: in.encoding, HeaderRow: in.headerRow, CarryDown: in.carry, Accept: in.accept,
		LengthUnit: in.length, PressureUnit: in.pressure, TemperatureUnit: in.temp, ChainageUnit: in.chainage, Sizes: c, Limits: limits(&c.Settings),
		GoneWall: c.Settings.MinWall, Doubts: doubts(&c.Settings),
	}
	var err error
	if opt.Delimiter, err = delimiter(in.delimiter); err != nil {
		return opt, err
	}
	switch in.decimal {
	case "":
	case "point", ".":
		opt.Decimal = '.'
	case "comma", ",":
		opt.Decimal = ','
	default:
		return opt, badUsage("write point or comma", "--decimal %q is not known", in.decimal)
	}
	if opt.SavedMap, err = mappings(in.savedMaps); err != nil {
		return opt, err
	}
	if opt.Map, err = mappings(in.maps); err != nil {
		return opt, err
	}
	for _, o := range in.only {
		column, value, ok := strings.Cut(o, "=")
		if !ok || column == "" {
			return opt, badUsage(`write --only "Type=defect|cluster" or --only "Type!=weld"`, "--only %q is not COLUMN=VALUE", o)
		}
		column, not := strings.CutSuffix(column, "!")
		var values []string
		for v := range strings.SplitSeq(value, "|") {
			values = append(values, strings.TrimSpace(v))
		}
		opt.Only = append(opt.Only, survey.Filter{Column: column, Values: values, Not: not})
	}
	for _, s := range in.sets {
		if rest, ok := strings.CutPrefix(s, surveyPrefix); ok {
			field, value, ok := strings.Cut(rest, "=")
			if !ok || field == "" {
				return opt, badUsage("write --set survey.leaking=yes", "--set %q is not NAME=VALUE", s)
			}
			opt.Defaults = append(opt.Defaults, survey.Default{Field: field, Value: value})
		}
	}
	for _, h := range c.Headings {
		opt.Synonyms = append(opt.Synonyms, survey.Synonym{Field: h.Field, Heading: h.Heading, Unit: h.Unit})
	}
	return opt, nil
}

func mappings(list []string) (out []survey.Mapping, err error) {
	for _, m := range list {
		field, heading, ok := strings.Cut(m, "=")
		if !ok || field == "" || heading == "" {
			return nil, badUsage(`write --map od="Pipe diameter [in]"`, "--map %q is not FIELD=HEADING", m)
		}
		out = append(out, survey.Mapping{Field: field, Heading: heading})
	}
	return out, nil
}

// limits are what a survey may take, by the settings.
func limits(s *catalog.Settings) survey.Limits {
	const mega = 1 << 20
	return survey.Limits{
		FileBytes: int64(s.IntakeFile) * mega, FieldBytes: s.IntakeCell, Rows: s.IntakeRows, Columns: s.IntakeColumns,
		UnzipBytes: int64(s.IntakeUnzip) * mega, UnzipRatio: s.IntakeRatio, ZipEntries: s.IntakeParts, Queries: s.IntakeQueries,
	}
}

// doubts are the settings beyond which a value is asked about.
func doubts(s *catalog.Settings) *survey.Doubts {
	return &survey.Doubts{
		WallGone: s.DoubtWallGone, DefectLong: s.DoubtLong, DefectSmall: s.DoubtSmall, ODLow: s.DoubtODLow, ODHigh: s.DoubtODHigh, ODOff: s.DoubtODOff,
		WallOver: s.DoubtWallOver, PressureHigh: s.DoubtPressure, HoopHigh: s.DoubtHoop,
	}
}

func delimiter(s string) (rune, error) {
	switch s {
	case "":
		return 0, nil
	case "comma":
		return ',', nil
	case "semicolon":
		return ';', nil
	case "tab", `\t`:
		return '\t', nil
	case "pipe":
		return '|', nil
	}
	if r, n := utf8.DecodeRuneInString(s); n == len(s) && strings.ContainsRune(",;|\t", r) {
		return r, nil
	}
	return 0, badUsage("write comma, semicolon, tab or pipe", "--delimiter %q is not known", s)
}
