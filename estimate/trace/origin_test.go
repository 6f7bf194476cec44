package trace

import "testing"

// An origin reads as it is meant, and refers to the steps that it names and to
// no others.
func TestOrigins(t *testing.T) {
	for want, o := range map[string]Origin{
		"survey": Survey, "this step": Words("this step"), "setting mix.time": Setting("mix.time"), "wraps": Table("wraps", ""), "pipes NPS 6": Table("pipes", "NPS 6"),
		"step wrap/75/net": StepAt("wrap/75/net"), "steps seal1/bands times seal1/strips": Product("seal1/bands", "seal1/strips"),
		"steps rule/GLOVE/roll/…": StepsUnder("rule/GLOVE/roll/"), "steps seal…/sealant": StepsEach("seal", "/sealant"), "steps R…/time": StepsOfRepairs("time"), "": {},
	} {
		if o.String() != want {
			t.Errorf("%q, want %q", o, want)
		}
	}
	if got := (Origins{StepAt("a"), Setting("b"), Words("c")}).String(); got != "step a, setting b, c" {
		t.Errorf("%q", got)
	}
	for _, v := range []struct {
		o    Origin
		id   string
		want bool
	}{
		{StepAt("wrap/75/net"), "R0001/wrap/75/net", true}, {StepAt("R0001/reach"), "R0001/reach", true}, {StepAt("time"), "R0001/time/prep", false},
		{StepsUnder("rule/GLOVE/roll/"), "R0001/rule/GLOVE/roll/always", true}, {StepsUnder("campaign/bid/"), "campaign/bid/tax", true},
		{StepsOfRepairs("time"), "campaign/bid/tax", false}, {StepsOfRepairs("time"), "R0001/time", false}, {Survey, "R0001/survey", false}, {Setting("reach"), "R0001/reach", false},
		{Product("seal1/bands", "seal1/strips"), "R0001/seal1/bands", true}, {Product("seal1/bands", "seal1/strips"), "R0001/seal1/strips", true}, {Product("seal1/bands", "seal1/strips"), "R0001/seal1/strip", false},
		{StepsEach("seal", "/sealant"), "R0001/seal2/sealant", true}, {StepsEach("seal", "/sealant"), "R0001/seal2/strip", false},
	} {
		if v.o.Refers(v.id) != v.want {
			t.Errorf("%s refers to %s: %v", v.o, v.id, !v.want)
		}
	}
}
