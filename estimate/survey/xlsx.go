package survey

import "io"

func readWorkbook(r io.ReaderAt, size int64, opts Options) (*Result, error) {
	return nil, &Error{Problem: "workbooks are not read yet; save the sheet as CSV"}
}
func workbookRows(r io.ReaderAt, size int64, opts *Options, most int) ([]headRow, error) {
	return nil, &Error{Problem: "workbooks are not read yet"}
}
