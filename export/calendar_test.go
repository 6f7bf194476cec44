package export

import (
	"bytes"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"wraptally/estimate"
)

// RFC 5545, read back by a library that shares nothing with the one that writes
// it: an entry a shift, on its day, all day long, with every repair worked on.
func TestCalendarIsReadBack(t *testing.T) {
	p := campaignOf(t, storeSurvey(12, true, "L-1"), "campaign.start=2027-03-05", "crew.count=2")
	var out bytes.Buffer
	if err := Calendar(&out, p, Options{}); err != nil {
		t.Fatal(err)
	}
	c, err := ical.NewDecoder(bytes.NewReader(out.Bytes())).Decode()
	if err != nil {
		t.Fatal(err)
	}
	events := c.Events()
	if len(events) != len(p.Shifts) || len(events) < 2 {
		t.Fatalf("%d entries for %d shifts", len(events), len(p.Shifts))
	}
	seen := map[string]bool{}
	for i, e := range events {
		s := p.Shifts[i]
		start, err := e.DateTimeStart(time.UTC)
		if err != nil || !start.Equal(s.Date) {
			t.Errorf("entry %d begins %v, %v; the shift is on %v", i, start, err, s.Date)
		}
		if end, err := e.DateTimeEnd(time.UTC); err != nil || !end.Equal(s.Date.AddDate(0, 0, 1)) {
			t.Errorf("entry %d ends %v, %v", i, end, err)
		}
		text, err := e.Props.Text(ical.PropDescription)
		if err != nil {
			t.Fatal(err)
		}
		for _, j := range s.Jobs {
			if !bytes.Contains([]byte(text), []byte(p.Jobs[j].Repair.ID)) {
				t.Errorf("entry %d does not name %s: %q", i, p.Jobs[j].Repair.ID, text)
			}
		}
		uid, err := e.Props.Text(ical.PropUID)
		if err != nil || uid == "" || seen[uid] {
			t.Errorf("the name of entry %d is %q, %v", i, uid, err)
		}
		seen[uid] = true
	}
	for _, line := range bytes.Split(bytes.TrimSuffix(out.Bytes(), []byte("\r\n")), []byte("\r\n")) {
		if len(line) > 75 { // octets without the line end, RFC 5545 3.1
			t.Errorf("a line of %d octets: %q", len(line), line)
		}
	}
}

func TestCalendarNeedsADay(t *testing.T) {
	if err := Calendar(&bytes.Buffer{}, &estimate.Campaign{}, Options{}); err == nil {
		t.Error("a plan without a day has a calendar")
	}
}
