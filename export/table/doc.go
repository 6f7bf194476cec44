// Package table is the plain model of a workbook: sheets, rows, cells, styles,
// print layout, pictures and charts, with nothing of any file format or library
// in it and nothing of the trade it serves. A writer (package xlsx, or CSV here)
// turns it into a file.
//
// Rows are streamed: a Sheet holds a function that yields them one by one, so a
// sheet of a hundred thousand rows need never sit in memory. Everything else on
// a Sheet that refers to row numbers (validations, pictures, charts, print area)
// is read only after the last row, so the generator may fill it as it goes.
//
// Rows and columns count from 1. Column widths are in characters (digits of the
// body font), row heights in points, pictures and margins in millimetres.
package table
