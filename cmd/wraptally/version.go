package main

import (
	"embed"
	"fmt"
	"io"
	"io/fs"
	"path"
	"runtime/debug"
	"slices"
	"strings"
)

// notices holds, by module path, the licence files of what is linked into the
// program: the modules and, under go, the standard library. A test compares
// them with the modules themselves.
//
//go:embed notices
var notices embed.FS

// runVersion tells what this program was built from, or with --notices under
// which licences.
func runVersion(args []string, out, _ io.Writer) error {
	f := newFlags("version", "version [--notices]", out)
	var all bool
	f.BoolVar(&all, "notices", false, "print the licences of the modules linked into the program")
	if err := parse(f, args, 0, 0, "no arguments"); err != nil {
		return err
	}
	if all {
		return printNotices(out)
	}
	printVersion(out, build())
	return nil
}

// build is what the linker recorded of this program; nothing where it was built
// without a module.
func build() *debug.BuildInfo {
	if info, ok := debug.ReadBuildInfo(); ok {
		return info
	}
	return &debug.BuildInfo{}
}

// version is the module's version as recorded in the binary.
func version() string { return versionOf(build()) }

func versionOf(info *debug.BuildInfo) string {
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	return "built from source"
}

// printVersion prints version, commit, compiler and the modules linked.
func printVersion(out io.Writer, info *debug.BuildInfo) {
	fmt.Fprintln(out, "wraptally", versionOf(info))
	commit, state := "not recorded in this build", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			state = ", with changes that are not in it"
		}
	}
	fmt.Fprintf(out, "commit %s%s\n", commit, state)
	fmt.Fprintln(out, "built with", info.GoVersion)
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		fmt.Fprintln(out, "module", m.Path, m.Version)
	}
}

// printNotices prints every licence once, headed by all that is under it.
func printNotices(out io.Writer) error {
	var texts []string
	under := map[string][]string{}
	err := fs.WalkDir(notices, "notices", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(notices, name)
		if err != nil {
			return err
		}
		text := string(data)
		if !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
		under[text] = append(under[text], strings.TrimPrefix(path.Dir(name), "notices/")+" ("+path.Base(name)+")")
		return nil
	})
	if err != nil {
		return err
	}
	for _, text := range texts {
		if _, err := fmt.Fprintf(out, "== %s\n\n%s\n", strings.Join(under[text], "\n== "), strings.TrimRight(text, "\r\n")+"\n"); err != nil {
			return err
		}
	}
	return nil
}
