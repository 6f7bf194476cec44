package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"golang.org/x/sys/cpu"

	"wraptally/estimate/trace/outside"
)

// Built for processors that multiply and add in one step, and so round once
// where others round twice, the program gives the same workbook and order, and
// a JSON whose numbers differ by no more than 1e-12 of themselves.
func TestCrossProcessors(t *testing.T) {
	outside.Need(t, "qemu-aarch64")
	if runtime.GOARCH != "amd64" || !cpu.X86.HasFMA || !cpu.X86.HasAVX2 {
		outside.Missing(t, "a processor with FMA and AVX2")
	}
	dir := t.TempDir()
	base := outputsOf(t, dir, "plain", nil, "GOARCH=amd64", "GOAMD64=v1")
	for name, build := range map[string]struct {
		runner []string
		env    []string
	}{
		"amd64 v3": {nil, []string{"GOARCH=amd64", "GOAMD64=v3"}},
		"arm64":    {[]string{"qemu-aarch64"}, []string{"GOARCH=arm64"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := outputsOf(t, t.TempDir(), "other", build.runner, build.env...)
			for part, want := range base {
				if part == "out.json" {
					continue
				}
				if !bytes.Equal(got[part], want) {
					t.Errorf("%s is not the same", part)
				}
			}
			if len(got) != len(base) {
				t.Errorf("%d parts, want %d", len(got), len(base))
			}
			var ours, theirs any
			for data, tree := range map[*any][]byte{&ours: base["out.json"], &theirs: got["out.json"]} {
				if err := json.Unmarshal(tree, data); err != nil {
					t.Fatal(err)
				}
			}
			t.Logf("%d numbers of the JSON differ in their last digits", nearlyEqual(t, "", ours, theirs))
		})
	}
}

// outputsOf builds the program, runs it on the example and gives its outputs,
// the workbook part by part.
func outputsOf(t *testing.T, dir, name string, runner []string, env ...string) map[string][]byte {
	t.Helper()
	program := filepath.Join(dir, name)
	build := exec.Command("go", "build", "-buildvcs=false", "-o", program, ".")
	build.Env = append(os.Environ(), append(env, "GOOS=linux", "CGO_ENABLED=0")...)
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, said)
	}
	args := append(runner[:len(runner):len(runner)], program, "estimate", "../../testdata/surveys/campaign.csv", "-q", "--vary",
		"-o", filepath.Join(dir, "out.xlsx"), "--json", filepath.Join(dir, "out.json"), "--order-csv", filepath.Join(dir, "order.csv"))
	if said, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", name, err, said)
	}
	parts := map[string][]byte{}
	for _, plain := range []string{"out.json", "order.csv"} {
		data, err := os.ReadFile(filepath.Join(dir, plain))
		if err != nil {
			t.Fatal(err)
		}
		parts[plain] = data
	}
	book, err := zip.OpenReader(filepath.Join(dir, "out.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	for _, f := range book.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if parts["out.xlsx/"+f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return parts
}

// nearlyEqual holds one JSON value against another and counts the numbers that
// differ in digits that do not matter.
func nearlyEqual(t *testing.T, at string, want, got any) (off int) {
	t.Helper()
	switch want := want.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok || len(object) != len(want) {
			t.Fatalf("%s: %v, want %v", at, got, want)
		}
		for key, v := range want {
			off += nearlyEqual(t, at+"/"+key, v, object[key])
		}
	case []any:
		list, ok := got.([]any)
		if !ok || len(list) != len(want) {
			t.Fatalf("%s: %v, want %v", at, got, want)
		}
		for i, v := range want {
			off += nearlyEqual(t, fmt.Sprint(at, "/", i), v, list[i])
		}
	case float64:
		number, ok := got.(float64)
		if !ok || math.Abs(number-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s: %v, want %v", at, got, want)
		} else if number != want {
			off++
		}
	default:
		if got != want {
			t.Errorf("%s: %v, want %v", at, got, want)
		}
	}
	return off
}
