package survey

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// sound is a row with what every survey must give; other fields are added to it.
var sound = []struct{ key, cell string }{
	{"line", "L1"}, {"chainage", "1.5"}, {"od", "168.3"}, {"axial", "40"}, {"circ", "30"}, {"leaking", "no"},
}

// rowOf is a survey of the sound row with one field's cell put in or replaced.
func rowOf(t *testing.T, f fieldID, cell string, opts Options) *Defect {
	t.Helper()
	var head, row []string
	put := false
	for _, s := range sound {
		if s.key == fieldTable[f].Key {
			s.cell, put = cell, true
		}
		head, row = append(head, fieldTable[field(s.key)].Heading), append(row, s.cell)
	}
	if !put && cell != "" {
		head, row = append(head, fieldTable[f].Heading), append(row, cell)
	}
	r := read(t, strings.Join(head, ";")+"\n"+strings.Join(row, ";")+"\n", opts)
	if len(r.Defects) != 1 {
		t.Fatalf("%s = %q: %v", fieldTable[f].Key, cell, r.Queries)
	}
	return &r.Defects[0]
}

// another is a second value of a field that a cell may hold, more than the
// example.
func another(f *Field) string {
	switch f.Kind {
	case KindNumber:
		switch f.Key {
		case "humidity", "depth", "pressure", "live_pressure", "life", "design_temp", "surface_temp", "air_temp", "wall", "bend_angle":
			return "33"
		case "corrosion_rate":
			return "1.5"
		case "remaining", "made_up", "seat_wall":
			return "5"
		}
		return "170"
	case KindYesNo:
		if f.Example == "yes" {
			return "no"
		}
		return "yes"
	case KindWord:
		return f.Words()[len(f.list)-1]
	case KindDate:
		return "2028-01-01"
	case KindClock:
		return "6:00"
	case KindSize:
		return "8"
	}
	return "else"
}

// walk takes a field through everything that follows from its declaration: read
// from a column, set for blank cells, answered, and nothing else touched by it.
func walk(t *testing.T, f fieldID) {
	t.Helper()
	d := &fieldTable[f]
	for what, s := range map[string]string{"meaning": d.Meaning, "example": d.Example, "what a blank means": d.Blank, "required": d.Required, "bears on": string(d.Bears)} {
		if s == "" {
			t.Errorf("%s: %s is not declared", d.Key, what)
		}
	}
	if d.at == nil { // another way of giving what the record keeps
		return
	}
	if d.Combine == "" {
		t.Errorf("%s: how two defects combine is not declared", d.Key)
	}
	required := slices.ContainsFunc(sound, func(s struct{ key, cell string }) bool { return s.key == d.Key })
	plain := rowOf(t, fNote, "", Options{})
	for _, cell := range []string{d.Example, another(d)} {
		got := rowOf(t, f, cell, Options{})
		if d.get(got) == (value{}) {
			t.Errorf("%s = %q is not in the record", d.Key, cell)
		}
		for g := range numFields() {
			if o := &fieldTable[g]; g != f && o.at != nil && o.get(got) != o.get(plain) && g != fID && !slices.Contains(sound4[:], o.Key) {
				t.Errorf("%s = %q changes %s to %+v", d.Key, cell, o.Key, o.get(got))
			}
		}
		if f == fID || required {
			continue
		}
		if set := rowOf(t, f, "", Options{Defaults: []Default{{d.Key, cell}}}); d.get(set) != d.get(got) {
			t.Errorf("%s: set %+v, read %+v", d.Key, d.get(set), d.get(got))
		}
		if ans := rowOf(t, f, "", Options{Answers: []Answer{{Row: "row 2", Field: d.Heading, Value: cell}}}); d.get(ans) != d.get(got) {
			t.Errorf("%s: answered %+v, read %+v", d.Key, d.get(ans), d.get(got))
		}
	}
	combines(t, f, rowOf(t, f, d.Example, Options{}), rowOf(t, f, another(d), Options{}))
}

// sound4 are the fields that another field may settle by a rule of the reader.
var sound4 = [...]string{"od", "axial", "circ", "remaining"}

// combines holds the field's rule, in both orders and beside a defect that does
// not say.
func combines(t *testing.T, f fieldID, a, b *Defect) {
	t.Helper()
	d := &fieldTable[f]
	blank := &Defect{}
	va, vb := d.get(a), d.get(b)
	if va == vb {
		t.Fatalf("%s: two examples are one: %+v", d.Key, va)
	}
	if Compare(a, b)*Compare(b, a) >= 0 && f != fID && f != fNote {
		t.Errorf("%s does not tell two defects apart", d.Key)
	}
	ab, ba := Together([]*Defect{a, b}), Together([]*Defect{b, a})
	alone := Together([]*Defect{blank, a})
	var want value
	switch d.Combine {
	case Apart:
		if d.get(&ab) != want || d.get(&alone) != want {
			t.Errorf("%s: each keeps its own, and yet together they say %+v", d.Key, d.get(&ab))
		}
		return
	case Agree, First:
		if d.get(&ab) != va || d.get(&ba) != vb || d.get(&alone) != va {
			t.Errorf("%s: %+v and %+v, want the first", d.Key, d.get(&ab), d.get(&ba))
		}
		return
	case Greatest:
		want = va
		if vb.num.V > va.num.V {
			want = vb
		}
	case Least:
		want = va
		if vb.num.V < va.num.V || vb.date.Before(va.date) {
			want = vb
		}
	case Worst:
		want = va
		if d.rank(vb) > d.rank(va) {
			want = vb
		}
	default:
		t.Fatalf("%s: the rule %q is not known", d.Key, d.Combine)
	}
	if d.get(&ab) != want || d.get(&ba) != want {
		t.Errorf("%s: %+v and %+v, want %+v", d.Key, d.get(&ab), d.get(&ba), want)
	}
	if d.Kind == KindYesNo {
		no, yes := value{tri: No}, value{tri: Yes}
		if d.join(no, value{}) != (value{}) || d.join(value{}, yes) != yes || d.join(yes, value{}) != yes {
			t.Errorf("%s: silence is worse than no and better than yes", d.Key)
		}
	} else if d.get(&alone) != va {
		t.Errorf("%s: beside a defect that does not say, %+v becomes %+v", d.Key, va, d.get(&alone))
	}
}

