// Package flows says where the risk comes from: it fits traffic and arrivals to a season's records and chains them with what
// is known of the organisms.
//
// [New] makes a [Model] of a [season.Book]. From it come
//
//   - [Model.Arrivals]: how many craft come to each launch, when;
//   - [Model.Flows]: passages between waters, staffed or not, with intervals;
//   - [Model.Card]: what was fitted, on what, how well, and what it cannot say;
//   - [Model.Risk]: risky passages by organism, source, water, launch and pair;
//   - [Model.Declare]: what the infestation of one more water would change.
//
// What the records cannot carry is said in words ([ModelCard.Warnings], and errors that wrap those of engine/traffic and
// engine/arrivals), never as a number that is not one.
//
// All results are plain data with JSON names and are repeatable from the seed. The package is pure.
package flows
