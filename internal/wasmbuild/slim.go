package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
)

// Layout of the tables that the Go linker writes (runtime.pcHeader, runtime._func and runtime.step of Go 1.26). The first bytes
// are checked, and a program of another layout is refused rather than spoilt.
const (
	magic    = 0xfffffff1
	pointer  = 8 // bytes of a pointer under GOARCH=wasm
	funcSize = 44

	atName, atPCSP, atPCFile, atPCLine, atPCDataCount, atUnit, atStartLine = 4, 16, 20, 24, 28, 32, 36

	// Tables of a function that a browser never reads (internal/abi, PCDATA_*): where it may be stopped at any instruction, which
	// no browser can do, and which arguments a stack trace may print.
	unsafePoints, argsLive = 0, 3

	// And of its other data (FUNCDATA_*) what a stack trace prints of arguments. No entry is all ones.
	atFuncDataCount      = 43
	argInfo, argLiveInfo = 5, 6
)

var errLayout = errors.New("no table of program counters in the layout this tool knows; accepted: a program of Go 1.20 to 1.26 for GOARCH=wasm")

// Slim blanks what a running program reads for nothing but a stack trace: which line of which file an instruction came from, what
// functions are called. The offsets become 0, which the runtime reads as "no table", and the bytes become zeros, which compress
// to nothing. The program's length and answers do not change; of a panic the message is kept and the place is lost, which the
// same call on a desk gives again.
func Slim(wasm []byte) (blanked int, err error) {
	segments, err := dataSegments(wasm)
	if err != nil {
		return 0, err
	}
	m := memory{wasm: wasm, segments: segments}
	head, ok := m.findHeader()
	if !ok {
		return 0, errLayout
	}
	t := table{memory: &m, head: head}
	t.read()
	return t.blank()
}

// segment is a stretch of the program's memory as it stands in the file.
type segment struct{ at, file, length int }

// dataSegments finds the data section of a WebAssembly module (core specification, section 5.5.14) and its active segments.
func dataSegments(wasm []byte) ([]segment, error) {
	if len(wasm) < 8 || !bytes.Equal(wasm[:8], []byte("\x00asm\x01\x00\x00\x00")) {
		return nil, errors.New("not a WebAssembly module")
	}
	r := reader{b: wasm, at: 8}
	for r.at < len(wasm) && r.err == nil {
		id := r.byte()
		length := r.uleb()
		if id != 11 {
			r.at += length
			continue
		}
		var list []segment
		for range r.uleb() {
			if r.uleb() != 0 || r.byte() != 0x41 {
				return nil, errors.New("a data segment that is not at a fixed place")
			}
			at := r.sleb()
			if r.byte() != 0x0b {
				return nil, errors.New("a data segment whose place is worked out")
			}
			n := r.uleb()
			list = append(list, segment{at: at, file: r.at, length: n})
			r.at += n
		}
		return list, r.err
	}
	return nil, errors.New("no data section")
}

type reader struct {
	b   []byte
	at  int
	err error
}

func (r *reader) byte() byte {
	if r.at >= len(r.b) {
		r.err = errors.New("the module breaks off")
		return 0
	}
	r.at++
	return r.b[r.at-1]
}

func (r *reader) uleb() int {
	v, n := binary.Uvarint(r.b[min(r.at, len(r.b)):])
	if n <= 0 {
		r.err, r.at = errors.New("the module breaks off"), len(r.b)
		return 0
	}
	r.at += n
	return int(v)
}

func (r *reader) sleb() int {
	var v int64
	for shift := 0; shift < 64; shift += 7 {
		c := r.byte()
		v |= int64(c&0x7f) << shift
		if c < 0x80 {
			if c&0x40 != 0 {
				v |= -1 << (shift + 7)
			}
			break
		}
	}
	return int(v)
}

// memory is the program's memory at its start, of which the file leaves out long stretches of zeros.
type memory struct {
	wasm     []byte
	segments []segment
}

func (m *memory) place(at int) (file int, ok bool) {
	for _, s := range m.segments {
		if at >= s.at && at < s.at+s.length {
			return s.file + at - s.at, true
		}
	}
	return 0, false
}

func (m *memory) byte(at int) byte {
	if f, ok := m.place(at); ok {
		return m.wasm[f]
	}
	return 0
}

