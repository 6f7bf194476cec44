// Package survey reads a survey of leaking and thinned places on pipework, as
// inspectors send it, into checked records.
//
// The road through the package:
//
//	Open / Read      the file, its limits, CSV or workbook by content
//	sniff.go         encoding, line ends, delimiter, decimal mark
//	split.go         text into cells; xlsx.go: sheet rows into cells
//	header.go        which row is the heading, which column is which field
//	row.go           one row into one Defect, or into the queries that stop it
//	check.go         the named checks of a row; afterwards those between rows
//	report.go        queries, assumptions and the account of rows
//
// Nothing is corrected silently. What cannot be read is a trace.Query with its
// place; what was taken for granted is a trace.Assumption with its count; every
// row read is kept, queried, filtered or blank, and the Account adds up.
package survey
