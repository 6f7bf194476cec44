package catalog

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestReadStock(t *testing.T) {
	c := builtin(t)
	dir := t.TempDir()
	put(t, dir, "stock.csv", "item,lot,quantity,expiry,location,opened_on,open_days\n"+
		"PUTTY-1,L1,4,2031-05-31,C1-12,,\nPUTTY-5,L2,2.75,2031-01-01,C1-13,2030-12-20,30\nSNIPS,-,3,,,,\n")
	rows, err := c.ReadStock(filepath.Join(dir, "stock.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 3 || rows[0].Expires.Format("2006-01-02") != "2031-05-31" || rows[1].Quantity.String() != "2.75" ||
		rows[1].OpenedOn.Format("2006-01-02") != "2030-12-20" || rows[1].OpenDays != 30 || !rows[2].Expires.IsZero() {
		t.Errorf("read %+v", rows)
	}

	put(t, dir, "bad.csv", "item,lot,quantity,expiry,location,opened_on,open_days\n"+
		"PUTTY-9,L1,4,31.05.2031,,,\nPUTTY-1,L1,-4,,,,\nPUTTY-1,L1,1,,,,\nPUTTY-1,L2,,,,,\n")
	_, err = c.ReadStock(filepath.Join(dir, "bad.csv"))
	var f *Faults
	if !errors.As(err, &f) {
		t.Fatal(err)
	}
	if !strings.HasPrefix(err.Error(), "the stock list is refused: 5 faults\n") {
		t.Errorf("error %v", err)
	}
	var got []string
	for _, q := range f.List {
		stands(t, q)
		got = append(got, fmt.Sprintf("%d:%d %s", q.Place.Line, q.Place.Column, q.Code))
	}
	want := []string{"2:1 item-unknown", "2:14 date-bad", "3:12 value-out-of-range", "4:9 key-duplicate", "5:12 cell-blank"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
	var open *OpenError
	if _, err := c.ReadStock(filepath.Join(dir, "none.csv")); !errors.As(err, &open) {
		t.Errorf("no file gave %v", err)
	}
}
