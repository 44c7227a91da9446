package refdata

import (
	"strings"
	"testing"
	"testing/fstest"
)

type sample struct {
	id     string
	amount *float64
	Provenance
}

var sampleColumns = []string{"id", "amount", "source", "known", "note"}

func parseSample(r *row) sample {
	return sample{id: r.id("id"), amount: r.optNumber("amount", 0, 10), Provenance: r.provenance()}
}

func readSample(text string) ([]sample, error) {
	fsys := fstest.MapFS{"t.csv": {Data: []byte(text)}}
	return readTable(fsys, "t.csv", sampleColumns, map[string]Known{"S01": Published, "S03": FromMemory}, parseSample)
}

const sampleHeader = "id,amount,source,known,note\n"

func TestReadTable(t *testing.T) {
	rows, err := readSample(sampleHeader + "one,2.5,S01;S03,published,\n\"two\",,\"common practice, no source\",common practice,a note\nthree,,none found,from memory,\n")
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 3 || rows[0].amount == nil || *rows[0].amount != 2.5 {
		t.Errorf("rows = %+v, want three, the first with 2.5", rows)
	}
	if rows[1].amount != nil {
		t.Errorf("an empty cell reads as %g, want nil: absence is not a number", *rows[1].amount)
	}
	if len(rows[0].SourceIDs) != 2 || rows[1].SourceIDs != nil || rows[1].Note != "a note" || !rows[2].NoneFound {
		t.Errorf("provenance = %+v, %+v, %+v", rows[0].Provenance, rows[1].Provenance, rows[2].Provenance)
	}
}

// Every way of spoiling a table is refused, and the message says where, what and what is accepted.
func TestReadTableRefuses(t *testing.T) {
	const good = "one,1,S01,published,\n"
	tests := []struct {
		name, text string
		want       []string
	}{
		{"unknown column", "id,amount,source,known,note,extra\none,1,S01,published,,x\n", []string{"t.csv:1", "extra", "accepted: exactly"}},
		{"missing column", "id,amount,source,known\none,1,S01,published\n", []string{"t.csv:1", "note"}},
		{"columns in another order", "amount,id,source,known,note\n1,one,S01,published,\n", []string{"t.csv:1"}},
		{"no rows", sampleHeader, []string{"no rows"}},
		{"nothing at all", "", []string{"header"}},
		{"too few cells", sampleHeader + "one,1,S01,published\n", []string{"line 2"}},
		{"no source", sampleHeader + good + "two,1,,published,\n", []string{"t.csv:3", "source"}},
		{"source that does not exist", sampleHeader + "one,1,S99,published,\n", []string{"t.csv:2", "source", "S99", "sources.csv"}},
		{"no marker", sampleHeader + "one,1,S01,,\n", []string{"t.csv:2", "known", "published, common practice, from memory"}},
		{"marker that does not exist", sampleHeader + "one,1,S01,guess,\n", []string{"t.csv:2", "known", "guess"}},
		{"published from what was only recalled", sampleHeader + "one,1,S03,published,\n", []string{"t.csv:2", "known", "from memory"}},
		{"published without a source", sampleHeader + "one,1,\"common practice, no source\",published,\n", []string{"t.csv:2", "known"}},
		{"found nothing yet published", sampleHeader + "one,1,none found,published,\n", []string{"t.csv:2", "known", "from memory"}},
		{"source twice", sampleHeader + "one,1,S01;S01,published,\n", []string{"t.csv:2", "source"}},
		{"space at the end", sampleHeader + "one,1,S01,published,note \n", []string{"t.csv:2", "note", "no space"}},
		{"sign for nothing", sampleHeader + "one,n.f.,S01,published,\n", []string{"t.csv:2", "amount", "empty cell"}},
		{"dash for nothing", sampleHeader + "one,1,S01,published,-\n", []string{"t.csv:2", "note", "empty cell"}},
		{"text for a number", sampleHeader + "one,many,S01,published,\n", []string{"t.csv:2", "amount", "many", "0 to 10"}},
		{"number too large", sampleHeader + "one,11,S01,published,\n", []string{"t.csv:2", "amount", "11", "0 to 10"}},
		{"not a number", sampleHeader + "one,NaN,S01,published,\n", []string{"t.csv:2", "amount"}},
		{"endless number", sampleHeader + "one,Inf,S01,published,\n", []string{"t.csv:2", "amount"}},
		{"id in capitals", sampleHeader + "One,1,S01,published,\n", []string{"t.csv:2", "id", "One"}},
		{"line counted after a break inside quotes", sampleHeader + "one,1,S01,published,\"a\nb\"\ntwo,11,S01,published,\n", []string{"t.csv:4", "amount"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rows, err := readSample(tt.text)
			if err == nil {
				t.Fatalf("read as %+v, want an error", rows)
			}
			for _, w := range tt.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("error %q does not say %q", err, w)
				}
			}
		})
	}
}

func TestReadTableReportsEveryError(t *testing.T) {
	_, err := readSample(sampleHeader + "one,x,S01,published,\ntwo,1,S99,published,\n")
	for _, w := range []string{"t.csv:2", "t.csv:3"} {
		if err == nil || !strings.Contains(err.Error(), w) {
			t.Errorf("error %v does not name %s", err, w)
		}
	}
}

func TestColumnsMustAllBeRead(t *testing.T) {
	fsys := fstest.MapFS{"t.csv": {Data: []byte("id,forgotten,source,known,note\none,1,S01,published,\n")}}
	_, err := readTable(fsys, "t.csv", []string{"id", "forgotten", "source", "known", "note"}, map[string]Known{"S01": Published},
		func(r *row) sample { return sample{id: r.id("id"), Provenance: r.provenance()} })
	if err == nil || !strings.Contains(err.Error(), "forgotten") {
		t.Errorf("error = %v, want one that names the column nobody reads", err)
	}
}

func TestLoadWantsSourceColumns(t *testing.T) {
	_, err := load("sources.csv", []string{"id"}, func(r *row) string { return r.id("id") })
	if err == nil || !strings.Contains(err.Error(), "source") {
		t.Errorf("error = %v, want one about the missing source column", err)
	}
}

func TestByKeyRefusesRepeats(t *testing.T) {
	_, err := byKey("t.csv", []string{"a", "b", "a"}, func(s string) string { return s })
	if err == nil || !strings.Contains(err.Error(), "a stands twice") {
		t.Errorf("error = %v, want one about the repeat", err)
	}
}

func TestCell(t *testing.T) {
	r := &row{file: "t.csv", line: 7, read: map[string]bool{}, cells: map[string]string{
		"flag": "maybe", "list": "a;b", "spaced": "a; b", "model": "dose:", "basis": "by analogy", "key": "-3", "hot": "101",
		"empty": "",
	}}
	r.yes("flag")
	if got := r.list("list"); len(got) != 2 {
		t.Errorf("list = %v, want a and b", got)
	}
	before := len(r.errs)
	r.list("spaced")
	r.model("model", ModelDose)
	r.basis("basis")
	r.optID("key")
	r.optCelsius("hot")
	r.cell("absent")
	r.number("empty", 0, 1)
	words(r, "empty", Carriages)
	words(r, "list", Carriages)
	if got := len(r.errs) - before; before != 1 || got != 10 {
		t.Errorf("%d and %d errors, want 1 and 10: %v", before, got, r.errs)
	}
}