func (m *memory) uint(at, size int) int {
	v := 0
	for i := size - 1; i >= 0; i-- {
		v = v<<8 | int(m.byte(at+i))
	}
	return v
}

// zero blanks a byte and says whether there was anything.
func (m *memory) zero(at int) bool {
	f, ok := m.place(at)
	if !ok || m.wasm[f] == 0 {
		return false
	}
	m.wasm[f] = 0
	return true
}

// ones fills four bytes with ones, all or none.
func (m *memory) ones(at int) int {
	first, ok := m.place(at)
	if last, ok2 := m.place(at + 3); !ok || !ok2 || last != first+3 {
		return 0
	}
	for i := range 4 {
		m.wasm[first+i] = 0xff
	}
	return 4
}

func (m *memory) findHeader() (at int, ok bool) {
	want := binary.LittleEndian.AppendUint32(nil, magic)
	want = append(want, 0, 0, 1, pointer)
	for _, s := range m.segments {
		if i := bytes.Index(m.wasm[s.file:s.file+s.length], want); i >= 0 {
			return s.at + i, true
		}
	}
	return 0, false
}

// table is the linker's table: where its parts begin, and which bytes of the sequences are still read.
type table struct {
	*memory
	head              int
	funcs             []int // where each function's record begins
	names, pctab, end int
	live, dead        map[int]int // beginning and end of sequences, from pctab
}

func (t *table) read() {
	word := func(i int) int { return t.uint(t.head+8+i*pointer, pointer) }
	count := word(0)
	t.names, t.pctab, t.end = t.head+word(3), t.head+word(6), t.head+word(7)
	t.live, t.dead = map[int]int{}, map[int]int{}
	for i := range count {
		f := t.end + t.uint(t.end+i*8+4, 4)
		t.funcs = append(t.funcs, f)
		t.note(t.live, t.uint(f+atPCSP, 4))
		for k := range t.uint(f+atPCDataCount, 4) {
			into := t.live
			if k == unsafePoints || k == argsLive {
				into = t.dead
			}
			t.note(into, t.uint(f+funcSize+4*k, 4))
		}
		t.note(t.dead, t.uint(f+atPCFile, 4))
		t.note(t.dead, t.uint(f+atPCLine, 4))
	}
}

// note finds the end of a sequence of pairs (change of value, change of counter), which a change of 0 after the first closes.
func (t *table) note(into map[int]int, from int) {
	if _, known := into[from]; known || from == 0 {
		return
	}
	at := from
	varint := func() int {
		v := 0
		for shift := 0; ; shift += 7 {
			c := t.byte(t.pctab + at)
			at++
			v |= int(c&0x7f) << shift
			if c < 0x80 || shift > 28 {
				return v
			}
		}
	}
	for first := true; ; first = false {
		if varint() == 0 && !first {
			break
		}
		varint()
	}
	into[from] = at
}

func (t *table) blank() (n int, err error) {
	size := t.end - t.pctab
	keep := make([]bool, size+1)
	for from, to := range t.live {
		if to > size {
			return 0, fmt.Errorf("%w: a sequence runs out of its table", errLayout)
		}
		for i := from; i < to; i++ {
			keep[i] = true
		}
	}
	for from, to := range t.dead {
		for i := from; i < min(to, size); i++ {
			if !keep[i] && t.zero(t.pctab+i) {
				n++
			}
		}
	}
	for at := t.names; at < t.pctab; at++ { // names, and the tables of files, which only lines lead to
		if t.zero(at) {
			n++
		}
	}
	for _, f := range t.funcs {
		fields := []int{atName, atPCFile, atPCLine, atUnit, atStartLine}
		for _, k := range []int{unsafePoints, argsLive} {
			if k < t.uint(f+atPCDataCount, 4) {
				fields = append(fields, funcSize+4*k)
			}
		}
		for _, k := range []int{argInfo, argLiveInfo} {
			if k < int(t.byte(f+atFuncDataCount)) {
				n += t.ones(f + funcSize + 4*t.uint(f+atPCDataCount, 4) + 4*k)
			}
		}
		for _, field := range fields {
			for i := range 4 {
				if t.zero(f + field + i) {
					n++
				}
			}
		}
	}
	return n, nil
}
