package estimate_test

import (
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
)

func builtin(t testing.TB, sets ...string) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: sets})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// fataler is a test or a property.
type fataler interface {
	Fatal(...any)
	Fatalf(string, ...any)
}

func run(t fataler, ds []survey.Defect, c *catalog.Catalog) *estimate.Campaign {
	p, err := estimate.Run(trial.Result(ds), c, estimate.Options{Name: "survey.csv"})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func drawn(t *rapid.T, c *catalog.Catalog, most int) []survey.Defect {
	return trial.Survey(trial.Rapid(t), c, rapid.IntRange(0, most).Draw(t, "rows"))
}
