package kit_test

import (
	"testing"

	"wraptally/estimate/gate"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

// gateOf is the gate of one leak or several, 20 mm apart, packed by the built-in
// catalogue.
func gateOf(t *testing.T, change ...func(*survey.Defect)) gate.Lines {
	t.Helper()
	c := builtin(t)
	var defects []survey.Defect
	for i, f := range change {
		d := survey.Defect{
			ID: string(rune('A' + i)), Line: "L", Line0: 2 + i, Chainage: survey.Known(5000 + 20*float64(i)), OD: survey.Known(168.3), Size: "6", Series: "NPS",
			Axial: survey.Known(4), Circ: survey.Known(4), Hole: true, Leaking: survey.Yes, Clock: survey.Known(180),
			Wall: survey.Known(7.11), Pressure: survey.Known(2), LivePressure: survey.Known(1), SeatWall: survey.Known(6), Medium: "cooling water",
			SurfaceTemp: survey.Known(20), AirTemp: survey.Known(20), Surface: survey.Wet, Access: "ground", DesignTemp: survey.Known(40),
			Stress: survey.Known(137.9), Mechanism: survey.External, Cycles: survey.Known(10), Substrate: "steel", Hazardous: survey.No,
		}
		f(&d)
		defects = append(defects, d)
	}
	repairs := scope.Plan(defects, c)
	if len(repairs) != 1 || repairs[0].Status != scope.Estimated {
		t.Fatalf("%+v", repairs)
	}
	return kit.NewPacker(c).Pack(repairs[0], nil).Gate
}

func lineOf(t *testing.T, ls gate.Lines, name string) gate.Line {
	t.Helper()
	for _, l := range ls {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no line %q in %v", name, ls)
	return gate.Line{}
}

// A design pressure that is not known does not let a live pressure through: for
// the wrap the high end of its range is the hard one, for the gate the low one.
// Of several leaks the least design pressure is what the live one is held against.
func TestGateHoldsLiveAgainstTheLeastDesignPressure(t *testing.T) {
	pressure := func(p float64) func(*survey.Defect) {
		return func(d *survey.Defect) { d.Pressure = survey.Num{V: p, OK: p > 0} }
	}
	for _, v := range []struct {
		name   string
		leaks  []func(*survey.Defect)
		wanted gate.Verdict
	}{
		{"2 MPa", []func(*survey.Defect){pressure(2)}, gate.MayGoOn},
		{"0.5 MPa", []func(*survey.Defect){pressure(0.5)}, gate.NotByThisMethod},
		{"blank", []func(*survey.Defect){pressure(0)}, gate.Ask},
		{"2 and 0.5 MPa", []func(*survey.Defect){pressure(2), pressure(0.5)}, gate.NotByThisMethod},
		{"0.5 and 2 MPa", []func(*survey.Defect){pressure(0.5), pressure(2)}, gate.NotByThisMethod},
		{"2 MPa and blank", []func(*survey.Defect){pressure(2), pressure(0)}, gate.Ask},
	} {
		if l := lineOf(t, gateOf(t, v.leaks...), "live against design pressure"); l.Verdict != v.wanted {
			t.Errorf("live 1 MPa, design %s: %s, want %v", v.name, l, v.wanted)
		}
	}
}
