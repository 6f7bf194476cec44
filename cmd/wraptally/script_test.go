package main

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"golang.org/x/text/encoding/unicode"

	_ "wraptally/estimate/trace/depth"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"wraptally": main})
}

// TestScripts runs the command line as a user would: each script under
// testdata/script is a session with its files.
func TestScripts(t *testing.T) {
	shipped, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("SHIPPED", shipped)
			env.Setenv("SOURCE_DATE_EPOCH", "")
			env.Setenv("GOGC", os.Getenv("GOGC")) // as package depth has it
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"longcell": longCell,
			"control":  controlCharacters,
			"printed":  runPrinted,
			"replace": func(ts *testscript.TestScript, _ bool, args []string) {
				text := ts.ReadFile(args[0])
				if strings.Count(text, args[1]) != 1 {
					ts.Fatalf("%s holds %q %d times, not once", args[0], args[1], strings.Count(text, args[1]))
				}
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, args[1], args[2], 1)), 0o644))
			},
			"mixedends": func(ts *testscript.TestScript, _ bool, args []string) {
				text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\r\n" +
					"A,L1,1,168.3,30,30,yes\rB,L1,11,168.3,30,30,yes\nC,L1,21,168.3,30,30,yes\r\nD,L1,31,168.3,30,30,yes\r"
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
			},
			"utf16": func(ts *testscript.TestScript, _ bool, args []string) {
				text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(ts.ReadFile(args[0]))
				ts.Check(err)
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(text), 0o644))
			},
			"turned": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\nA,L1,1,168.3,30,30,no\nB,L\u202e1,1,x,30,30,L\u202e1\nC,M\u202e1,1,168.3,30,30,no\n"), 0o644))
			},
			"wide": func(ts *testscript.TestScript, _ bool, args []string) {
				n, err := strconv.Atoi(args[1])
				ts.Check(err)
				head, row := strings.Repeat("extra,", n), strings.Repeat("1,", n)
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(head+"line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n"+row+"L1,1,168.3,30,30,yes\n"), 0o644))
			},
		},
	})
}

// runPrinted runs the command line that the last command printed, the n-th of
// them, as it stands, with more words behind it.
func runPrinted(ts *testscript.TestScript, neg bool, args []string) {
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	for line := range strings.Lines(ts.ReadFile("stderr")) {
		if !strings.HasPrefix(line, "  wraptally ") {
			continue
		}
		if n--; n == 0 {
			ts.Logf("%s", line)
			if err := ts.Exec("sh", "-c", strings.TrimSpace(line)+" "+strings.Join(args[1:], " ")); (err != nil) != neg {
				ts.Fatalf("%v\n%s", err, ts.ReadFile("stderr"))
			}
			return
		}
	}
	ts.Fatalf("no command line was printed")
}

// longCell writes a survey whose second row holds a cell of a million characters.
func longCell(ts *testscript.TestScript, _ bool, args []string) {
	text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n" +
		"A,L1,1,168.3,30,30,yes\n" +
		strings.Repeat("x", 1_000_000) + ",L1,9,168.3,30,30,yes\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}

// controlCharacters writes a survey whose second row has a control character in
// the name of its line.
func controlCharacters(ts *testscript.TestScript, _ bool, args []string) {
	text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n" +
		"A,L1,1,168.3,30,30,yes\n" +
		"B,L\x071,20,168.3,30,30,yes\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}
