package exchange

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/flate"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"
	"time"

	"thwart"
	"thwart/refdata"
)

// Names and limits of an archive.
const (
	ArchiveFormat = "thwart-archive"
	// ArchiveVersion 2 brought pictures; version 1 is read too.
	ArchiveVersion = 2

	manifestName = "manifest.json"
	entriesName  = "entries.jsonl"
	readmeName   = "README.txt"
	picturesDir  = "pictures/"

	maxManifestBytes = 1 << 20
	maxLineBytes     = 8*thwart.MaxEntryBytes + 64<<10 // a body twice, once with its marks spelt out
	// MaxArchiveUnpacked is what an archive may come to when unpacked. It is read a line at a time, so this bounds time.
	MaxArchiveUnpacked = 64 << 30
)

// ArchiveFile is one file of an archive.
type ArchiveFile struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	Lines  int64  `json:"lines,omitempty"`
}

// Manifest says what an archive holds.
type Manifest struct {
	Format   string                `json:"format"`
	Version  int                   `json:"version"`
	MadeAt   time.Time             `json:"madeAt"`
	App      string                `json:"app"` // version of the program that made it
	Entries  int64                 `json:"entries"`
	Kinds    map[thwart.Kind]int64 `json:"kinds"`
	Files    []ArchiveFile         `json:"files"`
	Pictures int64                 `json:"pictures"` // each a file that is named by its SHA-256
	Excluded []string              `json:"excluded"`
}

// Keeper is what a whole programme is read from and put into.
type Keeper interface {
	thwart.Store
	thwart.Pictures
}

const readme = `A whole programme as Thwart keeps it.

entries.jsonl  every entry, one JSON object a line, in the order of arrival: first versions, corrections and removals alike.
pictures/      every picture, named by the SHA-256 of its bytes.
manifest.json  how many of each kind, and the size and SHA-256 of the other files.

Accounts, devices, invites and the audit trail are not in here: the installation that loads this has its own. Nor is the key
that registrations are hashed with.
Names of people who work for the programme are in here, and so are planted objects: keep it like the records.
`

// WriteArchive writes a whole programme as a zip file that [LoadArchive] reads. madeAt and app are written into the manifest.
func WriteArchive(ctx context.Context, w io.Writer, store Keeper, madeAt time.Time, app string) (Manifest, error) {
	m := Manifest{Format: ArchiveFormat, Version: ArchiveVersion, MadeAt: madeAt.UTC(), App: app, Kinds: map[thwart.Kind]int64{},
		Excluded: []string{"accounts", "devices", "invites", "audit", "refusals", "jobs"}}
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.DefaultCompression) })

	add := func(name string, fill func(io.Writer) (lines int64, err error)) error {
		part, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: madeAt.UTC()})
		if err != nil {
			return err
		}
		c := &counter{w: part, h: sha256.New()}
		lines, err := fill(c)
		if err != nil {
			return err
		}
		m.Files = append(m.Files, ArchiveFile{Name: name, Bytes: c.n, SHA256: hex.EncodeToString(c.h.Sum(nil)), Lines: lines})
		return nil
	}
	err := add(readmeName, func(w io.Writer) (int64, error) {
		_, err := io.WriteString(w, readme)
		return 0, err
	})
	if err != nil {
		return m, err
	}
	err = add(entriesName, func(w io.Writer) (int64, error) {
		n, err := writeLines(ctx, w, store, func(k thwart.Kind) { m.Kinds[k]++ })
		m.Entries = n
		return n, err
	})
	if err != nil {
		return m, err
	}
	if m.Pictures, err = writePictures(ctx, z, store, madeAt); err != nil {
		return m, err
	}
	part, err := z.CreateHeader(&zip.FileHeader{Name: manifestName, Method: zip.Deflate, Modified: madeAt.UTC()})
	if err != nil {
		return m, err
	}
	e := json.NewEncoder(part)
	e.SetIndent("", "  ")
	if err := e.Encode(m); err != nil {
		return m, err
	}
	return m, z.Close()
}

type counter struct {
	w io.Writer
	h hash.Hash
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += int64(n)
	c.h.Write(p[:n])
	return n, err
}

