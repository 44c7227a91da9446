// Package basemap reads what a programme's own base map says of itself: a file of map tiles in the open PMTiles form, version 3. The
// tiles themselves are left to the browser, which asks for pieces of the file.
//
// Start with [Open]. A file that a browser could not draw is refused with what is accepted, so that it is known at the start of the
// server and not from an empty map. It looks at the head, the root directory and the description; it reads no tile.
package basemap

import (
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// Accepted says which files can be a base map.
const Accepted = "a file of tiles in the PMTiles form, version 3, of type mvt, png, jpeg or webp, not packed or packed with gzip"

// Sizes by the PMTiles specification, version 3, section 2 (Protomaps, 2022), but for the last, which is ours: a description is some
// kilobytes long.
const (
	headBytes  = 127
	rootEnds   = 16384
	deepest    = 30 // zoom; the format's tile numbers end at 31, maps end long before
	mostToRead = 4 << 20
)

// Tileset is what a base map says of itself.
type Tileset struct {
	Type        string     `json:"type" enum:"mvt,png,jpeg,webp" doc:"mvt are shapes, the others pictures"`
	MinZoom     int        `json:"minZoom"`
	MaxZoom     int        `json:"maxZoom"`
	Bounds      [4]float64 `json:"bounds" doc:"west, south, east, north, in degrees"`
	Layers      []string   `json:"layers" doc:"names of the layers of shapes"`
	Attribution []Credit   `json:"attribution" doc:"whom the map is owed to, in the map's own words"`
	Version     string     `json:"version" doc:"another one when the file is another"`
}

// Credit is a piece of an attribution.
type Credit struct {
	Text string `json:"text"`
	Link string `json:"link,omitempty" doc:"https or http"`
}

// File is an open base map. It is safe for concurrent use.
type File struct {
	Info Tileset
	file *os.File
	stat os.FileInfo
}

// Error says why a file is no base map.
type Error struct {
	Path, Why string
}

func (e *Error) Error() string {
	return fmt.Sprintf("%s is no base map: %s; accepted: %s", e.Path, e.Why, Accepted)
}

var tileTypes = map[byte]string{1: "mvt", 2: "png", 3: "jpeg", 4: "webp"}

// Packings of the format by number.
const (
	packedUnknown, packedNot, packedGzip = 0, 1, 2
)

// head is the fixed part that a file begins with, of which only what is needed is named.
type head struct {
	root, meta, leaves, data span
	inner, tile, kind        byte
	minZoom, maxZoom         byte
	bounds                   [4]float64
}

type span struct{ at, length uint64 }

// Open opens a base map and reads its head and description. Errors that are the file's own fault are [*Error].
func Open(path string) (*File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("the base map: %w", err)
	}
	stat, err := f.Stat()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the base map: %w", err), f.Close())
	}
	info, why := read(f, stat)
	if why != "" {
		return nil, errors.Join(&Error{path, why}, f.Close())
	}
	return &File{Info: info, file: f, stat: stat}, nil
}

// Close closes the file.
func (f *File) Close() error { return f.file.Close() }

// Content gives the file's bytes, from the first on, to one reader.
func (f *File) Content() io.ReadSeeker { return io.NewSectionReader(f.file, 0, f.stat.Size()) }

// Stat describes the file as it was opened.
func (f *File) Stat() os.FileInfo { return f.stat }

// Tag is the entity tag of the file's bytes.
func (f *File) Tag() string { return `"` + f.Info.Version + `"` }

func read(r io.ReaderAt, stat os.FileInfo) (info Tileset, why string) {
	if !stat.Mode().IsRegular() {
		return info, "it is no file but a " + stat.Mode().Type().String()
	}
	var b [headBytes]byte
	if n, err := r.ReadAt(b[:], 0); err != nil {
		return info, fmt.Sprintf("it has %d bytes, and a head has %d", n, headBytes)
	}
	if string(b[:7]) != "PMTiles" {
		return info, fmt.Sprintf("it begins with %q and not with \"PMTiles\"", b[:7])
	}
	if b[7] != 3 {
		return info, fmt.Sprintf("it is of version %d", b[7])
	}
	h := parse(&b)
	if why = h.fault(uint64(stat.Size())); why != "" {
		return info, why
	}
	if root, err := unpack(r, h.root, h.inner); err != nil {
		return info, "its root directory cannot be read: " + err.Error()
	} else if n, used := binary.Uvarint(root); used <= 0 || n == 0 {
		return info, "its root directory lists no tile"
	}
	text, err := unpack(r, h.meta, h.inner)
	if err != nil {
		return info, "its description cannot be read: " + err.Error()
	}
	var meta struct {
		Attribution string `json:"attribution"`
		Layers      []struct {
			ID string `json:"id"`
		} `json:"vector_layers"`
	}
	if err := json.Unmarshal(text, &meta); err != nil {
		return info, "its description is no JSON object of the form: " + err.Error()
	}
	info = Tileset{Type: tileTypes[h.kind], MinZoom: int(h.minZoom), MaxZoom: int(h.maxZoom), Bounds: h.bounds, Layers: []string{}, Attribution: credits(meta.Attribution),
		Version: fmt.Sprintf("%x-%x", stat.ModTime().UnixNano(), stat.Size())}
	for _, l := range meta.Layers {
		if l.ID != "" && !slices.Contains(info.Layers, l.ID) {
			info.Layers = append(info.Layers, l.ID)
		}
	}
	if info.Type == "mvt" && len(info.Layers) == 0 {
		return info, "its tiles are shapes and its description names none of their layers (vector_layers)"
	}
	return info, ""
}

