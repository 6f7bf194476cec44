package export

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate"
	"wraptally/estimate/scope"
	"wraptally/export/audit"
	"wraptally/export/table"
)

// The heads of the columns of the sheet Names that a later run reads.
const (
	nameHead     = "Name"
	fateHead     = "Since the earlier run"
	lineHead     = "Line"
	rowHead      = "Survey row"
	chainageHead = "Chainage"
	contentsHead = "Contents"
	useHead      = "In use"
	intoHead     = "Joined with"
)

// namedSpot is a row of the sheet Names: a defect of a name.
type namedSpot struct {
	*estimate.Name
	scope.Spot
}

// namesSheet lists the names, a row a defect, in a form that a later run reads
// back.
func (d *desk) namesSheet() *table.Sheet {
	type col = table.Col[namedSpot]
	text := func(title string, width float64, of func(namedSpot) string) col {
		return col{Title: title, Width: width, Style: table.WrapStyle, Cell: func(p pen, n namedSpot) { p.Text(of(n)) }}
	}
	t := table.NewTable[namedSpot](sheetNames)
	t.Add(text(nameHead, nameWidth, func(n namedSpot) string { return n.Name.Name }))
	t.Add(text(fateHead, 11, func(n namedSpot) string { return string(n.Fate) }))
	t.Add(text("Box packed for the earlier run", 30, func(n namedSpot) string { say, _ := n.Box(); return say }))
	t.Add(text("Note", 34, func(n namedSpot) string { return n.Note }))
	t.Add(text(lineHead, 16, func(n namedSpot) string { return n.Line }))
	t.Add(text(rowHead, 12, func(n namedSpot) string { return n.ID }))
	t.Add(col{Title: chainageHead, Unit: "m", Width: 10, Style: shown(table.Number(3)).To(table.Centre), Cell: func(p pen, n namedSpot) { p.Num(math.Round(n.At) / 1000) }})
	at := map[string]int{} // of the kits of this workbook, by name
	for k := range d.part {
		at[d.repair(k).ID] = k
	}
	t.Add(col{Title: contentsHead, Width: 11, Style: table.WrapStyle, Cell: func(p pen, n namedSpot) {
		if k, here := at[n.Name.Name]; here {
			p.By(d.contentsCell(k, n.Code, setByHand, table.WrapStyle).Src)
		}
		p.Text(n.Code)
	}})
	t.Add(text(useHead, 7, func(n namedSpot) string {
		if n.Retired {
			return "no"
		}
		return "yes"
	}))
	t.Add(text(intoHead, nameWidth, func(n namedSpot) string { return n.Into }))
	l := newLeaf(sheetNames, "Names", "A name stays with its repair and is never given to another. Keep this workbook: the next run reads it with --earlier FILE and then says which packed boxes stay valid and which are to be opened.", t.Columns())
	l.note(namesText(d.p, d.opt.Earlier))
	l.Blank(1)
	var rows []namedSpot
	for i := range d.p.Names {
		for _, s := range d.p.Names[i].Spots {
			rows = append(rows, namedSpot{&d.p.Names[i], s})
		}
	}
	// What has to be done comes first.
	slices.SortStableFunc(rows, func(a, b namedSpot) int { return cmp.Compare(urgency(a.Name), urgency(b.Name)) })
	begin(l, t, len(rows))
	s := l.headed(d.page(true), 1)
	s.Filter, s.Rows = t.Area(), then(l, t, rows)
	s.Hidden = d.opt.Earlier == nil // nothing to be read yet, but by the next run
	return s
}

// urgency is 0 of a name whose box is to be opened, then of one that is on hold, of
// one that is new, of one whose box stays as it is, and of one given up long ago.
func urgency(n *estimate.Name) int {
	say, open := n.Box()
	switch {
	case open:
		return 0
	case n.Fate == estimate.Past || n.Fate == estimate.Done:
		return 4
	case say == "" || n.Fate == estimate.Fresh:
		return 2
	case say == estimate.StaysValid:
		return 3
	}
	return 1
}

