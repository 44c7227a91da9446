// Package phonecopy reads the encrypted copy that a phone can write of what it holds, and says what of it fits together. The
// format is described in docs/explanation/offline.md; the phone writes it in web/app/src/copy.
package phonecopy

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"thwart"
)

// Format names the format and its version. It is bound by the cipher, so no other file passes for one.
const Format = "thwart-copy-1"

// MaxBytes is the largest file that is read: some three hundred photos at their largest.
const MaxBytes = 200 << 20

// Turns of the key derivation that are accepted. More would let a file keep a machine busy for minutes.
const (
	minTurns = 100_000
	maxTurns = 10_000_000
)

// ErrPassphrase says that the file does not open: the passphrase is another one, or the file was changed.
var ErrPassphrase = errors.New("the file does not open with this passphrase, or it was changed since it was made")

type file struct {
	Format string    `json:"format"`
	MadeAt time.Time `json:"madeAt"`
	KDF    struct {
		Name       string `json:"name"`
		Iterations int    `json:"iterations"`
		Salt       []byte `json:"salt"`
	} `json:"kdf"`
	Cipher struct {
		Name string `json:"name"`
		IV   []byte `json:"iv"`
	} `json:"cipher"`
	Data []byte `json:"data"`
}

// Record is a sealed record as the phone held it.
type Record struct {
	State string          // onPhone or needsYou
	Text  json.RawMessage // the entry, byte for byte
	Entry thwart.Entry
	// Damaged says what does not fit where the text is not what the phone sealed; empty where all is well.
	Damaged string
}

// Draft is a piece of work that was not finished.
type Draft struct {
	ID      string          `json:"id"`
	SavedAt time.Time       `json:"savedAt"`
	Value   json.RawMessage `json:"value"`
}

// Photo is a picture under its hash.
type Photo struct {
	SHA256  string
	Type    string
	Data    []byte
	Damaged string
}

// Copy is what was inside a file.
type Copy struct {
	MadeAt         time.Time
	Device, Person string
	Records        []Record
	Drafts         []Draft
	Photos         []Photo
}

// Open decrypts a file and checks every record against its sum and every photo against its name. A damaged one is given back
// and marked: a person may still read it.
func Open(r io.Reader, passphrase string) (*Copy, error) {
	var f file
	if err := thwart.ReadJSON(r, MaxBytes, &f); err != nil {
		return nil, err
	}
	if err := f.check(); err != nil {
		return nil, err
	}
	key, err := pbkdf2.Key(sha256.New, passphrase, f.KDF.Salt, f.KDF.Iterations, 32)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	plain, err := gcm.Open(nil, f.Cipher.IV, f.Data, []byte(Format))
	if err != nil {
		return nil, ErrPassphrase
	}
	return read(plain)
}

func (f *file) check() error {
	var errs thwart.FieldErrors
	fail := func(field, value, accepted string) {
		errs = append(errs, thwart.FieldError{Field: field, Value: value, Accepted: accepted})
	}
	if f.Format != Format {
		fail("format", f.Format, Format)
	}
	if f.KDF.Name != "PBKDF2-HMAC-SHA-256" {
		fail("kdf.name", f.KDF.Name, "PBKDF2-HMAC-SHA-256")
	}
	if f.KDF.Iterations < minTurns || f.KDF.Iterations > maxTurns {
		fail("kdf.iterations", fmt.Sprint(f.KDF.Iterations), fmt.Sprintf("%d to %d", minTurns, maxTurns))
	}
	if len(f.KDF.Salt) < 16 {
		fail("kdf.salt", fmt.Sprintf("%d bytes", len(f.KDF.Salt)), "at least 16 bytes in base64")
	}
	if f.Cipher.Name != "AES-256-GCM" {
		fail("cipher.name", f.Cipher.Name, "AES-256-GCM")
	}
	if len(f.Cipher.IV) != 12 {
		fail("cipher.iv", fmt.Sprintf("%d bytes", len(f.Cipher.IV)), "12 bytes in base64")
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

func read(plain []byte) (*Copy, error) {
	var in struct {
		Format  string    `json:"format"`
		MadeAt  time.Time `json:"madeAt"`
		Device  string    `json:"device"`
		Person  string    `json:"person"`
		Records []struct {
			State, Sum, Text string
		} `json:"records"`
		Drafts []struct {
			ID      string
			SavedAt int64
			Text    string
		} `json:"drafts"`
		Photos []struct {
			SHA256, Type string
			Data         []byte
		} `json:"photos"`
	}
	if err := json.Unmarshal(plain, &in); err != nil {
		return nil, fmt.Errorf("the inside of the copy: %w", err)
	}
	c := &Copy{MadeAt: in.MadeAt, Device: in.Device, Person: in.Person}
	for _, r := range in.Records {
		c.Records = append(c.Records, recordOf(r.State, r.Sum, r.Text))
	}
	for _, d := range in.Drafts {
		if !json.Valid([]byte(d.Text)) {
			d.Text = "null"
		}
		c.Drafts = append(c.Drafts, Draft{ID: d.ID, SavedAt: time.UnixMilli(d.SavedAt).UTC(), Value: json.RawMessage(d.Text)})
	}
	for _, p := range in.Photos {
		photo := Photo{SHA256: p.SHA256, Type: p.Type, Data: p.Data}
		if sum := sha256.Sum256(p.Data); hex.EncodeToString(sum[:]) != p.SHA256 {
			photo.Damaged = "the picture is not the one that its name says"
		}
		c.Photos = append(c.Photos, photo)
	}
	return c, nil
}

func recordOf(state, sum, text string) Record {
	r := Record{State: state, Text: json.RawMessage(text)}
	switch err := json.Unmarshal(r.Text, &r.Entry); {
	case err != nil:
		r.Damaged = "it cannot be read: " + err.Error()
	case r.Entry.Sum() != sum:
		r.Damaged = "it is not what the phone sealed: the sums differ"
	default:
		if err := r.Entry.Validate(); err != nil {
			r.Damaged = err.Error()
		}
	}
	return r
}
