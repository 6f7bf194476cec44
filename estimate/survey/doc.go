// Package survey reads a survey of leaking and thinned places on pipework, as
// inspectors send it, into checked records.
//
// The road through the package:
//
//	survey.go      Open and Read: the options, the limits, the result
//	encoding.go    bytes into text; sniff.go: line ends and delimiter
//	split.go       text into rows of cells
//	xlsx.go        a sheet's rows into the same, once zipguard.go has passed the file
//	fields.go      the fields, each declared in one row; combine.go: together in one repair
//	header.go      which rows are the heading; heading.go: what a heading means
//	plan.go        which column feeds which field, in which unit
//	guess.go       what a heading that nobody knows could mean; guide.go: the way in
//	judge.go       whether the unit taken for a heading without one can be
//	row.go         a row into a Defect, or into the queries that stop it
//	value.go       a cell into its field; measure.go: numbers with units
//	check.go       the named checks of a row; sizes.go: against the pipe table
//	between.go     the checks between rows
//	report.go      queries, assumptions and the account of rows
//	answers.go     the client's answers to earlier queries
//
// Nothing is corrected silently. What cannot be read is a trace.Query with its
// place; what was taken for granted is a trace.Assumption with its count; every
// row read is kept, queried, filtered or blank, and the Account adds up.
package survey
