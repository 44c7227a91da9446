package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/constant"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"thwart/advice"
	"thwart/refdata"
)

// message is one text of the engine for the translator.
type message struct {
	Text string   `json:"text"`
	At   []string `json:"at"` // files of the source, or tables of the data library, that say it
}

// messages gathers every text that the engine of a phone may say: constants of the message types, what errors accept, and the words of the
// data library. They come in the order of the source, so that sentences of one matter stand together.
type messages struct {
	list []message
	at   map[string]int // index by text
	errs []error
}

func (m *messages) add(text, where string) {
	if !strings.ContainsFunc(strings.Join(holes.Split(text, -1), ""), isLetter) {
		return // nothing to translate
	}
	i, ok := m.at[text]
	if !ok {
		i = len(m.list)
		m.at[text] = i
		m.list = append(m.list, message{Text: text})
	}
	if !slices.Contains(m.list[i].At, where) {
		m.list[i].At = append(m.list[i].At, where)
	}
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }

// holes finds the names of values in an English text.
var holes = regexp.MustCompile(`\{(\w+)[,}]`)

func engineMessages(root string) ([]byte, error) {
	m := &messages{at: map[string]int{}}
	if err := m.source(root); err != nil {
		return nil, err
	}
	m.library()
	if err := errors.Join(m.errs...); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(m.list)
	return b.Bytes(), err
}

// sourcePackage is what go list says of a package.
type sourcePackage struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
}

// source reads the packages that make up a phone's engine, types and all.
func (m *messages) source(root string) error {
	cmd := exec.Command("go", "list", "-deps", "-export", "-json=ImportPath,Dir,GoFiles,Export", "./phone")
	cmd.Dir, cmd.Stderr = root, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return fmt.Errorf("listing the packages of the engine: %w", err)
	}
	var ours []sourcePackage
	exports := map[string]string{}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p sourcePackage
		if err := d.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		exports[p.ImportPath] = p.Export
		if p.ImportPath == "thwart" || strings.HasPrefix(p.ImportPath, "thwart/") {
			ours = append(ours, p)
		}
	}
	slices.SortFunc(ours, func(a, b sourcePackage) int { return strings.Compare(a.ImportPath, b.ImportPath) })
	fset := token.NewFileSet()
	compiled := importer.ForCompiler(fset, "gc", func(name string) (io.ReadCloser, error) { return os.Open(exports[name]) })
	for _, p := range ours {
		if err := m.pkg(fset, compiled, p); err != nil {
			return fmt.Errorf("%s: %w", p.ImportPath, err)
		}
	}
	return nil
}

func (m *messages) pkg(fset *token.FileSet, compiled types.Importer, p sourcePackage) error {
	files := make([]*ast.File, len(p.GoFiles))
	for i, name := range p.GoFiles {
		f, err := parser.ParseFile(fset, filepath.Join(p.Dir, name), nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		files[i] = f
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}}
	if _, err := (&types.Config{Importer: compiled}).Check(p.ImportPath, fset, files, info); err != nil {
		return err
	}
	dir := strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, "thwart"), "/")
	for i, f := range files {
		at := path.Join(dir, p.GoFiles[i])
		ast.Inspect(f, func(n ast.Node) bool {
			switch x := n.(type) {
			case *ast.CallExpr:
				m.call(info, x, fset.Position(x.Pos()), at)
			case *ast.KeyValueExpr:
				if k, ok := x.Key.(*ast.Ident); ok && (k.Name == "Accepted" || k.Name == "Hint") {
					m.accepted(info.Types[x.Value], at)
				}
			case ast.Expr:
				if tv := info.Types[x]; tv.Value != nil && isMessage(tv.Type) {
					m.add(constant.StringVal(tv.Value), at)
					return false // parts of one text
				}
			}
			return true
		})
	}
	return nil
}

func isMessage(t types.Type) bool {
	named, ok := types.Unalias(t).(*types.Named)
	if !ok || named.Obj().Pkg() == nil || named.Obj().Pkg().Path() != "thwart/tongue" {
		return false
	}
	return named.Obj().Name() == "Text" || named.Obj().Name() == "Error"
}

