package practice

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"

	"thwart"
)

// seal hides a value from a reader of the file: its JSON, added bit by bit to SHA-256 of the id and a counter, with the first
// eight bytes of its own SHA-256 in front. The id is the key and stands beside it: this is an envelope, not a lock.
func seal(id string, v any) (string, error) {
	plain, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("sealing: %w", err)
	}
	sum := sha256.Sum256(plain)
	return base64.RawURLEncoding.EncodeToString(append(sum[:8:8], masked(id, plain)...)), nil
}

func unseal(id, sealed string, v any) error {
	wrong := thwart.FieldErrors{{Field: "sealed", Value: fmt.Sprintf("%d characters", len(sealed)), Accepted: "the answers as they came with this drill, unchanged"}}
	b, err := base64.RawURLEncoding.DecodeString(sealed)
	if err != nil || len(b) < 9 {
		return wrong
	}
	plain := masked(id, b[8:])
	sum := sha256.Sum256(plain)
	if !bytes.Equal(sum[:8], b[:8]) || json.Unmarshal(plain, v) != nil {
		return wrong
	}
	return nil
}

func masked(id string, in []byte) []byte {
	out := make([]byte, len(in))
	for block := 0; block*sha256.Size < len(in); block++ {
		key := sha256.Sum256(binary.BigEndian.AppendUint32([]byte("thwart practice\n"+id+"\n"), uint32(block)))
		for i := block * sha256.Size; i < min(len(in), (block+1)*sha256.Size); i++ {
			out[i] = in[i] ^ key[i-block*sha256.Size]
		}
	}
	return out
}
