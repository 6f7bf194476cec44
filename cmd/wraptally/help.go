package main

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/pflag"
)

// group is a heading under which options are told, and which stand there.
type group struct {
	heading string
	has     func(f *pflag.Flag) bool
}

var groups = []group{
	{"What to write and tell", func(f *pflag.Flag) bool {
		_, marked := f.Annotations[output]
		return marked || f.Value.Type() == "bool" || slices.Contains([]string{"output", "paper", "units", "date"}, f.Name)
	}},
	{"What to assume", func(f *pflag.Flag) bool { return slices.Contains(assumed, f.Name) }},
	{"What to read, and how", func(*pflag.Flag) bool { return true }},
}

// assumed are the options that stand for a number or an answer.
var assumed = []string{"set", "start", "alternative", "accept", "same", "by"}

// examples are command lines that work as they stand beside such files.
var examples = map[string][]string{
	"estimate": {
		"wraptally estimate survey.csv -o campaign.xlsx --json campaign.json --start 2027-03-15",
		"wraptally estimate survey.csv -o campaign.xlsx --set crew.count=2 --set survey.hazardous=no",
		"wraptally estimate new.csv -o new.xlsx --earlier campaign.json --stock stock.csv",
	},
	"check":   {"wraptally check survey.csv -o queries.xlsx", `wraptally check client.xlsx --sheet 2 --map od="Pipe diameter [in]"`},
	"explain": {"wraptally explain survey.csv CW-101-P-01", "wraptally explain survey.csv CW-101-P-01 --design"},
	"vary":    {"wraptally vary survey.csv --by 20"},
	"buy":     {"wraptally buy survey.csv -o requests --texts texts.csv", "wraptally buy survey.csv -o orders --quotes a.xlsx,b.csv"},
	"audit":   {"wraptally audit campaign.json --survey survey.csv"},
	"compare": {"wraptally compare campaign.json new.csv -o difference.xlsx"},
	"catalog": {"wraptally catalog -o own", "wraptally catalog --check own"},
	"form":    {"wraptally form -o form.xlsx"},
}

// told is what the options mean, by groups, and examples.
func told(f *pflag.FlagSet) string {
	var b strings.Builder
	lists := make([]string, len(groups))
	f.VisitAll(func(flag *pflag.Flag) {
		at := slices.IndexFunc(groups, func(g group) bool { return g.has(flag) })
		lists[at] += option(flag)
	})
	for i, list := range lists {
		if list != "" {
			fmt.Fprintf(&b, "%s:\n%s\n", groups[i].heading, list)
		}
	}
	for i, line := range examples[f.Name()] {
		if i == 0 {
			b.WriteString("Examples:\n")
		}
		b.WriteString("  " + line + "\n")
	}
	return strings.TrimRight(b.String(), "\n")
}

// A value's name in backquotes that only repeats what stands beside the option.
var repeated = regexp.MustCompile(":? ?`[^`]+`( \\(repeatable|$)")

// option tells one option: its name with that of its value, and below what it does.
func option(f *pflag.Flag) string {
	const wide, in = 92, "        "
	value, _ := pflag.UnquoteUsage(f)
	name := "--" + f.Name
	if f.Shorthand != "" {
		name = "-" + f.Shorthand + ", " + name
	}
	if f.Value.Type() != "bool" {
		name += " " + value
	}
	text := strings.ReplaceAll(repeated.ReplaceAllString(f.Usage, "$1"), "`", "")
	if d := f.DefValue; f.Value.Type() == "int" && d != "0" {
		text += " (" + d + " where it is not given)"
	}
	out, line := "  "+name+"\n", in
	for _, word := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(word)) > wide {
			out, line = out+line+"\n", in
		}
		line += word + " "
	}
	return strings.ReplaceAll(out+line+"\n", " \n", "\n")
}
