package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/export"
	"wraptally/export/file"
)

// runCatalog writes the built-in tables into a folder for editing.
func runCatalog(args []string, out, _ io.Writer) error {
	f := newFlags("catalog", `catalog -o DIR|FILE.xlsx [--catalog DIR|FILE.xlsx] [--overwrite]
  wraptally catalog --check DIR|FILE.xlsx

A firm with a handful of products fills products.csv, or the sheet products, alone: a row is an
item with its supplier, article, pack, price and the columns of its kind. For each kind that has a
row there the built-in products go; the other products and the rules stay. Rows marked as examples
are not read. README.md of the folder and the comments of the workbook tell the columns.`, out)
	var dir, check, from string
	var overwrite bool
	f.StringVar(&check, "check", "", "read the catalogue in `DIR`, or a workbook, and tell everything that is wrong or odd in it")
	f.StringVarP(&dir, "output", "o", "", "`DIR` to write the tables into, or a workbook FILE.xlsx with a sheet for each")
	f.StringVar(&from, "catalog", "", "write the firm's own catalogue in `DIR`, or a workbook, with its columns, sheets and files, and the built-in tables for those that it leaves out")
	f.BoolVar(&overwrite, "overwrite", false, "replace tables that are there already")
	if err := parse(f, args, 0, 0, "no arguments"); err != nil {
		return err
	}
	if check != "" && dir == "" {
		return checkCatalog(check, out)
	}
	if dir == "" || check != "" {
		return badUsage("write 'wraptally catalog -o DIR' or 'wraptally catalog --check DIR'", "catalog needs a folder to write into, or one to check")
	}
	if strings.EqualFold(filepath.Ext(dir), ".xlsx") {
		if _, err := os.Lstat(dir); err == nil && !overwrite {
			return withHint(fmt.Errorf("%s is there already", dir), "give --overwrite to replace it")
		}
		if err := file.Replace(dir, nil, func(w io.Writer) error { return catalog.WriteWorkbook(w, from) }); err != nil {
			return err
		}
	} else if err := writeTables(dir, from, overwrite); err != nil {
		return err
	}
	if from != "" {
		fmt.Fprintf(out, "written: the catalogue %s, in %s, with the built-in tables for those that it leaves out\n", from, dir)
		return nil
	}
	fmt.Fprintf(out, "written: the built-in tables, in %s\nTheir products, prices and suppliers are invented. Edit them, delete those you keep as they are,\nand use them with --catalog %s\n", dir, dir)
	return nil
}

// checkCatalog tells everything that there is to say of a catalogue.
func checkCatalog(dir string, out io.Writer) error {
	said, invented, refused, err := catalog.Check(catalog.Options{Dir: dir})
	if err != nil {
		return err
	}
	for _, q := range said {
		fmt.Fprintln(out, q)
	}
	if refused > 0 {
		return withHint(fmt.Errorf("the catalogue %s is refused for %d faults", dir, refused), "mend what is marked stop; what is marked ask or note does not refuse it")
	}
	fmt.Fprintf(out, "%s can be used: %d questions or notes\n", dir, len(said))
	if len(invented) > 0 {
		fmt.Fprintf(out, "invented values of the built-in catalogue are still in use in: %s\n", strings.Join(invented, ", "))
	}
	return nil
}

// writeTables writes the built-in tables and their README into a folder; where
// one of them is there already and may not be replaced, none is written.
func writeTables(dir, from string, overwrite bool) error {
	files, err := catalog.Files(from)
	if err != nil {
		return err
	}
	return writeFiles(dir, files, overwrite)
}

// runFields lists the survey's own headings.
func runFields(args []string, out, _ io.Writer) error {
	f := newFlags("fields", "fields [--json]", out)
	var schema bool
	f.BoolVar(&schema, "json", false, "as a Table Schema, by which a survey can be checked before it is sent")
	if err := parse(f, args, 0, 0, "no arguments"); err != nil {
		return err
	}
	if schema {
		return export.TableSchema(out)
	}
	fmt.Fprintf(out, "%-22s %-9s %s\n", "heading", "required", "meaning, example")
	for _, fd := range survey.Fields() {
		fmt.Fprintf(out, "%-22s %-9s %s, %s\n", fd.Heading, fd.Required, fd.Meaning, fd.Example)
	}
	fmt.Fprintf(out, "\n%-34s %-5s %s\n", "query raised by a survey", "usual", "meaning")
	for _, c := range survey.Codes() {
		fmt.Fprintf(out, "%-34s %-15s %s\n", c.Code, c.Severity.Words(), c.Meaning)
	}
	return nil
}

// runForm writes an empty survey to be filled in.
func runForm(args []string, out, _ io.Writer) error {
	f := newFlags("form", "form -o FORM.xlsx", out)
	var path string
	f.StringVarP(&path, "output", "o", "", "write the empty survey to `FILE`.xlsx")
	if err := parse(f, args, 0, 0, "no arguments"); err != nil {
		return err
	}
	if path == "" {
		return badUsage("write 'wraptally form -o FORM.xlsx'", "form needs a workbook to write")
	}
	if err := checkBookName(path); err != nil {
		return err
	}
	if _, err := os.Lstat(path); err == nil {
		return withHint(fmt.Errorf("%s is there already", path), "it may hold a survey; give another name")
	}
	if err := file.Replace(path, nil, export.Form); err != nil {
		return err
	}
	fmt.Fprintln(out, "written:", path)
	return nil
}

// runSchema prints the form of the JSON that estimate writes.
func runSchema(args []string, out, _ io.Writer) error {
	f := newFlags("schema", "schema", out)
	if err := parse(f, args, 0, 0, "no arguments"); err != nil {
		return err
	}
	_, err := io.WriteString(out, export.SchemaText)
	return err
}
