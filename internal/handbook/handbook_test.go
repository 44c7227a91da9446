package handbook

import (
	"bytes"
	"testing"
	"time"

	"thwart/advice"
	"thwart/unit"
)

func TestWrite(t *testing.T) {
	day := time.Date(2026, 4, 20, 0, 0, 0, 0, time.UTC)
	for _, id := range []string{"own-rules", "minnesota"} {
		p, err := advice.ProtocolByID(id)
		if err != nil {
			t.Fatal(err)
		}
		var a, b bytes.Buffer
		if err := Write(&a, Options{Protocol: p, Made: day, Units: unit.US}); err != nil {
			t.Fatal(err)
		}
		if err := Write(&b, Options{Protocol: p, Made: day, Units: unit.US}); err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(a.Bytes(), []byte("%PDF-")) || a.Len() < 20000 || !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: %d and %d bytes", id, a.Len(), b.Len())
		}
	}
	p, _ := advice.ProtocolByID("own-rules")
	var out bytes.Buffer
	if err := Write(&out, Options{Protocol: p, Made: day, Classes: []string{"zeppelin"}}); err == nil || out.Len() > 0 {
		t.Error("a class that does not exist is printed")
	}
	if err := Write(&out, Options{Protocol: p}); err == nil {
		t.Error("a handbook of no day is printed")
	}
}
