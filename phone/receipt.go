package phone

import (
	"time"

	"thwart"
	"thwart/draw"
	"thwart/receipt"
)

func init() {
	// The facts of a receipt and the bytes that this phone's key has to sign.
	pure("receipt.toSign", receiptToSign)
	// Joins facts and signature to the receipt's text and its QR code.
	pure("receipt.seal", receiptSeal)
	// Tells the engine the programme's key records, heads only; a second call takes the place of the first.
	add("keys.load", loadKeys)
	// Reads a receipt: good, altered, expired, unknown issuer, revoked, not yet, in the water since, or none.
	add("receipt.read", readReceipt)
	// A QR code of a text in capital letters, digits, blank and $%*+-./:, such as a form's serial.
	pure("qr", qr)
}

// ReceiptIn is what a receipt is made of. No name, registration, address or boat is among it.
type ReceiptIn struct {
	Receipt  string         `json:"receipt"` // subject of the receipt's own record
	What     string         `json:"what"`    // inspected, washed or dried
	Outcome  thwart.Outcome `json:"outcome"`
	IssuedAt time.Time      `json:"issuedAt"`
	ValidH   int            `json:"validH"`   // hours
	Public   []byte         `json:"public"`   // this phone's Ed25519 public key, base64
	Launch   string         `json:"launch"`   // its subject
	Protocol string         `json:"protocol"` // id@version in force
	Seal     string         `json:"seal,omitempty"`
}

// ReceiptToSign is what the phone's key signs: keep the facts for receipt.seal.
type ReceiptToSign struct {
	Facts receipt.Facts `json:"facts"`
	Bytes []byte        `json:"bytes"` // base64
}

func receiptToSign(in ReceiptIn) (ReceiptToSign, error) {
	f := receipt.Facts{
		ID: receipt.IDOf(in.Receipt), What: in.What, Outcome: in.Outcome, IssuedAt: in.IssuedAt.UTC().Truncate(time.Minute), ValidH: in.ValidH,
		KeyID: receipt.KeyIDOf(in.Public), Launch: receipt.Short(in.Launch), Protocol: receipt.Edition(in.Protocol), Seal: in.Seal,
	}
	b, err := f.ToSign()
	return ReceiptToSign{Facts: f, Bytes: b}, err
}

// ReceiptSealIn is facts with their signature.
type ReceiptSealIn struct {
	Facts     receipt.Facts `json:"facts"`
	Signature []byte        `json:"signature"` // base64
	Public    []byte        `json:"public"`    // base64
	Wet       bool          `json:"wet,omitempty"`
}

// ReceiptOut is a receipt: its text for the record, and its code to be shown at 0.75 mm a module or more.
type ReceiptOut struct {
	Text string  `json:"text"`
	Code Picture `json:"code"` // one unit a module, margin included
}

func receiptSeal(in ReceiptSealIn) (ReceiptOut, error) {
	text, err := receipt.Seal(in.Facts, in.Signature, in.Public)
	if err != nil {
		return ReceiptOut{}, err
	}
	code, err := codeOf(text, in.Wet)
	return ReceiptOut{Text: text, Code: code}, err
}

func codeOf(text string, wet bool) (Picture, error) {
	sc, err := receipt.Picture(text, wet)
	if err != nil {
		return Picture{}, err
	}
	return blackOnWhite(sc), nil
}

// blackOnWhite is what a reader needs whatever the page's colours are.
func blackOnWhite(sc *draw.Scene) Picture {
	plain := map[draw.Role]string{draw.Ink: "#000", draw.Paper: "#fff"}
	return Picture{SVG: sc.SVG(draw.Style{Colour: plain}), Width: sc.Width, Height: sc.Height, Title: sc.Title}
}

// LoadKeysIn are the programme's key records.
type LoadKeysIn struct {
	Keys []thwart.Key `json:"keys"`
	// Anchors are the key ids that this phone was told at enrolment; empty = every programme key among the records counts.
	Anchors []string `json:"anchors,omitempty"`
}

// LoadKeysOut says what became of them.
type LoadKeysOut struct {
	Count    int      `json:"count"`
	Rejected []string `json:"rejected"` // key ids that nobody vouches for
}

func loadKeys(e *Engine, in LoadKeysIn) (LoadKeysOut, error) {
	var out LoadKeysOut
	e.ring, out.Rejected = receipt.NewRing(in.Keys, in.Anchors)
	out.Count = len(in.Keys) - len(out.Rejected)
	return out, nil
}

// ReadReceiptIn is the text that a camera or a hand gave, and what is known besides.
type ReadReceiptIn struct {
	Text  string        `json:"text"`
	Asked receipt.Asked `json:"asked"`
}

func readReceipt(e *Engine, in ReadReceiptIn) (receipt.Reading, error) {
	ring := e.ring
	if ring == nil { // a phone that has no keys yet knows no issuer
		ring, _ = receipt.NewRing(nil, nil)
	}
	return ring.Read(in.Text, in.Asked), nil
}

// QRIn is a text for a code.
type QRIn struct {
	Text string `json:"text"`
	Wet  bool   `json:"wet,omitempty"` // more correction, for wet stock
}

func qr(in QRIn) (Picture, error) { return codeOf(in.Text, in.Wet) }