// namesText says what has become of the names and the boxes of the earlier run.
func namesText(p *estimate.Campaign, earlier *NamesOf) string {
	if earlier == nil {
		return "No earlier run was given: every name is new."
	}
	c := p.CountNames()
	var parts []string
	for _, f := range []estimate.Fate{estimate.Kept, estimate.Back, estimate.Fresh, estimate.Joined, estimate.Done, estimate.Gone, estimate.Asked} {
		if n := c.Of[f]; n > 0 || f != estimate.Back && f != estimate.Done && f != estimate.Asked {
			parts = append(parts, fmt.Sprintf("%d %s", n, f))
		}
	}
	of := "the earlier run"
	if earlier.Run != "" {
		of = "run " + earlier.Run
	}
	text := fmt.Sprintf("Names since %s: %s; boxes packed for it: %d stay valid, %d to be opened", of, strings.Join(parts, ", "), c.Valid, c.Open)
	if c.Hold > 0 {
		text += fmt.Sprintf(", %d on hold", c.Hold)
	}
	const most = 12
	if n := len(c.ToOpen); n > 0 {
		list := strings.Join(c.ToOpen[:min(n, most)], ", ")
		if n > most {
			list += fmt.Sprintf(" and %d more", n-most)
		}
		text += ". To be opened: " + list
	}
	return text
}

// PrintNames tells what has become of the names of an earlier run, where one was
// given.
func PrintNames(out io.Writer, p *estimate.Campaign, opt Options) {
	if opt.Earlier != nil {
		fmt.Fprintln(out, namesText(p, opt.Earlier))
	}
}

// NamesOf are the names that a run left to the next.
type NamesOf struct {
	Run   string // its mark, "" where it is not known
	Known []scope.Known
}

type nameJSON struct {
	Name     string     `json:"name"`
	Line     string     `json:"line"`
	Rows     []spotJSON `json:"rows"`
	InUse    bool       `json:"in_use"`
	Into     string     `json:"into,omitempty"`
	Contents string     `json:"contents,omitempty"`
	Fate     string     `json:"fate"`
	Box      string     `json:"box,omitempty"`
	Note     string     `json:"note,omitempty"`
}

type spotJSON struct {
	ID string  `json:"id"`
	At float64 `json:"at_mm"`
}

func nameOf(k *scope.Known, fate estimate.Fate, box, note string) nameJSON {
	out := nameJSON{Name: k.Name, Line: k.Line, Rows: []spotJSON{}, InUse: !k.Retired, Into: k.Into, Contents: k.Code, Fate: string(fate), Box: box, Note: note}
	for _, s := range k.Spots {
		out.Rows = append(out.Rows, spotJSON{s.ID, math.Round(s.At)}) // as the sheet has it
	}
	return out
}

func namesJSON(p *estimate.Campaign) any {
	out := []nameJSON{}
	for i := range p.Names {
		n := &p.Names[i]
		box, _ := n.Box()
		out = append(out, nameOf(&n.Known, n.Fate, box, n.Note))
	}
	return out
}

// Bytes are the names in a form that ReadNames reads: what a run keeps of an
// earlier one.
func (n *NamesOf) Bytes() []byte {
	list := []nameJSON{}
	for i := range n.Known {
		fate := estimate.Past
		if n.Known[i].Done {
			fate = estimate.Done
		}
		list = append(list, nameOf(&n.Known[i], fate, "", ""))
	}
	out, err := json.Marshal(map[string]any{"schema": Schema, "run": map[string]string{"mark": n.Run}, "names": list})
	if err != nil {
		panic(err) // of texts and numbers
	}
	return out
}

