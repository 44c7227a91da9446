package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
)

var errLayout = errors.New("the library writes files in another way than tags expect")

// structure appends the tree of tags to a finished file, as an incremental update (ISO 32000-1, 7.5.6): the catalog and the
// pages anew, then the pieces. The library that sets the pages knows no tags; its objects are found through its table of
// references, so that a change in its layout is an error and never a broken file.
func (d *Doc) structure(file []byte) ([]byte, error) {
	u := &update{file: file, d: d, offsets: map[int]int{}}
	if err := u.read(); err != nil {
		return nil, err
	}
	u.out.Write(file)
	u.number(d.root)
	u.parents = u.next()
	u.rootObject = u.next()
	u.links = u.size
	u.size += d.links
	for page := 1; page <= d.pages; page++ {
		if err := u.page(page); err != nil {
			return nil, err
		}
	}
	u.piece(d.root)
	u.tree()
	if err := u.catalogAnew(); err != nil {
		return nil, err
	}
	u.end()
	return u.out.Bytes(), nil
}

// update is a file being added to.
type update struct {
	file    []byte
	d       *Doc
	out     bytes.Buffer
	table   int // where the file's table of references begins
	at      []int
	offsets map[int]int // of the objects that are written here
	size    int         // number of the next new object
	catalog int
	info    int

	rootObject, parents, links int
}

func (u *update) next() int { u.size++; return u.size - 1 }

// read finds the table of references, which the library writes as one section.
func (u *update) read() error {
	i := bytes.LastIndex(u.file, []byte("startxref"))
	if i < 0 {
		return errLayout
	}
	if _, err := fmt.Sscanf(string(u.file[i:]), "startxref\n%d", &u.table); err != nil || u.table <= 0 || u.table >= i {
		return errLayout
	}
	if _, err := fmt.Sscanf(string(u.file[u.table:min(len(u.file), u.table+40)]), "xref\n0 %d", &u.size); err != nil {
		return errLayout
	}
	lines := bytes.Split(u.file[u.table:i], []byte("\n"))
	if len(lines) < u.size+2 {
		return errLayout
	}
	for _, l := range lines[2 : 2+u.size] {
		n, err := strconv.Atoi(string(l[:min(10, len(l))]))
		if err != nil || n >= len(u.file) {
			return errLayout
		}
		u.at = append(u.at, n)
	}
	for name, to := range map[string]*int{"/Root ": &u.catalog, "/Info ": &u.info} {
		_, after, ok := bytes.Cut(u.file[u.table:], []byte(name))
		if !ok {
			return errLayout
		}
		if _, err := fmt.Sscanf(string(after[:min(len(after), 20)]), "%d 0 R", to); err != nil || *to >= u.size {
			return errLayout
		}
	}
	return nil
}

// body is what stands in an object of the file that begins with a text.
func (u *update) body(object int, begins string) ([]byte, error) {
	if object >= len(u.at) {
		return nil, errLayout
	}
	head := fmt.Sprintf("%d 0 obj\n", object)
	rest := u.file[u.at[object]:]
	if !bytes.HasPrefix(rest, []byte(head)) {
		return nil, errLayout
	}
	rest = rest[len(head):]
	end := bytes.Index(rest, []byte("endobj"))
	if end < 0 || !bytes.HasPrefix(rest, []byte(begins)) {
		return nil, errLayout
	}
	return bytes.TrimSpace(rest[:end]), nil
}

func (u *update) object(n int, body string) {
	u.offsets[n] = u.out.Len()
	fmt.Fprintf(&u.out, "%d 0 obj\n%s\nendobj\n", n, body)
}

// pageObject is the object of a page: the library writes each page and then its content, from object 3.
func pageObject(page int) int { return 1 + 2*page }

const annotation = "<</Type /Annot "

