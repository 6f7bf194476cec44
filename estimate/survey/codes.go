package survey

import "wraptally/estimate/trace"

// Code documents one kind of query.
type Code struct {
	Code     string
	Severity trace.Severity // the usual one
	Meaning  string
}

// AsideCodes are those of columns that say of rows that no repair, or more than one,
// is to be planned for them.
var AsideCodes = []string{"event-other", "row-of-several"}

// Codes lists every code that a survey's queries may carry.
func Codes() []Code { return append([]Code(nil), codeTable...) }

var codeTable = []Code{
	// cells
	{"cell-missing", trace.Stop, "a required cell is empty"},
	{"cell-too-long", trace.Stop, "a cell is longer than the limit"},
	{"cell-control", trace.Stop, "a cell holds control characters"},
	{"cell-damaged", trace.Ask, "a cell holds the mark of a character lost in an earlier conversion"},
	{"cell-error", trace.Stop, "a spreadsheet cell holds an error value (#REF!)"},
	{"formula-text", trace.Note, "a text cell looks like a formula and is kept as text"},
	{"formula-no-value", trace.Stop, "a spreadsheet formula was saved without its value"},
	{"number-bad", trace.Stop, "a cell that should hold a number does not"},
	{"number-range", trace.Stop, "a number is not finite, has too many digits, or is beyond any pipework"},
	{"number-negative", trace.Stop, "a number that cannot be negative is"},
	{"number-unclear", trace.Stop, "a number may be read in two ways (1,234)"},
	{"number-zero", trace.Stop, "a measure that cannot be zero is"},
	{"unit-unknown", trace.Stop, "the unit after a number is not known, or does not fit the field"},
	{"unit-contradicted", trace.Stop, "the values contradict the heading's unit"},
	{"yes-no-unclear", trace.Stop, "neither yes nor no"},
	{"word-unknown", trace.Stop, "a word that is not in the field's list"},
	{"size-bad", trace.Stop, "a nominal size that cannot be read"},
	{"clock-unclear", trace.Ask, "a clock position that may be read in two ways, or not at all"},
	{"date-unclear", trace.Ask, "a date that may be read in two ways, or not at all"},
	{"value-light-bad", trace.Ask, "an unreadable cell of a field that bears on no quantity; left out"},
	// rows
	{"row-ragged", trace.Stop, "a row with more cells than the heading"},
	{"quote-unclear", trace.Stop, "quotation marks that do not pair up, so that the cells may be shifted"},
	{"row-no-defect", trace.Stop, "a row that leaves blank nearly all that makes a defect, as a sum or a remark below a list does"},
	{"size-missing", trace.Stop, "neither OD, circumference nor nominal size"},
	{"series-missing", trace.Stop, "a nominal size without its pipe series"},
	{"series-unknown", trace.Stop, "a pipe series that the catalogue does not hold"},
	{"size-unknown", trace.Stop, "a nominal size that the series does not hold"},
	{"series-contradicted", trace.Stop, "the size cell names another series than the series cell"},
	{"defect-size-missing", trace.Stop, "no defect size: axial and circ, or hole"},
	{"hole-without-size", trace.Stop, "a hole without its diameter"},
	{"hole-and-size", trace.Ask, "a hole diameter and a different axial or circ size; the larger is used"},
	{"defect-wider-than-circumference", trace.Stop, "the defect is wider than the pipe is round"},
	{"od-below-nominal", trace.Ask, "the measured OD is below the table's for the nominal size"},
	{"od-above-nominal", trace.Ask, "the measured OD is above the table's for the nominal size"},
	{"od-is-nominal", trace.Stop, "the OD given is the nominal size, not the outside diameter"},
	{"od-circumference-differ", trace.Ask, "OD and circumference disagree"},
	{"remaining-above-nominal", trace.Ask, "the remaining wall is above the nominal wall; the remaining wall is left out"},
	{"remaining-percent", trace.Ask, "the remaining wall is given in per cent: of what is left, or of what is lost?"},
	{"remaining-and-depth", trace.Ask, "remaining wall and depth disagree; the lesser wall is used"},
	{"depth-without-wall", trace.Ask, "a depth without a nominal wall to take it from; the worst of the range of a blank wall is taken"},
	{"depth-above-wall", trace.Stop, "a depth above the nominal wall"},
	{"no-wall-left", trace.Ask, "hardly any wall is left, and the row is marked as not leaking"},
	{"defect-long", trace.Ask, "a defect longer along the pipe than the setting doubt.defect_long"},
	{"repair-done", trace.Stop, "a defect where a repair is done that leaks, or is not the one that was repaired"},
	{"leak-with-wall", trace.Note, "a leaking defect with remaining wall"},
	{"chainage-negative", trace.Note, "a chainage before the line's zero"},
	{"id-duplicate", trace.Ask, "ids used before on the same line; the later rows get a number behind them"},
	{"chainage-same", trace.Note, "two defects at one chainage of one line"},
	{"row-repeated", trace.Ask, "two rows give the same defect; both are estimated"},
	{"carried-down", trace.Note, "a blank cell took the value above it"},
	{"answer-used", trace.Note, "a cell replaced by the client's answer"},
	{"answer-unused", trace.Ask, "an answer that fits no row of this survey"},
	{"answer-unit", trace.Stop, "an answer without a unit where the survey's unit differs from the field's own"},
	// headings
	{"blank-asked", trace.Ask, "a field that rows leave blank; the worst of a stated range is taken (--set survey.FIELD=ask)"},
	{"heading-ignored", trace.Note, "a column that no field takes"},
	{"heading-unclear", trace.Ask, "a heading that may mean several fields; the column is ignored"},
	{"heading-misspelt", trace.Ask, "a heading close to one of the own headings; the column is ignored"},
	{"heading-without-unit", trace.Ask, "a heading that needs its unit (depth); the column is ignored"},
	{"unit-doubtful", trace.Ask, "a heading without a unit, whose values are likelier in another than the one taken"},
	{"event-other", trace.Ask, "a column that no field takes says of rows that they are something else than a loss of wall of a steel pipe, or repaired already"},
	{"row-of-several", trace.Ask, "a column that no field takes counts several leaks in a row, which is estimated as one defect"},
	{"hidden-read", trace.Ask, "a hidden sheet, or hidden rows or columns of one, are read like the rest"},
}

var severityOf = func() map[string]trace.Severity {
	m := make(map[string]trace.Severity, len(codeTable))
	for _, c := range codeTable {
		m[c.Code] = c.Severity
	}
	return m
}()