// ArchiveError says what is wrong with an archive. Nothing of it is to be loaded.
type ArchiveError struct {
	Where string // file and line
	What  string
}

// Error gives the message a person acts on.
func (e *ArchiveError) Error() string {
	return fmt.Sprintf("the archive cannot be loaded: %s: %s; accepted: an archive as Thwart wrote it, whole and unchanged", e.Where, e.What)
}

// ReadArchive checks an archive through and through, without keeping anything: the names of its files (no others, no paths),
// their sizes and sums against the manifest, every entry, and the counts. Then it gives every entry to do, in order, reading
// the archive a second time; do is not called at all when anything is wrong. With do nil it only checks.
//
// A water that names an organism that the library does not know is refused by [thwart.FieldErrors] with its line.
//
// What a newer program added to a body is passed on as it is. Pictures are held against their hashes and given to see, where
// it is not nil, before any entry.
func ReadArchive(ctx context.Context, r io.ReaderAt, size int64, see func(thwart.Picture) error, do func(thwart.Kept) error) (Manifest, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return Manifest{}, &ArchiveError{"the file", "it is not a zip file or is cut off (" + err.Error() + ")"}
	}
	parts := map[string]*zip.File{}
	var pictures []*zip.File
	seen := map[string]bool{}
	for _, f := range z.File {
		switch {
		case isPicture(f.Name):
			pictures = append(pictures, f)
			if seen[f.Name] {
				return Manifest{}, &ArchiveError{f.Name, "it is there twice"}
			}
			seen[f.Name] = true
			continue
		case !slices.Contains([]string{manifestName, entriesName, readmeName}, f.Name):
			return Manifest{}, &ArchiveError{fmt.Sprintf("%q", clip(f.Name)), "no such file belongs into an archive"}
		case parts[f.Name] != nil:
			return Manifest{}, &ArchiveError{f.Name, "it is there twice"}
		case !f.Mode().IsRegular():
			return Manifest{}, &ArchiveError{f.Name, "it is no regular file"}
		case f.UncompressedSize64 > MaxArchiveUnpacked:
			return Manifest{}, &ArchiveError{f.Name, fmt.Sprintf("it unpacks to more than %d GB", MaxArchiveUnpacked>>30)}
		}
		parts[f.Name] = f
	}
	m, err := readManifest(parts)
	if err != nil {
		return m, err
	}
	if int64(len(pictures)) != m.Pictures {
		return m, &ArchiveError{picturesDir, fmt.Sprintf("%d pictures, the manifest says %d", len(pictures), m.Pictures)}
	}
	for _, f := range pictures {
		if _, err := readPicture(ctx, f); err != nil {
			return m, err
		}
	}
	kinds := map[thwart.Kind]int64{}
	for _, want := range m.Files {
		if want.Name != entriesName {
			if err := sumOf(parts[want.Name], want); err != nil {
				return m, err
			}
			continue
		}
		strange := strangers{superseded: map[string]bool{}}
		lines, err := entriesOf(ctx, parts[entriesName], want, func(k thwart.Kept) error {
			kinds[k.Kind]++
			return strange.look(&k)
		})
		if err != nil {
			return m, err
		}
		if lines != m.Entries || lines != want.Lines {
			return m, &ArchiveError{entriesName, fmt.Sprintf("%d entries, the manifest says %d", lines, m.Entries)}
		}
		if err := strange.err(); err != nil {
			return m, err
		}
	}
	for k, n := range m.Kinds {
		if kinds[k] != n {
			return m, &ArchiveError{entriesName, fmt.Sprintf("%d entries of %s, the manifest says %d", kinds[k], clip(string(k)), n)}
		}
	}
	if do == nil {
		return m, nil
	}
	if see != nil {
		for _, f := range pictures {
			p, err := readPicture(ctx, f)
			if err == nil {
				err = see(p)
			}
			if err != nil {
				return m, err
			}
		}
	}
	i := slices.IndexFunc(m.Files, func(f ArchiveFile) bool { return f.Name == entriesName })
	_, err = entriesOf(ctx, parts[entriesName], m.Files[i], do)
	return m, err
}

