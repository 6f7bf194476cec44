package catalog

import (
	"encoding/json"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// Every setting and every column is read somewhere, outside the tests and
// (for a setting) outside the checks of the catalogue: there is no setting that
// does nothing and no column that is filled in for nothing. A setting that is
// read exists, since it is a field. What only says where a value comes from is
// for the reader of the table.
func TestNothingIsDeclaredForNothing(t *testing.T) {
	read := fieldsRead(t)
	forReaders := map[string]bool{"basis": true, "source": true, "note": true, "meaning": true, "verified": true}
	for _, f := range settingFields {
		if field := reflect.TypeFor[Settings]().Field(f.index).Name; !read["Settings."+field] {
			t.Errorf("the setting %s is never read", f.name)
		}
	}
	holder := reflect.TypeFor[Catalog]()
	for i := range tables {
		row := holder.Field(tables[i].field).Type.Elem()
		for _, col := range tables[i].cols {
			if field := row.Field(col.field).Name; !read[row.Name()+"."+field] && !forReaders[col.name] {
				t.Errorf("the column %s of %s is never read", col.name, tables[i].name)
			}
		}
	}
}

// fieldsRead is the fields of this package's structs, as Type.Field, that the
// module selects in any package, its tests left out.
func fieldsRead(t *testing.T) map[string]bool {
	t.Helper()
	out, err := exec.Command("go", "list", "-deps", "-export", "-json=ImportPath,Dir,GoFiles,Export,Module", "wraptally/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	type pkg struct {
		ImportPath, Dir, Export string
		GoFiles                 []string
		Module                  *struct{ Main bool }
	}
	exports := map[string]string{}
	var own []pkg
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := dec.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		exports[p.ImportPath] = p.Export
		if p.Module != nil && p.Module.Main {
			own = append(own, p)
		}
	}
	fset := token.NewFileSet()
	imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	read := map[string]bool{}
	for _, p := range own {
		var files []*ast.File
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
		info := &types.Info{Selections: map[*ast.SelectorExpr]*types.Selection{}}
		conf := types.Config{Importer: imports}
		if _, err := conf.Check(p.ImportPath, fset, files, info); err != nil {
			t.Fatal(err)
		}
		for at, s := range info.Selections {
			if strings.HasPrefix(filepath.Base(fset.Position(at.Pos()).Filename), "check") && s.Recv().String() == "wraptally/catalog.Settings" {
				continue
			}
			recv := s.Recv()
			if ptr, ok := recv.(*types.Pointer); ok {
				recv = ptr.Elem()
			}
			if named, ok := recv.(*types.Named); ok && s.Kind() == types.FieldVal && named.Obj().Pkg().Path() == "wraptally/catalog" {
				read[named.Obj().Name()+"."+s.Obj().Name()] = true
			}
		}
	}
	if len(own) < 10 || !read["Settings.Overlap"] {
		t.Fatalf("%d packages read, %d fields: the search does not work", len(own), len(read))
	}
	return read
}
