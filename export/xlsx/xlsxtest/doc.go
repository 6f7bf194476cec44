// Package xlsxtest helps tests of workbooks: it recalculates a workbook in
// another program and compares, validates it, prints it, compares it part by
// part with a kept one, and writes the same cells plainly as a measure of speed.
//
// Checks that need a program outside the project skip with a word when it is
// missing, and fail where WRAPTALLY_CROSSCHECK=require is set.
package xlsxtest
