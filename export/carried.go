package export

import (
	"bufio"
	"bytes"
	"cmp"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
	"wraptally/export/audit"
	"wraptally/export/table"
)

// A workbook may carry the JSON of its run in a hidden sheet, packed and written as
// text, so that whoever has the workbook alone can audit or compare it. A
// spreadsheet program that saves the workbook keeps it, as it keeps any text.
const (
	sheetRun    = "Run"
	sumHead     = "SHA-256"
	perCell     = 30_000  // a cell holds 32 767 characters
	mostCarried = 1 << 34 // bytes that it may unpack to
)

// carried is the hidden sheet with what write writes.
func (b *book) carried(write func(io.Writer) error) *table.Sheet {
	var packed bytes.Buffer
	sum, z := sha256.New(), gzip.NewWriter(&packed)
	err := cmp.Or(write(io.MultiWriter(z, sum)), z.Close())
	l := newLeaf(sheetRun, "The run of this workbook", "For the program: 'wraptally audit' and 'wraptally compare' read it. Not to be changed.", []table.Column{{Width: 12}, {Width: 60}})
	put := func(head, text string) {
		l.AddRow(table.Row{Cells: []table.Cell{table.Text(head, table.TextStyle), table.Text(text, table.TextStyle)}, Height: 15})
	}
	put(sumHead, hex.EncodeToString(sum.Sum(nil)))
	text := base64.StdEncoding.EncodeToString(packed.Bytes())
	for n := 1; text != ""; n++ {
		k := min(perCell, len(text))
		put("part "+strconv.Itoa(n), text[:k])
		text = text[k:]
	}
	s := l.sheet(b.page(false))
	s.Hidden, s.Failed = true, func() error { return err }
	return s
}

// runSheet is the run of a workbook that does not show all steps: of its JSON what
// a comparison reads, without the steps, which are the most of it.
func (b *book) runSheet() *table.Sheet {
	return b.carried(func(w io.Writer) error {
		buf := bufio.NewWriter(w)
		j := &jsonWriter{w: buf}
		j.open()
		j.head(b.p, b.opt)
		j.list("repairs", len(b.p.Repairs), func(i int) any {
			return map[string]string{"id": b.p.Repairs[i].ID, "status": string(b.p.Repairs[i].Status)}
		})
		j.field("order", orderJSON(b.p))
		j.field("bid", bidJSON(b.p))
		j.close()
		return cmp.Or(j.err, buf.Flush())
	})
}

// RunOfBook writes the JSON of the run that a workbook carries; ok is false where it
// carries none.
func RunOfBook(path string, w io.Writer) (ok bool, err error) {
	rows, done, err := rowsOf(path, sheetRun)
	if rows == nil || err != nil {
		return false, err
	}
	defer done()
	damaged := func(why string) (bool, error) {
		return true, fmt.Errorf("its sheet %s is damaged (%s): give the workbook as it was written, or the JSON of the run", sheetRun, why)
	}
	sum, text, parts := "", &strings.Builder{}, 0
	for rows.Next() {
		cells, err := rows.Columns()
		if err != nil {
			return damaged(err.Error())
		}
		switch {
		case len(cells) < 2:
		case cells[0] == sumHead:
			sum = cells[1]
		case strings.HasPrefix(cells[0], "part "):
			if parts++; cells[0] != "part "+strconv.Itoa(parts) {
				return damaged(fmt.Sprintf("part %d is missing", parts))
			}
			text.WriteString(cells[1])
		}
	}
	packed, err := base64.StdEncoding.DecodeString(text.String())
	if err != nil {
		return damaged(err.Error())
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return damaged(err.Error())
	}
	is := sha256.New()
	if _, err := io.Copy(io.MultiWriter(w, is), io.LimitReader(z, mostCarried)); err != nil {
		return damaged(err.Error())
	}
	if hex.EncodeToString(is.Sum(nil)) != sum {
		return damaged("its sum is another")
	}
	return true, nil
}

// rowsOf are the rows of a sheet of a workbook, nil where it has no such sheet.
func rowsOf(path, sheet string) (rows *excelize.Rows, done func(), err error) {
	const mega = 1 << 20
	f, err := excelize.OpenFile(path, excelize.Options{RawCellValue: true, UnzipSizeLimit: 4096 * mega, UnzipXMLSizeLimit: 64 * mega})
	if err != nil {
		return nil, nil, fmt.Errorf("it cannot be read as a workbook: %w", err)
	}
	if !slices.Contains(f.GetSheetList(), sheet) {
		return nil, nil, f.Close()
	}
	if rows, err = f.Rows(sheet); err != nil {
		f.Close()
		return nil, nil, err
	}
	return rows, func() { rows.Close(); f.Close() }, nil
}

