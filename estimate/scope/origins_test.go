package scope

import (
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// What the survey leaves open is said to come from the table or the setting that
// filled it, never from the survey.
func TestOriginsAreExact(t *testing.T) {
	c := builtin(t)
	d := leak("a", 0, 0, 114.3, 6.02, 6)
	d.Wall, d.DesignTemp = survey.Num{}, survey.Num{}
	d.Size, d.Series, d.ODFrom, d.Pressure = "4", "NPS", "size", survey.Known(1)
	from := originsOf(t, c, d)
	for at, want := range map[string]string{
		"reach D": "pipes NPS 4", "reach t": "settings blank.wall…", "reach k": "setting reach.pcc2_factor",
		"thickness/temperature T_d": "settings blank.design_temp…",
		"thickness/ignored/hoop F":  "round the pipe the least axial force, along it the greatest, with what the end thrust on the wrap's own diameter adds", "thickness/strain-round f_y": "step thickness/life", "passes n": "step layers",
		"wrap-thickness t_ply": "wraps",
	} {
		if from[at] != want {
			t.Errorf("%s comes from %q, want %q", at, from[at], want)
		}
	}
	d.DesignTemp, d.Life, d.ODFrom = survey.Known(50), survey.Known(30), "circumference"
	from = originsOf(t, c, d)
	for at, want := range map[string]string{
		"reach D": "survey, circumference/π", "thickness/temperature T_d": "survey", "thickness/life y": "survey",
	} {
		if from[at] != want {
			t.Errorf("%s comes from %q, want %q", at, from[at], want)
		}
	}
}

// originsOf plans one defect and gives where each input of its steps comes from,
// under "step symbol".
func originsOf(t *testing.T, c *catalog.Catalog, d survey.Defect) map[string]string {
	t.Helper()
	log := &trace.Log{}
	Prepare(c).Explain(Plan([]survey.Defect{d}, c)[0], log)
	from := map[string]string{}
	for _, s := range log.Steps {
		for _, in := range s.Inputs {
			from[s.ID+" "+in.Symbol] = in.From.String()
		}
	}
	return from
}

// The designer's layers are taken, but where the preliminary thickness asks for
// more, or no thickness holds the pressure, that is asked. Ceiling over a hole of
// 25 mm: 0.333·0.9014·√(0.15·π·15492/(0.96·25)) = 5.235 MPa at 40 °C.
func TestDesignersLayersAreDoubted(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		layers, pressure float64
		want             string
	}{
		{2, 9, "not repairable"}, {2, 2, "asks for"}, {40, 2, ""},
	} {
		d := leak("a", 0, 0, 114.3, 6.02, 25)
		d.Layers, d.Pressure = survey.Known(v.layers), survey.Known(v.pressure)
		r := Plan([]survey.Defect{d}, c)[0]
		got := ""
		for _, q := range r.Queries {
			if q.Code == "designer-layers" {
				got = q.Message
			}
		}
		if (got == "") != (v.want == "") || !strings.Contains(got, v.want) || r.Layers != int(v.layers) || r.Status != Estimated {
			t.Errorf("%v layers at %v MPa: %q, %d layers, %s", v.layers, v.pressure, got, r.Layers, r.Status)
		}
	}
}
