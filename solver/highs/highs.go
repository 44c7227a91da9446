// Package highs holds the HiGHS solver (https://highs.dev, MIT licence) as a WebAssembly module, as the npm package highs
// distributes it, and the names its build gave to what goes in and out. PROVENANCE.md says where it came from and how to
// derive it again.
package highs

import _ "embed"

// Module is the compiled solver.
//
//go:embed highs.wasm
var Module []byte

// Licence is the text that has to go with it.
//
//go:embed LICENSE
var Licence string
