// Package outside finds the outside programs that cross-check tests compare
// with. They run only where WRAPTALLY_CROSSCHECK is set, since they take minutes;
// without, each says that it was skipped and how to run it. With the value
// "require" (the project's own checks) a missing program fails the test, so that
// a green run never hides a check that did not happen; with any other value it
// skips with a word.
package outside

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// variable of the environment that asks for cross-checks.
const variable = "WRAPTALLY_CROSSCHECK"

// Required reports whether missing outside programs must fail the test.
func Required() bool { return os.Getenv(variable) == "require" }

// Need skips the test unless cross-checks are asked for and all the named
// programs can be run; where cross-checks are required a missing one fails it.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	if os.Getenv(variable) == "" {
		t.Skipf("cross-check skipped: set %s=require to compare with %s", variable, strings.Join(programs, ", "))
	}
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			Missing(t, p)
		}
	}
}

// Missing reports an absent program or module in the way Need does.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatalf("cross-check needs %s, which is not installed here", what)
	}
	t.Skipf("cross-check skipped: %s is not installed", what)
}
