package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
)

// comments holds the doc comments of types and of their fields: "thwart.Setup" and "thwart.Setup.Drives".
type comments map[string]string

// readComments gathers the comments of packages from their source.
func readComments(root string, packages ...string) (comments, error) {
	c := comments{}
	for _, pkg := range packages {
		dir := filepath.Join(root, filepath.FromSlash(pkgDir(pkg)))
		names, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
			if err != nil {
				return nil, err
			}
			c.file(pkg, f)
		}
	}
	return c, nil
}

func (c comments) file(pkg string, f *ast.File) {
	for _, d := range f.Decls {
		gen, ok := d.(*ast.GenDecl)
		if !ok || gen.Tok != token.TYPE {
			continue
		}
		for _, spec := range gen.Specs {
			t := spec.(*ast.TypeSpec)
			doc := t.Doc
			if doc == nil {
				doc = gen.Doc
			}
			c.put(pkg+"."+t.Name.Name, doc)
			s, ok := t.Type.(*ast.StructType)
			if !ok {
				continue
			}
			for _, field := range s.Fields.List {
				for _, name := range field.Names {
					c.put(pkg+"."+t.Name.Name+"."+name.Name, field.Doc, field.Comment)
				}
			}
		}
	}
}

func (c comments) put(name string, groups ...*ast.CommentGroup) {
	var parts []string
	for _, g := range groups {
		if text := strings.Join(strings.Fields(g.Text()), " "); text != "" {
			parts = append(parts, text)
		}
	}
	if len(parts) > 0 {
		c[name] = docLink.ReplaceAllString(strings.Join(parts, " "), "$1")
	}
}

// docLink is a link of a Go comment, such as [Case].
var docLink = regexp.MustCompile(`\[\*?([A-Za-z.]+)\]`)

// of gives the comment of a type or of one of its fields.
func (c comments) of(t reflect.Type, field string) string {
	name := t.PkgPath() + "." + t.Name()
	if field != "" {
		name += "." + field
	}
	return c[name]
}

// operationDocs reads what the operations of the phone's engine do: the comment before each is registered. They are no part of the program.
func operationDocs(root string) (map[string]string, error) {
	names, err := filepath.Glob(filepath.Join(root, "phone", "*.go"))
	if err != nil {
		return nil, err
	}
	docs := map[string]string{}
	for _, name := range names {
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, name, nil, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		ends := map[int]string{} // comments by the line on which they end
		for _, g := range f.Comments {
			ends[fset.Position(g.End()).Line] = strings.Join(strings.Fields(g.Text()), " ")
		}
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) != 2 {
				return true
			}
			fun, isName := call.Fun.(*ast.Ident)
			op, isText := call.Args[0].(*ast.BasicLit)
			if isName && isText && (fun.Name == "pure" || fun.Name == "add") {
				docs[strings.Trim(op.Value, `"`)] = ends[fset.Position(call.Pos()).Line-1]
			}
			return true
		})
	}
	return docs, nil
}
