package order

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// Lot is a quantity in stock.
type Lot struct {
	ID       string
	Location string
	Quantity decimal.Decimal // issue units, ≥ 0
	Expiry   time.Time       // last day of use as printed on the lot; zero: none
	Opened   bool            // then Expiry gives way to the open life where that ends sooner
	OpenedOn time.Time
	OpenDays int  // days an opened pack keeps; 0: not known
	Undated  bool // it keeps only so long, and Expiry is not known

	// Fit is how much of it is used on days to which it lasts, where it does not
	// last to the install date: so much can be drawn. Zero: not judged by days.
	Fit decimal.Decimal
}

// fits is how much of a lot can be drawn where it does not last to the install
// date: what is used on earlier days, and no more than there is.
func (l *Lot) fits() decimal.Decimal { return decimal.Min(l.Fit, l.Quantity) }

// UseBy is the last day a lot may be used: zero where it keeps; known is false
// where the day cannot be told.
func (l *Lot) UseBy() (last time.Time, known bool) {
	last, _, known = l.useBy()
	return last, known
}

// Draw is what is taken from one lot.
type Draw struct {
	Lot      Lot
	Quantity decimal.Decimal
	UseBy    time.Time // zero: none
}

// PassedReason says why a lot, or a part of one, is left in the store.
type PassedReason string

// The reasons.
const (
	PassedExpired  PassedReason = "expired"            // before the store was counted
	PassedUndated  PassedReason = "expiry-unknown"     // it keeps only so long, and to which day is not known
	PassedExpiry   PassedReason = "expires-too-soon"   // before the install date and its margin
	PassedOpenLife PassedReason = "open-life-too-soon" // opened, and its open life ends before that
	PassedOpenDate PassedReason = "open-life-unknown"  // opened, but when, or for how long it keeps, is not known
	PassedNoDate   PassedReason = "no-install-date"    // it expires, and there is no date to judge by
	PassedPart     PassedReason = "part-unit"          // less than a whole issue unit
)

// PassedLot is stock that cannot be used.
type PassedLot struct {
	Lot      Lot
	Quantity decimal.Decimal
	Reason   PassedReason
	UseBy    time.Time // the last day of use, where that is the reason
	Required time.Time // the day it would have to last to
}

// Expired is how a lot is called that must not be used any more.
const Expired = "EXPIRED"

// String says it in a sentence.
func (p PassedLot) String() string {
	const day = time.DateOnly
	head := fmt.Sprintf("lot %s, %s", p.Lot.ID, p.Quantity)
	switch p.Reason {
	case PassedExpired:
		return fmt.Sprintf("%s: %s %s, quarantine", head, Expired, p.UseBy.Format(day))
	case PassedUndated:
		return head + ": keeps only so long, and its last day is not known"
	case PassedExpiry:
		return fmt.Sprintf("%s: expires %s, needed to %s", head, p.UseBy.Format(day), p.Required.Format(day))
	case PassedOpenLife:
		return fmt.Sprintf("%s: opened, keeps to %s, needed to %s", head, p.UseBy.Format(day), p.Required.Format(day))
	case PassedOpenDate:
		return head + ": opened, and when or for how long it keeps is not known"
	case PassedNoDate:
		return head + ": expires, and there is no install date to judge by"
	default:
		return head + ": less than a whole unit"
	}
}

// useBy is the last day a lot may be used; known is false where that cannot be
// told. A zero time means any day.
func (l *Lot) useBy() (last time.Time, open, known bool) {
	last = day(l.Expiry)
	if !l.Opened {
		return last, false, !l.Undated || !last.IsZero()
	}
	if l.OpenedOn.IsZero() || l.OpenDays <= 0 {
		return last, true, false
	}
	end := day(l.OpenedOn).AddDate(0, 0, l.OpenDays)
	if last.IsZero() || end.Before(last) {
		return end, true, true
	}
	return last, false, true
}

// draw takes up to need from the lots, earliest last day of use first, then as
// they are listed. whole keeps to whole issue units.
func draw(need decimal.Decimal, lots []Lot, whole bool, rule *Rule) (draws []Draw, passed []PassedLot, err error) {
	required := rule.StockMustLast()
	var usable []Draw
	for _, l := range lots {
		if l.Quantity.IsNegative() {
			return nil, nil, inputError("lot %s holds %s", l.ID, l.Quantity)
		}
		if err := plain(l.Quantity); err != nil {
			return nil, nil, fmt.Errorf("lot %s: %w", l.ID, err)
		}
		last, open, known := l.useBy()
		p := PassedLot{Lot: l, Quantity: l.Quantity, UseBy: last, Required: required}
		switch {
		case !known && open:
			p.Reason = PassedOpenDate
		case !known:
			p.Reason = PassedUndated
		case last.IsZero():
		case rule.IsExpired(last):
			p.Reason = PassedExpired
		case required.IsZero():
			p.Reason = PassedNoDate
		case last.Before(required) && open:
			p.Reason = PassedOpenLife
		case last.Before(required):
			p.Reason = PassedExpiry
		}
		q := l.Quantity
		if p.Reason == PassedExpiry || p.Reason == PassedOpenLife {
			if q = l.fits(); q.IsPositive() {
				p.Quantity = l.Quantity.Sub(q)
			}
		}
		if p.Reason != "" && p.Quantity.IsPositive() {
			passed = append(passed, p)
		}
		if p.Reason != "" && p.Quantity.Equal(l.Quantity) {
			continue
		}
		if whole {
			q = q.Floor()
			if part := l.Quantity.Sub(q); p.Reason == "" && part.IsPositive() {
				p.Quantity, p.Reason = part, PassedPart
				passed = append(passed, p)
			}
		}
		if q.IsPositive() {
			usable = append(usable, Draw{Lot: l, Quantity: q, UseBy: last})
		}
	}
	slices.SortStableFunc(usable, func(a, b Draw) int {
		return cmp.Or(cmp.Compare(unending(a.UseBy), unending(b.UseBy)), a.UseBy.Compare(b.UseBy))
	})
	for _, d := range usable {
		if !need.IsPositive() {
			break
		}
		d.Quantity = decimal.Min(d.Quantity, need)
		need = need.Sub(d.Quantity)
		draws = append(draws, d)
	}
	return draws, passed, nil
}

// unending puts lots without a last day of use after those with one.
func unending(t time.Time) int {
	if t.IsZero() {
		return 1
	}
	return 0
}