// ErrNoWorking is of a workbook that carries a run, but not all of its steps.
var ErrNoWorking = errors.New("the workbook does not hold all steps by which its figures came about")

// CheckWorking holds every cell of the sheet Working, in so far as it has a step,
// against the run of the JSON; cells is how many were.
func CheckWorking(path string, run io.Reader) (faults []audit.Fault, cells int, err error) {
	want, err := workingOf(run)
	if err != nil {
		return nil, 0, err
	}
	rows, done, err := rowsOf(path, sheetWorking)
	if err == nil && rows == nil {
		err = ErrNoWorking
	}
	if err != nil {
		return nil, 0, err
	}
	defer done()
	at, under := 0, false // under the heads
	for line := 1; rows.Next(); line++ {
		got, err := rows.Columns()
		if err != nil {
			return nil, 0, err
		}
		switch {
		case !under:
			under = len(got) > 0 && got[0] == want[0][0]
			if !under {
				continue
			}
		case strings.Join(got, "") == "":
			continue
		case at == len(want):
			faults = append(faults, audit.Fault{Where: fmt.Sprintf("%s!A%d", sheetWorking, line), Says: fmt.Sprintf("it is %q; the run has no more steps", got[0])})
			return faults, cells, nil
		}
		for k, is := range want[at] {
			have := ""
			if k < len(got) {
				have = got[k]
			}
			if cells++; have != is {
				cell, _ := excelize.CoordinatesToCellName(k+1, line) // of a sheet that was read
				faults = append(faults, audit.Fault{Where: sheetWorking + "!" + cell, Says: fmt.Sprintf("it is %q; the run has %q", have, is)})
			}
		}
		at++
	}
	if at < len(want) {
		faults = append(faults, audit.Fault{Where: sheetWorking, Says: fmt.Sprintf("it ends before %q", want[at][0])})
	}
	return faults, cells, nil
}

// workingOf are the rows of the sheet Working by the JSON of a run, its heads first
// and without blank ones.
func workingOf(run io.Reader) ([][]string, error) {
	t := workingTable()
	texts := func(cells []table.Cell) (out []string) {
		for _, c := range cells {
			out = append(out, c.Text)
		}
		return out
	}
	stepRows := func(head string, steps []stepJSON) [][]string {
		out := [][]string{{workingHead(head)}}
		for i := range steps {
			s := steps[i].step()
			out = append(out, texts(t.Row(1, &s).Cells))
		}
		return out
	}
	type repair struct {
		ID, Line, Kind, Status string
		Derivation             []stepJSON
	}
	out := [][]string{texts(t.Head().Cells)}
	var repairs [][]string
	most, whole := 0, false
	err := audit.Parts(bufio.NewReaderSize(run, 1<<16), func(key string, d *json.Decoder) (bool, error) {
		switch key {
		case "settings":
			var list []struct{ Name, Value string }
			if err := d.Decode(&list); err != nil {
				return false, err
			}
			for _, s := range list {
				if s.Name == "output.working_repairs" {
					most, _ = strconv.Atoi(s.Value) // a setting that was read
				}
			}
		case "repairs":
			return true, audit.Each(d, func(r *repair) {
				if most--; most >= 0 {
					repairs = append(repairs, stepRows(workingOfRepair(r.ID, r.Line, r.Kind, r.Status), r.Derivation)...)
				}
			})
		case "derivation":
			var steps []stepJSON
			if err := d.Decode(&steps); err != nil {
				return false, err
			}
			whole, out = true, append(out, stepRows(workingOfCampaign, steps)...)
		default:
			return true, audit.Skip(d)
		}
		return true, nil
	})
	if err == nil && !whole {
		err = ErrNoWorking
	}
	return append(out, repairs...), err
}

// step is the step that was written so.
func (j *stepJSON) step() trace.Step {
	value := func(v any) (n float64, text string) {
		switch v := v.(type) {
		case float64:
			return v, ""
		case string:
			return 0, v
		}
		return 0, ""
	}
	s := trace.Step{ID: j.ID, Name: j.Name, Formula: j.Formula, Unit: j.Unit, Rounding: j.Rounding, Source: j.Source}
	s.Value, s.Text = value(j.Value)
	if s.Raw = s.Value; j.Raw != nil {
		s.Raw, _ = value(j.Raw)
	}
	for _, in := range j.Inputs {
		i := trace.Input{Symbol: in.Symbol, Name: in.Name, Unit: in.Unit, From: trace.Origins{trace.Words(in.From)}}
		i.Value, i.Text = value(in.Value)
		s.Inputs = append(s.Inputs, i)
	}
	return s
}
