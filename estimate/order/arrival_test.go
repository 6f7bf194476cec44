package order

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

// The first day of arrival is the first need date for which the order is still
// in time.
func TestArrivalIsTheFirstDayInTime(t *testing.T) {
	start := time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		day := func(name string) time.Time { return start.AddDate(0, 0, rapid.IntRange(0, 20).Draw(t, name)) }
		from := day("closed from")
		o := &Offer{LeadDays: rapid.IntRange(0, 12).Draw(t, "lead"), WorkingDays: rapid.Bool().Draw(t, "working days"),
			Closed: []Span{{From: from, To: from.AddDate(0, 0, rapid.IntRange(0, 5).Draw(t, "closed"))}}}
		r := Rule{Weekend: []time.Weekday{time.Saturday, time.Sunday}}
		placed := day("placed")
		got := r.Arrival(o, placed)
		inTime := func(need time.Time) bool {
			r.NeedDate = need
			return !r.LatestOrderDate(o).Before(placed)
		}
		if !inTime(got) {
			t.Fatalf("ordered on %v it comes on %v, for which it had to be ordered before", placed, got)
		}
		if before := got.AddDate(0, 0, -1); inTime(before) {
			t.Fatalf("ordered on %v it comes on %v, but was in time for %v", placed, got, before)
		}
	})
}
