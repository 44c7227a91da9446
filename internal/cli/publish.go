package cli

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart/internal/opendata"
	"thwart/internal/store"
)

// publishing is what the flags of publish say.
type publishing struct {
	dsn, form, audience, vocabulary, title, publisher, contact, licence, citation, from, to, keyFile string
}

func (a *app) publishCommand() *cobra.Command {
	var p publishing
	cmd := &cobra.Command{
		Use:   "publish file",
		Short: "Write a copy of the season for others to use, checked before it is handed out",
		Long: "Publish writes one zip, which must not be there yet, and reads it again from the outside before it says that all is well.\n\n" +
			"  --form  darwin-core   a Darwin Core Archive: events, finds, absences, effort\n" +
			"          csv           tables (RFC 4180) with a description that programs read\n" +
			"          spreadsheet   the same, safe to open in a spreadsheet\n" +
			"          parquet       the same tables as Apache Parquet\n" +
			"          geojson       maps of waters, launches and origins of craft (RFC 7946)\n\n" +
			"  --for   public        weeks for times; nothing that could single out a craft\n" +
			"          agency        exact, without names, notes and registrations\n\n" +
			"Name, licence and citation come from the programme's own record where they are not given. The ids of a public copy are" +
			" made with a secret: with --key-file the same ones each time, without it new ones.",
		Example: `  thwart publish open-data.zip --licence CC-BY-4.0 --publisher "Withy Lakes" --contact data@withy.example
  thwart publish archive.zip --form darwin-core --for agency --licence CC0-1.0 --publisher "Withy Lakes" --contact data@withy.example`,
		Args: args(1, 1, "the file to write"),
	}
	storeFlag(cmd, &p.dsn)
	a.jsonFlag(cmd)
	f := cmd.Flags()
	f.StringVar(&p.form, "form", string(opendata.CSV), "what it is written as: "+joined(opendata.Forms))
	f.StringVar(&p.audience, "for", string(opendata.Public), "who it is for: "+joined(opendata.Copies))
	f.StringVar(&p.vocabulary, "vocabulary", string(opendata.Detected), "edition of Darwin Core's words for found and not found: "+joined(opendata.Vocabularies))
	f.StringVar(&p.title, "title", "", "title of the data set")
	f.StringVar(&p.publisher, "publisher", "", "name of the programme")
	f.StringVar(&p.contact, "contact", "", "address that users of the data can write to")
	f.StringVar(&p.licence, "licence", "", "licence: "+strings.Join(opendata.LicenceIDs(), ", "))
	f.StringVar(&p.citation, "citation", "", "how the data are to be cited")
	f.StringVar(&p.from, "from", "", "first day, such as 2026-05-01")
	f.StringVar(&p.to, "to", "", "last day, included")
	f.StringVar(&p.keyFile, "key-file", "", "file with a secret of at least 16 bytes that the ids of the public copy are made with")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		return withStore(ctx, p.dsn, true, func(s *store.Store) error {
			o, err := a.publishOptions(ctx, s, p)
			if err != nil {
				return err
			}
			var r opendata.Receipt
			err = newFile(args[0], func(out *os.File) error {
				r, err = opendata.Publish(ctx, opendata.Of(s), o, out)
				return err
			})
			if err != nil {
				return err
			}
			return a.published(args[0], r)
		})
	})
	return cmd
}

func joined[T ~string](list []T) string {
	words := make([]string, len(list))
	for i, w := range list {
		words[i] = string(w)
	}
	return strings.Join(words, ", ")
}

func (a *app) publishOptions(ctx context.Context, s *store.Store, p publishing) (opendata.Options, error) {
	o, err := opendata.Defaults(ctx, opendata.Of(s))
	if err != nil {
		return o, err
	}
	o.Form, o.Copy, o.Vocabulary = opendata.Form(p.form), opendata.Copy(p.audience), opendata.Vocabulary(p.vocabulary)
	o.Publisher, o.Licence, o.Citation = cmp.Or(p.publisher, o.Publisher), cmp.Or(p.licence, o.Licence), cmp.Or(p.citation, o.Citation)
	o.Contact = p.contact
	o.Title = cmp.Or(p.title, o.Title)
	if p.title == "" && p.publisher != "" {
		o.Title = "Inspections of trailered craft, " + p.publisher
	}
	o.MadeAt, o.App = time.Now(), a.version
	for _, d := range []struct {
		flag, text string
		to         *time.Time
		add        int
	}{{"--from", p.from, &o.From, 0}, {"--to", p.to, &o.To, 1}} {
		if d.text == "" {
			continue
		}
		day, err := time.Parse(time.DateOnly, d.text)
		if err != nil {
			return o, usage("%s: %q is no date; accepted: a date such as 2026-07-04", d.flag, d.text)
		}
		*d.to = day.AddDate(0, 0, d.add)
	}
	if p.keyFile != "" {
		if o.Key, err = os.ReadFile(p.keyFile); err != nil {
			return o, err
		}
		o.Key = bytes.TrimSpace(o.Key)
	} else {
		o.Key = make([]byte, 32)
		rand.Read(o.Key)
	}
	return o, nil
}

func (a *app) published(name string, r opendata.Receipt) error {
	if a.json {
		return a.writeJSON(r)
	}
	p := a.print()
	p.line("%s: %d inspections, %d findings, %d sessions, %d washes; %s copy, %s.", name, r.Counts.Inspections, r.Counts.Findings, r.Counts.Sessions, r.Counts.Washes, r.Copy, r.Licence)
	if r.Counts.LeftOut > 0 {
		p.line("%d inspections could not be hidden among others and are left out.", r.Counts.LeftOut)
	}
	if len(r.Counts.Hidden) > 0 {
		p.head("Left out so that no single craft can be told, of %d inspections:", r.Counts.Inspections)
		for _, c := range slices.Sorted(maps.Keys(r.Counts.Hidden)) {
			p.item(2, "-", fmt.Sprintf("%s: %d", c, r.Counts.Hidden[c]))
		}
	}
	p.head("Read again and found to hold:")
	for _, c := range r.Checked {
		p.item(2, "-", c)
	}
	p.head("Cite as: %s", r.Citation)
	return nil
}