// accepted takes what a field accepts, where it is said in words; such texts are looked up when the error leaves the engine.
func (m *messages) accepted(tv types.TypeAndValue, at string) {
	if at := path.Dir(at); at == "refdata" || strings.HasPrefix(at, "engine") { // a fault of the build or of the engine, which no steward can mend
		return
	}
	if tv.Value == nil || tv.Value.Kind() != constant.String || isMessage(tv.Type) {
		return
	}
	if s := constant.StringVal(tv.Value); strings.Contains(s, " ") && !lists.MatchString(s) {
		m.add(s, at)
	}
}

// lists are words of the wire, which are accepted as they stand in every language.
var lists = regexp.MustCompile(`^[a-z_0-9]+(, [a-z_0-9]+)+$`)

// call looks at what a call says: a text must get as many values as it names, and a parameter called accepted takes a message.
func (m *messages) call(info *types.Info, x *ast.CallExpr, pos token.Position, at string) {
	sig, ok := info.Types[x.Fun].Type.(*types.Signature)
	if !ok {
		return
	}
	for i := range min(sig.Params().Len(), len(x.Args)) {
		if sig.Params().At(i).Name() == "accepted" {
			m.accepted(info.Types[x.Args[i]], at)
		}
	}
	sel, ok := x.Fun.(*ast.SelectorExpr)
	if !ok || x.Ellipsis.IsValid() || len(x.Args) == 0 {
		return
	}
	f, ok := info.Uses[sel.Sel].(*types.Func)
	if !ok || f.FullName() != "thwart/tongue.Say" {
		return
	}
	tv := info.Types[x.Args[0]]
	if tv.Value == nil {
		return // a text of a table
	}
	var names []string
	for _, h := range holes.FindAllStringSubmatch(constant.StringVal(tv.Value), -1) {
		if !slices.Contains(names, h[1]) {
			names = append(names, h[1])
		}
	}
	if len(names) != len(x.Args)-1 {
		m.errs = append(m.errs, fmt.Errorf("%s:%d: %q names %d values and gets %d", at, pos.Line, constant.StringVal(tv.Value), len(names), len(x.Args)-1))
	}
}

// library takes the words of the data library that the engine says by [tongue.Data].
func (m *messages) library() {
	in := func(table string) func(texts ...string) {
		return func(texts ...string) {
			for _, t := range texts {
				m.add(t, "refdata/data/"+table)
			}
		}
	}
	add := in("organisms.csv")
	for _, o := range refdata.Organisms() {
		add(o.Common)
		for _, st := range refdata.Stages(o.ID) {
			in("stages.csv")(strings.ReplaceAll(string(st.Name), "_", " "))
		}
	}
	add = in("craft_classes.csv")
	for _, c := range refdata.CraftClasses() {
		add(c.Name)
		add(c.Words...)
	}
	add = in("drives.csv")
	for _, d := range refdata.DriveFactsList() {
		add(d.Name, d.WhereWaterStays, d.Drain, d.Caution)
	}
	add = in("spaces.csv")
	for _, s := range refdata.SpaceFactsList() {
		add(s.Name, s.EmptyBy)
	}
	add = in("gear.csv")
	for _, g := range refdata.GearKinds() {
		add(g.Name)
		add(g.Words...)
	}
	add = in("places.csv")
	for _, p := range refdata.PlaceRows() {
		add(p.Name, p.Say, p.Start, p.Why)
	}
	add = in("round_cautions.csv")
	for _, c := range roundCautions() {
		add(c.Text)
	}
	add = in("safety.csv")
	for _, c := range refdata.Cautions() {
		add(c.Hazard, c.Text, c.DeferTo)
	}
	add = in("materials.csv")
	for _, l := range refdata.MaterialLimits() {
		add(l.Item, l.Unit)
	}
	add = in("carrying_priors.csv")
	for _, p := range refdata.CarryingPriors() {
		add(p.Derivation)
	}
	for _, p := range advice.Protocols() {
		add = in("protocols/" + p.ID + ".json")
		add(p.Title, p.TextDate, p.Summary)
		for i := range p.Powers {
			add(p.Powers[i].Note)
		}
		for i := range p.Dry {
			add(p.Dry[i].Kind, p.Dry[i].Note)
		}
		for i := range p.Chemicals {
			add(p.Chemicals[i].Agent, p.Chemicals[i].Strength, p.Chemicals[i].NotFor)
		}
	}
	add = in("dry_rules.csv")
	for _, profile := range refdata.DryProfiles() {
		add(strings.ReplaceAll(profile, "_", " "))
	}
	for _, k := range refdata.KnownMarkers {
		m.add(string(k), "refdata/sources.go")
	}
}
