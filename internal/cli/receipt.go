package cli

import (
	"context"
	"encoding/json"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"thwart"
	"thwart/internal/server"
	"thwart/internal/store"
	"thwart/receipt"
)

// maxKeysBytes is the largest file of key records that is read.
const maxKeysBytes = 16 << 20

func (a *app) receiptCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "receipt",
		Short: "Read a boater's receipt, hand out the keys to read it with, change the programme's key",
		Long: "A receipt is signed by the phone that gave it; the programme's key vouches for its phones. Whoever has the list of keys and of what was taken" +
			" back can read a receipt without a network.",
		Example: "  thwart receipt keys keys-for-readers.json --store programme.db",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return cmd.Help()
		},
	}
	cmd.AddCommand(a.receiptReadCommand(), a.receiptKeysCommand(), a.receiptRotateCommand())
	return cmd
}

func (a *app) receiptReadCommand() *cobra.Command {
	var dsn, keys, at, water, protocol string
	var trust []string
	cmd := &cobra.Command{
		Use:   "read text-or-file",
		Short: "Say whether a receipt is good, altered, expired, no pass, of an unknown issuer, taken back, or from before the last water",
		Long: "Read takes the text of a receipt's code, a file that holds it, or - for standard input, and the list of keys: a file that receipt keys has" +
			" written, or else the programme's records. Only good says anything for the craft, and only of the time before it was issued; it never" +
			" shortens an inspection by itself. With --strict it exits with code 3 unless the receipt is good.",
		Example: `  thwart receipt read receipt.txt --keys keys.json --at 2026-07-04T12:00:00Z
  thwart receipt read receipt.txt --keys keys.json --trust 3f2a9c01 --water-since no --strict`,
		Args: args(1, 1, "the text of a receipt, or the file that holds it"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	a.strictFlag(cmd, "the receipt is good")
	f := cmd.Flags()
	f.StringVar(&keys, "keys", "", "file with the key records; left out: those of --store")
	f.StringArrayVar(&trust, "trust", nil, "id of a programme's key that counts; repeat for each; left out: every programme key of the list")
	f.StringVar(&at, "at", "", "the moment of reading, such as 2026-07-04T12:00:00Z; now where it is left out")
	f.StringVar(&water, "water-since", "unknown", "has the craft been in any water since? yes, no or unknown")
	f.StringVar(&protocol, "protocol", "", "id@version of the protocol in force here, to be told whether the receipt was given under it")
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		q := receipt.Asked{Now: time.Now(), Protocol: protocol}
		var err error
		if at != "" {
			if q.Now, err = time.Parse(time.RFC3339, at); err != nil {
				return usage("--at: %q is no time; accepted: such as 2026-07-04T12:00:00Z", at)
			}
		}
		if err := json.Unmarshal([]byte(`"`+water+`"`), &q.WaterSince); err != nil || !slices.Contains([]string{"yes", "no", "unknown"}, water) {
			return usage("--water-since: %q is not accepted; accepted: yes, no, unknown", water)
		}
		list, err := a.keyList(cmd.Context(), keys, dsn)
		if err != nil {
			return err
		}
		text, err := a.receiptText(args[0])
		if err != nil {
			return err
		}
		ring, rejected := receipt.NewRing(list, trust)
		return a.readReceipt(ring.Read(text, q), rejected)
	})
	return cmd
}

// receiptText takes a receipt as it was given: its text, or a file that holds it.
func (a *app) receiptText(arg string) (string, error) {
	if strings.HasPrefix(strings.TrimSpace(arg), receipt.Prefix) {
		return arg, nil
	}
	r, err := a.open(arg)
	if err != nil {
		return "", err
	}
	defer r.Close() //nolint:errcheck // it was only read
	b, err := io.ReadAll(io.LimitReader(r, thwart.MaxCode+1))
	return string(b), err
}

// keyList reads key records from a file or from the programme's records.
func (a *app) keyList(ctx context.Context, file, dsn string) (list []thwart.Key, err error) {
	if file == "" {
		err = withStore(ctx, dsn, true, func(s *store.Store) error {
			list, err = keysOf(ctx, s)
			return err
		})
		return list, err
	}
	r, err := a.open(file)
	if err != nil {
		return nil, err
	}
	defer r.Close() //nolint:errcheck // it was only read
	if err := thwart.ReadJSON(r, maxKeysBytes, &list); err != nil {
		return nil, inFile{file, "", err}
	}
	return list, nil
}

