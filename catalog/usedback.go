package catalog

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
	"wraptally/estimate/used"
)

// UsedRow is a row of the sheet that a crew filled in after a repair. Its columns
// are those of package used.
type UsedRow struct {
	Kit        string              `csv:"Kit" means:"name of the repair and its kit"`
	Record     string              `csv:"Record" of:"item task work measured" means:"what the row is about"`
	Code       string              `csv:"Code" means:"what of it"`
	Name       string              `csv:"Name,optional" means:"the same in words"`
	Unit       string              `csv:"Unit,optional" means:"unit of the numbers"`
	Planned    string              `csv:"Planned,optional" mixed:"yes" means:"by the run; not read back"`
	Used       string              `csv:"Used,optional" mixed:"yes" means:"used up, minutes taken, or the value found; blank: not filled in"`
	Returned   decimal.NullDecimal `csv:"Returned,optional" in:"[0 1e9]" means:"back in the store"`
	Damaged    decimal.NullDecimal `csv:"Damaged,optional" in:"[0 1e9]" means:"spoilt or lost"`
	Substitute string              `csv:"Substituted by,optional" means:"item used in its place"`
	Lot        string              `csv:"Lot,optional" means:"lots used"`
	Remark     string              `csv:"Remark,optional" means:"anything else"`
	Run        string              `csv:"Run,optional" means:"mark of the run that planned it"`

	Value float64 // Used as a number
	Known bool    // whether it is one: not filled in, and what is no number, is not
}

// usedBook holds the table of what was used.
type usedBook struct {
	Rows []UsedRow `table:"used" lax:"yes" empty:"yes" means:"what was used of one thing in one repair"`
}

var usedForm = sentBack{def: declared(reflect.TypeFor[usedBook]())[0], what: "sheet of what was used", needs: []string{"Kit", "Record", "Code", "Used"}}

// ReadUsed reads sheets of what was used that came back filled, workbooks and text
// files, of the run with that mark. A cell not filled in is not known, never nought.
// A *Faults error lists everything that is wrong with its place; *OpenError says that
// a file cannot be read.
func (c *Catalog) ReadUsed(paths []string, run string) (out []UsedRow, err error) {
	faults := &Faults{Subject: "what was used"}
	first := map[[3]string]trace.Place{}
	for _, path := range paths {
		grids, err := usedForm.grids(path, faults)
		if err != nil {
			return nil, err
		}
		before, rows := faults.Total, 0
		for _, g := range grids {
			g.rows = slices.DeleteFunc(g.rows, toldBelow)
			have := &usedBook{}
			l, k := usedForm.read(g, have, c, faults)
			rows += len(have.Rows)
			if l.broken {
				continue
			}
			for i := range have.Rows {
				r := &have.Rows[i]
				k.checkUsed(i, r, run)
				key := [3]string{r.Kit, r.Record, r.Code}
				if at, twice := first[key]; twice {
					k.fault(usedForm.def.name, i, "Code", "used-twice", "the "+r.Record+" of this kit stands in "+at.String()+" already", "add the two up in one row, and take the other out")
				}
				first[key] = l.placeOf(i, "Code")
			}
			out = append(out, have.Rows...)
		}
		if rows == 0 && faults.Total == before {
			faults.add(trace.Place{File: filepath.Base(path)}, "used-none", "", "the file holds no row of the sheet "+used.Sheet, "give the workbook with the filled sheet, or its rows as CSV with their headings")
		}
	}
	return out, faults.err()
}

// toldBelow reports whether a row is one of those that tell the columns, below the
// rows that are filled in.
func toldBelow(row []cell) bool {
	if len(row) < 2 {
		return len(row) == 0 || row[0].text == used.Below
	}
	return row[0].text == used.Below || slices.Contains(used.TellsBy, row[1].text)
}

// checkUsed checks a row against the catalogue and the run, and reads its number.
func (k *checker) checkUsed(i int, r *UsedRow, run string) {
	table := usedForm.def.name
	codes := []string{}
	switch r.Record {
	case used.Item:
		if _, ok := k.c.items[r.Code]; ok {
			break
		}
		for code := range k.c.items {
			codes = append(codes, code)
		}
		slices.Sort(codes)
		k.fault(table, i, "Code", "item-unknown", "no item of that code in the items table of the run", meant(r.Code, codes, "write the code as in the catalogue"))
	case used.Task:
		for j := range k.c.Tasks {
			codes = append(codes, k.c.Tasks[j].Task)
		}
		if !slices.Contains(codes, r.Code) {
			k.fault(table, i, "Code", "task-unknown", "no task of that code in the tasks table of the run", meant(r.Code, codes, "write the code as in the catalogue"))
		}
	}
	if r.Run != "" && run != "" && r.Run != run {
		k.fault(table, i, "Run", "run-other", "planned by another run than the one given, which is "+run, "give the JSON of run "+r.Run+", or take the row out")
	}
	if _, ok := k.c.items[r.Substitute]; r.Substitute != "" && !ok {
		k.fault(table, i, "Substituted by", "item-unknown", "no item of that code in the items table of the run", "write the code as in the catalogue")
	}
	if r.Used == "" || r.Record == used.Work {
		return
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(r.Used), 64)
	if err != nil || !(v >= 0 && v <= 1e9) && r.Record != used.Measured {
		k.fault(table, i, "Used", "number-wrong", "not a quantity that can have been used", fmt.Sprintf("write a number from 0 on in %s, without its unit; leave it blank where nobody counted", orUnit(r.Unit)))
		return
	}
	r.Value, r.Known = v, true
}

func orUnit(unit string) string {
	if unit == "" {
		return "the unit of the row"
	}
	return unit
}
