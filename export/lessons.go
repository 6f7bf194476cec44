package export

import (
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"wraptally/estimate"
	"wraptally/estimate/trace"
)

// Teaches reports whether a number of the catalogue is to be written anew by a lesson:
// it may follow, and reads otherwise in three figures.
func Teaches(l *estimate.Lesson) bool {
	return l.Table != "" && l.Stays == "" && figures(l.Now) != figures(l.Was)
}

// WhyLearned is what stands beside a number that was learned.
func WhyLearned(l *estimate.Lesson, was, run string) string {
	odd := ""
	for _, o := range l.Odd {
		odd += fmt.Sprintf("; %s is far from the others, without it %.0f %%", o.Of, 100*o.Without)
	}
	return fmt.Sprintf("learned from %s of run %s: %s of what was planned, %s to %s; was %s",
		trace.Count(l.N, "repair", "repairs"), orBlank("", run), fmt.Sprintf("%.0f %%", 100*l.Mean), fmt.Sprintf("%.0f %%", 100*l.Low), fmt.Sprintf("%.0f %%", 100*l.High), was) + odd
}

// PrintLessons tells what was learned from so many files.
func PrintLessons(w io.Writer, p *estimate.Campaign, told *estimate.Lessons, run string, files int) error {
	set := p.Catalog.Settings
	b := &strings.Builder{}
	fmt.Fprintf(b, "run %s: %s of %d tell what was used, in %s; %s not filled in\n", run, trace.Count(told.Kits, "kit", "kits"), len(p.Jobs), trace.Count(files, "file", "files"), trace.Count(told.Blank, "row", "rows"))
	fmt.Fprintf(b, "%% of what was planned, drawn toward 100 as if %s had used just that (setting learn.weight), with its\ninterval of %g %% (learn.certainty); a number of few repairs hardly moves\n\n", trace.Count(int(set.LearnWeight), "repair", "repairs"), set.LearnCertainty)
	t := tabwriter.NewWriter(b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "table\trow\twhat\tkits\tused\tlearned\tfrom\tto\twas\tnow\tunit")
	stays := map[string][]string{}
	for i := range told.List {
		l := &told.List[i]
		percent := func(f float64) string { return fmt.Sprintf("%.0f", 100*f) }
		was, now := "", ""
		switch {
		case l.Stays != "":
			stays[l.Stays] = append(stays[l.Stays], l.Key)
		default:
			was, now = figures(l.Was), figures(l.Now)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", orBlank("", l.Table), l.Key, l.Name, l.N, percent(l.Plain), percent(l.Mean), percent(l.Low), percent(l.High), was, now, l.Unit)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	lines := func(what string, list []string) {
		if len(list) > 0 {
			fmt.Fprintf(b, "\n%s:\n  %s\n", what, strings.Join(list, "\n  "))
		}
	}
	for i := range told.List {
		if s := told.List[i].Stays; stays[s] != nil {
			fmt.Fprintf(b, "\nnot written, since %s:\n  %s\n", s, strings.Join(stays[s], ", "))
			delete(stays, s)
		}
	}
	var odd []string
	for i := range told.List {
		l := &told.List[i]
		for _, o := range l.Odd {
			odd = append(odd, fmt.Sprintf("%s, %s: %s of %s; without it %.0f %%", o.Of, l.Key, figures(o.Used), figures(o.Planned), 100*o.Without))
		}
	}
	lines("far from what the others say; they count all the same: look whether they are right", odd)
	var less []string
	for i := range told.List {
		if l := &told.List[i]; l.Table == "consumables" && l.Mean < 0.995 {
			less = append(less, l.Key+" "+l.Name)
		}
	}
	lines("less would be planned: leave those that protect people as they were", less)
	lines("repairs that the run does not have; they count as found after the survey", told.Found)
	lines("used, but not planned for that kit; no number follows from it", told.Unplanned)
	lines("replaced by something else; does not count", told.Swapped)
	fmt.Fprintln(b, "\nEstimate, not a design.")
	_, err := io.WriteString(w, b.String())
	return err
}

// figures writes a number with three figures.
func figures(v float64) string {
	if v == 0 {
		return "0"
	}
	digits := max(0, 2-int(math.Floor(math.Log10(math.Abs(v)))))
	return bareDecimals(fmt.Sprintf("%.*f", digits, v))
}