func keysOf(ctx context.Context, s *store.Store) ([]thwart.Key, error) {
	list := []thwart.Key{}
	for q := (thwart.SubjectQuery{Kind: thwart.KindKey, Limit: 1000}); ; {
		page, err := s.Subjects(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, x := range page.Items {
			var k thwart.Key
			if err := json.Unmarshal(x.Body, &k); err != nil {
				return nil, err
			}
			list = append(list, k)
		}
		if q.After = page.Next; q.After == "" {
			return list, nil
		}
	}
}

// readReceipt says what a reading came to.
func (a *app) readReceipt(r receipt.Reading, rejected []string) error {
	if a.json {
		if err := a.writeJSON(r); err != nil {
			return err
		}
	} else {
		p := a.print()
		p.line("%s", strings.ReplaceAll(string(r.State), "_", " "))
		p.para(0, r.Why)
		if f := r.Facts; f != nil {
			until := "never: it is no pass"
			if f.ValidH > 0 {
				until = f.ExpiresAt().UTC().Format("2006-01-02 15:04 UTC")
			}
			rows := [][]string{
				{"what", f.What}, {"outcome", strings.ReplaceAll(string(f.Outcome), "_", " ")}, {"issued", f.IssuedAt.UTC().Format("2006-01-02 15:04 UTC")},
				{"good until", until}, {"key", f.KeyID},
			}
			if f.Seal != "" {
				rows = append(rows, []string{"seal", f.Seal})
			}
			switch r.State {
			case receipt.Good, receipt.Expired, receipt.NoPass, receipt.InWater:
				p.head("It says:")
			default:
				p.head("It says, and that is not to be believed:")
			}
			p.table(2, rows)
		}
		if r.SameProtocol == thwart.No {
			p.line("It was given under another protocol than the one named.")
		}
	}
	if len(rejected) > 0 {
		a.note("left out, since no key that counts vouches for them: %s", strings.Join(rejected, ", "))
	}
	if a.strict && r.State != receipt.Good {
		return notMet{}
	}
	return nil
}

func (a *app) receiptKeysCommand() *cobra.Command {
	var dsn string
	cmd := &cobra.Command{
		Use:     "keys file.json",
		Short:   "Write the list of keys and of what was taken back, for whoever reads this programme's receipts",
		Long:    "Keys writes public keys and revocations, and nothing secret. A reader should get a new list often: what was taken back is only known from it.",
		Example: "  thwart receipt keys keys-for-agency.json --store programme.db",
		Args:    args(1, 1, "the file to write"),
	}
	storeFlag(cmd, &dsn)
	cmd.RunE = a.run(func(cmd *cobra.Command, args []string) error {
		list, err := a.keyList(cmd.Context(), "", dsn)
		if err != nil {
			return err
		}
		text, err := json.MarshalIndent(list, "", "  ")
		if err != nil {
			return err
		}
		if err := newFile(args[0], func(f *os.File) error { _, err := f.Write(append(text, '\n')); return err }); err != nil {
			return err
		}
		a.print().line("%s: %d records.", args[0], len(list))
		return nil
	})
	return cmd
}

func (a *app) receiptRotateCommand() *cobra.Command {
	var dsn, dir string
	var lost bool
	cmd := &cobra.Command{
		Use:   "rotate",
		Short: "Give the programme a new key for receipts; what was signed before stays readable until it expires",
		Long: "Rotate makes a new key in the server's folder and the records that phones take with their next sync. The old key and the new one vouch for each" +
			" other, so no phone enrols anew. With --lost, as when a copy of the folder has gone astray, the old key is not trusted any more: receipts from" +
			" before count for nothing. The server may run on.",
		Example: "  thwart receipt rotate --store programme.db --dir .",
		Args:    args(0, 0, "no argument"),
	}
	storeFlag(cmd, &dsn)
	a.jsonFlag(cmd)
	cmd.Flags().StringVar(&dir, "dir", "", "the server's folder, which holds signing.key")
	cmd.Flags().BoolVar(&lost, "lost", false, "somebody else may have the old key")
	cmd.RunE = a.run(func(cmd *cobra.Command, _ []string) error {
		if dir == "" {
			return usage("--dir: nothing was given; accepted: the server's folder, which holds signing.key")
		}
		ctx := cmd.Context()
		return withStore(ctx, dsn, false, func(s *store.Store) error {
			out, err := server.RotateKey(ctx, s, dir, a.version, lost)
			if err != nil {
				return err
			}
			if a.json {
				return a.writeJSON(out)
			}
			a.print().line("The key for receipts is %s from now on; before it was %s.", out.KeyID, out.Before)
			return nil
		})
	})
	return cmd
}
