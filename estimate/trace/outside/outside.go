// Package outside finds the outside programs that cross-check tests compare
// with. They run only where WRAPTALLY_CROSSCHECK is set, so that the tests of a
// user who has the programs take no longer than those of one who has not; with
// WRAPTALLY_CROSSCHECK=require (the project's own checks) a missing program
// fails the test, so that a green run never hides a check that did not happen.
package outside

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Python is the interpreter of the system, the one that Debian's modules are
// installed for.
const Python = "/usr/bin/python3"

const variable = "WRAPTALLY_CROSSCHECK"

// Required reports whether missing outside programs must fail the test.
func Required() bool { return os.Getenv(variable) == "require" }

// Need is the first thing a cross-check calls. It skips the test with a word
// unless cross-checks are asked for and all the named programs (names or paths)
// are there; where cross-checks are required a missing one fails it.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	if !strings.HasPrefix(t.Name(), "TestCross") {
		t.Fatalf("%s needs an outside program: name it TestCross, as all that do are", t.Name())
	}
	if os.Getenv(variable) == "" {
		t.Skipf("cross-check skipped: set %s=require to run it", variable)
	}
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			Missing(t, p)
		}
	}
}

// NeedPython is Need for modules of Python.
func NeedPython(t testing.TB, modules ...string) {
	t.Helper()
	Need(t, Python)
	if err := exec.Command(Python, "-c", "import "+strings.Join(modules, ", ")).Run(); err != nil {
		Missing(t, strings.Join(modules, " or ")+" for "+Python)
	}
}

// Missing reports something absent that only the check itself could find out.
func Missing(t testing.TB, what string) {
	t.Helper()
	if Required() {
		t.Fatalf("cross-check needs %s, which is not installed here", what)
	}
	t.Skipf("cross-check skipped: %s is not installed", what)
}
