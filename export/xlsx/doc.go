// Package xlsx writes a table.Workbook as an Office Open XML workbook (ECMA-376)
// and knows nothing of what the tables are about.
//
// Every sheet is streamed, formulas go out together with their cached values,
// and the same workbook gives the same bytes in every run: the parts of the
// archive are sorted and carry no time of their own.
package xlsx
