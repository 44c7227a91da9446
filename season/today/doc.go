// Package today says how the programme's day stands: which launches are staffed, how busy they are against what similar days
// brought, what craft failed, and what needs a person. It computes from a [season.Book] and from what the book does not hold
// (phones, refused records, open incidents), and reads no clock: the moment is an argument.
package today