// TestEveryField walks every field from its declaration to its uses.
func TestEveryField(t *testing.T) {
	for f := range numFields() {
		walk(t, f)
	}
}

// TestEveryPlaceIsDeclared: each value of the record is a field of the table,
// and no two fields share a place.
func TestEveryPlaceIsDeclared(t *testing.T) {
	var d Defect
	at := map[uintptr]string{}
	for i := range fieldTable {
		f := &fieldTable[i]
		if f.at == nil {
			continue
		}
		p := reflect.ValueOf(f.at(&d)).Pointer()
		if other, ok := at[p]; ok {
			t.Errorf("%s and %s are kept in one place", other, f.Key)
		}
		at[p] = f.Key
	}
	v := reflect.ValueOf(&d).Elem()
	for i := range v.NumField() {
		name := v.Type().Field(i).Name
		_, ok := at[v.Field(i).Addr().Pointer()]
		derived := slices.Contains([]string{"Tag", "Line0", "ODFrom", "Hole", "Depth", "Leans"}, name)
		if ok == derived {
			t.Errorf("%s: declared as a field %v, worked out by the reader %v", name, ok, derived)
		}
	}
}

// TestNewField declares a field of each kind in the table, in the row and place
// of another, with nothing else, and walks it: what a field needs is its row and
// a place for its value.
func TestNewField(t *testing.T) {
	kinds := []struct {
		place string
		Field
	}{
		{"hazardous", Field{Kind: KindYesNo, Example: "yes", Combine: Worst, list: []string{noWords, yesWords}}},
		{"free_run_after", Field{Kind: KindNumber, suffix: "mm", Dim: DimLength, Example: "4", Combine: Least, usual: span{0, 60}, beyond: span{0, 500}}},
		{"live_pressure", Field{Kind: KindNumber, Example: "7000", Combine: Greatest, usual: anyValue, beyond: span{0, 1e9}, whole: true}},
		{"surface", Field{Kind: KindWord, Example: "steel", Combine: Worst, list: []string{"steel; carbon steel", "copper", "other"}}},
		{"medium", Field{Kind: KindText, Example: "by hand", Combine: First}},
		{"need_date", Field{Kind: KindDate, Example: "2027-03-15", Combine: Least}},
		{"clock", Field{Kind: KindClock, Dim: DimAngle, Example: "4:30", Combine: Apart}},
	}
	table := fieldTable
	t.Cleanup(func() {
		fieldTable = table
		fieldByKey, fieldByWord = declare()
	})
	for _, k := range kinds {
		t.Run(string(k.Kind)+" "+k.suffix, func(t *testing.T) {
			fieldTable = table
			fieldByKey, fieldByWord = declare()
			id, f := field(k.place), k.Field
			f.Key, f.Required, f.Meaning, f.Blank, f.Bears, f.words = "made_up", "no", "of this test", "nothing", Nothing, "whatever it is called"
			f.at = table[id].at
			fieldTable = slices.Clone(table)
			fieldTable[id] = f
			fieldByKey, fieldByWord = declare()
			walk(t, id)
			if got := Fields()[id]; !strings.HasPrefix(got.Heading, "made_up") {
				t.Errorf("not among the fields: %+v", got)
			}
			m, err := newMatcher(nil, nil)
			if err != nil || m.find("Whatever it is called").field != id {
				t.Errorf("not found by its word: %v", err)
			}
			bad := map[Kind]string{KindText: "a\x01b"}[f.Kind]
			if bad == "" {
				bad = "some%thing"
			}
			r := read(t, "line;chainage_m;od_mm;axial_mm;circ_mm;leaking;"+fieldTable[id].Heading+"\nL1;1.5;168.3;40;30;no;"+bad+"\n", Options{})
			if len(r.Queries) != 1 || r.Queries[0].Place.Field != fieldTable[id].Heading || r.Queries[0].Place.Column != 7 {
				t.Errorf("%q raises %v", bad, r.Queries)
			}
		})
	}
}

// TestTogether: a repair takes the worst of what its defects say, and what each
// keeps for itself is not said for all.
func TestTogether(t *testing.T) {
	a := &Defect{Line: "L", Clock: Known(90), Pressure: Known(1), Stress: Known(138), Leaking: No, Surface: Wet, NeedDate: time.Date(2027, 3, 15, 0, 0, 0, 0, time.UTC)}
	b := &Defect{Line: "L", Clock: Known(10), Pressure: Known(2), LivePressure: Known(0), Leaking: No, Hazardous: No, Surface: Dry}
	got := Together([]*Defect{a, b})
	want := Defect{Line: "L", Pressure: Known(2), LivePressure: Known(0), Stress: Known(138), Leaking: No, Surface: Wet, NeedDate: a.NeedDate}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}
