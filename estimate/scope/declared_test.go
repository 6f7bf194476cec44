package scope

import (
	"testing"

	"wraptally/estimate/survey"
)

// Every field that bears on quantity or safety has a rule for its blank: its row
// stops, it is asked once for the whole survey with what is taken, or it is one
// of those below, whose blank cannot lower the answer, each with its reason.
func TestEveryBlankHasARule(t *testing.T) {
	c := builtin(t)
	asked := map[string]bool{}
	for _, a := range Assumptions(&c.Settings) {
		if a.Ask != "" {
			asked[a.Field] = true
		}
	}
	harmless := map[string]string{
		"circumference": "another way of giving od, of which one must stand", "size": "another way of giving od, of which one must stand",
		"series": "stops the row where the diameter rests on the size", "hole": "another way of giving axial and circ, of which one must stand",
		"depth": "another way of giving remaining", "od": "stops the row without circumference or size",
		"axial_force":    "the end thrust of the greatest pressure is taken, and listed",
		"layers":         "a decision of the designer",
		"life":           "a decision: the setting design.life",
		"component":      "the stated range is a straight pipe, and listed as what a blank means",
		"humidity":       "the dew point is measured on the day, which the kit says",
		"designed_by":    "the kit says that nobody has designed it",
		"free_run_after": "asked with free_run_before",
	}
	for _, f := range survey.Fields() {
		_, ok := harmless[f.Key]
		stops := f.Required == "yes" || f.Required == "axial with circ, or hole"
		if f.Bears != survey.Nothing && !stops && !asked[f.Key] && !ok {
			t.Errorf("a blank %s bears on %s and has no rule", f.Key, f.Bears)
		}
		if ok && asked[f.Key] {
			t.Errorf("%s is asked and said to be harmless: %s", f.Key, harmless[f.Key])
		}
		delete(harmless, f.Key)
	}
	for key := range harmless {
		t.Errorf("there is no field %s", key)
	}
}
