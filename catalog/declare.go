package catalog

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// tableDef is a table as the tags of its field declare it:
//
//	table    its name: NAME.csv, or the sheet NAME of a workbook
//	key      columns that together must not repeat
//	once     more such columns
//	means    what one row is
//	empty    "yes": it may hold no row
//	lax      "yes": columns that may be blank may be left out
//	invented "yes": the built-in rows are invented
//	kind     the kind of item that it describes further, one row or more for each
//	counted  the unit in which items of that kind are counted
type tableDef struct {
	name, means   string
	keys          [][]string
	empty, lax    bool
	invented      bool
	kind, counted string
	field         int // in the struct that holds the tables
	cols          []column
}

// column is a column as the tags of its field declare it:
//
//	csv    its name; with ",optional" its cells may be blank
//	means  its meaning
//	unit   its unit
//	in     range of a number, "(0 20]": above 0 to 20, "[0 20]": from 0 to 20
//	of     the words that it accepts
//	every  each word must have a row; else a fault of this code
//	names  TABLE.COLUMN in which its text must stand
//	above  the column of the same row that it must exceed
//	same   the columns that make a group; within it all rows agree in this one
//	rises  it never falls where another column rises: COLUMN, or COLUMN of GROUP
//	       where only rows that agree in the columns of GROUP are compared;
//	       "strictly" before it: nor stays; more such, parted by ";"
//	falls  it never rises where another column rises, written likewise
//	whole  the unit of which it is a whole number
//	mixed  "yes": holds numbers and words; a number is a number in a workbook
type column struct {
	name, means, unit string
	optional          bool
	limit             *limit
	words, same       []string
	every             string
	trends            []trend
	table, target     string // of "names"
	above, whole      string
	mixed             bool
	field             int // in the row type
	kind              reflect.Type
}

// trend says how a column goes with another.
type trend struct {
	rises, strict bool
	along         string
	of            []string
}

// holds reports whether a value may follow another.
func (t *trend) holds(before, after float64) bool {
	if t.rises {
		before, after = after, before
	}
	return after < before || after == before && !t.strict
}

// declaredTrends reads a tag "rises" or "falls".
func declaredTrends(tag string, rises bool) (trends []trend) {
	for text := range strings.SplitSeq(tag, ";") {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		along, of, _ := strings.Cut(text, " of ")
		along, strict := strings.CutPrefix(along, "strictly ")
		trends = append(trends, trend{rises: rises, strict: strict, along: along, of: strings.Fields(of)})
	}
	return trends
}

// limit is the range a number must lie in; open leaves min itself out.
type limit struct {
	min, max float64
	open     bool
}

func (l *limit) holds(v float64) bool { return v > l.min && v <= l.max || v == l.min && !l.open }

func (l *limit) String() string {
	if l.open {
		return "above " + num(l.min) + " to " + num(l.max)
	}
	return "from " + num(l.min) + " to " + num(l.max)
}

// accepts words what a cell of the column may hold.
func (c *column) accepts() string {
	text := "text"
	switch {
	case len(c.words) > 0:
		text = strings.Join(c.words, ", ")
	case c.limit != nil:
		text = c.limit.String()
	case c.table != "":
		text = "a " + c.target + " of " + c.table
	case c.kind == timeType:
		text = "a day, 2027-03-01"
	}
	if c.whole != "" || c.kind.Kind() == reflect.Int {
		text = "whole, " + text
	}
	if c.above != "" {
		text += "; above " + c.above
	}
	if len(c.same) > 0 {
		text += "; the same in rows of one " + strings.Join(c.same, " and ")
	}
	for _, t := range c.trends {
		way := "falling"
		if t.rises {
			way = "rising"
		}
		text += "; " + way + " with " + t.along
	}
	return text
}

// tables is every table, in the order in which they are read and written.
var tables = declared(reflect.TypeFor[Catalog]())