// strangers finds waters that name an organism that the library does not know: no craft that comes from such a water can be judged. A
// version that another one of the archive supersedes is history and is taken as it is.
type strangers struct {
	line       int // of the entry that was looked at last
	found      []stranger
	superseded map[string]bool
}

type stranger struct {
	entry string
	what  thwart.FieldError
}

// look notes the organisms of the next entry.
func (s *strangers) look(k *thwart.Kept) error {
	s.line++
	if k.Kind != thwart.KindWater {
		return nil
	}
	s.superseded[k.Supersedes] = true
	if k.Removed || len(k.Body) == 0 {
		return nil
	}
	var water struct{ Statuses []struct{ Organism string } } // of a newer program's body too
	if err := json.Unmarshal(k.Body, &water); err != nil {
		return &ArchiveError{fmt.Sprintf("%s, line %d", entriesName, s.line), "body: " + err.Error()}
	}
	for i, status := range water.Statuses {
		if hint, ok := refdata.KnownOrganism(status.Organism); !ok {
			s.found = append(s.found, stranger{k.ID, thwart.FieldError{
				Field: fmt.Sprintf("%s, line %d: body.statuses[%d].organism", entriesName, s.line, i), Value: clip(status.Organism),
				Accepted: "the id of an organism of the library, as thwart organisms lists them" + hint,
			}})
		}
	}
	return nil
}

// err names every stranger of a water as it stands.
func (s *strangers) err() error {
	var errs thwart.FieldErrors
	for _, f := range s.found {
		if !s.superseded[f.entry] {
			errs = append(errs, f.what)
		}
	}
	if len(errs) == 0 {
		return nil
	}
	return errs
}

func readManifest(parts map[string]*zip.File) (m Manifest, err error) {
	f := parts[manifestName]
	if f == nil || parts[entriesName] == nil {
		return m, &ArchiveError{"the file", "manifest.json or entries.jsonl is missing"}
	}
	in, err := f.Open()
	if err != nil {
		return m, &ArchiveError{manifestName, err.Error()}
	}
	text, err := io.ReadAll(io.LimitReader(in, maxManifestBytes+1))
	if err = errors.Join(err, in.Close()); err != nil {
		return m, &ArchiveError{manifestName, err.Error()}
	}
	if len(text) > maxManifestBytes {
		return m, &ArchiveError{manifestName, "it is too large"}
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, &ArchiveError{manifestName, err.Error()}
	}
	if m.Format != ArchiveFormat || m.Version < 1 || m.Version > ArchiveVersion {
		return m, &ArchiveError{manifestName, fmt.Sprintf("format %q, version %d; this program reads %s up to version %d", clip(m.Format), m.Version, ArchiveFormat, ArchiveVersion)}
	}
	listed := map[string]bool{}
	for _, want := range m.Files {
		if parts[want.Name] == nil || want.Name == manifestName || listed[want.Name] {
			return m, &ArchiveError{manifestName, fmt.Sprintf("it lists %q, which is not there once", clip(want.Name))}
		}
		listed[want.Name] = true
		if want.Bytes < 0 || uint64(want.Bytes) != parts[want.Name].UncompressedSize64 {
			return m, &ArchiveError{want.Name, fmt.Sprintf("%d bytes, the manifest says %d", parts[want.Name].UncompressedSize64, want.Bytes)}
		}
	}
	for name := range parts {
		if name != manifestName && !listed[name] {
			return m, &ArchiveError{name, "the manifest does not list it"}
		}
	}
	return m, nil
}

func sumOf(f *zip.File, want ArchiveFile) error {
	in, err := f.Open()
	if err != nil {
		return &ArchiveError{want.Name, err.Error()}
	}
	h := sha256.New()
	_, err = io.Copy(h, io.LimitReader(in, want.Bytes+1))
	if err = errors.Join(err, in.Close()); err != nil {
		return &ArchiveError{want.Name, err.Error()}
	}
	if got := hex.EncodeToString(h.Sum(nil)); got != want.SHA256 {
		return &ArchiveError{want.Name, "its SHA-256 is not the one in the manifest: it was changed or damaged"}
	}
	return nil
}

