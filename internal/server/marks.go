package server

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sync"

	"thwart/internal/api"
	"thwart/internal/store"
)

// markKeys holds secret keys by name in a file that only its owner can read: those that registrations are hashed with, one for
// each season, or in another file the programme's signing key. A key is made when it is first asked for; the one of a season
// never changes. Keys go into no export and no backup of the records.
type markKeys struct {
	path string
	mu   sync.Mutex
}

var seasonName = regexp.MustCompile(`^[0-9]{4}$`)

// of gives the key of a season. Several servers may share the file: whoever makes a key first writes the file anew beside its
// place, under a lock file, so that all read one.
func (m *markKeys) of(season string) ([]byte, error) {
	if !seasonName.MatchString(season) {
		return nil, fmt.Errorf("%q is no season; accepted: a year", season)
	}
	return m.named(season)
}

// signing gives the key by which a programme vouches for its phones' keys (Ed25519, from a seed of 32 bytes).
func (m *markKeys) signing() (ed25519.PrivateKey, error) {
	seed, err := m.named("programme")
	if err != nil {
		return nil, err
	}
	if len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%s holds %d bytes for the programme; accepted: %d", m.path, len(seed), ed25519.SeedSize)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// previous gives the signing key before the one in use; nil where there was none.
func (m *markKeys) previous() (ed25519.PrivateKey, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	keys, err := m.read()
	if err != nil || len(keys["previous"]) != ed25519.SeedSize {
		return nil, err
	}
	return ed25519.NewKeyFromSeed(keys["previous"]), nil
}

// next makes a new signing key and keeps the one before beside it.
func (m *markKeys) next() (before, next ed25519.PrivateKey, err error) {
	if before, err = m.signing(); err != nil {
		return nil, nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	lock, err := m.locked()
	if err != nil {
		return nil, nil, err
	}
	defer lock.Close() // ends the lock
	keys, err := m.read()
	if err != nil {
		return nil, nil, err
	}
	if !bytes.Equal(keys["programme"], before.Seed()) {
		return nil, nil, errors.New("secret keys: another server has just changed the programme's key")
	}
	seed := make([]byte, ed25519.SeedSize)
	rand.Read(seed)
	keys["previous"], keys["programme"] = keys["programme"], seed
	return before, ed25519.NewKeyFromSeed(seed), m.write(keys)
}

// locked opens the file whose lock whoever changes the keys must hold.
func (m *markKeys) locked() (*os.File, error) {
	lock, err := os.OpenFile(m.path+".lock", os.O_WRONLY|os.O_CREATE, 0o600)
	if err == nil {
		if err = lockFile(lock); err != nil {
			lock.Close()
		}
	}
	if err != nil {
		return nil, fmt.Errorf("secret keys: %w", err)
	}
	return lock, nil
}

func (m *markKeys) named(season string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	keys, err := m.read()
	if err != nil || keys[season] != nil {
		return keys[season], err
	}
	lock, err := m.locked()
	if err != nil {
		return nil, err
	}
	defer lock.Close()                                           // ends the lock
	if keys, err = m.read(); err != nil || keys[season] != nil { // another server was first
		return keys[season], err
	}
	key := make([]byte, 32)
	rand.Read(key)
	keys[season] = key
	return key, m.write(keys)
}

func (m *markKeys) read() (map[string][]byte, error) {
	keys := map[string][]byte{}
	text, err := os.ReadFile(m.path)
	if errors.Is(err, fs.ErrNotExist) {
		return keys, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &keys)
	}
	if err == nil {
		err = ownersOnly(m.path)
	}
	if err != nil {
		return nil, fmt.Errorf("secret keys: %w", err)
	}
	return keys, nil
}

func (m *markKeys) write(keys map[string][]byte) error {
	text, err := json.MarshalIndent(keys, "", " ")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(m.path), ".marks-*") // readable by its owner alone
	if err != nil {
		return fmt.Errorf("secret keys: %w", err)
	}
	defer os.Remove(f.Name()) // it is gone when all went well
	_, err = f.Write(append(text, '\n'))
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), m.path)
	}
	if err == nil {
		var d *os.File
		if d, err = os.Open(filepath.Dir(m.path)); err == nil {
			err = errors.Join(d.Sync(), d.Close())
		}
	}
	if err != nil {
		return fmt.Errorf("secret keys: %w", err)
	}
	return nil
}

// RotateKey gives the programme whose server keeps its secrets in dir a new key for receipts. The server may run.
func RotateKey(ctx context.Context, s *store.Store, dir, version string, lost bool) (api.RotatedKey, error) {
	signing := &markKeys{path: filepath.Join(dir, "signing.key")}
	if _, err := os.Stat(signing.path); err != nil {
		return api.RotatedKey{}, fmt.Errorf("there is no key to change in this folder: %w", err)
	}
	session := make([]byte, 32) // nobody signs in here
	rand.Read(session)
	a, err := api.New(ctx, api.Config{
		Store: s, Accounts: s, Key: session, Version: version, SigningKey: signing.signing, NextKey: signing.next, PreviousKey: signing.previous,
	})
	if err != nil {
		return api.RotatedKey{}, err
	}
	return a.Rotate(ctx, lost)
}
