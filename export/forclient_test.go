package export

import "testing"

// The query sheet goes to a client: no option of the command line is on it.
func TestAdviceForAClientHasNoOptions(t *testing.T) {
	for advice, want := range map[string]string{
		"fill the series, or give it for all rows with --set survey.series=SERIES; the pipe table has NPS":      "fill the series, or give it for all rows; the pipe table has NPS",
		"state the unit with --map od=\"heading [unit]\", or confirm the value with --accept unit-contradicted": "state the unit, or confirm the value",
		"map it with --map FIELD=\"heading\" if it matters":                                                     "map it if it matters",
		"take it out, or leave its rows out with --only, if it is not meant":                                    "take it out, or leave its rows out, if it is not meant",
		"have the designer choose: --set hole.basis=interacting or unbonded":                                    "have the designer choose",
		"measure it; one value for all of them: --set survey.x=VALUE, or as the answer here":                    "measure it; one value for all of them, or as the answer here",
		"give the hole's diameter; --only leaves out rows that are no defects":                                  "give the hole's diameter",
		"--only leaves out rows": "answer beside",
		"correct one of them":    "correct one of them",
	} {
		if got := forClient(advice); got != want {
			t.Errorf("%q: %q, want %q", advice, got, want)
		}
	}
}

// A question names the place on site and the heading under which the client wrote
// what it is about, whatever the program calls it, also of a row left out.
func TestQuestionsSpeakTheClientsWords(t *testing.T) {
	text := "Line;Log Distance [m];Outside diameter [mm];Wall thickness [mm];Axial length [mm];Circumferential width [mm];Leaking\nL-7;12.4;219.1;8.2;40;900;no\nL-8;30;219.1;8.2;40;30;no\n"
	p := trial{text: text}.run(t)
	b := &book{p: p}
	for _, q := range b.queries() {
		if q.Code == "defect-wider-than-circumference" {
			if q.Spot != "L-7, 12.4 m" || q.theirs != "Circumferential width [mm]" || q.Place.Field != "circ_mm" {
				t.Errorf("asked of %q under %q (%s)", q.Spot, q.theirs, q.Place.Field)
			}
			return
		}
	}
	t.Errorf("the width is not asked about: %+v", p.Queries)
}
