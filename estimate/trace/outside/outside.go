// Package outside finds the outside programs that cross-check tests compare
// with. On a user's machine a missing program skips the check with a clear
// word; where WRAPTALLY_CROSSCHECK=require is set (the project's own checks) it
// fails instead, so that a green run never hides a check that did not happen.
package outside

import (
	"os"
	"os/exec"
	"testing"
)

// Required reports whether missing outside programs must fail the test.
func Required() bool { return os.Getenv("WRAPTALLY_CROSSCHECK") == "require" }

// Need skips the test, or fails it where cross-checks are required, unless all
// the named programs can be run.
func Need(t testing.TB, programs ...string) {
	t.Helper()
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
