package xlsxtest

import (
	"os"
	"os/exec"
	"testing"
)

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
	if os.Getenv("WRAPTALLY_CROSSCHECK") == "require" {
		t.Fatalf("cross-check needs %s, which is not installed here", what)
	}
	t.Skipf("cross-check skipped: %s is not installed", what)
}
