package trace

import "strings"

// Origin is where a number comes from. What is printed follows from it.
type Origin struct {
	kind originKind
	name string // of the setting, the table or the step; the words
	more string // row of the table, second step, or what follows the number of a step
}

type originKind uint8

const (
	words originKind = iota
	surveyField
	setting
	tableRow
	step
	product
	under
	each
	ofRepairs
)

// Survey is the survey's own value.
var Survey = Origin{kind: surveyField}

// Words is an origin that refers to nothing a reader could look up by name:
// "this step", or what was done to the origin before it.
func Words(text string) Origin { return Origin{words, text, ""} }

// Setting is a setting of the catalogue, by name.
func Setting(name string) Origin { return Origin{setting, name, ""} }

// Table is a table of the catalogue and the row in it, "" where the rows are
// many.
func Table(name, row string) Origin { return Origin{tableRow, name, row} }

// StepAt is a step, by its ID with or without the prefix of its log.
func StepAt(id string) Origin { return Origin{step, id, ""} }

// Product is two steps multiplied.
func Product(a, b string) Origin { return Origin{product, a, b} }

// StepsUnder are all steps whose ID begins with the start.
func StepsUnder(start string) Origin { return Origin{under, start, ""} }

// StepsEach are the numbered steps "seal1/sealant", "seal2/sealant", … of the
// start "seal" and the rest "/sealant".
func StepsEach(start, rest string) Origin { return Origin{each, start, rest} }

// StepsOfRepairs are the steps of that ID of all repairs.
func StepsOfRepairs(id string) Origin { return Origin{ofRepairs, id, ""} }

// String is the origin as a reader sees it.
func (o Origin) String() string {
	switch o.kind {
	case surveyField:
		return "survey"
	case setting:
		return "setting " + o.name
	case tableRow:
		return strings.TrimSuffix(o.name+" "+o.more, " ")
	case step:
		return "step " + o.name
	case product:
		return "steps " + o.name + " times " + o.more
	case under, each:
		return "steps " + o.name + "…" + o.more
	case ofRepairs:
		return "steps R…/" + o.name
	}
	return o.name
}

// Refers reports whether the origin is the step with that ID, or that step among
// others, in the same derivation.
func (o Origin) Refers(id string) bool {
	is := func(name string) bool { return id == name || strings.HasSuffix(id, "/"+name) }
	_, local, _ := strings.Cut(id, "/")
	begins := strings.HasPrefix(id, o.name) || strings.HasPrefix(local, o.name)
	switch o.kind {
	case step:
		return is(o.name)
	case product:
		return is(o.name) || is(o.more)
	case under:
		return begins
	case each:
		return begins && strings.HasSuffix(id, o.more)
	}
	return false
}

// Origins are what a number is made of.
type Origins []Origin

// String lists the origins.
func (l Origins) String() string {
	parts := make([]string, len(l))
	for i, o := range l {
		parts[i] = o.String()
	}
	return strings.Join(parts, ", ")
}
