package cli

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/phonecopy"
	"thwart/internal/store"
)

// maxPassphraseBytes is longer than any passphrase a phone takes.
const maxPassphraseBytes = 1024

func (a *app) unpackCommand() *cobra.Command {
	var dsn, words, into string
	var keep bool
	cmd := &cobra.Command{
		Use:   "unpack copy",
		Short: "Open the encrypted copy that a phone has written of its records",
		Long: "Unpack opens a copy that was saved off a phone and says what is in it: the records that the server had not confirmed," +
			" drafts and photos. With --into it writes them to a new folder as plain files: mind who can read it. With --keep it adds" +
			" the records to the programme, as if the phone had sent them: nothing is added twice, and a record that cannot be taken" +
			" is kept among the refusals.",
		Example: `  thwart unpack phone-copy.json --passphrase-file passphrase.txt
  thwart unpack phone-copy.json --passphrase-file passphrase.txt --into from-phone`,
		Args: args(1, 1, "the file that the phone wrote"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	flags := cmd.Flags()
	flags.StringVar(&words, "passphrase-file", "", "file with the passphrase that the phone showed, or - for standard input")
	flags.StringVar(&into, "into", "", "folder to make and write everything to, unencrypted")
	flags.BoolVar(&keep, "keep", false, "add the records to the programme at --store")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		c, err := a.openCopy(args[0], words)
		if err != nil {
			return err
		}
		report := unpacked{MadeAt: c.MadeAt, Device: c.Device, Drafts: len(c.Drafts), Photos: len(c.Photos)}
		for i := range c.Records {
			r := &c.Records[i]
			line := unpackedRecord{ID: r.Entry.ID, Kind: r.Entry.Kind, MadeAt: r.Entry.MadeAt, State: r.State, Damaged: r.Damaged}
			report.Records = append(report.Records, line)
		}
		if into != "" {
			if err := writeCopy(c, into); err != nil {
				return err
			}
			report.Into = into
		}
		if keep {
			err := withStore(cmd.Context(), dsn, false, func(s *store.Store) error { return keepCopy(cmd.Context(), s, c, report.Records) })
			if err != nil {
				return err
			}
		}
		if a.json {
			return a.writeJSON(report)
		}
		report.print(a.print(), keep)
		return nil
	})
	return cmd
}

type unpacked struct {
	MadeAt  time.Time        `json:"madeAt"`
	Device  string           `json:"device"`
	Records []unpackedRecord `json:"records"`
	Drafts  int              `json:"drafts"`
	Photos  int              `json:"photos"`
	Into    string           `json:"into,omitempty"`
}

type unpackedRecord struct {
	ID      string           `json:"id"`
	Kind    thwart.Kind      `json:"kind"`
	MadeAt  time.Time        `json:"madeAt"`
	State   string           `json:"state"`
	Damaged string           `json:"damaged,omitempty"`
	Result  thwart.PutResult `json:"result,omitempty"` // with --keep
	Why     string           `json:"why,omitempty"`    // of a refusal
}

func (u *unpacked) print(p *printer, kept bool) {
	p.line("Copy made %s by phone %s.", u.MadeAt.Format("2006-01-02 15:04 MST"), u.Device)
	p.table(2, [][]string{
		{"records", strconv.Itoa(len(u.Records))}, {"drafts", strconv.Itoa(u.Drafts)}, {"photos", strconv.Itoa(u.Photos)},
	})
	if u.Into != "" {
		p.line("Written to %s, unencrypted.", u.Into)
	}
	results := map[thwart.PutResult]int{}
	for _, r := range u.Records {
		results[r.Result]++
		if r.Damaged != "" {
			p.item(2, "-", fmt.Sprintf("%s %s: %s", r.Kind, r.ID, r.Damaged))
		}
		if r.Why != "" {
			p.item(2, "-", fmt.Sprintf("%s %s was refused: %s", r.Kind, r.ID, r.Why))
		}
	}
	if kept {
		p.line("Of the records:")
		p.table(2, [][]string{
			{"stored", strconv.Itoa(results[thwart.Stored])}, {"had before", strconv.Itoa(results[thwart.Had])},
			{"refused", strconv.Itoa(results[thwart.Refused])},
		})
	}
}

func (a *app) openCopy(name, words string) (*phonecopy.Copy, error) {
	if words == "" {
		return nil, usage("--passphrase-file: is missing; accepted: a file with the passphrase that the phone showed, or - for standard input")
	}
	w, err := a.open(words)
	if err != nil {
		return nil, err
	}
	defer w.Close() //nolint:errcheck // it was only read
	passphrase, err := io.ReadAll(io.LimitReader(w, maxPassphraseBytes))
	if err != nil {
		return nil, err
	}
	f, err := openFile(name)
	if err != nil {
		return nil, err
	}
	defer f.Close() //nolint:errcheck // it was only read
	c, err := phonecopy.Open(f, strings.TrimRight(string(passphrase), "\r\n"))
	if err != nil {
		return nil, inFile{name, "", err}
	}
	return c, nil
}

