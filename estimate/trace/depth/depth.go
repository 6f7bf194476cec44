// Package depth says how much the tests draw and try: little in a plain run, which
// a user waits for, and all with WRAPTALLY_DEPTH=full, as the project's own checks
// do. It is declared here alone; a test that imports rapid imports this package, and
// -rapid.checks or RAPID_CHECKS still say otherwise.
package depth

import (
	"flag"
	"os"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"

	"pgregory.net/rapid"
)

// plainChecks is how often a plain run draws a property; a full one as often as
// rapid does by itself.
const plainChecks = 15

// Full reports whether all is drawn and tried.
func Full() bool {
	return os.Getenv("WRAPTALLY_DEPTH") == "full" || os.Getenv("WRAPTALLY_CROSSCHECK") == "require"
}

// Of is how many to try.
func Of(plain, full int) int {
	if Full() {
		return full
	}
	return plain
}

// Before the flags are read, so that they have the last word.
func init() {
	_ = rapid.Check // whose flag is set here
	if !Full() && os.Getenv("RAPID_CHECKS") == "" {
		if err := flag.Set("rapid.checks", strconv.Itoa(plainChecks)); err != nil {
			panic(err)
		}
	}
	// Collecting what many short runs leave behind took up to half of the time.
	// Benchmarks measure the program as it is.
	bench := slices.ContainsFunc(os.Args, func(a string) bool { return strings.HasPrefix(a, "-test.bench=") && a != "-test.bench=" })
	if os.Getenv("GOGC") == "" && !bench {
		debug.SetGCPercent(collect)
		if err := os.Setenv("GOGC", strconv.Itoa(collect)); err != nil { // of the programs that tests start
			panic(err)
		}
	}
}

const collect = 400
