package opendata

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"
)

// File is one file of what was published.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	Rows   int64  `json:"rows,omitempty"`
}

// pack collects files that are written side by side and then puts them into one zip, one after the other.
type pack struct {
	dir   string
	parts []*part
}

// part is one file on its way. What is written to it is packed on another thread.
type part struct {
	File
	buf    *bufio.Writer
	pipe   *io.PipeWriter
	done   chan error
	path   string
	crc    hash.Hash32
	sum    hash.Hash
	packed int64
}

func newPack() (*pack, error) {
	dir, err := os.MkdirTemp("", "thwart-open-data-*")
	return &pack{dir: dir}, err
}

// remove takes the working files away.
func (p *pack) remove() {
	for _, x := range p.parts {
		x.pipe.CloseWithError(io.ErrClosedPipe) //nolint:errcheck // it never fails
	}
	os.RemoveAll(p.dir) //nolint:errcheck // the system clears its temporary files
}

func (p *pack) create(name string) (*part, error) {
	x := &part{File: File{Name: name}, done: make(chan error, 1), path: filepath.Join(p.dir, strconv.Itoa(len(p.parts))), crc: crc32.NewIEEE(), sum: sha256.New()}
	f, err := os.Create(x.path)
	if err != nil {
		return nil, err
	}
	r, w := io.Pipe()
	x.pipe, x.buf = w, bufio.NewWriterSize(w, 256<<10)
	go func() {
		err := x.squeeze(f, r)
		r.CloseWithError(err) //nolint:errcheck // it never fails
		x.done <- err
	}()
	p.parts = append(p.parts, x)
	return x, nil
}

// squeeze packs what comes through r into f. A million rows are packed fast rather than small.
func (x *part) squeeze(f *os.File, r io.Reader) error {
	z, err := flate.NewWriter(f, flate.BestSpeed)
	if err != nil {
		return errors.Join(err, f.Close())
	}
	n, err := io.Copy(io.MultiWriter(z, x.crc, x.sum), r)
	x.Bytes = n
	err = errors.Join(err, z.Close())
	if info, e := f.Stat(); e == nil {
		x.packed = info.Size()
	} else {
		err = errors.Join(err, e)
	}
	return errors.Join(err, f.Close())
}

func (x *part) Write(b []byte) (int, error) { return x.buf.Write(b) }

// close waits until everything is packed.
func (x *part) close() error {
	err := x.buf.Flush()
	err = errors.Join(err, x.pipe.Close(), <-x.done)
	x.done <- nil // a second close is harmless
	x.SHA256 = hex.EncodeToString(x.sum.Sum(nil))
	return err
}

// add writes a whole small file.
func (p *pack) add(name string, write func(io.Writer) error) error {
	x, err := p.create(name)
	if err != nil {
		return err
	}
	return errors.Join(write(x), x.close())
}

func (p *pack) files() []File {
	var out []File
	for _, x := range p.parts {
		out = append(out, x.File)
	}
	return out
}

// zipTo writes the zip. Every part must be closed.
func (p *pack) zipTo(w io.Writer, modified time.Time) error {
	z := zip.NewWriter(w)
	for _, x := range p.parts {
		out, err := z.CreateRaw(&zip.FileHeader{
			Name: x.Name, Method: zip.Deflate, Modified: modified.UTC(), CRC32: x.crc.Sum32(),
			CompressedSize64: uint64(x.packed), UncompressedSize64: uint64(x.Bytes), //nolint:gosec // sizes of files
		})
		if err != nil {
			return err
		}
		f, err := os.Open(x.path)
		if err != nil {
			return err
		}
		_, err = io.Copy(out, f)
		if err := errors.Join(err, f.Close()); err != nil {
			return err
		}
	}
	return z.Close()
}
