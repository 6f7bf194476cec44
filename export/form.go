package export

import (
	"encoding/json"
	"io"
	"strings"

	"wraptally/estimate/survey"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// formRows is how many rows of an empty survey are prepared; more may be added
// below.
const formRows = 500

// formPrinted is how many of them are printed, to be written on by hand on site.
const formPrinted = 25

// Form writes an empty survey for inspectors as a workbook: the fields' headings
// with meaning, unit and an example above them, words to choose from, and limits.
// Filled in, it is read as it stands.
func Form(w io.Writer) error { return xlsx.Write(w, formBook()) }

func formBook() *table.Workbook {
	page := table.Page{Landscape: true, FitWide: 1, Header: table.Banner{Left: "{sheet}"}, Footer: table.Banner{Left: "Estimate, not a design", Right: "{page} of {pages}"}}
	return &table.Workbook{
		Properties: table.Properties{Title: "Survey of defects", Description: Notice, Creator: "wraptally"},
		Sheets:     []*table.Sheet{formSheet(page), formFields(page)},
	}
}

// formSheet is the sheet to fill in. What explains a column stands above its
// heading: a reader takes nothing above the headings for a row.
func formSheet(page table.Page) *table.Sheet {
	fields := survey.Fields()
	columns := make([]table.Column, len(fields))
	var needed, meaning, example, heads, blank []table.Cell
	for i := range fields {
		f := &fields[i]
		columns[i] = table.Column{Title: f.Heading, Width: max(12, float64(len(f.Heading))+2)}
		need := ""
		switch f.Required {
		case "no":
		case "yes":
			need = "needed"
		default:
			need = f.Required
		}
		needed = append(needed, table.Text(need, look(table.Label).Wrapped()))
		meaning = append(meaning, table.Text(f.Meaning, look(table.Muted).Wrapped()))
		example = append(example, table.Text("e.g. "+f.Example, look(table.Muted).In(table.Literal)))
		heads = append(heads, table.Text(f.Heading, look(table.Head)))
		style := look(table.FillIn)
		if f.Kind == survey.KindText || f.Kind == survey.KindSize || f.Kind == survey.KindClock || f.Kind == survey.KindDate {
			style = style.In(table.Literal) // a size 1-1/2 or a clock 4:30 must not become a date
		}
		blank = append(blank, table.Empty(style))
	}
	const headRow = 6
	s := &table.Sheet{Name: "Survey", Columns: columns, FreezeRows: headRow, FreezeColumns: 2, Page: page,
		TitleRows: table.Span{First: headRow, Last: headRow}, TitleColumns: table.Span{First: 1, Last: 2}, PrintArea: table.Cells(1, 1, len(columns), headRow+formPrinted)}
	s.Page.FitWide = 5
	for i := range fields {
		if v, ok := formLimits(&fields[i]); ok {
			v.Area = table.Cells(i+1, headRow+1, i+1, headRow+formRows)
			s.Validations = append(s.Validations, v)
		}
	}
	s.Rows = func(yield func(table.Row) bool) {
		ok := yield(table.Spread("Survey of defects", look(table.Title), len(columns))) &&
			yield(table.Spread("Fill in one row for each defect below the headings. Leave blank what was not measured. The words above each heading say what it means; the examples are examples and are not read.", look(table.Muted), len(columns))) &&
			yield(table.Row{Cells: needed}) && yield(table.Row{Cells: meaning}) && yield(table.Row{Cells: example}) && yield(table.Row{Cells: heads})
		for i := 0; ok && i < formRows; i++ {
			ok = yield(table.Row{Cells: blank})
		}
	}
	return s
}

// formLimits is what may be typed into a field, where that is limited.
func formLimits(f *survey.Field) (v table.Validation, ok bool) {
	v = table.Validation{Title: f.Heading, Prompt: f.Meaning, Complaint: "This cannot be: " + f.Meaning}
	if v.Items = f.Words(); v.Items != nil {
		return v, true
	}
	if f.Kind != survey.KindNumber {
		return v, false
	}
	v.Min, v.Max = f.Limits()
	v.Whole = f.Whole()
	return v, true
}

// formFields lists the fields with all that is declared of them.
func formFields(page table.Page) *table.Sheet {
	columns := []table.Column{{Title: "heading", Width: 20}, {Title: "unit", Width: 8}, {Title: "kind", Width: 14}, {Title: "needed", Width: 22}, {Title: "meaning", Width: 50}, {Title: "example", Width: 14}, {Title: "a blank means", Width: 44}}
	return &table.Sheet{Name: "Fields", Columns: columns, FreezeRows: 1, Page: page, TitleRows: table.Span{First: 1, Last: 1}, Rows: func(yield func(table.Row) bool) {
		if !yield(table.HeadRow(columns)) {
			return
		}
		for _, f := range survey.Fields() {
			var cells []table.Cell
			for _, text := range []string{f.Heading, f.Unit, string(f.Kind), f.Required, f.Meaning, f.Example, f.Blank} {
				cells = append(cells, table.Text(text, table.WrapStyle.In(table.Literal)))
			}
			if !yield(table.Row{Cells: cells}) {
				return
			}
		}
	}}
}

// TableSchema writes the form of a survey as a Table Schema of the Frictionless
// specifications, by which others can check a file before they send it. The
// specification was followed from memory.
func TableSchema(w io.Writer) error {
	type schemaField struct {
		Name        string         `json:"name"`
		Type        string         `json:"type"`
		Title       string         `json:"title"`
		Description string         `json:"description"`
		Example     string         `json:"example"`
		Trues       []string       `json:"trueValues,omitempty"`
		Falses      []string       `json:"falseValues,omitempty"`
		Constraints map[string]any `json:"constraints,omitempty"`
	}
	var list []schemaField
	for _, f := range survey.Fields() {
		s := schemaField{Name: f.Heading, Type: "string", Title: f.Key, Description: f.Meaning + ". A blank: " + f.Blank, Example: f.Example, Constraints: map[string]any{}}
		if f.Required == "yes" {
			s.Constraints["required"] = true
		}
		switch f.Kind {
		case survey.KindNumber:
			s.Type = "number"
			if f.Whole() {
				s.Type = "integer"
			}
			s.Constraints["minimum"], s.Constraints["maximum"] = f.Limits()
		case survey.KindDate:
			s.Type = "date"
		case survey.KindYesNo:
			s.Type, s.Trues, s.Falses = "boolean", []string{"yes"}, []string{"no"}
		case survey.KindWord:
			s.Constraints["enum"] = f.Words()
		}
		list = append(list, s)
	}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(map[string]any{"fields": list, "missingValues": strings.Split("|n/a|-|?", "|")})
}
