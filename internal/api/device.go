package api

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"io"
	"net/http"
	"strings"
	"time"

	"thwart"
)

// Headers of a request that a phone signs.
const (
	HeaderDevice    = "Thwart-Device"    // id of the device
	HeaderNow       = "Thwart-Now"       // the phone's clock when it sent the request, RFC 3339
	HeaderSignature = "Thwart-Signature" // Ed25519, base64

	// HeaderDeviceState is "revoked" in answers to a phone that was taken out of service, and absent otherwise: a phone must
	// not have to read that from words.
	HeaderDeviceState = "Thwart-Device-State"

	signedPrefix = "thwart-request-1"
)

// signedText is what the signature covers. The first line keeps a signature for something else from being used here.
func signedText(method, uri, now string, body []byte) []byte {
	sum := sha256.Sum256(body)
	return []byte(strings.Join([]string{signedPrefix, method, uri, hex.EncodeToString(sum[:]), now}, "\n"))
}

// SignRequest signs a request as the phone does: over method, path with query, the SHA-256 of the body and the phone's time.
// body must be what the request carries.
//
// A captured request can be sent again and nothing else. That is harmless by design: entries are kept once, and everything
// else a phone may do either reads or repeats.
func SignRequest(r *http.Request, device string, key ed25519.PrivateKey, now time.Time, body []byte) {
	at := now.Format(time.RFC3339Nano)
	r.Header.Set(HeaderDevice, device)
	r.Header.Set(HeaderNow, at)
	r.Header.Set(HeaderSignature, base64.StdEncoding.EncodeToString(ed25519.Sign(key, signedText(r.Method, r.URL.RequestURI(), at, body))))
}

// outOfService is the answer to a phone that was taken out of service.
func outOfService(detail string) *Problem {
	return problem(http.StatusForbidden, detail).with(HeaderDeviceState, "revoked")
}

// device checks a phone's signature. The phone's clock is not trusted and not bounded: a phone whose clock is a day off must
// still be able to hand in its records.
func (a *API) device(w http.ResponseWriter, r *http.Request) (*principal, error) {
	wrong := problem(http.StatusUnauthorized, "the signature does not fit an enrolled phone; enrol it again with a new invite")
	id, at := r.Header.Get(HeaderDevice), r.Header.Get(HeaderNow)
	sig, err := base64.StdEncoding.DecodeString(r.Header.Get(HeaderSignature))
	if err != nil || len(sig) != ed25519.SignatureSize || !thwart.IsID(id) {
		return nil, wrong
	}
	signedAt, err := time.Parse(time.RFC3339Nano, at)
	if err != nil {
		return nil, wrong
	}
	// The device is looked up before the body is read, so that only phones that exist can make the server hold a large one.
	d, err := a.cfg.Accounts.DeviceByID(r.Context(), id)
	if errors.Is(err, thwart.ErrNotFound) {
		return nil, wrong
	}
	if err != nil {
		return nil, err
	}
	limit := int64(MaxBodyBytes)
	switch r.URL.Path {
	case syncPath:
		limit = MaxBatchBytes
	case picturesPath:
		limit = thwart.MaxPhotoBytes
	}
	body, err := readLimited(w, r, limit)
	if err != nil {
		return nil, err
	}
	if len(d.PublicKey) != ed25519.PublicKeySize || !ed25519.Verify(d.PublicKey, signedText(r.Method, r.URL.RequestURI(), at, body), sig) {
		a.metrics.badSignatures.Inc()
		return nil, wrong
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	return &principal{device: &d, person: d.Person, role: d.Role, revoked: d.RevokedAt != nil, at: signedAt}, nil
}
