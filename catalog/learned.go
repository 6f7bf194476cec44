package catalog

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"
)

// Edit multiplies a column in the rows of a key, and says why in their column note or
// basis, where the table has one. To is the value that is written instead where it is
// not 0: in a table of settings, which may leave the row out and then gets it.
type Edit struct {
	Key, Column string
	By, To      float64
	Why         func(was string) string
}

// Edited is the text of a table with the edits made, and all else as it was; key is the
// column in which the keys stand. An error says what is missing.
func Edited(text []byte, key string, edits []Edit) ([]byte, error) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) == 0 {
		return nil, fmt.Errorf("the table cannot be read: %w", err)
	}
	at := func(names ...string) int {
		return slices.IndexFunc(rows[0], func(h string) bool { return slices.Contains(names, strings.ToLower(strings.TrimSpace(h))) })
	}
	keys, remark := at(key), at("note", "basis")
	for _, c := range edits {
		col, found := at(c.Column), false
		if col < 0 || keys < 0 {
			return nil, fmt.Errorf("the table has no column %s or none %s", key, c.Column)
		}
		for _, row := range rows[1:] {
			if len(row) <= max(col, keys) || strings.TrimSpace(row[keys]) != c.Key {
				continue
			}
			found = true
			was := row[col]
			v, err := strconv.ParseFloat(strings.TrimSpace(was), 64)
			if err != nil {
				return nil, fmt.Errorf("%s: %q is not a number", c.Key, was)
			}
			if row[col] = threeFigures(v * c.By); c.To != 0 {
				row[col] = threeFigures(c.To)
			}
			if remark >= 0 && remark < len(row) {
				row[remark] = c.Why(was)
			}
		}
		if !found && c.To != 0 {
			row := make([]string, len(rows[0]))
			row[keys], row[col] = c.Key, threeFigures(c.To)
			rows = append(rows, row)
		}
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.WriteAll(rows); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// threeFigures writes a number that is measured, rather than chosen.
func threeFigures(v float64) string {
	d, err := decimal.NewFromString(strconv.FormatFloat(v, 'e', 2, 64))
	if err != nil {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	return d.String()
}