// page writes a page anew with its place in the tree, and its links as objects of their own.
func (u *update) page(page int) error {
	body, err := u.body(pageObject(page), "<</Type /Page\n")
	if err != nil {
		return err
	}
	if list := u.d.linksOf[page]; len(list) > 0 {
		before, rest, ok := bytes.Cut(body, []byte("/Annots ["))
		inside, after, ok2 := bytes.Cut(rest, []byte("]\n"))
		parts := bytes.Split(inside, []byte(annotation))
		if !ok || !ok2 || len(parts) != len(list)+1 {
			return errLayout
		}
		refs := ""
		for i, l := range list {
			if l.of == nil {
				refs += annotation + string(parts[i+1]) + " "
				continue
			}
			n := u.links + l.number - 1
			u.object(n, fmt.Sprintf("%s/StructParent %d /F 4 %s", annotation, u.d.pages+l.number-1, parts[i+1]))
			refs += fmt.Sprintf("%d 0 R ", n)
		}
		body = fmt.Appendf(nil, "%s/Annots [%s]\n%s", before, refs, after)
	}
	const begins = "<</Type /Page\n"
	u.object(pageObject(page), fmt.Sprintf("%s/StructParents %d /Tabs /S\n%s", begins, page-1, body[len(begins):]))
	return nil
}

func (u *update) number(p *Piece) {
	p.objects = u.next()
	for _, k := range p.kids {
		if k.piece != nil {
			u.number(k.piece)
		}
	}
}

func (u *update) piece(p *Piece) {
	parent := u.rootObject
	if p.parent != nil {
		parent = p.parent.objects
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "<</Type /StructElem /S /%s /P %d 0 R", p.tag, parent)
	if p.alt != "" {
		b.WriteString(" /Alt " + textString(p.alt))
	}
	if p.scope != "" {
		fmt.Fprintf(&b, " /A <</O /Table /Scope /%s>>", p.scope)
	}
	if p.tag == Figure {
		fmt.Fprintf(&b, " /A <</O /Layout /Placement /Block /BBox [%.2f %.2f %.2f %.2f]>>", p.box[0], p.box[1], p.box[2], p.box[3])
	}
	b.WriteString(" /K [")
	for _, k := range p.kids {
		switch {
		case k.piece != nil:
			fmt.Fprintf(&b, "%d 0 R ", k.piece.objects)
		case k.link > 0:
			fmt.Fprintf(&b, "<</Type /OBJR /Pg %d 0 R /Obj %d 0 R>> ", pageObject(k.page), u.links+k.link-1)
		default:
			fmt.Fprintf(&b, "<</Type /MCR /Pg %d 0 R /MCID %d>> ", pageObject(k.page), k.mark)
		}
	}
	b.WriteString("]>>")
	u.object(p.objects, b.String())
	for _, k := range p.kids {
		if k.piece != nil {
			u.piece(k.piece)
		}
	}
}

// tree writes the root of the structure and the way back from pages and links to pieces.
func (u *update) tree() {
	var b bytes.Buffer
	b.WriteString("<</Nums [\n")
	for page := 1; page <= u.d.pages; page++ {
		fmt.Fprintf(&b, "%d [", page-1)
		for _, p := range u.d.marks[page] {
			fmt.Fprintf(&b, "%d 0 R ", p.objects)
		}
		b.WriteString("]\n")
	}
	for page := 1; page <= u.d.pages; page++ {
		for _, l := range u.d.linksOf[page] {
			if l.of != nil {
				u.linkKeys(&b, l)
			}
		}
	}
	b.WriteString("]>>")
	u.object(u.parents, b.String())
	u.object(u.rootObject, fmt.Sprintf("<</Type /StructTreeRoot /K [%d 0 R] /ParentTree %d 0 R /ParentTreeNextKey %d>>", u.d.root.objects, u.parents, u.d.pages+u.d.links))
}

func (u *update) linkKeys(b *bytes.Buffer, l link) {
	fmt.Fprintf(b, "%d %d 0 R\n", u.d.pages+l.number-1, l.of.objects)
}

func (u *update) catalogAnew() error {
	const begins = "<<\n/Type /Catalog\n"
	body, err := u.body(u.catalog, begins)
	if err != nil {
		return err
	}
	u.object(u.catalog, fmt.Sprintf("%s/Version /1.7 /MarkInfo <</Marked true>> /StructTreeRoot %d 0 R /ViewerPreferences <</DisplayDocTitle true>>\n%s", begins, u.rootObject, body[len(begins):]))
	return nil
}

// end writes the table of what was added.
func (u *update) end() {
	at := u.out.Len()
	u.out.WriteString("xref\n")
	for n := range u.size {
		if offset, ok := u.offsets[n]; ok {
			fmt.Fprintf(&u.out, "%d 1\n%010d 00000 n \n", n, offset)
		}
	}
	fmt.Fprintf(&u.out, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n/Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n", u.size, u.catalog, u.info, u.table, at)
}
