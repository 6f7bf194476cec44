package xlsxtest

import "testing"

// Recomputed has LibreOffice compute every formula of a workbook anew and gives
// the new file, for reading what a change of an input does.
func Recomputed(t testing.TB, workbook string) string {
	t.Helper()
	return convert(t, workbook, "xlsx")
}