// writeCopy writes what was inside as plain files that only their owner can read. It writes over nothing.
func writeCopy(c *phonecopy.Copy, dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil {
		return fmt.Errorf("--into: %w", err)
	}
	var lines bytes.Buffer
	for _, r := range c.Records {
		lines.Write(r.Text)
		lines.WriteByte('\n')
	}
	drafts, err := json.MarshalIndent(c.Drafts, "", " ")
	if err != nil {
		return err
	}
	err = errors.Join(
		os.WriteFile(filepath.Join(dir, "records.jsonl"), lines.Bytes(), 0o600),
		os.WriteFile(filepath.Join(dir, "drafts.json"), drafts, 0o600),
	)
	for _, p := range c.Photos {
		name := p.SHA256
		if b, bad := hex.DecodeString(name); bad != nil || len(b) != 32 {
			continue // a name that is no hash could point anywhere; the picture is reported as damaged
		}
		err = errors.Join(err, os.WriteFile(filepath.Join(dir, name+".jpg"), p.Data, 0o600))
	}
	return err
}

// keepCopy adds the records as the server does that gets them from the phone, and notes in lines what became of each.
func keepCopy(ctx context.Context, s *store.Store, c *phonecopy.Copy, lines []unpackedRecord) error {
	device, err := s.DeviceByID(ctx, c.Device)
	if errors.Is(err, thwart.ErrNotFound) {
		return fmt.Errorf("the phone %s was never enrolled in this programme; is --store the right one?", c.Device)
	}
	if err != nil {
		return err
	}
	now := time.Now().UTC()
	var good []thwart.Kept
	var at []int
	for i := range c.Records {
		r := &c.Records[i]
		if why := unfit(r, &device); why != nil {
			if err := refuseRecord(ctx, s, r, device, now, why); err != nil {
				return err
			}
			lines[i].Result, lines[i].Why = thwart.Refused, why.Error()
			continue
		}
		good, at = append(good, thwart.Kept{Entry: r.Entry, ReceivedAt: now}), append(at, i)
	}
	answers, err := s.Put(ctx, good)
	if err != nil {
		return err
	}
	for k, ans := range answers {
		i := at[k]
		lines[i].Result = ans.Result
		if ans.Result == thwart.Refused {
			lines[i].Why = ans.Errors.Error()
			if err := refuseRecord(ctx, s, &c.Records[i], device, now, ans.Errors); err != nil {
				return err
			}
		}
	}
	detail := fmt.Sprintf("%d records of a copy made %s", len(c.Records), c.MadeAt.UTC().Format(time.RFC3339))
	return note(ctx, s, now, "unpack", device.ID, detail)
}

// unfit says why a record cannot be taken from a copy; nil where it can.
func unfit(r *phonecopy.Record, d *thwart.Device) thwart.FieldErrors {
	switch {
	case r.Damaged != "":
		return thwart.FieldErrors{{Field: "entry", Value: r.Damaged, Accepted: "the bytes that the phone sealed"}}
	case r.Entry.Device != d.ID:
		return thwart.FieldErrors{{Field: "device", Value: r.Entry.Device, Accepted: "the phone that wrote the copy, " + d.ID}}
	case r.Entry.Person != d.Person:
		return thwart.FieldErrors{{Field: "person", Value: r.Entry.Person, Accepted: "the person the phone was enrolled for, " + d.Person}}
	}
	if _, err := r.Entry.Decode(); err != nil {
		var fields thwart.FieldErrors
		if errors.As(err, &fields) {
			return fields
		}
		return thwart.FieldErrors{{Field: "body", Value: err.Error(), Accepted: "the JSON of a " + string(r.Entry.Kind)}}
	}
	return nil
}

func refuseRecord(ctx context.Context, s *store.Store, r *phonecopy.Record, d thwart.Device, now time.Time, why thwart.FieldErrors) error {
	raw := r.Text
	if !json.Valid(raw) {
		quoted, err := json.Marshal(string(raw))
		if err != nil {
			return err
		}
		raw = quoted
	}
	return s.Refuse(ctx, thwart.Refusal{ID: newID(now), Raw: raw, Errors: why, Device: d.ID, Person: d.Person, ReceivedAt: now})
}

func newID(at time.Time) string {
	var rest [10]byte
	rand.Read(rest[:]) // never fails (Go 1.24 on)
	return thwart.MakeID(at, rest)
}
