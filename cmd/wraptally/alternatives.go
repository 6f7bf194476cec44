package main

import (
	"fmt"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/export"
)

// alternatives estimates the survey of a campaign again with the settings of each
// NAME=FILE on top of those of the run.
func (in *intake) alternatives(list []string, job *estimate.Campaign, shown *export.Progress, sets ...string) ([]export.Alternative, error) {
	var out []export.Alternative
	seen := map[string]bool{"": true}
	for _, text := range list {
		name, path, ok := strings.Cut(text, "=")
		name = strings.TrimSpace(name)
		if !ok || path == "" || seen[name] {
			return nil, badUsage(`write --alternative "two crews=two-crews.csv", each name once`, "--alternative %q is not NAME=FILE with a name of its own", text)
		}
		seen[name] = true
		c, err := in.loadWith(path, sets...)
		if err != nil {
			return nil, fmt.Errorf("alternative %q: %w", name, err)
		}
		if c.Settings.Currency != job.Bid.Currency {
			return nil, withHint(fmt.Errorf("alternative %q is in %s and the estimate in %s", name, c.Settings.Currency, job.Bid.Currency), "what is set side by side is in one currency")
		}
		got, err := job.Again(c, func(stage string, done, total int) { shown.Tell(name+", "+stage, done, total) })
		shown.Done()
		if err != nil {
			return nil, fmt.Errorf("alternative %q: %w", name, err)
		}
		out = append(out, export.Alternative{Name: name, Campaign: got})
	}
	return out, nil
}

// alternativeFiles are the files named, which no output may replace.
func alternativeFiles(list []string) (files []string) {
	for _, text := range list {
		_, path, _ := strings.Cut(text, "=")
		files = append(files, path)
	}
	return files
}

// loadWith gives the catalogue with the settings in force and on top of them
// those of a file.
func (in *intake) loadWith(file string, more ...string) (*catalog.Catalog, error) {
	return in.offered(catalog.Load(catalog.Options{Dir: in.catalog, Under: in.under, Sets: in.settings(more), SetFile: file}))
}