func parse(b *[headBytes]byte) head {
	at := func(i int) span {
		return span{binary.LittleEndian.Uint64(b[i:]), binary.LittleEndian.Uint64(b[i+8:])}
	}
	h := head{root: at(8), meta: at(24), leaves: at(40), data: at(56), inner: b[97], tile: b[98], kind: b[99], minZoom: b[100], maxZoom: b[101]}
	for i := range h.bounds {
		h.bounds[i] = float64(int32(binary.LittleEndian.Uint32(b[102+4*i:]))) / 1e7
	}
	return h
}

// fault says in words what is wrong with a head in a file of so many bytes.
func (h *head) fault(size uint64) string {
	for _, part := range []struct {
		name string
		span
	}{{"root directory", h.root}, {"description", h.meta}, {"leaf directories", h.leaves}, {"tiles", h.data}} {
		if part.at > size || part.length > size-part.at {
			return fmt.Sprintf("its %s should lie at byte %d, %d bytes long, and the file ends at %d; it may have been cut off on the way", part.name, part.at, part.length, size)
		}
	}
	w, s, e, n := h.bounds[0], h.bounds[1], h.bounds[2], h.bounds[3]
	switch {
	case h.root.length == 0 || h.root.at < headBytes || h.root.at+h.root.length > rootEnds:
		return fmt.Sprintf("its root directory is not within the first %d bytes", rootEnds)
	case tileTypes[h.kind] == "":
		return fmt.Sprintf("its tiles are of type number %d", h.kind)
	case h.inner != packedNot && h.inner != packedGzip:
		return fmt.Sprintf("its directories are packed in way number %d", h.inner)
	case h.tile > packedGzip:
		return fmt.Sprintf("its tiles are packed in way number %d", h.tile)
	case h.minZoom > h.maxZoom || h.maxZoom > deepest:
		return fmt.Sprintf("its zooms go from %d to %d", h.minZoom, h.maxZoom)
	case !(-180 <= w && w < e && e <= 180 && -90 <= s && s < n && n <= 90):
		return fmt.Sprintf("it says to reach from %g, %g to %g, %g degrees", w, s, e, n)
	}
	return ""
}

func unpack(r io.ReaderAt, s span, packing byte) ([]byte, error) {
	var in io.Reader = io.NewSectionReader(r, int64(s.at), int64(s.length))
	if packing == packedGzip {
		g, err := gzip.NewReader(in)
		if err != nil {
			return nil, err
		}
		in = g
	}
	b, err := io.ReadAll(io.LimitReader(in, mostToRead+1))
	if err == nil && len(b) > mostToRead {
		err = fmt.Errorf("longer than %d bytes", mostToRead)
	}
	return b, err
}

// credits takes an attribution, which makers of maps write as HTML, apart into texts and links. Nothing else of it is kept, because
// the file comes from elsewhere.
func credits(s string) []Credit {
	out := []Credit{}
	link, unseen := "", false
	for z := html.NewTokenizer(strings.NewReader(s)); ; {
		switch z.Next() {
		case html.ErrorToken:
			return out
		case html.TextToken:
			if text := strings.Join(strings.Fields(string(z.Text())), " "); text != "" && !unseen {
				out = append(out, Credit{Text: text, Link: link})
			}
		case html.StartTagToken:
			t := z.Token()
			unseen = t.Data == "script" || t.Data == "style"
			for _, a := range t.Attr {
				if t.Data == "a" && a.Key == "href" && (strings.HasPrefix(a.Val, "https://") || strings.HasPrefix(a.Val, "http://")) {
					link = a.Val
				}
			}
		case html.EndTagToken:
			unseen = false
			if name, _ := z.TagName(); string(name) == "a" {
				link = ""
			}
		}
	}
}
