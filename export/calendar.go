package export

import (
	"errors"
	"fmt"
	"io"
	"strings"

	ics "github.com/arran4/golang-ical"

	"wraptally/estimate"
)

// ErrNoFirstDay is why a plan makes no calendar.
var ErrNoFirstDay = errors.New("a calendar needs the first day of the work")

// Calendar writes the plan in the form of RFC 5545, an all-day entry for each
// shift of a crew: the repairs in the order of the work with their lines and what
// is done. Entries have no time of day, since a plan knows no time zone. It
// refuses a plan without a first day.
func Calendar(w io.Writer, p *estimate.Campaign, opt Options) error {
	if p.Dates.Need.IsZero() {
		return ErrNoFirstDay
	}
	c := ics.NewCalendar()
	c.SetMethod(ics.MethodPublish)
	c.SetProductId("-//wraptally//plan of repairs//EN")
	stamp := opt.Printed
	if stamp.IsZero() {
		stamp = p.Dates.Need
	}
	texts := make([][]string, len(p.Shifts))
	for _, s := range stints(p) {
		r := p.Jobs[s.job].Repair
		what := s.first
		if s.last != s.first {
			what += " … " + s.last
		}
		texts[s.shift] = append(texts[s.shift], fmt.Sprintf("%s to %s: %s, %s: %s", clock(s.from), clock(s.to), r.ID, lineName(r), what))
	}
	for i, s := range p.Shifts {
		name := p.Crews[s.Crew-1].Name
		e := c.AddEvent(fmt.Sprintf("%s-crew%d-shift%d@wraptally", s.Date.Format("20060102"), s.Crew, s.Shift))
		e.SetDtStampTime(stamp.UTC())
		e.SetAllDayStartAt(s.Date)
		e.SetAllDayEndAt(s.Date.AddDate(0, 0, 1)) // the day after, which is not part of it
		what := countOf(len(s.Jobs), "repair", "repairs")
		if len(s.Jobs) == 0 {
			what = "to the site or home"
		}
		e.SetSummary(legible(fmt.Sprintf("%s, shift %d: %s", name, s.Shift, what)))
		lines := append([]string{"From the start of the shift, h:min."}, texts[i]...)
		lines = append(lines, Notice)
		e.SetDescription(legible(strings.Join(lines, "\n")))
		e.SetTimeTransparency(ics.TransparencyOpaque)
	}
	return c.SerializeTo(w, ics.WithNewLine("\r\n"))
}