// ReadNames reads the names of an earlier run from its JSON or its workbook.
func ReadNames(path string) (*NamesOf, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	from := bufio.NewReaderSize(f, 1<<16)
	var n *NamesOf
	if head, _ := from.Peek(2); bytes.Equal(head, []byte("PK")) {
		n, err = namesOfBook(from)
	} else {
		n, err = namesOfJSON(from)
	}
	if err == nil {
		err = n.check()
		// A workbook and a JSON of one run are one to the next.
		slices.SortFunc(n.Known, func(a, b scope.Known) int { return strings.Compare(a.Name, b.Name) })
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return n, nil
}

// check refuses names by which nothing can be recognised.
func (n *NamesOf) check() error {
	if len(n.Known) == 0 {
		return fmt.Errorf("it holds no names of repairs")
	}
	seen := map[string]bool{}
	for _, k := range n.Known {
		switch key := strings.ToLower(k.Name); {
		case k.Name == "" || len(k.Spots) == 0:
			return fmt.Errorf("the name %q is blank or has no row of a survey", k.Name)
		case seen[key]:
			return fmt.Errorf("the name %s stands there for two repairs", k.Name)
		default:
			seen[key] = true
		}
	}
	return nil
}

func namesOfJSON(from io.Reader) (*NamesOf, error) {
	n := &NamesOf{}
	err := audit.Parts(from, func(key string, d *json.Decoder) (bool, error) {
		switch key {
		case "schema":
			var is string
			if err := d.Decode(&is); err != nil || is != Schema {
				return false, fmt.Errorf("the form %q is not %s", is, Schema)
			}
		case "run":
			var run struct{ Mark string }
			if err := d.Decode(&run); err != nil {
				return false, err
			}
			n.Run = run.Mark
		case "names":
			var list []nameJSON
			if err := d.Decode(&list); err != nil {
				return false, fmt.Errorf("the names are damaged: %w", err)
			}
			for _, j := range list {
				k := scope.Known{Name: j.Name, Line: j.Line, Done: estimate.Fate(j.Fate) == estimate.Done, Retired: !j.InUse, Into: j.Into, Code: j.Contents}
				for _, s := range j.Rows {
					k.Spots = append(k.Spots, scope.Spot{ID: s.ID, At: s.At})
				}
				n.Known = append(n.Known, k)
			}
		default:
			return true, audit.Skip(d)
		}
		return true, nil
	})
	return n, err
}

// namesOfBook reads the sheet Names by its heads.
func namesOfBook(from io.Reader) (*NamesOf, error) {
	const mega = 1 << 20
	f, err := excelize.OpenReader(from, excelize.Options{RawCellValue: true, UnzipSizeLimit: 4096 * mega, UnzipXMLSizeLimit: 64 * mega})
	if err != nil {
		return nil, fmt.Errorf("it cannot be read as a workbook: %w", err)
	}
	defer f.Close()
	rows, err := f.Rows(sheetNames)
	if err != nil {
		return nil, fmt.Errorf("it has no sheet %s: give the campaign's workbook, or its JSON", sheetNames)
	}
	defer rows.Close()
	n := &NamesOf{}
	if props, err := f.GetDocProps(); err == nil {
		n.Run = runOf(props.Keywords)
	}
	var at map[string]int
	for line := 1; rows.Next(); line++ {
		cells, err := rows.Columns()
		if err != nil {
			return nil, err
		}
		if at == nil {
			at = nameColumns(cells)
			continue
		}
		cell := func(head string) string {
			if i := at[head]; i < len(cells) {
				return strings.TrimSpace(cells[i])
			}
			return ""
		}
		name := cell(nameHead)
		if name == "" {
			continue
		}
		metres, err := strconv.ParseFloat(cell(chainageHead), 64)
		if err != nil {
			return nil, fmt.Errorf("sheet %s, row %d: the chainage %q is not a number", sheetNames, line, cell(chainageHead))
		}
		last := len(n.Known) - 1
		if last < 0 || n.Known[last].Name != name {
			n.Known = append(n.Known, scope.Known{Name: name, Line: cell(lineHead), Done: cell(fateHead) == string(estimate.Done), Retired: cell(useHead) == "no", Into: cell(intoHead), Code: cell(contentsHead)})
			last++
		}
		n.Known[last].Spots = append(n.Known[last].Spots, scope.Spot{ID: cell(rowHead), At: math.Round(metres * 1000)})
	}
	if at == nil {
		return nil, fmt.Errorf("the sheet %s has no row of heads with %s, %s and %s", sheetNames, nameHead, lineHead, chainageHead)
	}
	return n, nil
}

// nameColumns are the places of the heads in a row, nil where it is none of heads.
func nameColumns(cells []string) map[string]int {
	at := map[string]int{}
	for i, c := range cells {
		head, _, _ := strings.Cut(strings.TrimSpace(c), "\n") // the unit stands below
		at[head] = i
	}
	for _, head := range []string{nameHead, lineHead, rowHead, chainageHead, contentsHead, useHead, intoHead} {
		if _, ok := at[head]; !ok {
			return nil
		}
	}
	return at
}
