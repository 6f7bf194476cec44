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
	Counted     time.Time // on which the store was counted: what expired before must not be used; zero: NeedDate is taken
	CampaignEnd time.Time // bought goods should last to here

	PlaceDate    time.Time // earliest day an order can be placed: later-coming offers are refused
	RequireShelf bool      // refuse offers that expire before CampaignEnd, instead of only saying so

	Weekend []time.Weekday // not worked, where lead times count working days
}

// StockMustLast is the day to which stock must be usable; zero: not known.
func (r *Rule) StockMustLast() time.Time {
	d := day(r.InstallDate)
	if d.IsZero() {
		d = day(r.NeedDate)
	}
	if d.IsZero() {
		return d
	}
	return d.AddDate(0, 0, r.MarginDays)
}

// counted is the day before which what expires is expired already; zero: not known.
func (r *Rule) counted() time.Time {
	if r.Counted.IsZero() {
		return day(r.NeedDate)
	}
	return day(r.Counted)
}

// IsExpired reports whether a last day of use was over when the store was counted.
func (r *Rule) IsExpired(last time.Time) bool {
	counted := r.counted()
	return !counted.IsZero() && day(last).Before(counted)
}

// check refuses a rule by which no date could be found.
func (r *Rule) check() error {
	if r.MarginDays < 0 {
		return inputError("margin of %d days", r.MarginDays)
	}
	for d := time.Sunday; d <= time.Saturday; d++ {
		if !slices.Contains(r.Weekend, d) {
			return nil
		}
	}
	return inputError("no working day in the week")
}

// LatestOrderDate is the last day on which an order from the offer still arrives
// by the need date: so many days before it on which the supplier works. Where
// lead times count every day, only those on which it is closed are left out.
// Zero where there is no need date.
func (r *Rule) LatestOrderDate(o *Offer) time.Time {
	d := day(r.NeedDate)
	if d.IsZero() {
		return d
	}
	for n := 0; n < o.LeadDays || !r.worked(o, d); {
		d = d.AddDate(0, 0, -1)
		if r.worked(o, d) {
			n++
		}
	}
	return d
}

// Arrival is the first day on which goods of the offer ordered on a day can be there.
func (r *Rule) Arrival(o *Offer, placed time.Time) time.Time {
	d := day(placed)
	for !r.worked(o, d) {
		d = d.AddDate(0, 0, 1)
	}
	for n := 0; n < o.LeadDays; d = d.AddDate(0, 0, 1) {
		if r.worked(o, d) {
			n++
		}
	}
	return d
}

// worked reports whether a day counts for the lead time of an offer.
func (r *Rule) worked(o *Offer, d time.Time) bool {
	if o.WorkingDays && slices.Contains(r.Weekend, d.Weekday()) {
		return false
	}
	return !slices.ContainsFunc(o.Closed, func(s Span) bool { return !d.Before(day(s.From)) && !d.After(day(s.To)) })
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