// entriesOf reads entries a line at a time and checks each and the sum of all.
func entriesOf(ctx context.Context, f *zip.File, want ArchiveFile, do func(thwart.Kept) error) (lines int64, err error) {
	in, err := f.Open()
	if err != nil {
		return 0, &ArchiveError{entriesName, err.Error()}
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	h := sha256.New()
	scan := bufio.NewScanner(io.TeeReader(in, h))
	scan.Buffer(make([]byte, 64<<10), maxLineBytes)
	scan.Split(scanWholeLines)
	for scan.Scan() {
		if lines++; lines%1000 == 0 && ctx.Err() != nil {
			return lines, ctx.Err()
		}
		where := fmt.Sprintf("%s, line %d", entriesName, lines)
		k, err := keptOf(scan.Bytes())
		if err != nil {
			return lines, &ArchiveError{where, err.Error()}
		}
		if err := k.Validate(); err != nil {
			return lines, &ArchiveError{where, strings.ReplaceAll(err.Error(), "\n", "; ")}
		}
		if err := do(k); err != nil {
			return lines, err
		}
	}
	if err := scan.Err(); err != nil {
		return lines, &ArchiveError{entriesName, err.Error()}
	}
	if got := hex.EncodeToString(h.Sum(nil)); got != want.SHA256 {
		return lines, &ArchiveError{entriesName, "its SHA-256 is not the one in the manifest: it was changed or damaged"}
	}
	return lines, nil
}

// scanWholeLines is bufio.ScanLines for lines that end in a line feed alone: a carriage return is part of the line.
func scanWholeLines(data []byte, atEOF bool) (int, []byte, error) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return i + 1, data[:i], nil
	}
	if atEOF && len(data) > 0 {
		return len(data), data, nil
	}
	return 0, nil, nil
}

// Receipt says what became of entries that were put.
type Receipt struct {
	Stored  int64 `json:"stored"`
	Had     int64 `json:"had"`
	Refused int64 `json:"refused"`
	// Pictures counts those that were not there before.
	Pictures int64              `json:"pictures,omitempty"`
	Why      []thwart.PutAnswer `json:"why,omitempty"` // of the first refusals, at most a hundred
}

func (r *Receipt) add(answers []thwart.PutAnswer) {
	for _, a := range answers {
		switch a.Result {
		case thwart.Stored:
			r.Stored++
		case thwart.Had:
			r.Had++
		default:
			if r.Refused++; len(r.Why) < 100 {
				r.Why = append(r.Why, a)
			}
		}
	}
}

// LoadArchive checks an archive and then puts its entries, a batch at a time. Loading it again changes nothing. An entry
// whose id the store has with other words is refused and listed; the store's stays. When a put fails, what was put before
// stays, and loading again goes on from there.
func LoadArchive(ctx context.Context, r io.ReaderAt, size int64, store Keeper) (Manifest, Receipt, error) {
	var receipt Receipt
	batch := make([]thwart.Kept, 0, pageSize)
	flush := func() error {
		if len(batch) == 0 {
			return nil
		}
		answers, err := store.Put(ctx, batch)
		if err != nil {
			return err
		}
		receipt.add(answers)
		batch = make([]thwart.Kept, 0, pageSize)
		return nil
	}
	see := func(p thwart.Picture) error {
		had, err := store.PutPicture(ctx, p)
		if err == nil && !had {
			receipt.Pictures++
		}
		return err
	}
	m, err := ReadArchive(ctx, r, size, see, func(k thwart.Kept) error {
		k.Cursor = 0 // the order of arrival is each store's own
		if batch = append(batch, k); len(batch) < pageSize {
			return nil
		}
		return flush()
	})
	if err != nil {
		return m, receipt, err
	}
	return m, receipt, flush()
}

// Keep puts the entries of a plan, all in one transaction, as received at a moment: where it fails, nothing of the plan is kept.
// Doing it again changes nothing.
func (p *Plan) Keep(ctx context.Context, store thwart.Store, receivedAt time.Time) (Receipt, error) {
	var receipt Receipt
	batch := make([]thwart.Kept, len(p.Entries))
	for i, e := range p.Entries {
		batch[i] = thwart.Kept{Entry: e, ReceivedAt: receivedAt}
	}
	answers, err := store.Put(ctx, batch)
	if err == nil {
		receipt.add(answers)
	}
	return receipt, err
}
