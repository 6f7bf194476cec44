// Package xlsxtest helps tests of workbooks: it recalculates a workbook in
// another program and compares, validates it, prints it, compares it part by
// part with a kept one, and writes the same cells plainly as a measure of speed.
//
// Checks that need a program outside the project run where WRAPTALLY_CROSSCHECK
// is set, and fail without it where that is "require".
package xlsxtest
