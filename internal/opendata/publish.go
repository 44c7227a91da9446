package opendata

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"
)

// Receipt says what was published and that it was checked.
type Receipt struct {
	Form       Form       `json:"form"`
	Copy       Copy       `json:"copy"`
	Vocabulary Vocabulary `json:"vocabulary,omitempty"`
	Title      string     `json:"title"`
	Publisher  string     `json:"publisher"`
	Licence    string     `json:"licence"`
	Citation   string     `json:"citation"`
	MadeAt     time.Time  `json:"madeAt"`
	App        string     `json:"app,omitempty"`
	Counts     Counts     `json:"counts"`
	Files      []File     `json:"files"`
	// Checked lists what was found to hold when the finished file was read again.
	Checked []string `json:"checked,omitempty"`
}

// Publish writes one zip into f, which must be empty, and reads it again before it gives the receipt. Where anything does not
// hold together it gives an error that says what, and f is to be thrown away.
func Publish(ctx context.Context, src Source, opt Options, f *os.File) (Receipt, error) {
	if err := opt.Validate(); err != nil {
		return Receipt{}, err
	}
	w, err := prepare(ctx, src, opt)
	if err != nil {
		return Receipt{}, err
	}
	p, err := newPack()
	if err != nil {
		return Receipt{}, err
	}
	defer p.remove()
	if err := w.write(ctx, p); err != nil {
		return Receipt{}, err
	}
	r := w.receipt(p)
	if err := p.add("README.txt", w.writeReadme); err != nil {
		return r, err
	}
	if err := p.add("manifest.json", func(out io.Writer) error { return writeJSON(out, r) }); err != nil {
		return r, err
	}
	if err := p.zipTo(f, opt.MadeAt); err != nil {
		return r, err
	}
	if err := f.Sync(); err != nil {
		return r, err
	}
	info, err := f.Stat()
	if err != nil {
		return r, err
	}
	if r.Checked, err = Check(ctx, f, info.Size()); err != nil {
		return r, fmt.Errorf("what was written does not hold together and is not handed out: %w", err)
	}
	return r, nil
}

func (w *walker) receipt(p *pack) Receipt {
	o := w.opt
	r := Receipt{
		Form: o.Form, Copy: o.Copy, Title: o.Title, Publisher: o.Publisher, Licence: o.Licence, Citation: o.citation(), MadeAt: o.MadeAt.UTC(), App: o.App,
		Counts: w.counts, Files: p.files(),
	}
	if o.Form == DarwinCore {
		r.Vocabulary = w.vocabulary()
	}
	return r
}

// write fills the pack.
func (w *walker) write(ctx context.Context, p *pack) error {
	switch w.opt.Form {
	case DarwinCore:
		a, err := w.openArchive(p)
		if err != nil {
			return err
		}
		if err := w.walk(ctx, a); err != nil {
			return err
		}
		return a.close(p)
	case GeoJSON:
		m := w.openMaps()
		if err := w.walk(ctx, m); err != nil {
			return err
		}
		return m.close(p)
	}
	ending, open := ".csv", openCSV(w.opt.Form == Spreadsheet)
	if w.opt.Form == Parquet {
		ending, open = ".parquet", openParquet
	}
	t, err := w.openTables(p, ending, open)
	if err != nil {
		return err
	}
	if err := errors.Join(w.walk(ctx, t), t.close()); err != nil {
		return err
	}
	if err := p.add("datapackage.json", func(out io.Writer) error { return writeJSON(out, w.describe(t, w.opt.Form)) }); err != nil {
		return err
	}
	if w.opt.Form == Parquet {
		return nil
	}
	return p.add("csv-metadata.json", func(out io.Writer) error { return writeJSON(out, w.csvw(t)) })
}
