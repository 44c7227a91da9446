// Package basemaptest writes small archives of map tiles for tests, from the text of the PMTiles specification, version 3.
package basemaptest

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
)

// Archive is an archive of one tile of zoom 0. Zero fields take what a right archive has.
type Archive struct {
	Magic         string // empty = PMTiles
	Version       byte   // 0 = 3
	TileType      byte   // 0 = 1, mvt
	InnerPacking  byte   // 0 = 2, gzip
	TilePacking   byte
	MinZoom       byte
	MaxZoom       byte
	Bounds        [4]int32 // in 1e-7 degrees; zero = some
	Metadata      string   // empty = one layer named water
	Tile          []byte   // empty = some bytes
	NoTileEntries bool
}

// Bytes writes the archive: head, root directory, metadata, no leaves, tile.
func (a Archive) Bytes() []byte {
	if a.Magic == "" {
		a.Magic = "PMTiles"
	}
	orElse := func(x, other byte) byte {
		if x == 0 {
			return other
		}
		return x
	}
	if a.Bounds == [4]int32{} {
		a.Bounds = [4]int32{-10e7, 40e7, 10e7, 50e7}
	}
	if a.Metadata == "" {
		a.Metadata = `{"vector_layers":[{"id":"water","fields":{}}]}`
	}
	if len(a.Tile) == 0 {
		a.Tile = bytes.Repeat([]byte("tile"), 500)
	}
	inner := orElse(a.InnerPacking, 2)
	// One entry: how many, tile id 0 (as a step), run length 1, length, offset 0 (written as 1).
	dir := binary.AppendUvarint([]byte{1, 0, 1}, uint64(len(a.Tile)))
	dir = append(dir, 1)
	if a.NoTileEntries {
		dir = []byte{0}
	}
	root, meta := pack(inner, dir), pack(inner, []byte(a.Metadata))
	var h [127]byte
	copy(h[:], a.Magic)
	h[7] = orElse(a.Version, 3)
	at := uint64(len(h))
	for i, length := range []uint64{uint64(len(root)), uint64(len(meta)), 0, uint64(len(a.Tile))} {
		binary.LittleEndian.PutUint64(h[8+16*i:], at)
		binary.LittleEndian.PutUint64(h[16+16*i:], length)
		at += length
	}
	for i := range 3 { // tiles addressed, entries, contents
		binary.LittleEndian.PutUint64(h[72+8*i:], 1)
	}
	h[96], h[97], h[98], h[99], h[100], h[101] = 1, inner, orElse(a.TilePacking, 1), orElse(a.TileType, 1), a.MinZoom, a.MaxZoom
	for i, b := range a.Bounds {
		binary.LittleEndian.PutUint32(h[102+4*i:], uint32(b))
	}
	return bytes.Join([][]byte{h[:], root, meta, a.Tile}, nil)
}

func pack(how byte, b []byte) []byte {
	if how != 2 {
		return b
	}
	var out bytes.Buffer
	g := gzip.NewWriter(&out)
	_, _ = g.Write(b) // a buffer takes everything
	_ = g.Close()
	return out.Bytes()
}
