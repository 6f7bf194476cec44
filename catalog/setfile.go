package catalog

import (
	"os"
	"reflect"
	"strings"

	"wraptally/estimate/trace"
)

// Change is a setting with another value.
type Change struct {
	Name  string `csv:"name" means:"name of the setting"`
	Value string `csv:"value,optional" mixed:"yes" means:"its value; blank leaves one open that may be"`
}

// changes holds the table of a file of settings.
type changes struct {
	Rows []Change `table:"changes" key:"name" lax:"yes" means:"a setting with another value"`
}

var changeTable = declared(reflect.TypeFor[changes]())[0]

// readSets reads a file of settings with the columns of Change; others are the
// firm's own and passed over.
func readSets(path string, faults *Faults) ([]given, error) {
	if path == "" {
		return nil, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, &OpenError{What: "file of settings", Path: path, Err: err}
	}
	defer f.Close()
	have := &changes{}
	l := decode(&changeTable, readCSV(path, f, faults), have, faults)
	var list []given
	for i := range have.Rows {
		if !l.usable(i, 0) || !l.usable(i, 1) {
			continue
		}
		place := l.placeOf(i, "name")
		list = append(list, given{strings.TrimSpace(have.Rows[i].Name), strings.TrimSpace(have.Rows[i].Value), trace.Place{File: place.File, Line: place.Line, Column: place.Column}, place.String()})
	}
	return list, nil
}
