// Package intake reads what people and instruments hand in, and turns it into the inputs of the engine: the file of a
// temperature logger, a temperature typed at the ramp, a weather record.
//
// Start with [ParseTrace] for a logger's file, [ParseTemp] for a typed temperature and [ParseWeather] for weather.
//
// Files come from anywhere, so the readers accept many layouts and no doubt. Where two readings of a file are possible
// and one of them credits more heat or more drying, the reader takes the other, or refuses and says what it needs to
// know. Nothing is corrected silently: what was skipped or assumed is told in notes, and an error names the line, the
// column, the value and what is accepted ([RowError], [WeatherError]). Size is bounded, and no input makes a reader panic.
//
// The readers only read. They do not judge, and they do not clean: package trace does that for temperatures.
package intake
