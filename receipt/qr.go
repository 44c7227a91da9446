package receipt

import (
	"rsc.io/qr/coding"

	"thwart"
	"thwart/draw"
	"thwart/tongue"
)

// Code makes the QR code (ISO/IEC 18004) of a text in the alphanumeric set, at error correction level M, which restores about
// 15 % of the codewords, or Q, about 25 %, for wet stock.
func Code(text string, wet bool) (*coding.Code, error) {
	if wet {
		return codeAt(text, coding.Q)
	}
	return codeAt(text, coding.M)
}

// screenVersion is the largest code that a phone's screen shows well: 57 modules and the margin on 320 px of 1/160 inch are 0.78 mm each,
// and receipts ask for 0.75 mm.
const screenVersion = 10

// ScreenCode makes a code that goes from screen to camera: at level M, or at level L, about 7 %, where M would need more modules than such
// a screen shows well. A screen is neither wet nor torn; how wide its modules are decides.
func ScreenCode(text string) (*coding.Code, error) {
	c, err := codeAt(text, coding.M)
	if err != nil || c.Size > 17+4*screenVersion {
		return codeAt(text, coding.L)
	}
	return c, nil
}

func codeAt(text string, level coding.Level) (*coding.Code, error) {
	enc := coding.Alpha(text)
	if err := enc.Check(); err != nil || text == "" {
		return nil, thwart.FieldErrors{{Field: "text", Value: text, Accepted: "capital letters, digits, blank and $%*+-./:"}}
	}
	return encode(enc, len(text), level)
}

// encode takes the smallest version that holds a text of so many characters, and of the eight masks the one with the least
// penalty.
func encode(enc coding.Encoding, length int, level coding.Level) (*coding.Code, error) {
	v := coding.Version(coding.MinVersion)
	for enc.Bits(v) > v.DataBytes(level)*8 {
		if v++; v > 20 {
			return nil, thwart.FieldErrors{{Field: "text", Value: tongue.Say("{n} characters", tongue.Int(length)), Accepted: "a text that a code of version 20 holds"}}
		}
	}
	var best *coding.Code
	least := 0
	for m := range coding.Mask(8) {
		plan, err := coding.NewPlan(v, level, m)
		if err != nil {
			return nil, err
		}
		c, err := plan.Encode(enc)
		if err != nil {
			return nil, err
		}
		if p := penalty(c); best == nil || p < least {
			best, least = c, p
		}
	}
	return best, nil
}

// Quiet is the margin a reader needs round a code, in modules (ISO/IEC 18004).
const Quiet = 4

// Picture draws a code with its margin, one unit a module.
func Picture(text string, wet bool) (*draw.Scene, error) {
	c, err := Code(text, wet)
	if err != nil {
		return nil, err
	}
	return drawn(c, tongue.Say("QR code of the receipt")), nil
}

// ScreenPicture draws the code of a note, one unit a module, margin included.
func ScreenPicture(text string) (*draw.Scene, error) {
	c, err := ScreenCode(text)
	if err != nil {
		return nil, err
	}
	return drawn(c, tongue.Say("QR code for another phone")), nil
}

// Link draws the code of an address, such as a screen shows it to a phone: bytes as they are, at error correction level M.
func Link(address string) (*draw.Scene, error) {
	c, err := encode(coding.String(address), len(address), coding.M)
	if err != nil {
		return nil, err
	}
	return drawn(c, tongue.Say("QR code of {address}", address)), nil
}

func drawn(c *coding.Code, title string) *draw.Scene {
	size := float64(c.Size + 2*Quiet)
	s := draw.New(size, size, title)
	s.Add(draw.Path{Cmds: draw.Rect(0, 0, size, size), Fill: draw.Paper})
	var p draw.Pen
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			if x > from { // a run of dark modules is one rectangle
				l, t := float64(from+Quiet), float64(y+Quiet)
				p.Move(l, t).Line(l+float64(x-from), t).Line(l+float64(x-from), t+1).Line(l, t+1).Close()
			}
		}
	}
	s.Add(draw.Path{Cmds: p.Cmds(), Fill: draw.Ink})
	return s
}

// penalty is how hard a code is to read, by the four rules of ISO/IEC 18004, section 8.8.2: runs of one tone, blocks of one
// tone, patterns like those that mark the corners, and too much of one tone.
func penalty(c *coding.Code) int {
	n, dark, sum := c.Size, 0, 0
	at := func(i, k int, across bool) bool {
		if across {
			return c.Black(k, i)
		}
		return c.Black(i, k)
	}
	for _, across := range []bool{true, false} {
		for i := range n {
			run := 0
			window := 0 // the last 11 modules
			for k := range n {
				b := at(i, k, across)
				window = window << 1 & 0x7ff
				if b {
					window |= 1
					if across {
						dark++
					}
				}
				if k > 0 && b == at(i, k-1, across) {
					run++
				} else {
					run = 1
				}
				switch {
				case run == 5:
					sum += 3
				case run > 5:
					sum++
				}
				if k >= 10 && (window == 0b10111010000 || window == 0b00001011101) {
					sum += 40
				}
			}
		}
	}
	for y := range n - 1 {
		for x := range n - 1 {
			if b := c.Black(x, y); b == c.Black(x+1, y) && b == c.Black(x, y+1) && b == c.Black(x+1, y+1) {
				sum += 3
			}
		}
	}
	return sum + 10*(max(dark*20-n*n*10, n*n*10-dark*20)/(n*n))
}