// declared reads the tables that a struct holds. A tag that is written wrongly
// is a mistake of the program and panics as it starts.
func declared(holder reflect.Type) []tableDef {
	var defs []tableDef
	for i := range holder.NumField() {
		tag := holder.Field(i).Tag
		name := tag.Get("table")
		if name == "" {
			continue
		}
		def := tableDef{name: name, means: tag.Get("means"), keys: [][]string{strings.Fields(tag.Get("key"))},
			empty: tag.Get("empty") == "yes", lax: tag.Get("lax") == "yes", invented: tag.Get("invented") == "yes", kind: tag.Get("kind"), counted: tag.Get("counted"), field: i}
		if once := tag.Get("once"); once != "" {
			def.keys = append(def.keys, strings.Fields(once))
		}
		row := holder.Field(i).Type.Elem()
		for k := range row.NumField() {
			if f := row.Field(k); f.Tag.Get("csv") != "" {
				def.cols = append(def.cols, declaredColumn(f))
			}
		}
		defs = append(defs, def)
	}
	return defs
}

var (
	decimalType = reflect.TypeFor[decimal.Decimal]()
	knownType   = reflect.TypeFor[decimal.NullDecimal]() // of which 0 and not known are two things
	boolType    = reflect.TypeFor[bool]()
	timeType    = reflect.TypeFor[time.Time]()
)

func declaredColumn(f reflect.StructField) column {
	name, optional := strings.CutSuffix(f.Tag.Get("csv"), ",optional")
	col := column{name: name, optional: optional, means: f.Tag.Get("means"), unit: f.Tag.Get("unit"), words: strings.Fields(f.Tag.Get("of")),
		every: f.Tag.Get("every"), above: f.Tag.Get("above"), whole: f.Tag.Get("whole"), mixed: f.Tag.Get("mixed") == "yes", same: strings.Fields(f.Tag.Get("same")), field: f.Index[0], kind: f.Type}
	col.trends = append(declaredTrends(f.Tag.Get("rises"), true), declaredTrends(f.Tag.Get("falls"), false)...)
	if f.Type == boolType {
		col.words = []string{"no", "yes"}
	}
	if names := f.Tag.Get("names"); names != "" {
		col.table, col.target, _ = strings.Cut(names, ".")
	}
	if in := f.Tag.Get("in"); in != "" {
		low, high, _ := strings.Cut(strings.Trim(in, "([]"), " ")
		least, err := strconv.ParseFloat(low, 64)
		most, err2 := strconv.ParseFloat(high, 64)
		if err != nil || err2 != nil {
			panic("catalog: the range of " + name + " is not written (LOW HIGH] or [LOW HIGH]: " + in)
		}
		col.limit = &limit{min: least, max: most, open: in[0] == '('}
	}
	return col
}

// tableNamed finds a table by name.
func tableNamed(name string) *tableDef {
	i := slices.IndexFunc(tables, func(d tableDef) bool { return d.name == name })
	if i < 0 {
		panic("catalog: no table " + name)
	}
	return &tables[i]
}

// sources are what a folder or workbook may hold: the table of products, which
// fills others, and the tables.
func sources() []*tableDef {
	list := []*tableDef{productsDef()}
	for i := range tables {
		list = append(list, &tables[i])
	}
	return list
}

// beside are the tables that stand beside a catalogue and are read on their own:
// what is in store, and the movements of a running campaign.
func beside() []*tableDef { return []*tableDef{&stockTable, &ledgerTable} }

// sourceNames and besideNames are their names.
func sourceNames() []string { return namesOf(sources()) }
func besideNames() []string { return namesOf(beside()) }

func namesOf(defs []*tableDef) (names []string) {
	for _, def := range defs {
		names = append(names, def.name)
	}
	return names
}

// column finds a column by name.
func (d *tableDef) column(name string) int {
	i := slices.IndexFunc(d.cols, func(c column) bool { return c.name == name })
	if i < 0 {
		panic(fmt.Sprintf("catalog: no column %s in %s", name, d.name))
	}
	return i
}

// columnOrOwn finds a column by name; one that is not declared is the firm's own,
// of numbers or words.
func (d *tableDef) columnOrOwn(name string) *column {
	if i := slices.IndexFunc(d.cols, func(c column) bool { return c.name == name }); i >= 0 {
		return &d.cols[i]
	}
	return &column{name: name, mixed: true, kind: reflect.TypeFor[string]()}
}

// wordsOf is the words that a column of a table accepts.
func wordsOf(table, name string) []string {
	d := tableNamed(table)
	return d.cols[d.column(name)].words
}
