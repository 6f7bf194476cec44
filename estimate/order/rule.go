package order

import (
	"slices"
	"time"
)

// Rule is what holds for the whole order. All dates are days; the time of day
// is ignored. A zero date means that the check it serves is not made.
type Rule struct {
	Base       string // base currency
	AllowSplit bool   // several suppliers may share the order of one item

	NeedDate    time.Time // goods must be there
	InstallDate time.Time // stock must last to here and MarginDays more; zero: NeedDate is taken
	MarginDays  int
	CampaignEnd time.Time // bought goods should last to here

	PlaceDate    time.Time // earliest day an order can be placed: later-coming offers are refused
	RequireShelf bool      // refuse offers that expire before CampaignEnd, instead of only saying so

	WorkingDays bool           // lead times count working days
	Weekend     []time.Weekday // not worked, where WorkingDays
	Holidays    []time.Time    // not worked either
}

// stockMustLast is the day to which stock must be usable; zero: not known.
func (r *Rule) stockMustLast() time.Time {
	d := day(r.InstallDate)
	if d.IsZero() {
		d = day(r.NeedDate)
	}
	if d.IsZero() {
		return d
	}
	return d.AddDate(0, 0, r.MarginDays)
}

// check refuses a rule by which no date could be found.
func (r *Rule) check() error {
	if r.MarginDays < 0 {
		return inputError("margin of %d days", r.MarginDays)
	}
	if r.WorkingDays {
		for d := time.Sunday; d <= time.Saturday; d++ {
			if !slices.Contains(r.Weekend, d) {
				return nil
			}
		}
		return inputError("no working day in the week")
	}
	return nil
}

// LatestOrderDate is the last day on which an order with the given lead time
// still arrives by the need date: need date − lead days, or that many working
// days before it. Zero where there is no need date.
func (r *Rule) LatestOrderDate(leadDays int) time.Time {
	d := day(r.NeedDate)
	if d.IsZero() {
		return d
	}
	if !r.WorkingDays {
		return d.AddDate(0, 0, -leadDays)
	}
	for n := 0; n < leadDays || !r.worked(d); {
		d = d.AddDate(0, 0, -1)
		if r.worked(d) {
			n++
		}
	}
	return d
}

func (r *Rule) worked(d time.Time) bool {
	if slices.Contains(r.Weekend, d.Weekday()) {
		return false
	}
	return !slices.ContainsFunc(r.Holidays, func(h time.Time) bool { return day(h).Equal(d) })
}

// Shelf is the check of shelf life at the end of the campaign.
type Shelf struct {
	Checked bool      // false where the goods do not expire or a date is missing
	Until   time.Time // last day of use, counted from delivery on the need date
	OK      bool      // lasts to the campaign's end
}

func (r *Rule) shelf(shelfDays int) Shelf {
	if shelfDays == 0 || r.NeedDate.IsZero() || r.CampaignEnd.IsZero() {
		return Shelf{}
	}
	until := day(r.NeedDate).AddDate(0, 0, shelfDays)
	return Shelf{Checked: true, Until: until, OK: !until.Before(day(r.CampaignEnd))}
}

// day drops the time of day.
func day(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
