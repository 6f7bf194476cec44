package catalog_test

import (
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/survey"
)

// Every foreign heading of the built-in table means a field that the survey
// reader has.
func TestHeadingsNameSurveyFields(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string]bool{}
	for _, f := range survey.Fields() {
		keys[f.Key] = true
	}
	for _, h := range c.Headings {
		if !keys[h.Field] {
			t.Errorf("the heading %q means %q, which the survey does not have", h.Heading, h.Field)
		}
		if h.Heading != strings.ToLower(h.Heading) {
			t.Errorf("write the heading %q in small letters", h.Heading)
		}
	}
}
